"""Every way two things can meet, with the gas it could give: files as they are written, findings as they are read."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.meeting import mix_reaction
from planner.checks.model import CheckedJob, Finding
from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.workspace import load
from planner.packet.findings import message_of
from planner.plan.between.meetings import meetings
from planner.plan.between.sites import around_job
from planner.plan.make import make_plan
from planner.plan.model import JobPlan, Value
from planner.words import spoken as words
from tests import workspaces

GALLON = 231 * 0.0254**3
PREMIX = {"feed": "mix", "dosing": "premix"}
BLEACH = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}
ACID = {
    "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "hose_runs": {0: {**PREMIX, "pump": "transfer", "hoses": [{"bore": "1/2 in", "length": "50 ft"}]}},
}
BRICK = {"surfaces": [{"name": "wall", "kind": "brick", "area": "500 ft2"}]}


def _reactions(job: CheckedJob) -> list[Finding]:
    return [finding for finding in job.findings if finding.code == "mix.reaction"]


def _cases(job: CheckedJob) -> dict[str, str]:
    return {finding.case: finding.level for finding in _reactions(job)}


def _days(folder: Path, *jobs: tuple[str, dict[str, Any]]) -> list[CheckedJob]:
    """Jobs of one or several days, each with the name of its file: `2026-06-09/20-later`."""
    workspaces.write(folder, workspaces.base())
    (folder / "2026-06-09" / "10-case.yaml").unlink()
    for name, change in jobs:
        path = folder / f"{name}.yaml"
        path.parent.mkdir(exist_ok=True)
        path.write_text(yaml.safe_dump(workspaces.merged(workspaces.base()["job"], change)), encoding="utf-8")
        (path.parent / "day.yaml").write_text(yaml.safe_dump(workspaces.base()["day"]), encoding="utf-8")
    read = load([folder / day for day in sorted({name.partition("/")[0] for name, _ in jobs})])
    trouble = Trouble(faults=list(read.faults))
    found = list(checked_jobs(read, trouble))
    assert not trouble.faults, trouble.faults
    return found


def _amount(finding: Finding, name: str) -> float:
    value = finding.values[name]
    assert isinstance(value, Value)
    return value.amount


def test_acid_and_bleach_on_one_site_say_how_much_chlorine_the_scarcer_one_gives(tmp_path: Path) -> None:
    files = workspaces.merged(
        workspaces.base(),
        {
            "job": {
                "surfaces": [
                    {"name": "drive", "kind": "concrete", "area": "300 ft2"},
                    {"name": "wall", "kind": "brick_acid", "area": "100 ft2"},
                ],
                "chemicals": [
                    {"stock": "bleach", "strength": "1 %", "surfaces": ["drive"]},
                    {"stock": "muriatic", "strength": "1:10", "surfaces": ["wall"]},
                ],
                "hose_runs": [
                    {"name": "front", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "long throw",
                     "dosing": "panel", "surfaces": ["drive"]},
                    {"name": "back", "pump": "transfer", "feed": "mix", "hoses": [{"bore": "1/2 in", "length": "50 ft"}],
                     "tip": "long throw", "dosing": "premix", "surfaces": ["wall"]},
                ],
            }
        },
    )  # fmt: skip
    job = workspaces.checked(tmp_path, files)
    bleach, acid = job.plan.mixes
    (finding,) = [one for one in _reactions(job) if one.level == "stop"]
    assert finding.case == "runoff"
    assert bleach.stock is not None
    assert bleach.lot is not None
    assert bleach.lot.high is not None
    # NaOCl + 2 HCl -> Cl2: all the available chlorine comes out as chlorine where there is acid enough.
    assert acid.stock is not None
    assert acid.lot is not None
    assert acid.lot.high is not None
    chlorine = min(bleach.stock * bleach.lot.high, acid.stock * acid.lot.high * 70.9058 / (2 * 36.46084))
    assert _amount(finding, "gas_mass") == pytest.approx(chlorine, rel=1e-5)
    assert _amount(finding, "air") == pytest.approx(
        chlorine / 0.0709058 * 8.314462618 * 298.15 / 101325 / 10e-6, rel=1e-5
    )
    said = words.message(finding, "us")
    assert "lb of chlorine" in said
    assert "10 ppm" in said


def _on_a_heel(folder: Path, chemical: str, strength: float) -> JobPlan:
    """A batch of acid poured on two gallons of something that nobody flushed out."""
    plan = workspaces.checked(folder, workspaces.merged(workspaces.base(), {"job": ACID})).plan
    (mix,) = plan.mixes
    left = replace(mix, heel_chemical=chemical, heel_held=2 * GALLON, heel_strength=strength)
    return replace(plan, mixes=(left,))


def test_a_heel_of_bleach_gives_no_more_chlorine_than_it_holds(tmp_path: Path) -> None:
    (finding,) = [one for one in mix_reaction(_on_a_heel(tmp_path, "hypochlorite", 30.0)) if one.case == "heel"]
    assert finding.level == "stop"
    assert _amount(finding, "gas_mass") == pytest.approx(2 * GALLON * 30.0, rel=1e-6)


def test_acid_on_a_heel_of_bicarbonate_is_what_neutralising_is_and_only_a_caution_in_a_tank(tmp_path: Path) -> None:
    (finding,) = mix_reaction(_on_a_heel(tmp_path, "bicarbonate", 50.0))
    assert (finding.case, finding.level) == ("thin", "caution")
    # NaHCO3 + HCl -> CO2: as many moles as there is bicarbonate (84.0067 g/mol, CO2 44.0095).
    assert _amount(finding, "gas_mass") == pytest.approx(2 * GALLON * 50.0 / 84.0067 * 44.0095, rel=1e-5)


@pytest.mark.ci
def test_a_line_that_carried_bleach_is_cleared_by_the_flush_at_the_end_and_the_pump_is_not(tmp_path: Path) -> None:
    through_red = {**ACID, "hose_runs": {0: {**PREMIX, "pump": "transfer", "hoses": ["red"]}}}
    elsewhere = {"site": {"address": "2 Mill Road"}}
    _, later = _days(tmp_path, ("2026-06-09/10-one", BLEACH), ("2026-06-09/20-two", {**through_red, **elsewhere}))
    assert _cases(later) == {"cleared": "ok", "ok": "ok"}
    assert [(one.about, one.case) for one in later.findings if one.code == "flush.needed" and one.case == "between"]


def test_bleach_after_acid_may_go_through_its_pump_once_it_is_flushed(tmp_path: Path) -> None:
    acid = {**ACID, "hose_runs": {0: PREMIX}}
    _, later = _days(
        tmp_path, ("2026-06-09/10-one", acid), ("2026-06-09/20-two", {**BLEACH, "site": {"address": "2 Mill Road"}})
    )
    assert _cases(later) == {"cleared": "ok", "ok": "ok"}


@pytest.mark.ci
def test_a_bleach_pump_stays_one_whatever_goes_through_it_before_the_acid(tmp_path: Path) -> None:
    between = {"chemicals": [{"stock": "soap", "dose": "1 fl oz/gal"}], "hose_runs": {0: {"dosing": "panel"}}}
    jobs = _days(
        tmp_path,
        ("2026-06-09/10-one", BLEACH),
        ("2026-06-09/20-two", {**between, "site": {"address": "2 Mill Road"}}),
        ("2026-06-09/30-three", {**ACID, "hose_runs": {0: PREMIX}, "site": {"address": "3 Mill Road"}}),
    )
    assert jobs[1].plan.left.bleach_pumps == {"booster"}
    assert _cases(jobs[2])["bleach_pump"] == "stop"


@pytest.mark.ci
def test_a_second_job_at_the_same_address_today_may_not_bring_the_other_chemistry(tmp_path: Path) -> None:
    _, later = _days(
        tmp_path,
        ("2026-06-09/10-one", {**BLEACH, "site": {"address": "1 Case Street"}}),
        ("2026-06-09/20-two", {**ACID, "site": {"address": "1, case street."}}),
    )
    assert _cases(later) == {"site_today": "stop"}
    assert words.remedy(_reactions(later)[0], "us")


@pytest.mark.ci
@pytest.mark.parametrize(
    ("first", "day", "expected"),
    [
        (BRICK, "2026-06-10", {"wall_before": "stop"}),
        (BRICK, "2026-07-09", {"wall_before": "stop"}),
        (BRICK, "2026-07-10", {"ok": "ok"}),
        (
            {"surfaces": [{"name": "chimney", "kind": "brick", "area": "500 ft2"}]},
            "2026-06-10",
            {"site_before": "caution"},
        ),
        ({}, "2026-06-10", {"ok": "ok"}),
    ],
    ids=["masonry next day", "thirty days after", "a day more", "another wall of it", "siding next day"],
)
def test_masonry_remembers_for_thirty_days_what_a_job_of_the_days_before_put_on_it(
    tmp_path: Path, first: dict[str, Any], day: str, expected: dict[str, str]
) -> None:
    _, later = _days(tmp_path, ("2026-06-09/10-one", {**BLEACH, **first}), (f"{day}/10-two", ACID))
    assert _cases(later) == expected
    # How much of it the pores keep nobody knows, so no gas is told.
    assert not any("gas_mass" in finding.values for finding in _reactions(later))


@pytest.mark.ci
def test_a_strip_written_on_the_wall_answers_what_the_day_before_asks(tmp_path: Path) -> None:
    wall = {
        "name": "wall",
        "kind": "brick_acid",
        "area": "100 ft2",
        "before": {"stock": "bleach", "on": "2026-06-09", "strip": "7"},
    }
    _, later = _days(
        tmp_path, ("2026-06-09/10-one", {**BLEACH, **BRICK}), ("2026-06-10/10-two", {**ACID, "surfaces": [wall]})
    )
    assert _cases(later) == {"strip_ok": "ok", "ok": "ok"}


def test_a_held_job_leaves_nothing_for_the_next_to_meet_but_is_spoken_of(tmp_path: Path) -> None:
    held = {**BLEACH, "access": {"power_line": "5 ft"}}
    first, later = _days(tmp_path, ("2026-06-09/10-one", held), ("2026-06-09/20-two", ACID))
    assert first.verdict == "stop"
    assert _cases(later) == {"held_site": "caution"}


def test_a_pump_put_into_an_acid_bath_on_a_day_it_carried_bleach_is_flushed_first(tmp_path: Path) -> None:
    files = workspaces.base()
    workspaces.write(tmp_path, workspaces.merged(files, {"job": BLEACH}))
    yard = {
        "job": "Booster",
        "kind": "yard",
        "pump": "booster",
        "work": "descale",
        "bath": "10 vol % muriatic",
        "tub": "5 gal",
    }
    (tmp_path / "2026-06-09" / "90-booster.yaml").write_text(yaml.safe_dump(yard), encoding="utf-8")
    read = load([tmp_path / "2026-06-09"])
    trouble = Trouble(faults=list(read.faults))
    jobs = list(checked_jobs(read, trouble))
    assert not trouble.faults
    assert _cases(jobs[1]) == {"bath": "caution"}


def test_an_acid_that_wets_aluminium_says_how_much_hydrogen_it_could_give(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), {"job": ACID, "rig": {"pumps": {2: {"wetted": ["aluminium"]}}}})
    job = workspaces.checked(tmp_path, files)
    (finding,) = [one for one in job.findings if one.code == "mix.surface" and one.case == "gear"]
    (mix,) = job.plan.mixes
    assert mix.stock is not None
    assert mix.lot is not None
    assert mix.lot.high is not None
    # 2 Al + 6 HCl -> 3 H2: half a mole of hydrogen for each of acid.
    assert _amount(finding, "gas_mass") == pytest.approx(mix.stock * mix.lot.high / 36.46084 / 2 * 2.015882, rel=1e-5)
    assert "hydrogen" in words.message(finding, "us")


@pytest.fixture
def roof(tmp_path: Path) -> JobPlan:
    change = {"job": {**BLEACH, "chemicals": [{"stock": "bleach", "strength": "4 %"}], "hose_runs": {0: PREMIX}}}
    return workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change)).plan


def test_a_leftover_above_the_limit_is_thinned_before_it_is_neutralised(roof: JobPlan) -> None:
    told = {finding.case: finding.level for finding in mix_reaction(roof)}
    assert told == {"thinned": "ok", "ok": "ok"}
    poured = replace(roof, neutralisers=tuple(replace(one, thin_to=None) for one in roof.neutralisers))
    assert {finding.case for finding in mix_reaction(poured) if finding.level == "stop"} == {"strong"}


def test_what_a_planned_flush_takes_out_of_a_tank_is_cleared_and_of_nothing_else(tmp_path: Path) -> None:
    plan = _on_a_heel(tmp_path, "hypochlorite", 30.0)
    around = around_job(plan.input, plan.found, plan.mixes, plan.shelf)
    (as_found,) = meetings(around, {})
    assert (as_found.kind, as_found.place, as_found.cleared) == ("heel", "mix", False)
    (flushed,) = meetings(around, {"mix": frozenset({"hypochlorite"})})
    assert flushed.cleared
    (otherwise,) = meetings(around, {"mix": frozenset({"caustic"})})
    assert not otherwise.cleared


def test_real_plans_are_the_same_whether_asked_once_or_again(roof: JobPlan) -> None:
    again = make_plan(roof.input, tables=False)
    assert list(mix_reaction(again)) == list(mix_reaction(roof))


@pytest.mark.parametrize(
    ("heel", "mix", "clean"),
    [
        ("{stock: muriatic, strength: 3 wt %, volume: 1 gal}", "{stock: bleach, strength: 1 %}", "to pH 6 to 8 before"),
        ("{stock: bleach, strength: 3 %, volume: 1 gal}", "{stock: acid, strength: '1:10'}", "of chlorine before"),
        ("{stock: soap, strength: 1 vol %, volume: 1 gal}", "{stock: bleach, strength: 1 %}", "to no foam before"),
    ],
)
def test_a_flush_between_two_chemistries_is_told_by_what_a_strip_of_the_first_has_to_read(
    tmp_path: Path, heel: str, mix: str, clean: str
) -> None:
    wall = "brick_acid" if "acid" in mix else "vinyl"
    change = workspaces.read_yaml(
        f"{{day: {{heels: {{mix: {heel}}}}}, job: {{surfaces: {{0: {{kind: {wall}}}}}, chemicals: [{mix}], "
        "hose_runs: {0: {feed: mix, dosing: premix}}}}"
    )
    job = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change))
    (one,) = [one for one in job.findings if (one.code, one.case) == ("flush.needed", "change")]
    assert clean in message_of(one, "us")
