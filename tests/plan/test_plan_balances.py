"""What any plan must satisfy, whatever was written."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.physics.liquids import GRAVITY
from planner.plan.line import apparatus
from planner.plan.line.hydraulics import line_of
from planner.plan.model import RunPlan
from tests import workspaces
from tests.oracle import epanet

TWO_GUNS: dict[str, Any] = {
    "rig": {
        "dosing": [{"name": "venturi", "kind": "injector", "water_to_stock": "10", "max_back_pressure": "60 psi",
                    "loss": {"pressure": "20 psi", "flow": "5.5 gpm"}}],
    },
    "job": {
        "chemicals": None,
        "hose_runs": [
            {"name": "front", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "long throw",
             "standoff": "10 ft", "target": "20 ft", "same_time": ["back"], "uphill": "3 ft", "on_reel": "30 ft",
             "fittings": {"coupling": 2, "elbow": 1}},
            {"name": "back", "pump": "booster", "feed": "water", "tip": "long throw", "standoff": "10 ft",
             "target": "20 ft", "hoses": [{"bore": "5/8 in", "length": "50 ft"}, {"bore": "1/2 in", "length": "25 ft"}]},
        ],
    },
}  # fmt: skip


@pytest.mark.parametrize(
    ("pump", "feed"), [("booster", "water"), ("washer", "tap"), ("transfer", "water"), (None, "tap")]
)
def test_outlet_pressure_is_tip_pressure_plus_losses_plus_lift(pump: str | None, feed: str, tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), TWO_GUNS)
    for run in files["job"]["hose_runs"]:
        run["feed"] = feed
        run.pop("pump")
        if pump is not None:
            run["pump"] = pump
    for run in workspaces.checked(tmp_path, files).plan.runs:
        spent = sum(part.pressure for part in run.losses)
        lift = run.liquid.density * GRAVITY * (run.tip_z - run.pump_z)
        assert run.pump_pressure == pytest.approx(run.tip_pressure + spent + lift, rel=1e-6)


def test_runs_sprayed_at_once_share_the_pumps_flow(tmp_path: Path) -> None:
    front, back = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), TWO_GUNS)).plan.runs
    assert front.input.same_time == ("back",)
    assert back.input.same_time == ("front",)
    assert front.flow + back.flow == pytest.approx(front.pump_flow, rel=1e-9)
    assert front.pump_flow == back.pump_flow
    assert front.pump_pressure == back.pump_pressure


def test_an_injector_adds_its_share_after_the_pump(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), TWO_GUNS)
    del files["job"]["hose_runs"][0]["same_time"]
    files["job"]["hose_runs"][0]["dosing"] = "venturi"
    front, back = workspaces.checked(tmp_path, files).plan.runs
    assert front.flow == pytest.approx(front.pump_flow * 1.1, rel=1e-9)
    assert front.injector_draws is True
    assert back.injector_draws is None
    assert next(part.pressure for part in front.losses if part.part == "venturi") > 0.0


def test_an_injector_over_its_back_pressure_draws_nothing(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), TWO_GUNS)
    del files["job"]["hose_runs"][0]["same_time"]
    files["job"]["hose_runs"][0]["dosing"] = "venturi"
    files["rig"]["dosing"][0]["max_back_pressure"] = "10 psi"
    front = workspaces.checked(tmp_path, files).plan.runs[0]
    assert front.injector_draws is False
    assert front.flow == pytest.approx(front.pump_flow, rel=1e-9)
    assert front.liquid.strength == 0.0


def test_an_injector_of_which_nothing_is_known_is_solved_as_drawing_and_stops(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), TWO_GUNS)
    del files["job"]["hose_runs"][0]["same_time"]
    files["job"] |= {"chemicals": [{"stock": "bleach", "strength": "0.5 %"}]}
    files["job"]["hose_runs"][0]["dosing"] = "venturi"
    for key in ("max_back_pressure", "loss"):
        del files["rig"]["dosing"][0][key]
    job = workspaces.checked(tmp_path, files)
    front = job.plan.runs[0]
    assert front.injector_draws is None
    assert front.flow == pytest.approx(front.pump_flow * 1.1, rel=1e-9)
    (found,) = [one for one in job.findings if one.code == "mix.reach" and one.about == "hypochlorite, front"]
    assert (found.level, found.case) == ("stop", "draws_unknown")


def test_mix_makes_the_line_heavier_by_the_density_rule(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), TWO_GUNS)
    plain = workspaces.checked(tmp_path / "plain", files).plan.runs[0]
    files["rig"]["tanks"][0]["holds"] = "mix"
    for run in files["job"]["hose_runs"]:
        run["dosing"] = "premix"
    files["job"]["chemicals"] = [{"stock": "bleach", "strength": "2 %"}]
    mixed = workspaces.checked(tmp_path / "mixed", files).plan.runs[0]
    assert mixed.liquid.density / plain.liquid.density == pytest.approx(1 + 0.0013083 * 20, rel=1e-12)


def test_a_worn_pump_throws_lower(tmp_path: Path) -> None:
    sound = workspaces.checked(tmp_path / "sound", workspaces.base()).plan.runs[0]
    files = workspaces.merged(workspaces.base(), {"rig": {"pumps": {0: {"condition": "0.8"}}}})
    worn = workspaces.checked(tmp_path / "worn", files).plan.runs[0]
    assert sound.reach is not None
    assert worn.reach is not None
    assert worn.reach.nominal < sound.reach.nominal - 1.0


def test_the_plan_number_changes_with_what_was_written(tmp_path: Path) -> None:
    one = workspaces.checked(tmp_path / "one", workspaces.base()).plan.hash
    same = workspaces.checked(tmp_path / "same", workspaces.base()).plan.hash
    files = workspaces.merged(workspaces.base(), {"job": {"hose_runs": {0: {"target": "21 ft"}}}})
    other = workspaces.checked(tmp_path / "other", files).plan.hash
    assert one == same
    assert one != other


def test_gauges_fall_from_pump_to_tip_and_closed_ones_only_by_height(tmp_path: Path) -> None:
    run = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), TWO_GUNS)).plan.runs[0]
    gauges = [joint for joint in run.joints if joint.kind != "inlet"]
    readings = [joint.open for joint in gauges]
    assert readings == sorted(readings, reverse=True)
    assert gauges[-1].open == pytest.approx(run.tip_pressure, rel=1e-9)
    for joint in gauges:
        assert joint.closed is not None
        fallen = gauges[0].closed - joint.closed
        assert fallen == pytest.approx(run.liquid.density * GRAVITY * (joint.height - gauges[0].height), abs=1e-6)


def _shared_hose(tmp_path: Path, hoses: list[object], **back: object) -> tuple[RunPlan, RunPlan]:
    """Two guns at once: `front` at the end of `red`, `back` with what is written."""
    front, behind = workspaces.checked(tmp_path, _shared(hoses, **back)).plan.runs
    return front, behind


def _shared(hoses: list[object], **back: object) -> dict[str, Any]:
    run = {"pump": "booster", "feed": "water", "tip": "long throw", "standoff": "10 ft", "target": "20 ft"}
    front = {"name": "front", **run, "hoses": ["red"], "same_time": ["back"]}
    return workspaces.merged(
        workspaces.base(), {"job": {"hose_runs": [front, {"name": "back", **run, "hoses": hoses, **back}]}}
    )


def test_two_guns_at_the_end_of_one_hose_are_one_gun_of_twice_the_tip(tmp_path: Path) -> None:
    """A tip of 1/4 in times root 2 passes what two of 1/4 in pass; two hoses would carry half each and lose less."""
    front, back = _shared_hose(tmp_path / "two", ["red"])
    files = workspaces.merged(workspaces.base(), {"rig": {"tips": {0: {"orifice": f"{0.25 * 2**0.5!r} in"}}}})
    one = workspaces.checked(tmp_path / "one", files).plan.runs[0]
    assert front.flow + back.flow == pytest.approx(one.flow, rel=1e-9)
    assert front.tip_pressure == pytest.approx(one.tip_pressure, rel=1e-9)
    assert next(part.velocity for part in front.losses if part.part == "red") == pytest.approx(
        next(part.velocity for part in one.losses), rel=1e-9
    )
    apart, _ = _shared_hose(tmp_path / "apart", [{"bore": "3/4 in", "length": "100 ft"}])
    assert apart.reach is not None
    assert front.reach is not None
    assert front.reach.nominal < apart.reach.nominal - 1.0


@pytest.mark.ci
@pytest.mark.parametrize(
    "hoses", [["red"], ["red", {"bore": "5/8 in", "length": "50 ft"}], [{"bore": "5/8 in", "length": "50 ft"}]]
)
def test_guns_that_share_a_hose_are_solved_as_epanet_solves_them(hoses: list[object], tmp_path: Path) -> None:
    """EPANET 2.2 through wntr, hose friction by its own formula: flows within 0.5 %, pressures within 1 %."""
    runs = _shared_hose(tmp_path, hoses, uphill="6 ft")
    job = workspaces.loaded(tmp_path / "again", _shared(hoses, uphill="6 ft")).jobs[0]
    water = apparatus.liquid(job.water.temperature, 0.0)
    theirs = epanet(line_of(job, list(job.runs), water=water, mix=water))
    for run, flow, head in zip(runs, theirs.flows, theirs.tip_heads, strict=True):
        assert run.flow == pytest.approx(flow, rel=0.005)
        assert run.tip_pressure == pytest.approx(head * run.liquid.density * GRAVITY, rel=0.01)


def test_what_a_shared_hose_loses_with_its_fittings_and_reel_adds_up(tmp_path: Path) -> None:
    run = {
        "pump": "booster",
        "feed": "water",
        "tip": "long throw",
        "standoff": "10 ft",
        "target": "20 ft",
        "on_reel": "30 ft",
    }
    own = {"bore": "5/8 in", "length": "50 ft"}
    runs: list[dict[str, Any]] = [
        {"name": "front", **run, "hoses": ["red", own], "same_time": ["back", "side"]},
        {"name": "side", **run, "hoses": [{"bore": "1/2 in", "length": "40 ft"}]},
        {"name": "back", **run, "hoses": ["red"], "uphill": "3 ft"},
    ]
    runs = [{**one, "fittings": {"coupling": "2"}} for one in runs]
    files = workspaces.merged(workspaces.base(), {"day": {"crew": "3"}, "job": {"hose_runs": runs}})
    planned = workspaces.checked(tmp_path, files).plan.runs
    assert [one.name for one in planned] == ["front", "side", "back"]
    assert sum(one.flow for one in planned) == pytest.approx(planned[0].pump_flow, rel=1e-9)
    for one in planned:
        spent = sum(part.pressure for part in one.losses)
        lift = one.liquid.density * GRAVITY * (one.tip_z - one.pump_z)
        assert one.pump_pressure == pytest.approx(one.tip_pressure + spent + lift, rel=1e-6)
        assert one.joints[-1].open == pytest.approx(one.tip_pressure, rel=1e-6)
        assert [part.part for part in one.losses][-2:] == ["fittings", "coil"]
        assert len({part.part for part in one.losses}) == len(one.losses)
