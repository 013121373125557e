"""Lye: strength by its label, density and thickness, against the model its rows come from, and an outside value."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula
from thermo.electrochem import Laliberte_density, Laliberte_viscosity

from planner.chemistry import solutions
from planner.inputs.reading.strengths import read_strength
from planner.inputs.tables.chemicals import CHEMICALS
from planner.plan.mix.lots import active

NAOH = ["1310-73-2"]
LYE = CHEMICALS["caustic"].solution


def thickness(fraction: float) -> float:
    return solutions.thickness(LYE.rows, LYE.thickness, fraction)


@pytest.mark.parametrize("fraction", [0.0, 0.03, 0.08, 0.17, 0.28, 0.42, 0.50])
def test_lye_is_as_heavy_and_as_thick_as_laliberte_says(fraction: float) -> None:
    weighs = Laliberte_density(293.15, [fraction], NAOH)
    thicker = Laliberte_viscosity(293.15, [fraction], NAOH) / Laliberte_viscosity(293.15, [0.0], NAOH)
    assert solutions.density(LYE.rows, fraction) == pytest.approx(weighs, rel=1e-3)
    assert thickness(fraction) == pytest.approx(thicker, rel=0.04)


def test_fifty_percent_lye_is_about_as_thick_as_is_told_of_it() -> None:
    # 78 mPa s at room temperature, as reference pages print it; water has 1.0.
    assert thickness(0.5) == pytest.approx(78.0, rel=0.06)


@pytest.mark.parametrize("celsius", [5, 10, 30])
def test_up_to_fifteen_percent_the_factor_of_20_c_holds_within_a_fifth(celsius: int) -> None:
    for fraction in (0.05, 0.10, 0.15):
        kelvin = 273.15 + celsius
        thicker = Laliberte_viscosity(kelvin, [fraction], NAOH) / Laliberte_viscosity(kelvin, [0.0], NAOH)
        assert thickness(fraction) == pytest.approx(thicker, rel=0.20)


@given(st.floats(0.0, 0.5))
def test_strength_and_mass_fraction_are_each_other_turned_round(fraction: float) -> None:
    assert solutions.mass_fraction(LYE.rows, solutions.strength(LYE.rows, fraction)) == pytest.approx(
        fraction, rel=1e-9, abs=1e-12
    )


def test_labels_come_to_one_strength() -> None:
    half = active(read_strength("50 wt %"), "caustic")
    assert half == pytest.approx(758.2, abs=0.5)
    assert active(read_strength("18.95 N"), "caustic") == pytest.approx(18.95 * Formula("NaOH").mass, rel=1e-4)
    assert active(read_strength("300 g/L"), "caustic") == 300.0
    assert active(read_strength("60 wt %"), "caustic") is None
    assert active(read_strength("5 vol %"), "caustic") is None


def test_what_is_no_lye_is_refused_and_what_has_no_rows_of_it_is_as_thick_as_water() -> None:
    with pytest.raises(ValueError, match="more than its rows"):
        solutions.mass_fraction(LYE.rows, 900.0)
    with pytest.raises(ValueError, match="outside 0 to"):
        solutions.density(LYE.rows, 0.6)
    with pytest.raises(ValueError, match="outside 0 to"):
        thickness(0.6)
    assert solutions.thickness(LYE.rows, (), 0.3) == 1.0
