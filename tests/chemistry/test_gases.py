"""How much gas, held to molar masses worked out on their own and to the contract's page of chemistry."""

from __future__ import annotations

import pytest
from molmass import Formula

from planner.chemistry.gases import GasReaction, air_spoiled, gas_volume, released

GALLON = 231 * 0.0254**3
POUND = 0.45359237
CL2, HCL = Formula("Cl2").mass * 1e-3, Formula("HCl").mass * 1e-3
CHLORINE = GasReaction(
    first="hypochlorite", second="muriatic", takes_first=1, takes_second=2, gas="chlorine", gives=1, gas_molar=CL2,
    equation="NaOCl + 2 HCl -> Cl2 + NaCl + H2O",
)  # fmt: skip


def _metal(molar: float, takes_acid: float, takes_metal: float, gives: float) -> float:
    """Hydrogen [m3] from a gram of metal in acid enough."""
    reaction = GasReaction(
        first="acid", second="metal", takes_first=takes_acid, takes_second=takes_metal, gas="hydrogen", gives=gives,
        gas_molar=Formula("H2").mass * 1e-3, equation="",
    )  # fmt: skip
    most = released(reaction, None, 1e-3, HCL, molar)
    assert most is not None
    return most.volume


def test_a_gallon_of_stock_gives_a_pound_of_chlorine_and_takes_a_third_of_a_gallon_of_acid() -> None:
    # Contract, chemistry page: 12.5 trade % gives 473 g = 1.043 lb = 163 L, and needs .354 gal of 31.45 wt % acid
    # (1.1560 g/mL).
    most = released(CHLORINE, GALLON * 125.0, None, CL2, HCL)
    assert most is not None
    assert most.mass == pytest.approx(0.473, abs=5e-4)
    assert most.mass / POUND == pytest.approx(1.043, abs=5e-4)
    assert most.volume == pytest.approx(0.163, abs=5e-4)
    acid = 0.354 * GALLON * 1156.0 * 0.3145
    enough = released(CHLORINE, GALLON * 125.0, acid * 1.002, CL2, HCL)
    short = released(CHLORINE, GALLON * 125.0, acid * 0.998, CL2, HCL)
    assert enough is not None
    assert short is not None
    assert enough.mass == most.mass > short.mass


def test_a_gram_of_aluminium_gives_1_36_litres_of_hydrogen_and_of_zinc_0_374() -> None:
    # Contract, chemistry page: Al 1.36 L/g, Zn .374 L/g.
    assert _metal(Formula("Al").mass * 1e-3, 6, 2, 3) == pytest.approx(1.36e-3, abs=5e-6)
    assert _metal(Formula("Zn").mass * 1e-3, 2, 1, 1) == pytest.approx(0.374e-3, abs=5e-7)


def test_a_mole_of_gas_is_24_45_litres_at_25_c_and_24_06_at_20() -> None:
    # NIOSH and OSHA turn ppm into mg/m3 with 24.45 L/mol; 22.414 L/mol at 0 C (CODATA).
    assert gas_volume(1.0) == pytest.approx(24.465e-3, abs=5e-6)
    assert gas_volume(1.0, 293.15) == pytest.approx(24.055e-3, abs=5e-6)
    assert gas_volume(1.0, 273.15) == pytest.approx(22.414e-3, abs=5e-6)


def test_air_at_ten_ppm_is_a_hundred_thousand_times_the_gas() -> None:
    assert air_spoiled(0.163, 10e-6) == pytest.approx(16_300.0)
    with pytest.raises(ValueError, match="limit"):
        air_spoiled(1.0, 0.0)


def test_the_scarcer_one_decides_and_more_of_the_other_changes_nothing() -> None:
    little = released(CHLORINE, 0.1, 1.0, CL2, HCL)
    same = released(CHLORINE, 0.1, 50.0, CL2, HCL)
    assert little == same
    twice = released(CHLORINE, 0.2, 50.0, CL2, HCL)
    assert twice is not None
    assert little is not None
    assert twice.mass == pytest.approx(2.0 * little.mass)


def test_nothing_can_be_said_where_neither_is_short_and_a_mass_below_nothing_is_refused() -> None:
    assert released(CHLORINE, None, None, CL2, HCL) is None
    with pytest.raises(ValueError, match="kg"):
        released(CHLORINE, -0.1, None, CL2, HCL)
