"""What somebody may still do first: jobs held, unreadable or left out of the call, and what a day before left behind."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob
from planner.days.prepare import Trouble, checked_jobs, days_of
from planner.inputs.workspace import load
from planner.words import spoken as words
from tests import workspaces

PREMIX = {"feed": "mix", "dosing": "premix", "pump": "transfer", "target": "8 ft"}
BLEACH: dict[str, Any] = {
    "surfaces": [{"name": "wall", "kind": "brick", "area": "100 ft2"}],
    "chemicals": [{"stock": "bleach", "strength": "1 %"}],
    "hose_runs": {0: PREMIX},
}
ACID: dict[str, Any] = {
    "site": {"address": "2 Mill Road"},
    "surfaces": [{"name": "plinth", "kind": "brick_acid", "area": "100 ft2"}],
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "hose_runs": {0: PREMIX},
}
KEPT = {
    "tanks": [*workspaces.base()["rig"]["tanks"], {"name": "bucket", "volume": "15 gal", "holds": "muriatic"}],
    "pumps": [
        *workspaces.base()["rig"]["pumps"],
        {"name": "acid pump", "kind": "diaphragm", "curve": [["0 gpm", "80 psi"], ["5.5 gpm", "0 psi"]],
         "cut_off": "60 psi", "height": "0 ft", "dedicated": "muriatic"},
    ],
}  # fmt: skip
APART = {"feed": "bucket", "pump": "acid pump", "hoses": [{"bore": "1/2 in", "length": "50 ft"}]}
OWN_GEAR = workspaces.merged(ACID, {"hose_runs": {0: APART}})
DAY = "2026-06-09"


def _written(
    folder: Path, jobs: dict[str, dict[str, Any] | str], days: dict[str, dict[str, Any]] | None = None
) -> Path:
    """A workspace with these jobs, each by day and file stem."""
    files = workspaces.merged(workspaces.base(), {"rig": KEPT})
    workspaces.write(folder, files).unlink()
    for name, change in jobs.items():
        path = folder / f"{name}.yaml"
        path.parent.mkdir(exist_ok=True)
        whole = change if isinstance(change, str) else yaml.safe_dump(workspaces.merged(files["job"], change))
        path.write_text(whole, encoding="utf-8")
        day = workspaces.merged(files["day"], (days or {}).get(path.parent.name, {}))
        (path.parent / "day.yaml").write_text(yaml.safe_dump(day), encoding="utf-8")
    return folder


def _checked(*paths: Path) -> list[CheckedJob]:
    return list(checked_jobs(load(paths), Trouble(faults=[])))


def _cases(job: CheckedJob) -> dict[str, str]:
    return {one.case: one.level for one in job.findings if one.code == "mix.reaction"}


@pytest.mark.ci
@pytest.mark.parametrize(
    ("first", "second", "cases"),
    [
        (BLEACH, {**OWN_GEAR, "site": {"address": "1 Case Street"}}, {"site_today": "stop"}),
        (BLEACH, ACID, {"bleach_pump": "stop", "cleared": "ok"}),
        (ACID, {**BLEACH, "site": {"address": "3 Oak Row"}}, {"cleared": "ok", "ok": "ok"}),
    ],
    ids=["bleach on its site first", "bleach through its pump first", "gear that a flush gets clean"],
)
def test_a_job_named_alone_is_planned_as_in_its_day(
    tmp_path: Path, first: dict[str, Any], second: dict[str, Any], cases: dict[str, str]
) -> None:
    folder = _written(tmp_path, {f"{DAY}/10-one": first, f"{DAY}/20-two": second}) / DAY
    (alone,) = _checked(folder / "20-two.yaml")
    assert _cases(alone) == cases
    assert alone.plan == _checked(folder)[1].plan


@pytest.mark.ci
def test_a_job_that_comes_later_or_shares_nothing_is_not_spoken_of(tmp_path: Path) -> None:
    folder = _written(tmp_path, {f"{DAY}/10-one": BLEACH, f"{DAY}/20-two": OWN_GEAR}) / DAY
    for name in ("10-one", "20-two"):
        (alone,) = _checked(folder / f"{name}.yaml")
        assert _cases(alone) == {"ok": "ok"}


@pytest.mark.ci
def test_a_job_that_comes_first_next_door_or_nearly_at_this_address_is_asked_about(tmp_path: Path) -> None:
    for address in ("3 Case Street", "1 Cast Street"):
        near = {**OWN_GEAR, "site": {"address": address}}
        folder = _written(tmp_path, {f"{DAY}/10-one": BLEACH, f"{DAY}/20-two": near}) / DAY
        (alone,) = _checked(folder / "20-two.yaml")
        assert _cases(alone) == {"site_near": "caution"}
        (finding,) = [one for one in alone.findings if one.case == "site_near"]
        assert "1 case street" in words.message(finding, "us")
        assert words.remedy(finding, "us")


def test_water_through_gear_that_bleach_goes_through_first_counts_for_a_job_named_alone(tmp_path: Path) -> None:
    rinse = {"name": "rinse", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan"}
    spray = workspaces.merged(workspaces.base()["job"]["hose_runs"][0], {**PREMIX, **APART})
    acid = {**OWN_GEAR, "hose_runs": [spray, rinse]}
    folder = _written(tmp_path, {f"{DAY}/10-one": BLEACH, f"{DAY}/20-two": acid}) / DAY
    (alone,) = _checked(folder / "20-two.yaml")
    assert _cases(alone) == {"cleared": "ok", "ok": "ok"}
    assert "red" in [one.about for one in alone.findings if one.case == "between_water"]


def test_jobs_follow_each_other_as_the_day_has_them_however_they_are_named(tmp_path: Path) -> None:
    folder = _written(tmp_path, {f"{DAY}/10-one": BLEACH, f"{DAY}/20-two": ACID}) / DAY
    first, second = _checked(folder / "20-two.yaml", folder / "10-one.yaml")
    assert (first.plan.id, second.plan.id) == (f"{DAY}/10-one", f"{DAY}/20-two")
    assert _cases(second)["bleach_pump"] == "stop"


def test_a_job_whose_file_cannot_be_read_may_have_left_anything(tmp_path: Path) -> None:
    folder = _written(tmp_path, {f"{DAY}/10-one": "job: [", f"{DAY}/20-two": OWN_GEAR, f"{DAY}/05-zero": BLEACH}) / DAY
    zero, two = _checked(folder)
    assert _cases(zero) == {"ok": "ok"}
    assert _cases(two) == {"unread": "caution"}
    (finding,) = [one for one in two.findings if one.case == "unread"]
    assert "10-one" in words.message(finding, "us")


@pytest.mark.ci
def test_a_job_held_only_for_stock_is_spoken_of_for_it_is_to_be_bought(tmp_path: Path) -> None:
    large = workspaces.merged(BLEACH, {"surfaces": {0: {"area": "90000 ft2"}}})
    folder = _written(tmp_path, {f"{DAY}/10-one": large, f"{DAY}/20-two": ACID}) / DAY
    first, second = _checked(folder)
    assert {one.code for one in first.findings if one.level == "stop"} == {"mix.stock"}
    assert _cases(second) == {"held_gear": "caution"}


@pytest.mark.parametrize(
    ("heels", "flushed"),
    [
        ({}, True),
        ({"mix": {"stock": "water", "volume": "0 gal"}}, False),
        ({"mix": {"stock": "bleach", "strength": "1 %", "volume": "1 gal"}}, True),
    ],
    ids=["nothing written", "written as empty", "written as it is"],
)
def test_bleach_that_stood_in_a_tank_overnight_is_flushed_before_acid_comes_in(
    tmp_path: Path, heels: dict[str, Any], flushed: bool
) -> None:
    own_pump = workspaces.merged(ACID, {"hose_runs": {0: {**APART, "feed": "mix"}}})
    folder = _written(
        tmp_path, {f"{DAY}/10-one": BLEACH, "2026-06-10/10-two": own_pump}, {"2026-06-10": {"heels": heels}}
    )
    _, second = _checked(folder / DAY, folder / "2026-06-10")
    assert [change.leaves for change in second.plan.changes] == ([("hypochlorite",)] if flushed else [])
    assert bool([one for one in second.findings if one.code == "flush.needed" and one.about == "mix"]) is flushed


def test_a_tank_no_file_speaks_of_is_dry_for_more_of_the_same(tmp_path: Path) -> None:
    folder = _written(tmp_path, {f"{DAY}/10-one": BLEACH, "2026-06-10/10-two": BLEACH})
    first, second = _checked(folder / DAY, folder / "2026-06-10")
    assert first.plan.mixes[0].heel == second.plan.mixes[0].heel == 0.0


def test_a_pump_bleach_went_through_the_day_before_takes_no_acid(tmp_path: Path) -> None:
    folder = _written(tmp_path, {f"{DAY}/10-one": BLEACH, "2026-06-10/10-two": ACID})
    _, second = _checked(folder / DAY, folder / "2026-06-10")
    assert _cases(second)["bleach_pump"] == "stop"


def test_a_bath_of_acid_stops_where_no_flush_took_the_bleach_out_and_waits_for_a_strip_the_day_after(
    tmp_path: Path,
) -> None:
    yard = yaml.safe_dump(
        {
            "job": "Pump",
            "kind": "yard",
            "pump": "transfer",
            "work": "descale",
            "bath": "10 vol % muriatic",
            "tub": "5 gal",
        }
    )
    hard = {**BLEACH, "water": {"chlorine": "4 mg/L"}}
    for name, job, expected in (
        ("flushed", BLEACH, {"bath": "caution"}),
        ("not flushed", hard, {"bath_unflushed": "stop"}),
    ):
        folder = tmp_path / name.replace(" ", "_")
        folder.mkdir()
        _written(folder, {f"{DAY}/10-one": job, f"{DAY}/90-pump": yard, "2026-06-10/90-pump": yard})
        _, same_day, day_after = _checked(folder / DAY, folder / "2026-06-10")
        assert _cases(same_day) == expected
        assert _cases(day_after) == expected


def test_a_bath_named_alone_still_knows_that_bleach_goes_through_the_pump_first(tmp_path: Path) -> None:
    yard = yaml.safe_dump(
        {"job": "Pump", "kind": "yard", "pump": "transfer", "work": "descale", "bath": "10 vol % muriatic"}
    )
    folder = _written(tmp_path, {f"{DAY}/10-one": BLEACH, f"{DAY}/90-pump": yard}) / DAY
    (alone,) = _checked(folder / "90-pump.yaml")
    assert _cases(alone) == {"bath": "caution"}


def test_what_stands_in_a_tank_untouched_is_there_in_the_evening(tmp_path: Path) -> None:
    heels = {"mix": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"}}
    folder = _written(tmp_path, {f"{DAY}/10-one": {}}, {DAY: {"heels": heels}})
    read = load([folder / DAY])
    ((day, _),) = days_of(read, list(checked_jobs(read, Trouble(faults=[]))))
    ((tank, chemical, litres),) = [(one.tank, one.chemical, one.volume) for one in day.heels]
    assert (tank, chemical) == ("mix", "hypochlorite")
    assert litres == pytest.approx(2 * 231 * 0.0254**3)
