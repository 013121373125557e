"""What takes the chlorine or the acid out of a heel."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from molmass import Formula

from planner.chemistry import acids
from planner.chemistry.neutralising import (
    STRONGEST_DECHLORINATED,
    Agent,
    active_mass,
    dechlorinating_rise,
    neutralise,
)
from planner.inputs.tables.chemicals import CHEMICALS
from planner.plan.between.neutralisers import rise_of
from tests.sampled import examples


def _rise(alkali: str, strength: float) -> float:
    return rise_of(alkali, strength, "citric") or 0.0


PROPERTY = settings(max_examples=examples(100), deadline=None, derandomize=True, database=None)

GALLON = 3.785411784e-3
POUND = 0.45359237


def rows(chemical: str) -> dict[str, Agent]:
    return {
        row["name"]: Agent(
            name=row["name"],
            dose=float(row["dose"]) if "dose" in row else None,
            stoichiometric=float(row["stoichiometric"]) if "stoichiometric" in row else None,
            source=row["source"],
        )
        for row in CHEMICALS[chemical].neutralised
    }


# Moles of agent and of active in each balanced equation.
BALANCED = [
    ("hypochlorite", "sulfite", "Na2SO3", 1, "Cl2", 1),
    ("hypochlorite", "bisulfite", "NaHSO3", 1, "Cl2", 1),
    ("hypochlorite", "metabisulfite", "Na2S2O5", 1, "Cl2", 2),
    ("hypochlorite", "ascorbic", "C6H8O6", 1, "Cl2", 1),
    ("hypochlorite", "sodium_ascorbate", "C6H7NaO6", 1, "Cl2", 1),
    ("muriatic", "bicarbonate", "NaHCO3", 1, "HCl", 1),
    ("muriatic", "soda_ash", "Na2CO3", 1, "HCl", 2),
    ("muriatic", "lime", "Ca(OH)2", 1, "HCl", 2),
    ("oxalic", "bicarbonate", "NaHCO3", 2, "C2H2O4(H2O)2", 1),
    ("oxalic", "soda_ash", "Na2CO3", 1, "C2H2O4(H2O)2", 1),
    ("oxalic", "lime", "Ca(OH)2", 1, "C2H2O4(H2O)2", 1),
    ("citric", "bicarbonate", "NaHCO3", 3, "C6H8O7", 1),
    ("citric", "soda_ash", "Na2CO3", 3, "C6H8O7", 2),
    ("citric", "lime", "Ca(OH)2", 3, "C6H8O7", 2),
    ("caustic", "citric", "C6H8O7", 1, "NaOH", 3),
    ("caustic", "oxalic", "C2H2O4(H2O)2", 1, "NaOH", 2),
    ("percarbonate", "citric", "C6H8O7", 4, "(Na2CO3)2(H2O2)3", 3),
    ("percarbonate", "oxalic", "C2H2O4(H2O)2", 2, "(Na2CO3)2(H2O2)3", 1),
    ("soda_ash", "citric", "C6H8O7", 2, "Na2CO3", 3),
    ("soda_ash", "oxalic", "C2H2O4(H2O)2", 1, "Na2CO3", 1),
    ("lime", "citric", "C6H8O7", 2, "Ca(OH)2", 3),
    ("lime", "oxalic", "C2H2O4(H2O)2", 1, "Ca(OH)2", 1),
]


@pytest.mark.parametrize(("active", "name", "agent", "of_agent", "formula", "of_active"), BALANCED)
def test_stoichiometric_doses_are_those_of_the_balanced_equations(
    active: str, name: str, agent: str, of_agent: int, formula: str, of_active: int
) -> None:
    dose = of_agent * Formula(agent).mass / (of_active * Formula(formula).mass)
    assert rows(active)[name].stoichiometric == pytest.approx(dose, abs=6e-4)


# Atoms on both sides of the equations the rows print, charge left out as all are whole salts.
EQUATIONS = [
    ("Na2SO3 Cl2 H2O", "Na2SO4 HCl HCl"),
    ("NaHSO3 Cl2 H2O", "NaHSO4 HCl HCl"),
    ("Na2S2O5 Cl2 Cl2 H2O H2O H2O", "NaHSO4 NaHSO4 HCl HCl HCl HCl"),
    ("C6H8O6 Cl2", "C6H6O6 HCl HCl"),
    ("C6H7NaO6 Cl2", "C6H6O6 NaCl HCl"),
    ("NaHCO3 HCl", "NaCl H2O CO2"),
    ("Na2CO3 HCl HCl", "NaCl NaCl H2O CO2"),
    ("Ca(OH)2 HCl HCl", "CaCl2 H2O H2O"),
    ("NaHCO3 NaHCO3 C2H2O4(H2O)2", "Na2C2O4 H2O H2O H2O H2O CO2 CO2"),
    ("Na2CO3 C2H2O4(H2O)2", "Na2C2O4 H2O H2O H2O CO2"),
    ("Ca(OH)2 C2H2O4(H2O)2", "CaC2O4 H2O H2O H2O H2O"),
    ("NaHCO3 NaHCO3 NaHCO3 C6H8O7", "Na3C6H5O7 H2O H2O H2O CO2 CO2 CO2"),
    ("Na2CO3 Na2CO3 Na2CO3 C6H8O7 C6H8O7", "Na3C6H5O7 Na3C6H5O7 H2O H2O H2O CO2 CO2 CO2"),
    ("Ca(OH)2 Ca(OH)2 Ca(OH)2 C6H8O7 C6H8O7", "Ca3(C6H5O7)2 H2O H2O H2O H2O H2O H2O"),
    ("NaOH NaOH NaOH C6H8O7", "Na3C6H5O7 H2O H2O H2O"),
    ("NaOH NaOH C2H2O4(H2O)2", "Na2C2O4 H2O H2O H2O H2O"),
    (" ".join(["(Na2CO3)2(H2O2)3"] * 3 + ["C6H8O7"] * 4),
     " ".join(["Na3C6H5O7"] * 4 + ["H2O2"] * 9 + ["H2O"] * 6 + ["CO2"] * 6)),
    ("(Na2CO3)2(H2O2)3 C2H2O4(H2O)2 C2H2O4(H2O)2", "Na2C2O4 Na2C2O4 H2O2 H2O2 H2O2 H2O H2O H2O H2O H2O H2O CO2 CO2"),
]  # fmt: skip


@pytest.mark.parametrize(("left", "right"), EQUATIONS)
def test_the_equations_balance(left: str, right: str) -> None:
    def atoms(side: str) -> dict[str, int]:
        count: dict[str, int] = {}
        for formula in side.split():
            for symbol, item in Formula(formula).composition().items():
                count[symbol] = count.get(symbol, 0) + item.count
        return count

    assert atoms(left) == atoms(right)


def test_no_row_lacks_its_equation_here() -> None:
    written = {(active, name) for active, name, *_ in BALANCED}
    for active in (
        "hypochlorite",
        "muriatic",
        "oxalic",
        "citric",
        "caustic",
        "percarbonate",
        "soda_ash",
        "lime",
    ):
        for agent in rows(active).values():
            assert (agent.stoichiometric is not None) == ((active, agent.name) in written)
            assert agent.source


# AWWA, Disinfection of Pipelines and Storage Facilities Field Guide, table 7-2: lb of agent per lb of chlorine at
# pH 7, as printed there.
AWWA = [("thiosulfate", 1.9), ("sulfite", 1.96), ("bisulfite", 1.61), ("metabisulfite", 1.47), ("ascorbic", 2.5),
        ("sodium_ascorbate", 2.8), ("calcium_thiosulfate", 1.22)]  # fmt: skip


@pytest.mark.parametrize(("agent", "dose"), AWWA)
def test_field_doses_are_those_printed_in_the_field_guide(agent: str, dose: float) -> None:
    assert rows("hypochlorite")[agent].dose == dose


def test_the_field_guide_gives_every_dose_of_chlorine_and_nothing_else_does() -> None:
    assert set(rows("hypochlorite")) == {agent for agent, _ in AWWA}


# Pounds of base for a pound of acid, worked by hand from whole-number atomic weights: 84/36.5, 106/73, 74/73; 168/126,
# 106/126, 74/126.
@pytest.mark.parametrize(
    ("active", "agent", "pounds"),
    [("muriatic", "bicarbonate", 84 / 36.5), ("muriatic", "soda_ash", 106 / 73),
     ("muriatic", "lime", 74 / 73), ("oxalic", "bicarbonate", 168 / 126),
     ("oxalic", "soda_ash", 106 / 126), ("oxalic", "lime", 74 / 126)],
)  # fmt: skip
def test_a_pound_of_acid_takes_what_school_chemistry_says(active: str, agent: str, pounds: float) -> None:
    assert rows(active)[agent].stoichiometric == pytest.approx(pounds, rel=3e-3)


def test_field_doses_are_never_below_what_chemistry_asks() -> None:
    for agent in rows("hypochlorite").values():
        assert agent.dose is not None
        assert agent.dose >= (agent.stoichiometric or 0)


@pytest.mark.parametrize(
    ("agent", "pounds"), [("thiosulfate", 0.79), ("sulfite", 0.82), ("bisulfite", 0.67), ("ascorbic", 1.04)]
)
def test_five_gallons_of_one_percent(agent: str, pounds: float) -> None:
    taken = neutralise(volume=5 * GALLON, strength=10, agent=rows("hypochlorite")[agent])
    assert taken.active / POUND == pytest.approx(0.417, abs=5e-4)
    assert taken.agent is not None
    assert taken.carry is not None
    assert taken.agent / POUND == pytest.approx(pounds, abs=0.006)
    assert taken.carry == pytest.approx(1.2 * taken.agent)


@pytest.mark.parametrize(("trade", "refused"), [(1, False), (2, False), (2.001, True), (12.5, True)])
def test_above_two_trade_percent_is_refused(trade: float, refused: bool) -> None:
    agent = rows("hypochlorite")["thiosulfate"]
    taken = neutralise(volume=1, strength=10 * trade, agent=agent, strongest=STRONGEST_DECHLORINATED)
    assert taken.refused is refused
    assert (taken.agent is None, taken.carry is None) == (refused, refused)


def test_a_gallon_of_descaling_bath_takes_about_a_pound_of_bicarbonate() -> None:
    bath = acids.diluted(0.3145, 0.15).strength
    base = rows("muriatic")
    bicarbonate = neutralise(volume=GALLON, strength=bath, agent=base["bicarbonate"])
    soda_ash = neutralise(volume=GALLON, strength=bath, agent=base["soda_ash"])
    assert bicarbonate.agent is not None
    assert soda_ash.agent is not None
    assert bicarbonate.agent / POUND == pytest.approx(1.05, abs=0.006)
    assert soda_ash.agent / POUND == pytest.approx(0.663, abs=1e-3)
    assert bicarbonate.stoichiometric == bicarbonate.agent


def test_a_leftover_gallon_of_one_to_ten_takes_64_hundredths() -> None:
    left = acids.diluted(0.3145, 1 / 11).strength
    taken = neutralise(volume=GALLON, strength=left, agent=rows("muriatic")["bicarbonate"])
    assert taken.agent is not None
    assert taken.agent / POUND == pytest.approx(0.64, abs=0.005)


def test_a_bucket_at_the_limit_gets_warm_and_stock_would_boil_away() -> None:
    # 2 trade % is 0.282 mol/L; 0.282 x 334 kJ into 4.18 kJ/K is 22.6 K.
    assert dechlorinating_rise(20.0) == pytest.approx(0.2821 * 334 / 4.176, rel=2e-3)
    assert dechlorinating_rise(10.0) == pytest.approx(dechlorinating_rise(20.0) / 2)
    assert dechlorinating_rise(125.0) > 80.0


@given(st.floats(0, 1), st.floats(0, 20), st.floats(0, 1))
@PROPERTY
def test_agent_follows_the_active_and_the_spare(volume: float, strength: float, spare: float) -> None:
    agent = Agent(name="any", dose=1.9, stoichiometric=None, source="made up for this test")
    taken = neutralise(volume=volume, strength=strength, agent=agent, spare=spare)
    assert taken.active == pytest.approx(active_mass(volume, strength))
    assert taken.agent == pytest.approx(1.9 * taken.active)
    assert taken.carry == pytest.approx(1.9 * taken.active * (1 + spare))
    assert taken.stoichiometric is None


def test_what_cannot_be_neutralised_is_refused() -> None:
    nothing = Agent(name="hope", dose=None, stoichiometric=None, source="none")
    with pytest.raises(ValueError, match="how much hope"):
        neutralise(volume=1, strength=1, agent=nothing)
    with pytest.raises(ValueError, match="-1 m3"):
        neutralise(volume=-1, strength=1, agent=rows("hypochlorite")["sulfite"])


def test_lye_warms_by_the_heat_of_making_water_less_what_the_crystals_take_up() -> None:
    # H+ + OH- -> H2O: -285.8 + 230.0 = -55.8 kJ/mol.  Citric crystals take up 18.2 kJ/mol to dissolve (J. Chem.
    # Thermodyn. 18 (1986) 351) and 4.1 + 2.2 - 3.6 to part from their protons (J. Solution Chem.): 7 kJ a proton.
    base = CHEMICALS["caustic"].base
    assert base is not None
    assert base.with_weak == pytest.approx((285.8 - 230.0) * 1e3)
    least = 55.8e3 - (18.2e3 + 4.1e3 + 2.2e3 - 3.6e3) / 3
    molar = 20.0 / 0.0399971
    # What is told is the warm side: no less than with the crystals' own cooling, and no more than a sixth above it.
    assert molar * least / 4.18e6 < _rise("caustic", 20.0) < 1.17 * molar * least / 4.18e6
    assert _rise("caustic", 40.0) == pytest.approx(13.3, abs=0.1)


def test_percarbonate_warms_by_its_peroxide() -> None:
    # 3 H2O2 -> 3 H2O + 1.5 O2, 94.6 kJ each; 20 g/L are .0637 mol/L: 18 kJ/L, 4.4 K, and the soda ash next to nothing.
    assert _rise("percarbonate", 20.0) == pytest.approx(0.0637 * (3 * 94.6 + 2 * 2.2) / 4.173, rel=0.01)
