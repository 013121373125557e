"""Falling drops against Gunn & Kinzer's table, and their drift against an independent integration by scipy."""

from __future__ import annotations

from math import hypot, pi

import pytest
from fluids.drag import drag_sphere
from scipy.integrate import solve_ivp

from planner.physics import jets
from planner.physics.liquids import GRAVITY
from tests.published.tables import rows

FOOT, MPH = 0.3048, 0.44704


@pytest.mark.parametrize("row", rows("gunn_kinzer.tsv"), ids=lambda row: row["diameter_mm"])
def test_drops_fall_as_gunn_and_kinzer_measured(row: dict[str, str]) -> None:
    # A rigid sphere's drag is not a drop's: the library alone is -5.7 to +3.6 % off this table.
    fall = jets.terminal_velocity(float(row["diameter_mm"]) / 1000.0)
    assert fall == pytest.approx(float(row["velocity_m_per_s"]), rel=0.06)


def _by_scipy(diameter: float, height: float, wind: float) -> float:
    mass = jets.DROP_DENSITY * pi / 6 * diameter**3
    area = pi / 4 * diameter**2

    def motion(_: float, state: list[float]) -> list[float]:
        _, _, vx, vz = state
        speed = max(hypot(vx - wind, vz), 1e-12)
        drag = drag_sphere(max(jets.AIR_DENSITY * speed * diameter / jets.AIR_VISCOSITY, 1e-9))
        push = 0.5 * jets.AIR_DENSITY * area * drag * speed / mass
        weight = GRAVITY * (1 - jets.AIR_DENSITY / jets.DROP_DENSITY)
        return [vx, vz, -push * (vx - wind), weight - push * vz]

    def landed(_: float, state: list[float]) -> float:
        return state[1] - height

    landed.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(motion, (0, 600), [0, 0, 0, 0], events=landed, rtol=1e-8, atol=1e-10)
    return float(found.y_events[0][0][0])


@pytest.mark.parametrize("millimetres", [0.2, 0.5, 1.0, 3.0])
@pytest.mark.parametrize("mph", [5.0, 15.0])
def test_drift_is_what_scipy_integrates(millimetres: float, mph: float) -> None:
    ours = jets.drift(millimetres / 1000, 20 * FOOT, mph * MPH)
    assert ours == pytest.approx(_by_scipy(millimetres / 1000, 20 * FOOT, mph * MPH), rel=2e-3)


def test_a_fine_mist_is_carried_further_than_rain() -> None:
    drifts = [jets.drift(d / 1000, 6.0, 3.0) for d in (0.1, 0.2, 0.5, 1.0, 2.0)]
    assert drifts == sorted(drifts, reverse=True)
    assert jets.drift(0.001, 6.0, 0.0) == 0.0
