"""Water over time of whole jobs: what an experienced hand expects, balances, and what a day hands on."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.plan.model import JobPlan
from planner.plan.water.model import SupplyPlan, TankLevel
from planner.plan.water.tap import filler_of
from tests import workspaces
from tests.plan.mix.test_sanity_mixing import FERRIS_COURT, TANNERY_ROW
from tests.plan.test_sanity_cases import ALDER_LANE

GALLON = 231 * 0.0254**3
GPM = GALLON / 60
MINUTE = 60.0
MILLILITRE = 1e-6
NO_TAP: dict[str, Any] = {"source": "tank", "static": None, "flow_test": None, "backflow": None}


def supply_of(plan: JobPlan) -> SupplyPlan:
    assert plan.supply is not None
    return plan.supply


def main_of(plan: JobPlan) -> TankLevel:
    main = supply_of(plan).main
    assert main is not None
    return main


def dry_findings(job: CheckedJob) -> list[tuple[str, str]]:
    return [(finding.level, finding.case) for finding in job.findings if finding.code == "supply.dry"]


def base_job(folder: Path, **change: Any) -> CheckedJob:
    return workspaces.checked(folder, workspaces.merged(workspaces.base(), change))


# ------------------------------------------------------------------------------------------------ sanity cases
# Expectations of an experienced hand, common practice, no source.


def _tannery_row(folder: Path, **job: Any) -> CheckedJob:
    """The drive alone, through 100 ft of 3/4 in from the tap over the rim of a tank lying 38 in across."""
    drive = {
        "surfaces": [{"name": "drive", "kind": "concrete", "area": "1200 ft2"}],
        "chemicals": [{"stock": "bleach", "strength": "1 %"}],
        "hose_runs": TANNERY_ROW["job"]["hose_runs"][:2],
    }
    shape = {"kind": "horizontal_cylinder", "diameter": "38 in", "length": "56 in"}
    rig = {
        "tanks": {0: {"dead_volume": "6 gal", "shape": shape}},
        "supply_hose": {"bore": "3/4 in", "length": "100 ft", "backflow": "air_gap"},
    }
    files = workspaces.merged(copy.deepcopy(TANNERY_ROW), {"rig": rig, "job": {**drive, **job}})
    return workspaces.checked(folder, files)


def test_tannery_rows_tank_falls_to_about_120_gallons_with_a_tap_of_4_gpm(tmp_path: Path) -> None:
    job = _tannery_row(tmp_path)
    tank = main_of(job.plan)
    assert tank.lowest / GALLON == pytest.approx(120, abs=3)
    # Lowest when the surface cleaner has taken 495 gal.
    assert tank.lowest_at / MINUTE == pytest.approx(90, abs=0.2)
    assert supply_of(job.plan).dry_at is None
    assert dry_findings(job) == [("ok", "ok")]


def test_tannery_row_without_a_tap_is_dry_in_49_minutes_and_stops(tmp_path: Path) -> None:
    job = _tannery_row(tmp_path, tap=None, water={"source": "tank"})
    supply = supply_of(job.plan)
    assert supply.dry_at is not None
    # Of the 269 gal over the outlet the first line took 0.57 in its try; the pump is switched on for 5 s.
    assert supply.dry_at / MINUTE == pytest.approx((269 - 0.57) / 5.5 + 5 / 60, abs=0.01)
    assert dry_findings(job) == [("stop", "mix_bring")]
    tank = main_of(job.plan)
    assert tank.dry is not None
    assert (tank.dry.what, tank.dry.about) == ("clean", "drive")
    # Drawn in all 683 gal: 269 in the tank, 414 to bring, which is two tankfuls more.
    assert tank.dry.short / GALLON == pytest.approx(tank.wanted / GALLON - 269, abs=1e-6)
    assert tank.trips == 2


def test_the_lowest_level_counts_from_what_the_tap_really_brings_over_the_rim(tmp_path: Path) -> None:
    """Hand calculation: 90 min at 5.5 gpm less the fill, from 275 gal full."""
    job = _tannery_row(tmp_path)
    tank = main_of(job.plan)
    assert tank.fill_flow is not None
    assert 3.6 * GPM < tank.fill_flow < 4.0 * GPM
    begins = next(stands for at, stands in tank.points if at >= 0.0)
    assert begins / GALLON == pytest.approx(275 - 0.57, abs=0.01)
    assert tank.lowest == pytest.approx(begins - 90 * MINUTE * (5.5 * GPM - tank.fill_flow), abs=1e-5)


def test_alder_lane_never_runs_dry_on_a_tap_of_5_gallons_in_50_seconds(tmp_path: Path) -> None:
    files = workspaces.as_written(ALDER_LANE)
    files["job"]["near"] = {"flower_beds": "400 ft2"}
    job = workspaces.checked(tmp_path, files)
    assert supply_of(job.plan).dry_at is None
    assert dry_findings(job) == [("ok", "ok_all")]
    tank = main_of(job.plan)
    # The second opens the fill between the calls; the beds have the tap as well, and the line is tried before.
    assert tank.lowest > 0.45 * tank.volume
    # Alone, the tank does not last: 496 gal are drawn from 275; a line volume and a bucket try the line, what pushes
    # each section's mix out wets the next.
    assert tank.alone is not None
    tried = job.plan.water.line + job.plan.water.test
    assert (tank.wanted - tried) / GALLON == pytest.approx(496 + 13, abs=3)


def test_ferris_court_draws_on_its_mix_tank_and_the_tap_alone(tmp_path: Path) -> None:
    files = {"company": {"name": "Case Company"}, **copy.deepcopy(FERRIS_COURT)}
    job = workspaces.checked(tmp_path, files)
    supply = supply_of(job.plan)
    assert supply.main is None
    (mix,) = supply.mix_tanks
    (batch,) = job.plan.mixes[0].batches
    assert mix.start == batch.heel
    assert max(volume for _, volume in mix.points) == pytest.approx(batch.mix, rel=1e-9)
    # What is left is what stays below the outlet: the spare goes into pails.
    assert mix.end == pytest.approx(GALLON, abs=MILLILITRE)
    assert dry_findings(job) == [("ok", "tap_gives")]


# ------------------------------------------------------------------------------------------------ the tap


def test_filling_leaves_no_pressure_where_the_hose_ends(tmp_path: Path) -> None:
    job = base_job(tmp_path).plan.input
    filler = filler_of(job, job.rig.tanks[0])
    assert filler is not None
    for taken in (0.0, 2 * GPM, 5 * GPM):
        flow = filler.flow(taken)
        lost = sum(part.head(flow, filler.viscosity / filler.density) for part in filler.parts)
        lift = filler.density * 9.80665 * (lost + filler.rise)
        assert filler.tap.pressure(flow + taken) == pytest.approx(lift, rel=1e-6)
    assert filler.flow(5 * GPM) < filler.flow(2 * GPM) < filler.flow(0.0)


def test_a_bucket_tested_tap_with_no_hose_fills_at_the_buckets_flow(tmp_path: Path) -> None:
    water = {"source": "tap", "bucket": "5 gal in 50 s", "static": None, "flow_test": None}
    files = workspaces.merged(workspaces.base(), {"rig": {"supply_hose": None}, "job": {"water": water}})
    job = workspaces.checked(tmp_path, files).plan.input
    filler = filler_of(job, job.rig.tanks[0])
    assert filler is not None
    assert filler.flow() == pytest.approx(6 * GPM, rel=1e-9)
    assert filler.flow(2 * GPM) == pytest.approx(4 * GPM, rel=1e-9)
    assert filler.flow(7 * GPM) == 0.0


def test_a_tap_that_does_not_lift_water_over_the_rim_fills_nothing(tmp_path: Path) -> None:
    rig = {"tanks": {0: {"floor": "30 ft"}}}
    water = {"static": "10 psi", "flow_test": {"flow": "8 gpm", "pressure": "5 psi"}}
    plan = base_job(tmp_path, rig=rig, job={"water": water}).plan
    assert main_of(plan).fill_flow == 0.0
    assert main_of(plan).fills == ()


def test_an_untested_tap_is_taken_as_an_ordinary_one_and_says_so(tmp_path: Path) -> None:
    supply = supply_of(base_job(tmp_path, job={"water": {"flow_test": None}}).plan)
    assert supply.assumed
    assert supply.main is not None
    assert supply.main.fill_flow is not None
    assert 3 * GPM < supply.main.fill_flow < 5 * GPM


def test_no_water_runs_into_the_tank_while_a_run_has_the_tap_to_itself(tmp_path: Path) -> None:
    runs = [
        {
            "name": "front",
            "pump": "booster",
            "feed": "water",
            "hoses": ["red"],
            "tip": "long throw",
            "surfaces": ["wall"],
            "standoff": "10 ft",
            "target": "20 ft",
        },
        {
            "name": "yard",
            "pump": "washer",
            "feed": "tap",
            "hoses": ["red"],
            "tip": "fan",
            "surfaces": ["yard"],
            "target": "6 ft",
        },
    ]
    surfaces = [
        {"name": "wall", "kind": "vinyl", "area": "500 ft2"},
        {"name": "yard", "kind": "concrete", "area": "300 ft2"},
    ]
    plan = base_job(tmp_path, job={"hose_runs": runs, "surfaces": surfaces}).plan
    yard = [phase for phase in supply_of(plan).phases if phase.about == "yard"]
    assert yard
    for phase in (one for one in yard if "tap" in one.draws):
        for start, stop in main_of(plan).fills:
            assert stop <= phase.start + 1e-6 or start >= phase.start + phase.seconds - 1e-6


def test_a_mix_that_cannot_be_made_draws_no_water(tmp_path: Path) -> None:
    """No lot can give it, so nothing is sprayed; the water that is counted is what the tanks give."""
    change = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}
    weak = {"dosing": {0: {"dial": [["1", "0.1 %"], ["2", "0.2 %"]]}}}
    for place, rig, draws in (("made", {}, True), ("not", weak, False)):
        plan = base_job(tmp_path / place, job=change, rig=rig).plan
        (mix,) = plan.mixes
        assert (mix.mix is not None) == draws
        drawn = sum(sum(one.draws.values()) for one in supply_of(plan).phases if one.what == "apply")
        beds = plan.beds.during if plan.beds is not None else 0.0
        assert (drawn > beds * (1 + 1e-6)) == draws


# ------------------------------------------------------------------------------------------------ beds and the tap


def _bedded(folder: Path, beds: str, flow: str, **job: Any) -> CheckedJob:
    """Five hundred feet of wall washed from the tank, beds watered from a tap of `flow`."""
    water = {"flow_test": {"flow": flow, "pressure": "0 psi"}}
    change = {"chemicals": [{"stock": "drum", "strength": "0.8 %"}], "hose_runs": {0: {"dosing": "panel"}}, **job}
    return base_job(folder, job={**change, "near": {"flower_beds": beds}, "water": water})


def test_beds_that_take_more_than_the_tap_gives_hold_the_job(tmp_path: Path) -> None:
    job = _bedded(tmp_path, "4000 ft2", "5 gpm")
    owed = supply_of(job.plan).tap_owed
    assert owed is not None
    assert job.plan.beds is not None
    assert owed.gives < job.plan.beds.each * job.plan.beds.seconds / job.plan.beds.every
    assert owed.short == pytest.approx(owed.wanted - owed.gives)
    assert owed.wait == pytest.approx(owed.short / (5 * GPM))
    (stop,) = [one for one in job.findings if one.code == "supply.dry" and one.about == "tap"]
    assert (stop.level, stop.case) == ("stop", "owed_mix")
    assert job_json(job, "us")["water"]["tap"]["short_m3"] == owed.short


def test_what_the_tap_just_gives_in_the_time_passes(tmp_path: Path) -> None:
    """Half the beds that a tap gives enough for pass, twice as many do not: the lead waits before and after mix."""
    for beds, cases in (("1000 ft2", []), ("4000 ft2", ["owed_mix"])):
        job = _bedded(tmp_path / beds, beds, "5 gpm")
        found = [one.case for one in job.findings if one.code == "supply.dry" and one.about == "tap"]
        assert found == cases


def test_the_beds_wait_while_a_run_has_the_tap_and_are_owed_what_that_leaves_too_little_time_for(
    tmp_path: Path,
) -> None:
    """The washer's 5 gpm leave half a gallon a minute of a tap of 5.5."""
    runs = {0: {"pump": "washer", "feed": "tap", "dosing": "venturi", "tip": "fan", "target": "3 ft"}}
    for beds, cases in (("10 ft2", []), ("3000 ft2", ["owed_mix"])):
        job = _bedded(tmp_path / beds, beds, "5.5 gpm", hose_runs=runs)
        assert supply_of(job.plan).tap_short == ()
        found = [one.case for one in job.findings if one.code == "supply.dry" and one.case.startswith("owed")]
        assert found == cases
