"""A descaling bath: lime, gas and protons against balanced equations written out with an outside library's masses."""

from __future__ import annotations

import pytest
from chemicals.reaction import Hfg, Hfl, Hfs
from molmass import Formula

from planner.chemistry import acids, gases, heat
from planner.chemistry.gases import ATMOSPHERE
from planner.inputs.tables.chemicals import CHEMICALS
from planner.plan.between.neutralisers import rise_of

LIME = Formula("CaCO3").mass
HCL = Formula("HCl").mass / 1e3
MOLE = 24.465e-3  # m3 of a gas at 25 C and one atmosphere, 24.45 to 24.47 L by the constants taken


def test_a_litre_of_the_usual_bath_takes_off_seventy_five_grams_of_lime() -> None:
    strength = acids.diluted(0.3145, 0.15).strength
    assert gases.lime_dissolved(1e-3 * strength / HCL, 0.5) == pytest.approx(75.0e-3, rel=1e-3)
    # The same in the trade's units: 0.626 lb a gallon.
    gallon = gases.lime_dissolved(231 * 0.0254**3 * strength / HCL, 0.5)
    assert gallon is not None
    assert gallon / 0.45359237 == pytest.approx(0.626, abs=1e-3)


def test_lime_by_the_equation_of_each_acid() -> None:
    # CaCO3 + 2 HCl and CaCO3 + 2 C6H8O7: half a mole of lime to a mole of acid.
    shares = {name: one.acid.lime for name, one in CHEMICALS.items() if one.acid is not None}
    assert gases.lime_dissolved(1.0, shares["muriatic"]) == pytest.approx(LIME / 2e3, rel=1e-5)
    assert gases.lime_dissolved(1.0, shares["citric"]) == pytest.approx(LIME / 2e3, rel=1e-5)
    assert gases.lime_dissolved(50.0, shares["oxalic"]) is None, "it seals it"


def test_lime_gives_its_own_moles_of_gas() -> None:
    assert gases.gas_from_lime(LIME * 1e-3) == pytest.approx(MOLE, rel=1e-3)
    assert ATMOSPHERE == 101325.0


@pytest.mark.parametrize(
    ("acid", "agent", "gas"),
    [
        ("muriatic", "bicarbonate", 1.0),  # HCl + NaHCO3
        ("muriatic", "soda_ash", 0.5),  # 2 HCl + Na2CO3
        ("muriatic", "lime", 0.0),  # 2 HCl + Ca(OH)2
        ("citric", "bicarbonate", 3.0),  # C6H8O7 + 3 NaHCO3
        ("oxalic", "soda_ash", 1.0),  # H2C2O4 + Na2CO3
    ],
)
def test_an_agent_gives_gas_by_the_protons_it_takes(acid: str, agent: str, gas: float) -> None:
    sour, base = CHEMICALS[acid].acid, CHEMICALS[agent].base
    assert sour is not None
    assert base is not None
    assert base.gas is not None
    assert gases.gas_from_agent(sour.protons, base.gas) == pytest.approx(gas * MOLE, rel=1e-3)


def test_lime_first_and_soda_ash_after_give_no_more_than_soda_ash_alone() -> None:
    strength = acids.diluted(0.3145, 0.15).strength
    lime = gases.lime_dissolved(strength / HCL, 0.5)
    assert lime is not None
    ash = gases.gas_from_agent(strength / HCL, 0.5)
    assert 0.8 * gases.gas_from_lime(lime) + 0.2 * ash == pytest.approx(ash, rel=1e-5)


# Standard enthalpies of formation at 25 C [kJ/mol]: solids, gas and water as the library `chemicals` has them (its CRC
# tables); of ions it has none, those are from memory.
FORMED = {
    "NaHCO3": Hfs("144-55-8") / 1e3, "Na2CO3": Hfs("497-19-8") / 1e3, "Ca(OH)2": Hfs("1305-62-0") / 1e3,
    "CO2": Hfg("124-38-9") / 1e3, "H2O": Hfl("7732-18-5") / 1e3, "Na+": -240.12, "Ca++": -542.83, "H+": 0.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("agent", "taken", "given", "protons"),
    [
        ("bicarbonate", {"NaHCO3": 1, "H+": 1}, {"Na+": 1, "H2O": 1, "CO2": 1}, 1),
        ("soda_ash", {"Na2CO3": 1, "H+": 2}, {"Na+": 2, "H2O": 1, "CO2": 1}, 2),
        ("lime", {"Ca(OH)2": 1, "H+": 2}, {"Ca++": 1, "H2O": 2}, 2),
    ],
)
def test_heat_of_each_agent_is_the_difference_of_what_is_formed(
    agent: str, taken: dict[str, int], given: dict[str, int], protons: int
) -> None:
    heat = sum(FORMED[one] * n for one, n in taken.items()) - sum(FORMED[one] * n for one, n in given.items())
    # The tables differ by 0.9 kJ for slaked lime: half of that for each proton.
    base = CHEMICALS[agent].base
    assert base is not None
    assert base.in_acid == pytest.approx(1e3 * heat / protons, abs=500.0)


@pytest.mark.parametrize(("share", "least", "most"), [(0.10, 15.5, 17.0), (0.15, 23.5, 25.5), (0.30, 51.0, 55.0)])
def test_lime_heats_a_bath_and_bicarbonate_cools_it(share: float, least: float, most: float) -> None:
    strength = acids.diluted(0.3145, share).strength
    lime, ash, mild = (rise_of("muriatic", strength, agent) or 0.0 for agent in ("lime", "soda_ash", "bicarbonate"))
    assert least < lime < most
    assert 3.0 < ash < 13.0
    assert mild < 0.0
    # By hand: 128.4 kJ for two moles of acid, in water alone, is a little less than in the acid it is.
    by_hand = strength / 36.46 / 2 * 128.4 / (4.18 * 0.998)
    assert by_hand < lime < 1.2 * by_hand
    assert heat.neutralising_rise(strength / HCL, 64.2e3, heat.hydrochloric_capacity(strength)) == (
        pytest.approx(lime, rel=1e-4)
    )


def test_crystals_warm_by_all_their_protons_and_of_an_unknown_agent_nobody_knows() -> None:
    # 5 wt % citric, 51 g/L: 0.265 mol/L of three protons, 64.2 kJ each, over four kJ a litre and kelvin.
    assert rise_of("citric", 51.0, "lime") == pytest.approx(51.0 / 192.12 * 3 * 64.2 / 3.96, rel=0.01)
    oxalic = rise_of("oxalic", 51.0, "lime")
    assert oxalic is not None
    assert oxalic > 51.0 / 126.07 * 2 * 64.2 / 4.18, "its lime salt falls out beside"
    assert rise_of("muriatic", 50.0, "thiosulfate") is None
