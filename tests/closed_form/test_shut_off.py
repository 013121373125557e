"""Heating of a pump that runs with its gun closed, against the adiabatic balance done by hand."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from planner.physics.liquids import GRAVITY
from planner.physics.pumps import HEAT_CAPACITY, best_power, centrifugal, heating_time


def test_the_heat_capacity_is_that_of_water() -> None:
    assert IAPWS97(T=293.15, P=0.101325).cp * 1000.0 == pytest.approx(HEAT_CAPACITY, rel=2e-4)
    for celsius in (0.5, 40.0):
        assert IAPWS97(T=273.15 + celsius, P=0.101325).cp * 1000.0 == pytest.approx(HEAT_CAPACITY, rel=0.01)


def test_a_litre_takes_its_heat_from_the_shaft() -> None:
    """1 kg of water, 4185 W: one kelvin a second."""
    assert heating_time(HEAT_CAPACITY, 0.001, 1000.0, 290.0, 322.15) == pytest.approx(32.15, rel=1e-12)


def test_water_as_hot_as_the_limit_has_no_time_left() -> None:
    assert heating_time(500.0, 0.001, 1000.0, 322.15, 322.15) == 0.0
    assert heating_time(500.0, 0.001, 1000.0, 340.0, 322.15) == 0.0


def test_without_power_there_is_no_answer() -> None:
    with pytest.raises(ValueError, match="power"):
        heating_time(0.0, 0.001, 1000.0, 290.0, 322.15)


@given(power=st.floats(10.0, 1e4), volume=st.floats(1e-4, 1e-2), rise=st.floats(0.1, 60.0))
def test_what_went_in_is_what_the_water_holds(power: float, volume: float, rise: float) -> None:
    seconds = heating_time(power, volume, 998.2, 285.0, 285.0 + rise)
    assert power * seconds == pytest.approx(998.2 * volume * HEAT_CAPACITY * rise, rel=1e-9)


def test_the_best_power_of_a_falling_parabola_is_known() -> None:
    """H = H0 (1 - (Q/Q0)^2): rho g Q H is greatest at Q0 / sqrt 3, and is there 2 rho g Q0 H0 / (3 sqrt 3)."""
    shut_off, most = 50.0, 1e-3
    pump = centrifugal([(most * n / 40, shut_off * (1 - (n / 40) ** 2)) for n in range(41)])
    assert best_power(pump, 1000.0) == pytest.approx(
        1000.0 * GRAVITY * most * shut_off * 2.0 / (3.0 * sqrt(3.0)), rel=1e-3
    )


def test_a_level_curve_gives_most_at_its_end() -> None:
    assert best_power(centrifugal([(0.0, 40.0), (1e-3, 40.0)]), 1000.0) == pytest.approx(
        1000.0 * GRAVITY * 1e-3 * 40.0, rel=1e-12
    )
