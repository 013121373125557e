"""Water that is not only water: what tanks, lines and walls still hold when plain water or the other chemistry comes."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.evaluate import check_plan
from planner.checks.model import CheckedJob, Finding
from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.workspace import load
from planner.plan.make import make_plan
from planner.words import spoken as words
from tests import workspaces

BLEACH: dict[str, Any] = {
    "chemicals": [{"stock": "bleach", "strength": "1 %"}],
    "hose_runs": {0: {"dosing": "panel"}},
}
SPRAY = {
    "name": "acid", "pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan",
    "hoses": [{"bore": "1/2 in", "length": "50 ft"}], "target": "6 ft", "tip_height": "3 ft",
}  # fmt: skip
RINSE = {"name": "rinse", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan", "target": "6 ft"}
ACID: dict[str, Any] = {
    "site": {"address": "2 Mill Road"},
    "surfaces": [{"name": "plinth", "kind": "brick_acid", "area": "100 ft2"}],
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "hose_runs": [SPRAY, RINSE],
}
DAY, NEXT = "2026-06-09", "2026-06-10"


def _days(folder: Path, jobs: dict[str, dict[str, Any]], **files: Any) -> list[CheckedJob]:
    """Jobs by day and file stem, on one rig; `files` are laid over the rest of the workspace."""
    base = workspaces.merged(workspaces.base(), files)
    workspaces.write(folder, base).unlink()
    for name, change in jobs.items():
        path = folder / f"{name}.yaml"
        path.parent.mkdir(exist_ok=True)
        path.write_text(yaml.safe_dump(workspaces.merged(base["job"], change)), encoding="utf-8")
        (path.parent / "day.yaml").write_text(yaml.safe_dump(base["day"]), encoding="utf-8")
    read = load([folder / day for day in sorted({name.partition("/")[0] for name in jobs})])
    trouble = Trouble(faults=list(read.faults))
    found = list(checked_jobs(read, trouble))
    assert not trouble.faults, trouble.faults
    return found


def _one(folder: Path, job: dict[str, Any], **files: Any) -> CheckedJob:
    whole = workspaces.merged(workspaces.base(), {"job": job, **files})
    return workspaces.checked(folder, json.loads(json.dumps(whole)))  # rows are shared, and our reader takes no aliases


def _found(job: CheckedJob, code: str = "mix.reaction") -> list[Finding]:
    return [one for one in job.findings if one.code == code]


def _cases(job: CheckedJob, code: str = "mix.reaction") -> dict[str, str]:
    return {one.case: one.level for one in _found(job, code)}


def _said(job: CheckedJob, case: str, code: str = "mix.reaction") -> str:
    (finding,) = [one for one in _found(job, code) if one.case == case]
    assert words.remedy(finding, "us")
    return words.message(finding, "us")


# ------------------------------------------------------------------------------------------- feeds


@pytest.mark.parametrize("dosing", [None, "panel", "venturi"])
def test_water_from_a_tank_kept_for_acid_stops_whatever_the_run_does_with_it(
    tmp_path: Path, dosing: str | None
) -> None:
    run = {"dosing": dosing} if dosing else {}
    bleach = BLEACH["chemicals"] if dosing else []
    job = _one(tmp_path, {"chemicals": bleach, "hose_runs": {0: run}}, rig={"tanks": {0: {"holds": "muriatic acid"}}})
    assert _cases(job)["feed_kept"] == "stop"
    assert _said(job, "feed_kept") == "Front takes its water from water, which is kept for muriatic."


@pytest.mark.parametrize("word", ["bleach", "drum"])
def test_a_tank_kept_for_bleach_gives_no_water(tmp_path: Path, word: str) -> None:
    assert _cases(_one(tmp_path, {}, rig={"tanks": {0: {"holds": word}}})) == {"feed_kept": "stop"}


def test_a_water_tank_gives_water_and_so_does_one_that_says_nothing(tmp_path: Path) -> None:
    assert _cases(_one(tmp_path / "one", {}, rig={"tanks": {0: {"holds": "water"}}})) == {"none": "none"}
    assert _cases(_one(tmp_path / "two", {})) == {"none": "none"}


def test_a_mix_tank_gives_no_water_until_the_day_says_that_it_was_rinsed(tmp_path: Path) -> None:
    run = {"hose_runs": {0: {"feed": "mix"}}}
    assert _cases(_one(tmp_path / "unsaid", run)) == {"feed_unknown": "stop"}
    for volume in ("0 gal", "40 gal"):
        day = {"heels": {"mix": {"stock": "water", "volume": volume}}}
        assert _cases(_one(tmp_path / volume, run, day=day)) == {"none": "none"}


@pytest.mark.parametrize("volume", ["0 gal", "2 gal"])
def test_a_heel_in_it_is_flushed_first_and_drained_is_not_rinsed(tmp_path: Path, volume: str) -> None:
    heels = {"heels": {"mix": {"stock": "bleach", "strength": "3 %", "volume": volume}}}
    run: dict[str, Any] = {"hose_runs": {0: {"feed": "mix"}}}
    job = _one(tmp_path / "flushed", run, day=heels)
    assert not [one for one in _found(job) if one.level == "stop"]
    (change,) = job.plan.changes
    assert change.tank is not None
    assert (change.comes, change.tank.part, change.tank.leaves) == ("water", "mix", "hypochlorite")
    # Tap water that brings as much chlorine as may stay is no rinse.
    cannot = _one(tmp_path / "not", {**run, "water": {"chlorine": "4 mg/L"}}, day=heels)
    assert _cases(cannot) == {"feed_heel": "stop"}


def test_bleach_in_the_water_tank_is_flushed_out_for_a_job_of_bleach_too(tmp_path: Path) -> None:
    heels = {"heels": {"water": {"stock": "bleach", "strength": "3 %", "volume": "5 gal"}}}
    job = _one(tmp_path, BLEACH, day=heels)
    assert [change.comes for change in job.plan.changes] == ["water"]


def test_a_tankful_is_mixed_and_rinsed_with_the_rigs_own_water_so_that_is_looked_at_too(tmp_path: Path) -> None:
    """No run names the water tank, and somebody wrote that bleach stands in it."""
    heels = {"heels": {"water": {"stock": "bleach", "strength": "1 %", "volume": "5 gal"}}}
    acid = {**ACID, "hose_runs": [SPRAY]}
    (change,) = _one(tmp_path / "flushed", acid, day=heels).plan.changes
    assert (change.comes, change.leaves) == ("water", ("hypochlorite",))
    cannot = _one(tmp_path / "not", {**acid, "water": {"chlorine": "4 mg/L"}}, day=heels)
    assert {"feed": "stop", "feed_heel": "stop"}.items() <= _cases(cannot).items()


def test_water_is_not_drawn_from_the_tank_the_mix_is_made_in(tmp_path: Path) -> None:
    runs = [SPRAY, {**RINSE, "feed": "mix"}]
    job = _one(tmp_path, {**ACID, "hose_runs": runs})
    assert _cases(job)["feed_mixed"] == "stop"


def test_a_tank_that_nobody_drained_over_night_gives_no_water_for_its_own_chemical_either(tmp_path: Path) -> None:
    mixed = {**BLEACH, "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}
    _, later = _days(tmp_path, {f"{DAY}/10-one": mixed, f"{NEXT}/10-two": {"hose_runs": {0: {"feed": "mix"}}}})
    assert [change.leaves for change in later.plan.changes] == [("hypochlorite",)]
    assert not [one for one in _found(later) if one.level == "stop"]


# ------------------------------------------------------------------------------------------- lines


def test_an_acid_wall_rinsed_through_hoses_that_bleach_went_through_asks_for_their_flush(tmp_path: Path) -> None:
    _, later = _days(tmp_path, {f"{DAY}/10-one": BLEACH, f"{DAY}/20-two": ACID})
    assert _cases(later)["cleared"] == "ok"
    asked = {one.about: one.case for one in _found(later, "flush.needed") if one.level == "caution"}
    assert asked == {"booster": "between_water", "red": "between_water"}
    assert "Red carried hypochlorite before" in words.message(
        next(one for one in later.findings if one.about == "red" and one.case == "between_water"), "us"
    )


@pytest.mark.ci
def test_hoses_of_its_own_ask_for_nothing(tmp_path: Path) -> None:
    own = {**RINSE, "pump": "washer", "hoses": [{"name": "clean", "bore": "3/4 in", "length": "50 ft"}]}
    _, later = _days(tmp_path, {f"{DAY}/10-one": BLEACH, f"{DAY}/20-two": {**ACID, "hose_runs": [SPRAY, own]}})
    assert _cases(later) == {"ok": "ok"}


def _unflushed(folder: Path, job: dict[str, Any], **files: Any) -> CheckedJob:
    """A job on a rig whose booster and red hose had bleach that nobody flushed out."""
    first = _one(folder / "first", BLEACH, **files).plan.left
    found = replace(first, unflushed=frozenset({"booster", "red"}), tanks={}, sites=())
    read = workspaces.loaded(folder / "then", workspaces.merged(workspaces.base(), {"job": job, **files}))
    assert not read.faults, read.faults
    return check_plan(make_plan(read.jobs[0], found, tables=False))


def test_a_line_nobody_flushed_is_flushed_before_its_water_meets_acid(tmp_path: Path) -> None:
    job = _unflushed(tmp_path, ACID)
    assert not [one for one in _found(job) if one.level == "stop"]
    (change,) = job.plan.changes
    assert (change.run, change.comes, {part.part for part in change.parts}) == ("rinse", "water", {"booster", "red"})
    assert change.volume > 0.0
    assert job.plan.left.unflushed == frozenset()


def test_where_no_water_gets_it_clean_the_rinse_stops_and_says_what_it_gives(tmp_path: Path) -> None:
    job = _unflushed(tmp_path, {**ACID, "water": {"chlorine": "4 mg/L"}})
    assert _cases(job)["rinse"] == "stop"
    (told, *_) = [one for one in _found(job) if one.case == "rinse" and one.values["place"] == "red"]
    assert "the water of rinse takes it to muriatic: that makes chlorine gas" in words.message(told, "us")


@pytest.mark.ci
def test_an_injectors_pump_and_tank_are_its_water_and_are_looked_at(tmp_path: Path) -> None:
    """The booster had bleach; acid is drawn in behind it."""
    acid = {**ACID, "hose_runs": [{**SPRAY, "pump": "booster", "feed": "water", "dosing": "venturi"}]}
    job = _unflushed(tmp_path, acid)
    assert {part.part for change in job.plan.changes for part in change.parts} == {"booster"}
    kept = _one(tmp_path / "kept", acid, rig={"tanks": {0: {"holds": "bleach"}}})
    assert _cases(kept)["feed_kept"] == "stop"


def test_water_through_a_pump_kept_for_acid_may_not_go_where_bleach_does(tmp_path: Path) -> None:
    runs = [{**RINSE, "name": "house", "dosing": "panel", "tip": "long throw"}, {**RINSE, "pump": "transfer"}]
    bleach = {"chemicals": BLEACH["chemicals"], "hose_runs": runs}
    rig = {"pumps": {2: {"dedicated": "muriatic"}}}
    assert _cases(_one(tmp_path / "bleach", bleach, rig=rig))["rinse_kept"] == "stop"
    assert _cases(_one(tmp_path / "acid", {**ACID, "hose_runs": [SPRAY, {**RINSE, "pump": "transfer"}]}, rig=rig)) == {
        "ok": "ok"
    }


def test_water_alone_through_bleach_hoses_onto_a_wall_that_had_acid_is_asked_about(tmp_path: Path) -> None:
    wall = {"name": "plinth", "kind": "brick", "area": "100 ft2", "before": {"stock": "muriatic", "on": "2026-06-08"}}
    water = {"site": {"address": "2 Mill Road"}, "surfaces": [wall], "chemicals": []}
    _, later = _days(tmp_path, {f"{DAY}/10-one": BLEACH, f"{DAY}/20-two": water})
    assert {one.about for one in _found(later, "flush.needed") if one.case == "between_water"} == {"booster", "red"}


# ------------------------------------------------------------------------------------------- walls


@pytest.mark.parametrize(
    ("kind", "more", "expected"),
    [
        ("bare_wood", {}, {"wall_before": "stop"}),
        ("clay_tile", {}, {"wall_before": "stop"}),
        ("concrete_tile", {}, {"wall_before": "stop"}),
        ("brick", {}, {"wall_before": "stop"}),
        ("vinyl", {}, {"ok": "ok"}),
        ("vinyl", {"trim": ["brick sill"]}, {"wall_before": "stop"}),
        ("own", {}, {"wall_before": "stop"}),
        ("own sealed", {}, {"ok": "ok"}),
    ],
)
def test_what_is_porous_keeps_yesterdays_bleach_and_a_kind_of_ones_own_is(
    tmp_path: Path, kind: str, more: dict[str, Any], expected: dict[str, str]
) -> None:
    row = {
        "family": "wall", "chemical": "bleach", "strength": ["1 trade %", "2 trade %"], "material": "vinyl", "dwell": ["5 min", "10 min"],
        "wet": "0.1 gal/ft2", "rinse": "0.2 gal/ft2", "apply": "50 ft2/min", "section": "100 ft2",
    }  # fmt: skip
    tmp_path.joinpath("surfaces.yaml").write_text(
        json.dumps({"surfaces": [{"kind": "own", **row}, {"kind": "own sealed", **row, "porous": "false"}]})
    )
    wall = {"name": "wall", "kind": kind, "area": "100 ft2", "before": {"stock": "bleach", "on": "2026-06-08"}, **more}
    acid = {**ACID, "surfaces": [wall], "chemicals": [{"stock": "oxalic", "strength": "40 g/L"}]}
    stock = {"lots": [{"name": "crystals", "chemical": "oxalic", "on_hand": "50 lb"}]}
    assert _cases(_one(tmp_path, acid, stock=stock)) == expected


@pytest.mark.ci
def test_a_strip_of_last_month_says_nothing_of_yesterdays_bleach(tmp_path: Path) -> None:
    wall = {"name": "plinth", "kind": "brick", "area": "90 ft2"}
    bleach = {**BLEACH, "site": {"address": "2 Mill Rd."}, "surfaces": [{**wall, "name": "Plinth"}]}
    for on, expected in (("2026-05-09", "stop"), (DAY, "ok")):
        before = {"stock": "bleach", "on": on, "strip": "7"}
        acid = {**ACID, "hose_runs": [SPRAY], "surfaces": [{**wall, "kind": "brick_acid", "before": before}]}
        folder = tmp_path / on
        folder.mkdir()
        later = _days(folder, {f"{DAY}/10-one": bleach, f"{NEXT}/10-two": acid})[1]
        assert _cases(later).get("wall_before", "ok") == expected


# ------------------------------------------------------------------------------------------- addresses

OWN = {**ACID, "hose_runs": [SPRAY]}


@pytest.mark.parametrize(
    ("address", "expected"),
    [
        ("14 alder ln., Fernhill", {"site_today": "stop"}),
        ("Unit 3, 14 Alder Lane", {"site_today": "stop"}),
        ("14 Adler Lane", {"site_near": "caution"}),
        ("14A Alder Lane", {"site_near": "caution"}),
        ("14 Alder", {"site_near": "caution"}),
        ("12 Alder Lane", {"site_near": "caution"}),
        ("24 Alder Lane", {"site_near": "caution"}),
        ("25 Alder Lane", {"ok": "ok"}),
        ("12 Oak Lane", {"ok": "ok"}),
    ],
)
def test_the_other_chemistry_today_stops_at_the_same_place_and_asks_near_it(
    tmp_path: Path, address: str, expected: dict[str, str]
) -> None:
    bleach = {**BLEACH, "site": {"address": "14 Alder Lane"}}
    _, later = _days(tmp_path, {f"{DAY}/10-one": bleach, f"{DAY}/20-two": {**OWN, "site": {"address": address}}})
    assert _cases(later) == expected
    if "site_near" in expected:
        assert "on 14 alder lane" in _said(later, "site_near")


@pytest.mark.ci
def test_a_neighbors_wall_of_the_day_before_is_nobodys_matter_but_a_slip_of_its_address_is(tmp_path: Path) -> None:
    brick = {
        **BLEACH,
        "site": {"address": "14 Alder Lane"},
        "surfaces": [{"name": "wall", "kind": "brick", "area": "90 ft2"}],
    }
    for address, expected in (("12 Alder Lane", {"ok": "ok"}), ("14 Aldr Lane", {"site_near": "caution"})):
        folder = tmp_path / address
        folder.mkdir()
        _, later = _days(folder, {f"{DAY}/10-one": brick, f"{NEXT}/10-two": {**OWN, "site": {"address": address}}})
        assert _cases(later) == expected


def test_two_jobs_of_one_chemistry_next_door_are_not_spoken_of(tmp_path: Path) -> None:
    jobs = {f"{DAY}/10-one": BLEACH, f"{DAY}/20-two": {**BLEACH, "site": {"address": "3 Case Street"}}}
    assert [_cases(job) for job in _days(tmp_path, jobs)] == [{"ok": "ok"}] * 2


# ------------------------------------------------------------------------------------------- the road

BUCKET = [
    *workspaces.base()["rig"]["tanks"],
    {"name": "bucket", "volume": "15 gal", "holds": "mix", "dead_volume": "2 gal"},
]
BY_BUCKET = {**ACID, "hose_runs": [{**SPRAY, "feed": "bucket"}]}


@pytest.mark.ci
def test_acid_left_over_night_rides_beside_bleach_and_weighs(tmp_path: Path) -> None:
    rig = {"tanks": BUCKET, "weights": {"empty": "2900 lb", "rated": "7000 lb"}}
    later = _days(tmp_path, {f"{DAY}/10-one": BY_BUCKET, f"{NEXT}/10-two": BLEACH}, rig=rig)[1]
    assert _cases(later, "load.apart")["tank"] == "stop"
    assert "Hypochlorite rides while bucket still holds muriatic" in _said(later, "tank", "load.apart")
    assert later.plan.load is not None
    (item,) = [one for one in later.plan.load.out.items if one.tank == "bucket"]
    assert (item.kind, item.chemical) == ("heel", "muriatic")
    # Two gallons of thin acid.
    assert item.mass == pytest.approx(2 * 3.785, rel=0.05)
    said = {"heels": {"bucket": {"stock": "water", "volume": "0 gal"}}}
    (clean,) = _days(tmp_path / "rinsed", {f"{NEXT}/10-two": BLEACH}, rig=rig, day=said)
    assert "tank" not in _cases(clean, "load.apart")


def test_two_heels_that_may_not_meet_ride_side_by_side_and_drained_ones_too(tmp_path: Path) -> None:
    heels = {
        "mix": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"},
        "bucket": {"stock": "acid", "strength": "5 wt %", "volume": "0 gal"},
    }
    job = _one(tmp_path, {}, rig={"tanks": BUCKET}, day={"heels": heels})
    assert _cases(job, "load.apart") == {"tanks": "stop"}
    assert _said(job, "tanks", "load.apart").startswith("Mix holds hypochlorite and bucket holds muriatic on the road")
