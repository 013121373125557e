"""A tank that stands higher feeds a run without a pump: solved, checked, opened by its valve, told without a pump."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.days.rehearsing import rehearsed
from planner.packet.blocks import Hold, Step, Text, walked
from planner.physics.liquids import GRAVITY
from planner.plan.between.matrix import matrix
from planner.plan.model import JobPlan
from planner.plan.procedure import acts as of
from planner.plan.water.tap import open_flow
from planner.rehearsal.from_plan import setting_of
from planner.rehearsal.play import rehearse
from planner.units import read
from tests import workspaces
from tests.packet.printing import worded
from tests.packet.sections.acts.test_calls import words
from tests.plan.line.test_roles import faults_of

FOOT = read("1 ft", "length")


def written(run: dict[str, Any] | None = None, tank: dict[str, Any] | None = None, **job: Any) -> dict[str, Any]:
    found = workspaces.base()
    rig = {key: found["rig"][key] for key in ("rig", "weights", "carried") if key in found["rig"]}
    high = {"name": "high tank", "volume": "275 gal", "floor": "11 ft", "holds": "water", "dead_volume": "2 gal"}
    found["rig"] = {
        **rig, "tanks": [{**high, **(tank or {})}],
        "hoses": [{"name": "line", "bore": "3/4 in", "length": "60 ft", "rated": "150 psi"}],
        "tips": [{"name": "rose", "pattern": "fan", "flow": "5 gpm", "at": "40 psi"},
                 {"name": "jet", "pattern": "solid", "orifice": "3/8 in"}],
    }  # fmt: skip
    gear = {"name": "low wall", "feed": "high tank", "hoses": ["line"], "tip": "rose", "target": "6 ft",
            "standoff": "3 ft", **(run or {})}  # fmt: skip
    found["job"] = {
        **found["job"], "surfaces": [{"name": "front", "kind": "vinyl", "area": "300 ft2"}],
        "building": {"height": "8 ft"}, "hose_runs": [gear], "chemicals": [],
        "water": {"source": "tank", "temperature": "60 F"}, **job,
    }  # fmt: skip
    plain: dict[str, Any] = json.loads(json.dumps(found))
    return plain


def plan_of(folder: Path, run: dict[str, Any] | None = None, **job: Any) -> JobPlan:
    return workspaces.checked(folder, written(run, **job)).plan


@pytest.fixture(scope="module")
def falling(tmp_path_factory: pytest.TempPathFactory) -> JobPlan:
    return plan_of(tmp_path_factory.mktemp("falling"))


@pytest.mark.parametrize("uphill", ["0 ft", "-30 ft", "5 ft"])
def test_all_of_the_fall_goes_into_hose_entrance_and_tip(tmp_path: Path, uphill: str) -> None:
    """Bernoulli from the tank's floor to the tip; the entrance is sharp, 0.57 of a velocity head (Miller 1990, as fluids has it)."""
    plan = plan_of(tmp_path, {"uphill": uphill})
    (run,) = plan.runs
    weight = run.liquid.density * GRAVITY
    fall = 11.0 * FOOT - (read(uphill, "height") + 4.0 * FOOT)
    speed = run.flow / (0.785398163 * (0.75 * FOOT / 12.0) ** 2)
    spent = sum(part.pressure for part in run.losses) / weight + 0.57 * speed**2 / (2.0 * GRAVITY)
    assert run.tip_pressure / weight + spent == pytest.approx(fall, rel=1e-6)
    rated = read("5 gpm", "flow") * (run.tip_pressure / read("40 psi", "pressure")) ** 0.5
    assert run.flow == pytest.approx(rated, rel=2e-3)
    assert run.pump_pressure < 0.0 < run.tip_pressure, "at the outlet itself there is next to nothing"


@pytest.mark.parametrize(("uphill", "lowest"), [("0 ft", 0.0), ("-30 ft", -30.0), ("5 ft", 0.0)])
def test_shut_off_is_the_static_head_at_the_lowest_point(tmp_path: Path, uphill: str, lowest: float) -> None:
    (run,) = plan_of(tmp_path, {"uphill": uphill}).runs
    assert run.shut_off_pressure == pytest.approx(run.liquid.density * GRAVITY * (11.0 - lowest) * FOOT, rel=1e-9)


def test_what_the_fall_bears_and_gives_is_checked_as_any_line_is(tmp_path: Path) -> None:
    weak = written({"uphill": "-300 ft"})
    weak["rig"]["hoses"][0]["rated"] = "100 psi"
    found = {one.code: one.level for one in workspaces.checked(tmp_path / "weak", weak).findings}
    assert found["line.rating"] == "stop", "311 ft of water are 135 psi"
    far = written({"tip": "jet", "target": "20 ft"}, building={"height": "20 ft"})
    found = {one.code: one.level for one in workspaces.checked(tmp_path / "far", far).findings}
    assert found["reach.short"] == "stop"
    dry = written(surfaces=[{"name": "front", "kind": "vinyl", "area": "6000 ft2"}])
    found = {one.code: one.level for one in workspaces.checked(tmp_path / "dry", dry).findings}
    assert found["supply.dry"] == "stop"
    assert found["pump.suction"] == "none"


def test_its_valve_is_opened_and_shut_and_no_pump_is_switched(falling: JobPlan) -> None:
    assert falling.procedure is not None
    details = [act.detail for act in falling.procedure.acts]
    assert [one.on for one in details if isinstance(one, of.Tap)] == [True, False]
    assert not [one for one in details if isinstance(one, (of.Power, of.Prime))]
    relief = next(n for n, one in enumerate(details) if isinstance(one, of.Relieve))
    assert any(isinstance(one, of.Tap) and not one.on for one in details[:relief])


@pytest.mark.parametrize("crew", ["1", "2"])
def test_what_is_planned_is_rehearsed_and_a_valve_left_alone_is_refused(tmp_path: Path, crew: str) -> None:
    made = written()
    made["day"]["crew"] = crew
    plan = workspaces.checked(tmp_path, made).plan
    assert plan.procedure is not None
    setting = setting_of(plan, matrix(), open_flow(plan.input))
    assert rehearse(setting, plan.procedure) == ()
    for act in plan.procedure.acts:
        if isinstance(act.detail, of.Tap):
            idle = replace(act, detail=of.Wait(seconds=act.lasts), stop_point=None)
            acts = tuple(idle if one is act else one for one in plan.procedure.acts)
            assert rehearse(setting, replace(plan.procedure, acts=acts)), act.id


@pytest.mark.parametrize("crew", ["1", "2"])
def test_paper_has_a_valve_and_no_power(tmp_path: Path, crew: str) -> None:
    made = written()
    made["day"]["crew"] = crew
    job = rehearsed(workspaces.checked(tmp_path, made, tables=True))
    assert not job.held
    said = [
        words(block.spans) if isinstance(block, (Step, Text)) else f"{block.title} {words(block.questions)}"
        for section in worded(job).sections
        for block in walked(section.blocks)
        if isinstance(block, (Step, Text, Hold))
    ]
    text = "\n".join(said)
    assert "Put the hose on the high tank." in text
    assert "pen the valve of the high tank, gun shut." in text
    assert "hut the valve of the high tank" in text
    assert "Before the tank's valve is opened" in text
    assert "Gun down, valve off." in text
    for word in ("pump", "power", "Pump", "Power", "suction", "the tap", "“On”", "unplugged"):
        assert word not in text, word


@pytest.mark.parametrize(
    ("run", "tank", "code", "key"),
    [
        ({"uphill": "7 ft"}, {}, "run.pump", ""),
        ({}, {"floor": "4 ft"}, "run.pump", ""),
        ({"feed": "pond"}, {}, "run.pump", ""),
        ({"dosing": "premix"}, {"holds": "mix"}, "run.dosing", ".dosing"),
    ],
)
def test_what_cannot_fall_is_one_fault(
    tmp_path: Path, run: dict[str, Any], tank: dict[str, Any], code: str, key: str
) -> None:
    water = {"source": "pond", "level": "20 ft"} if run.get("feed") == "pond" else {"source": "tank"}
    assert faults_of(tmp_path, written(run, tank, water=water)) == [(code, f"hose_runs[0]{key}")]


def test_a_floor_nobody_wrote_is_no_fall(tmp_path: Path) -> None:
    made = written()
    del made["rig"]["tanks"][0]["floor"]
    assert faults_of(tmp_path, made) == [("run.pump", "hose_runs[0]")]


def test_a_tap_alone_is_what_it_was(tmp_path: Path) -> None:
    tap = {"source": "tap", "static": "60 psi", "bucket": "5 gal in 50 s", "backflow": "rpz"}
    (run,) = plan_of(tmp_path, {"feed": "tap"}, water=tap).runs
    assert (run.input.falls, run.pump_z, run.joints[0].name) == (False, 0.0, "tap")
