"""Water over time: the order of the work, balances over many jobs, and what a day hands on."""

from __future__ import annotations

from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.workspace import load
from planner.plan.water.model import Phase, SupplyPlan, TankLevel
from planner.plan.water.tap import filler_of
from tests import workspaces
from tests.plan.water.test_supply_time import (
    GALLON,
    MILLILITRE,
    MINUTE,
    NO_TAP,
    base_job,
    dry_findings,
    main_of,
    supply_of,
)
from tests.sampled import examples

# ------------------------------------------------------------------------------------------------ the work

PREMIX = {"chemicals": [{"stock": "drum", "strength": "1 %"}], "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}
PANEL = {"chemicals": [{"stock": "drum", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}
BEDS = {"near": {"flower_beds": "400 ft2"}}
ACID_AND_WATER = {
    "surfaces": [{"name": "plinth", "kind": "brick_acid", "area": "260 ft2"}],
    "chemicals": [{"stock": "acid", "strength": "1:10"}],
    "hose_runs": [
        {
            "name": "acid",
            "pump": "transfer",
            "feed": "mix",
            "dosing": "premix",
            "hoses": ["red"],
            "tip": "fan",
            "target": "6 ft",
        },
        {"name": "rinse", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan", "target": "6 ft"},
    ],
}
MANY = {
    "plain water": {},
    "panel and beds": {**PANEL, **BEDS, "surfaces": [{"name": "wall", "kind": "vinyl", "area": "2600 ft2"}]},
    "three batches": {**PREMIX, **BEDS, "surfaces": [{"name": "roof", "kind": "asphalt_shingle", "area": "6000 ft2"}]},
    "no tap": {**PANEL, **BEDS, "water": NO_TAP},
    "acid by one line, water by another": ACID_AND_WATER,
}


def level_at(tank: TankLevel, moment: float) -> float:
    """What stands in a tank [m3] at a moment [s], straight between its points."""
    for (before, low), (after, high) in pairwise(tank.points):
        if before <= moment <= after and after > before:
            return low + (high - low) * (moment - before) / (after - before)
    raise AssertionError(moment)


@pytest.mark.parametrize("name", MANY)
def test_the_steps_take_the_time_on_the_clock_and_the_water_by_use(name: str, tmp_path: Path) -> None:
    plan = base_job(tmp_path, job=MANY[name]).plan
    supply = supply_of(plan)
    on_site = sum(span.seconds for span in plan.time if span.what != "drive")
    assert supply.begins + supply.ends == pytest.approx(on_site, rel=1e-9)
    mix_tanks = {tank.name for tank in supply.mix_tanks}
    water = sum(v for phase in supply.phases for source, v in phase.draws.items() if source not in mix_tanks)
    assert water == pytest.approx(plan.water.need, abs=MILLILITRE)
    for before, after in zip(supply.phases, supply.phases[1:], strict=False):
        assert after.start == pytest.approx(before.start + before.seconds, abs=1e-6)


@pytest.mark.parametrize("name", MANY)
def test_every_tank_balances_to_a_millilitre(name: str, tmp_path: Path) -> None:
    supply = supply_of(base_job(tmp_path, job=MANY[name]).plan)
    for tank in (*supply.tanks, *supply.mix_tanks):
        assert tank.start + tank.supplied - tank.drawn == pytest.approx(tank.end, abs=MILLILITRE)
        assert tank.points[-1][1] == tank.end
        assert tank.lowest == min(volume for _, volume in tank.points)
        assert all(0.0 <= volume <= tank.volume * (1 + 1e-12) for _, volume in tank.points)
        assert [s for s, _ in tank.points] == sorted(s for s, _ in tank.points)


def _on(supply: SupplyPlan, wall: str) -> list[Phase]:
    """What is done to a wall, lines and pumps made ready left out."""
    return [phase for phase in supply.phases if phase.about == wall and phase.what != "set up"]


def test_sections_are_rinsed_after_the_next_is_sprayed(tmp_path: Path) -> None:
    plan = base_job(tmp_path, job={**PANEL, "surfaces": [{"name": "wall", "kind": "vinyl", "area": "1500 ft2"}]}).plan
    steps = [what for what, _ in groupby(phase.what for phase in _on(supply_of(plan), "wall")) if what != "dwell"]
    sections = steps.count("rinse")
    assert sections > 2
    assert steps == ["wet", "apply", *["wet", "apply", "rinse"] * (sections - 1), "rinse"]


def test_an_acid_section_is_finished_before_the_next_by_whichever_run_has_the_water(tmp_path: Path) -> None:
    steps = _on(supply_of(base_job(tmp_path, job=ACID_AND_WATER).plan), "plinth")
    assert [what for what, _ in groupby(phase.what for phase in steps)] == ["wet", "apply", "dwell", "rinse"] * 4
    assert all(phase.mix_on == (phase.what != "wet") for phase in steps if phase.what != "apply")
    assert all("water" in phase.draws for phase in steps if phase.what == "rinse")
    # The two lines share a pump: the acid's own wets the wall, so that it is not dry once the acid comes.
    wets = [phase for phase in steps if phase.what == "wet"]
    assert not any("water" in phase.draws for phase in wets)
    # The mix is brought to the tip out of its tank with the last of the wetting, and pushed out with water.
    assert any("mix" in phase.draws for phase in wets)


def test_a_batch_is_filled_when_the_one_before_is_sprayed(tmp_path: Path) -> None:
    plan = base_job(tmp_path, job=MANY["three batches"]).plan
    supply = supply_of(plan)
    (tank,) = supply.mix_tanks
    count = len(plan.mixes[0].batches)
    assert count >= 2
    assert len(tank.fills) == count
    for start, _ in tank.fills[1:]:
        assert dict(tank.points)[start] == pytest.approx(GALLON, abs=1e-5)
    assert max(volume for _, volume in tank.points) <= tank.volume


def test_beds_take_the_tap_first_and_leave_the_tank_less(tmp_path: Path) -> None:
    surfaces = [{"name": "wall", "kind": "vinyl", "area": "3000 ft2"}]
    without = main_of(base_job(tmp_path / "without", job={**PANEL, "surfaces": surfaces}).plan)
    beds = main_of(
        base_job(tmp_path / "beds", job={**PANEL, "surfaces": surfaces, "near": {"flower_beds": "3000 ft2"}}).plan
    )
    assert beds.lowest < without.lowest
    assert beds.wanted == pytest.approx(without.wanted, abs=MILLILITRE)


def test_without_a_tap_the_beds_first_water_is_gone_before_the_work_begins(tmp_path: Path) -> None:
    plan = base_job(tmp_path, job=MANY["no tap"]).plan
    tank = main_of(plan)
    assert plan.beds is not None
    tried = sum(phase.draws.get("water", 0.0) for phase in supply_of(plan).phases if phase.start < 0.0)
    assert tried > plan.beds.before
    assert level_at(tank, 0.0) == pytest.approx(tank.start - tried, abs=MILLILITRE)


@pytest.mark.ci
@settings(max_examples=examples(12), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(area=st.floats(50, 9000), gallons=st.floats(20, 400), tap=st.floats(0.3, 12), start=st.floats(0.1, 1.0))
def test_any_job_balances_and_is_dry_only_where_water_is_short(
    area: float, gallons: float, tap: float, start: float, tmp_path_factory: pytest.TempPathFactory
) -> None:
    change = {
        "rig": {"tanks": {0: {"volume": f"{gallons:.3f} gal", "dead_volume": "5 gal"}}},
        "day": {"heels": {"water": {"stock": "water", "volume": f"{gallons * start:.3f} gal"}}},
        "job": {**PANEL, "surfaces": [{"name": "wall", "kind": "vinyl", "area": f"{area:.1f} ft2"}],
                "water": {"flow_test": {"flow": f"{tap:.3f} gpm", "pressure": "0 psi"}}},
    }  # fmt: skip
    plan = base_job(tmp_path_factory.mktemp("any"), **change).plan
    tank = main_of(plan)
    assert tank.start + tank.supplied - tank.drawn == pytest.approx(tank.end, abs=MILLILITRE)
    lacks = tank.wanted - tank.drawn
    # Where the crew waits for the tap nothing lacks in the end, and what would without a wait is told.
    assert tank.dry is not None or lacks <= MILLILITRE
    if tank.dry is not None:
        assert tank.dry.short > 0.0
        assert lacks <= MILLILITRE or tank.dry.short == pytest.approx(lacks, abs=2 * MILLILITRE)


def test_waiting_as_long_as_the_remedy_says_makes_up_for_what_is_short(tmp_path: Path) -> None:
    plan = base_job(tmp_path, job={**PANEL, "surfaces": [{"name": "wall", "kind": "vinyl", "area": "3000 ft2"}],
                                   "water": {"flow_test": {"flow": "3 gpm", "pressure": "0 psi"}}}).plan  # fmt: skip
    tank = main_of(plan)
    assert tank.dry is not None
    assert tank.dry.wait is not None
    assert tank.fill_flow is not None
    assert tank.dry.wait * tank.fill_flow == pytest.approx(tank.dry.short, rel=1e-9)


# ------------------------------------------------------------------------------------------------ JSON and the day


def test_json_has_the_level_from_arrival_on_and_null_where_nothing_applies(tmp_path: Path) -> None:
    plan = base_job(tmp_path / "tank")
    water = job_json(plan, "si")["water"]
    tank = main_of(plan.plan)
    assert water["level"] == [[s, v] for s, v in tank.points]
    assert water["level"][0] == [-water["work_begins_s"], water["tanks"][0]["start_m3"]]
    assert water["lowest_tank_m3"] == min(volume for _, volume in water["level"])
    assert water["runs_dry_at_s"] is None
    assert water["tank"] == "water"
    assert [one["holds"] for one in water["tanks"]] == ["water"]
    tap = job_json(base_job(tmp_path / "tap", job={"hose_runs": {0: {"pump": "washer", "feed": "tap"}}}), "si")["water"]
    assert (tap["level"], tap["lowest_tank_m3"], tap["runs_dry_at_s"], tap["tank"]) == ([], None, None, None)
    assert tap["tap_pressure_low_pa"] > 0.0


def _day(folder: Path, first: dict[str, Any], second: dict[str, Any], **files: Any) -> list[CheckedJob]:
    path = workspaces.write(folder, workspaces.merged(workspaces.base(), {"job": first, **files}))
    later = workspaces.merged(workspaces.base()["job"], second)
    (path.parent / "20-later.yaml").write_text(yaml.safe_dump(later), encoding="utf-8")
    read = load([path.parent])
    assert not read.faults, read.faults
    return list(checked_jobs(read, Trouble(faults=[])))


def test_a_later_job_begins_with_what_the_one_before_left(tmp_path: Path) -> None:
    water = {"source": "tank", "static": None, "flow_test": None, "backflow": None}
    first, second = _day(tmp_path, {"water": water}, {"job": "Later", "water": water})
    assert main_of(first.plan).start == pytest.approx(100 * GALLON)
    # 60 gal rinse, 2.3 fill the line, and a bucket tries it.
    left = 100 * GALLON - first.plan.water.need
    assert first.plan.water.need / GALLON == pytest.approx(67.3, abs=0.1)
    assert main_of(first.plan).end == pytest.approx(left)
    assert main_of(second.plan).start == pytest.approx(left)
    assert dry_findings(first) == [("ok", "ok_all")]
    # 67 gal from 33: short by 34, and full it would last; no tap brings that while they wait.
    assert dry_findings(second) == [("stop", "dry_fill")]


def test_a_tank_is_filled_at_the_job_before_until_the_rig_leaves(tmp_path: Path) -> None:
    slow = {"water": {"flow_test": {"flow": "2 gpm", "pressure": "0 psi"}}}
    first, second = _day(tmp_path, slow, {"job": "Later"})
    tank = main_of(first.plan)
    assert tank.lowest < tank.end
    # Two ways of adding the same acts up.
    assert main_of(second.plan).start == pytest.approx(tank.end, rel=1e-12)
    assert tank.fills[-1][1] <= supply_of(first.plan).ends + 1e-6


def test_tonights_water_is_what_the_day_file_says_and_full_where_it_says_nothing(tmp_path: Path) -> None:
    heels = {"heels": {"water": {"stock": "water", "volume": "30 gal"}}}
    first, _ = _day(tmp_path, {}, {"job": "Later"}, day=heels)
    assert main_of(first.plan).start == pytest.approx(30 * GALLON)
    assert supply_of(first.plan).begins == 35 * MINUTE


def test_the_hose_is_joined_in_set_up_so_that_a_low_tank_has_gained_by_the_start(tmp_path: Path) -> None:
    heels = {"heels": {"water": {"stock": "water", "volume": "30 gal"}}}
    plan = base_job(tmp_path, day=heels).plan
    tank = main_of(plan)
    assert tank.fill_flow is not None
    assert tank.fills[0][0] == pytest.approx(-20 * MINUTE)
    tried = plan.water.line + plan.water.test
    assert level_at(tank, 0.0) == pytest.approx(
        min(30 * GALLON + 20 * MINUTE * tank.fill_flow, tank.volume) - tried, abs=1e-6
    )


def test_two_water_tanks_are_filled_one_after_the_other(tmp_path: Path) -> None:
    rig = {"tanks": [
        {"name": "water", "floor": "0 ft", "volume": "100 gal"},
        {"name": "rear", "floor": "0 ft", "volume": "60 gal", "holds": "water"},
    ]}  # fmt: skip
    runs = [
        {
            "name": "front",
            "pump": "booster",
            "feed": "water",
            "hoses": ["red"],
            "tip": "long throw",
            "standoff": "10 ft",
            "target": "20 ft",
            "surfaces": ["wall"],
        },
        {
            "name": "back",
            "pump": "booster",
            "feed": "rear",
            "hoses": ["red"],
            "tip": "long throw",
            "standoff": "10 ft",
            "target": "20 ft",
            "surfaces": ["shed"],
        },
    ]
    surfaces = [
        {"name": "wall", "kind": "vinyl", "area": "500 ft2"},
        {"name": "shed", "kind": "vinyl", "area": "300 ft2"},
    ]
    files = workspaces.merged(workspaces.base(), {"job": {"hose_runs": runs, "surfaces": surfaces}})
    files["rig"]["tanks"] = rig["tanks"]
    supply = supply_of(workspaces.checked(tmp_path, files).plan)
    assert [tank.name for tank in supply.tanks] == ["water", "rear"]
    whole = filler_of(workspaces.checked(tmp_path / "again", files).plan.input, None)
    assert whole is not None
    most = whole.flow() * (supply.ends - supply.phases[0].start)
    assert sum(tank.supplied for tank in supply.tanks) <= most + MILLILITRE
    assert all(tank.dry is None for tank in supply.tanks)


def test_a_tap_too_weak_to_lift_water_into_the_tank_counts_as_none(tmp_path: Path) -> None:
    """20 psi lift water 46 ft; this tank's rim lies higher."""
    job = base_job(
        tmp_path,
        rig={"tanks": {0: {"floor": "60 ft"}}},
        job={
            "surfaces": {0: {"area": "3000 ft2"}},
            "water": {"static": "20 psi", "flow_test": {"flow": "3 gpm", "pressure": "5 psi"}},
        },
    )
    tank = main_of(job.plan)
    assert tank.supplied == 0.0
    assert tank.dry is not None
    assert tank.dry.wait is None
    # 360 gal are rinsed out of 100 gal a tank.
    assert tank.trips == 3
    assert dry_findings(job) == [("stop", "dry_bring")]
