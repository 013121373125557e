"""Water hammer against its limits in closed form, and the water's stiffness against the iapws package."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from planner.inputs.tables.whole import WIRE, hose_walls
from planner.physics.hoses import BULK_MODULUS, surge, wave_speed

DENSITY = 998.2
PSI = 6894.757


def test_the_bulk_modulus_is_that_of_water_at_20_c() -> None:
    water = IAPWS97(T=293.15, P=0.101325)
    assert abs(water.rho * water.w**2 / BULK_MODULUS - 1.0) < 0.005


@pytest.mark.parametrize("celsius", [0.0, 10.0, 40.0])
def test_cold_or_warm_water_makes_less_difference_than_the_wall_is_unsure(celsius: float) -> None:
    water = IAPWS97(T=273.15 + celsius, P=0.101325)
    stiffness = water.rho * water.w**2
    assert abs(stiffness / BULK_MODULUS - 1.0) < 0.11
    softest, stiffest = hose_walls()["rubber"].modulus
    assert stiffest / softest > 6.0


def test_in_a_rigid_wall_the_wave_runs_as_sound_does_in_water() -> None:
    assert wave_speed(1.0, 1e20, DENSITY) == pytest.approx(sqrt(BULK_MODULUS / DENSITY), rel=1e-9)


def test_in_a_soft_wall_only_the_wall_counts() -> None:
    """K D / (E t) far above 1: a = sqrt(E t / (rho D))."""
    assert wave_speed(0.1, 1e5, DENSITY) == pytest.approx(sqrt(1e5 * 0.1 / DENSITY), rel=1e-5)


def test_where_wall_and_water_give_alike_the_speed_falls_by_root_two() -> None:
    sound = sqrt(BULK_MODULUS / DENSITY)
    assert wave_speed(0.2, BULK_MODULUS / 0.2, DENSITY) == pytest.approx(sound / sqrt(2.0), rel=1e-12)


@given(modulus=st.floats(1e6, 1e11), wall=st.floats(0.02, 0.6), stiffer=st.floats(1.01, 100.0))
def test_a_stiffer_or_thicker_wall_carries_the_wave_faster(modulus: float, wall: float, stiffer: float) -> None:
    speed = wave_speed(wall, modulus, DENSITY)
    assert wave_speed(wall, modulus * stiffer, DENSITY) > speed
    assert wave_speed(wall * stiffer, modulus, DENSITY) == pytest.approx(
        wave_speed(wall, modulus * stiffer, DENSITY), rel=1e-12
    )
    assert speed < sqrt(BULK_MODULUS / DENSITY)


def test_the_blow_is_the_momentum_of_the_water_that_is_stopped_each_second() -> None:
    """A column of 1 m2 loses rho a dV each second: so much force on 1 m2."""
    assert surge(1000.0, 100.0, 2.0) == 200_000.0
    assert surge(1000.0, 50.0, 1.0) / PSI == pytest.approx(7.25, abs=0.01)


def test_soft_hose_as_assumed_gives_50_to_276_m_per_s_and_7_to_40_psi_for_each_m_per_s() -> None:
    walls = hose_walls()
    for name in ("rubber", "worn", "plastic"):
        for modulus in walls[name].modulus:
            speed = wave_speed(walls[name].wall_to_bore, modulus, DENSITY)
            assert 49.9 < speed < 276.0
            assert 7.0 < surge(DENSITY, speed, 1.0) / PSI < 40.0


def test_hose_braided_with_wire_lies_between_soft_hose_and_steel() -> None:
    wire, soft = hose_walls()[WIRE], hose_walls()["plastic"]
    slow, fast = (wave_speed(wire.wall_to_bore, modulus, DENSITY) for modulus in wire.modulus)
    assert slow > wave_speed(soft.wall_to_bore, soft.modulus[1], DENSITY)
    assert fast < wave_speed(0.05, 200e9, DENSITY)
