"""Surge, water speed and shut-off time of whole plans, and every part of the line that the solve must not forget."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from pathlib import Path
from typing import Any

import pytest

from planner.inputs.tables.whole import hose_walls
from planner.physics.hoses import wave_speed
from planner.physics.liquids import GRAVITY, REFERENCE_DENSITY, atmospheric_pressure
from planner.physics.pumps import HEAT_CAPACITY
from planner.plan.line.strain import wall_of
from planner.plan.model import RunPlan
from planner.units import read
from tests import workspaces

HORSEPOWER = 745.69987
PANEL: dict[str, Any] = {
    "rig": {"dosing": {0: {"loss": {"pressure": "3 psi", "flow": "8 gpm"}}}},
    "job": {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}},
}


def _run(folder: Path, change: Any = None) -> RunPlan:
    return workspaces.checked(folder, workspaces.merged(workspaces.base(), change or {})).plan.runs[0]


def _loss(run: RunPlan, part: str) -> float:
    return next(one.pressure for one in run.losses if one.part == part)


def test_the_surge_is_density_times_wave_times_the_water_that_is_stopped(tmp_path: Path) -> None:
    run = _run(tmp_path)
    blow = run.surge
    assert blow is not None
    rubber = hose_walls()["rubber"]
    velocity = run.flow / (pi / 4 * read("3/4 in", "bore") ** 2)
    assert blow.velocity == pytest.approx(velocity, rel=1e-12)
    for pressure, modulus in zip((blow.low, blow.high), rubber.modulus, strict=True):
        wave = wave_speed(rubber.wall_to_bore, modulus, run.liquid.density)
        assert pressure == pytest.approx(run.liquid.density * wave * velocity, rel=1e-12)
    assert blow.nominal**2 == pytest.approx(blow.low * blow.high, rel=1e-12)


def test_the_narrowest_hose_gives_the_hardest_blow(tmp_path: Path) -> None:
    hoses = ["red", {"bore": "1/2 in", "length": "50 ft", "material": "rubber"}]
    run = _run(tmp_path, {"job": {"hose_runs": {0: {"hoses": hoses}}}})
    assert run.surge is not None
    assert run.surge.hose == "hose 2"


@pytest.mark.parametrize(
    ("hose", "wall"),
    [
        ({"material": "plastic"}, "plastic"),
        ({"material": "worn"}, "worn"),
        ({"rated": "4000 psi"}, "wire braid"),
        ({"rated": "1000 psi"}, "wire braid"),
        ({"rated": "999 psi"}, "rubber"),
    ],
)
def test_the_wall_is_assumed_by_material_and_by_rating(hose: dict[str, str], wall: str, tmp_path: Path) -> None:
    job = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), {"rig": {"hoses": {0: hose}}})).plan.input
    assert wall_of(job, job.runs[0].hoses[0], 0.0).name == wall


def test_unrated_hose_is_taken_as_made_for_the_pressure_it_is_used_at(tmp_path: Path) -> None:
    job = workspaces.checked(tmp_path, workspaces.base()).plan.input
    unrated = replace(job.runs[0].hoses[0], rated=None)
    assert wall_of(job, unrated, read("3000 psi", "pressure")).name == "wire braid"
    assert wall_of(job, unrated, read("60 psi", "pressure")).name == "rubber"


def test_water_speeds_are_flow_over_area_on_both_sides_of_the_pump(tmp_path: Path) -> None:
    change = {
        "rig": {
            "pumps": {0: {"suction": {"bore": "1 in", "length": "6 ft"}}},
            "dosing": {
                1: {"max_back_pressure": None, "full_draw": "40 psi", "loss": {"pressure": "25 psi", "flow": "5.5 gpm"}}
            },
        },
        "job": {
            "chemicals": [{"stock": "bleach", "strength": "0.5 %"}],
            "hose_runs": {0: {"dosing": "venturi"}},
        },
    }
    run = _run(tmp_path, change)
    suction, red = run.speeds
    assert (suction.side, red.side) == ("suction", "pressure")
    assert suction.velocity == pytest.approx(run.pump_flow / (pi / 4 * 0.0254**2), rel=1e-12)
    assert red.velocity == pytest.approx(run.flow / (pi / 4 * 0.01905**2), rel=1e-12)
    assert run.flow == pytest.approx(1.1 * run.pump_flow, rel=1e-9)


def test_shut_off_time_is_the_heat_the_water_takes_over_the_motors_power(tmp_path: Path) -> None:
    run = _run(tmp_path, {"rig": {"pumps": {0: {"motor": {"power": "0.75 hp"}, "wetted_volume": "0.3 gal"}}}})
    assert run.shut_off is not None
    heat = run.liquid.density * read("0.3 gal", "volume") * HEAT_CAPACITY * (read("49 C", "temperature") - 293.15)
    assert run.shut_off.known_by == "motor"
    assert run.shut_off.seconds == pytest.approx(heat / (0.75 * HORSEPOWER), rel=1e-6)
    assert 4 * 60 < run.shut_off.seconds < 5 * 60


def test_without_a_motor_the_curve_speaks_for_it_whatever_the_wear(tmp_path: Path) -> None:
    sound = _run(tmp_path / "sound")
    worn = _run(tmp_path / "worn", {"rig": {"pumps": {0: {"condition": "0.7"}}}})
    assert sound.shut_off is not None
    assert worn.shut_off is not None
    assert sound.shut_off.known_by == "curve"
    # 12 gpm at about 46 psi is the most this curve gives: some 240 W in the water, twice that on the shaft.
    assert sound.shut_off.power == pytest.approx(480.0, rel=0.03)
    assert worn.shut_off.power == pytest.approx(sound.shut_off.power, rel=1e-9)


def test_a_panel_costs_its_rated_head_by_the_square_of_the_flow(tmp_path: Path) -> None:
    run = _run(tmp_path / "with", PANEL)
    bare = _run(tmp_path / "without", workspaces.merged(PANEL, {"rig": {"dosing": {0: {"loss": None}}}}))
    # It stands before the pump, so it takes from what the inlet has and is none of the line's losses.
    assert "panel" not in {part.part for part in run.losses}
    rated = read("3 psi", "pressure") / (REFERENCE_DENSITY * GRAVITY) * (run.pump_flow / read("8 gpm", "flow")) ** 2
    assert run.npsh_available is not None
    assert bare.npsh_available is not None
    assert bare.npsh_available - run.npsh_available == pytest.approx(rated, abs=0.02)
    assert run.flow < bare.flow
    assert run.tip_pressure < bare.tip_pressure


def test_an_injector_costs_its_rated_head_at_the_pumps_flow(tmp_path: Path) -> None:
    change = {
        "rig": {"dosing": {1: {"max_back_pressure": None, "loss": {"pressure": "25 psi", "flow": "5.5 gpm"}}}},
        "job": {"chemicals": [{"stock": "bleach", "strength": "0.5 %"}], "hose_runs": {0: {"dosing": "venturi"}}},
    }
    run = _run(tmp_path, change)
    rated = read("25 psi", "pressure") * (run.pump_flow / read("5.5 gpm", "flow")) ** 2
    # Water of today's temperature goes through it, at 68 F that of its test.
    assert _loss(run, "venturi") == pytest.approx(rated, rel=1e-9)


def test_a_strainer_on_the_run_costs_its_velocity_heads(tmp_path: Path) -> None:
    run = _run(tmp_path / "with", {"job": {"hose_runs": {0: {"fittings": {"strainer": 1}}}}})
    velocity = run.flow / (pi / 4 * 0.01905**2)
    assert _loss(run, "fittings") == pytest.approx(2.0 * run.liquid.density * velocity**2 / 2, rel=1e-9)
    assert run.flow < _run(tmp_path / "without").flow


def test_a_strainer_on_the_suction_takes_from_the_head_at_the_inlet(tmp_path: Path) -> None:
    suction = {"bore": "1 in", "length": "6 ft"}
    bare = _run(tmp_path / "without", {"rig": {"pumps": {0: {"suction": suction}}}})
    run = _run(tmp_path / "with", {"rig": {"pumps": {0: {"suction": suction | {"fittings": {"strainer": 1}}}}}})
    velocity = run.pump_flow / (pi / 4 * 0.0254**2)
    assert run.suction_loss - bare.suction_loss == pytest.approx(
        2.0 * run.liquid.density * velocity**2 / 2, rel=0.02
    )  # the straight suction costs a little less, for the flow is less
    assert run.npsh_available is not None
    assert bare.npsh_available is not None
    assert run.npsh_available < bare.npsh_available
    assert run.flow < bare.flow


@pytest.mark.parametrize("feet", [5000, 8000])
def test_altitude_takes_just_the_missing_air_from_the_suction_head(feet: int, tmp_path: Path) -> None:
    low = _run(tmp_path / "low")
    high = _run(tmp_path / "high", {"job": {"site": {"altitude": f"{feet} ft"}}})
    assert low.npsh_available is not None
    assert high.npsh_available is not None
    missing = atmospheric_pressure(0.0) - atmospheric_pressure(feet * 0.3048)
    assert low.npsh_available - high.npsh_available == pytest.approx(missing / (low.liquid.density * GRAVITY), rel=1e-9)
    assert high.flow == pytest.approx(low.flow, rel=1e-12)


def test_a_lift_that_is_fine_at_the_sea_starves_the_pump_in_the_mountains(tmp_path: Path) -> None:
    pond = {
        "hose_runs": {0: {"feed": "pond"}},
        "water": {"source": "pond", "level": "-18 ft", "static": None, "flow_test": None, "backflow": None},
    }

    def level(folder: str, altitude: str) -> str:
        change = {"job": pond | {"site": {"altitude": altitude}}}
        job = workspaces.checked(tmp_path / folder, workspaces.merged(workspaces.base(), change))
        return next(finding.level for finding in job.findings if finding.code == "pump.suction")

    assert level("sea", "0 ft") == "ok"
    assert level("high", "8000 ft") == "stop"
