"""Muriatic, oxalic and citric acid: labels, dilution, heat."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from molmass import Formula
from thermo.electrochem import Laliberte_density, Laliberte_density_w

from planner.chemistry import acids, solutions
from planner.chemistry.heat import temperature_rise
from planner.inputs.tables.chemicals import CHEMICALS, DRY
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(100), deadline=None, derandomize=True, database=None)


def weak_density(name: str, fraction: float) -> float:
    return solutions.density(CHEMICALS[name].solution.rows, fraction)


def weak_strength(name: str, crystals: float) -> float:
    of = CHEMICALS[name].solution
    return solutions.strength(of.rows, crystals, of.water_free)


def from_label(name: str, amount: float, label: str) -> float | None:
    of = CHEMICALS[name]
    equivalent = of.equivalent if "normal" in of.label.bases else None
    return solutions.from_label(of.solution.rows, of.solution.water_free, equivalent, amount, label)


POUND_PER_GALLON = 3.785411784e-3 / 0.45359237


@given(st.floats(0.001, 0.375), st.floats(278.15, 333.15))
@PROPERTY
def test_density_is_thermos_laliberte(fraction: float, temperature: float) -> None:
    theirs = Laliberte_density(temperature, [fraction], ["7647-01-0"])
    assert acids.density(fraction, temperature) == pytest.approx(theirs, rel=1e-10)
    assert acids.water_density(temperature) == pytest.approx(Laliberte_density_w(temperature), rel=1e-12)


@given(st.floats(0, 0.40), st.floats(278.15, 333.15))
@PROPERTY
def test_strength_and_density_turn_round(fraction: float, temperature: float) -> None:
    strength, density = acids.strength(fraction, temperature), acids.density(fraction, temperature)
    assert acids.mass_fraction_of_strength(strength, temperature) == pytest.approx(fraction, rel=1e-9, abs=1e-12)
    assert acids.mass_fraction_of_density(density, temperature) == pytest.approx(fraction, rel=1e-7, abs=1e-9)


def test_the_usual_jug_of_muriatic() -> None:
    strength = acids.from_label(31.45, "wt")
    assert acids.density(0.3145) == pytest.approx(1156.0, abs=0.05)
    assert acids.normality(strength) == pytest.approx(9.971, abs=6e-4)
    assert acids.density(0.3145) * POUND_PER_GALLON == pytest.approx(9.647, abs=1e-3)


def test_every_label_of_the_same_jug_agrees() -> None:
    strength = acids.from_label(31.45, "wt")
    assert acids.from_label(strength, "g_l") == pytest.approx(strength, rel=1e-9)
    assert acids.from_label(9.971, "normal") == pytest.approx(strength, rel=1e-4)
    assert acids.from_label(20, "degbe") == pytest.approx(strength, rel=5e-4)


def test_fifteen_volume_percent_is_not_4_72_percent() -> None:
    bath = acids.diluted(0.3145, 0.15)
    naive = 0.15 * 31.45
    assert naive == pytest.approx(4.72, abs=0.005)
    assert 100 * bath.mass_fraction == pytest.approx(5.337, abs=1e-3)
    assert bath.volume < 1


@given(st.floats(0.05, 0.38), st.floats(0, 1))
@PROPERTY
def test_dilution_keeps_every_gram_of_acid_and_of_water(stock: float, share: float) -> None:
    mixed = acids.diluted(stock, share)
    acid_in = share * acids.strength(stock)
    mass_in = share * acids.density(stock) + (1 - share) * acids.water_density()
    assert mixed.strength * mixed.volume == pytest.approx(acid_in, rel=1e-12, abs=1e-12)
    assert mixed.density * mixed.volume == pytest.approx(mass_in, rel=1e-12)
    assert mixed.normality == pytest.approx(mixed.strength / 36.46084, rel=1e-9)
    assert -1e-4 < 1 - mixed.volume < 0.0075


@given(st.floats(0.1, 0.36), st.floats(0.01, 0.99), st.floats(0.001, 1))
@PROPERTY
def test_parts_for_a_volume_are_the_dilution_turned_round(stock: float, share: float, volume: float) -> None:
    mixed = acids.diluted(stock, share)
    parts = acids.parts_for(volume, mixed.strength, acids.strength(stock))
    assert parts.stock / (parts.stock + parts.water) == pytest.approx(share, rel=1e-8)
    assert (parts.stock + parts.water) * mixed.volume == pytest.approx(volume, rel=1e-8)


def test_pouring_a_descaling_bath_warms_it_four_degrees() -> None:
    rise = temperature_rise(0.3145, 0.15)
    assert rise.nominal == pytest.approx(4.1, abs=0.05)
    assert rise.high - rise.nominal == pytest.approx(0.7, abs=0.01)
    assert rise.nominal - rise.low == pytest.approx(0.7, abs=0.01)


@given(st.floats(0.05, 0.38), st.floats(0, 1))
@PROPERTY
def test_pouring_acid_never_cools_and_neat_acid_or_plain_water_does_nothing(stock: float, share: float) -> None:
    assert temperature_rise(stock, share).nominal >= -1e-9
    assert temperature_rise(stock, 1).nominal == pytest.approx(0, abs=1e-9)
    assert temperature_rise(stock, 0).nominal == 0


def test_what_no_muriatic_acid_can_be_is_refused() -> None:
    for amount, label in ((45, "wt"), (30, "degbe"), (16, "normal"), (600, "g_l")):
        with pytest.raises(ValueError, match="hydrochloric acid"):
            acids.from_label(amount, label)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="not on the scale"):
        acids.mass_fraction_of_baume(145)
    with pytest.raises(ValueError, match="not a share"):
        acids.diluted(0.3, 1.5)
    with pytest.raises(ValueError, match="not a share"):
        temperature_rise(0.3, -0.1)
    with pytest.raises(ValueError, match="cannot be made"):
        acids.parts_for(1, 400, 300)
    with pytest.raises(ValueError, match="not a strength"):
        acids.mass_fraction_of_strength(-1)


def test_plain_water_has_no_acid_in_it() -> None:
    assert acids.mass_fraction_of_strength(0) == 0
    assert acids.mass_fraction_of_baume(0) == pytest.approx(0, abs=1e-9)
    assert acids.parts_for(2, 0, 0).water == pytest.approx(2)


def test_citric_is_sold_water_free_and_oxalic_is_not() -> None:
    # By hand from the tables: 5 wt % citric is 1.0189 kg/L, 50.945 g/L. 5 wt % of oxalic crystals is
    # 5 x 90.035 / 126.066 = 3.5710 wt % of acid, 1.0152 kg/L, 50.761 g/L of crystals.
    assert weak_strength("citric", 0.05) == pytest.approx(50.945, abs=1e-3)
    assert weak_strength("oxalic", 0.05) == pytest.approx(50.761, abs=2e-3)
    assert weak_density("oxalic", 0) == weak_density("citric", 0) == 998.2071
    assert weak_density("citric", 0.30) == pytest.approx(1134.6)


SALTS = {"soda_ash": "497-19-8", "bicarbonate": "144-55-8", "sulfite": "7757-83-7", "bisulfite": "7631-90-5",
         "thiosulfate": "7772-98-7"}  # fmt: skip


@pytest.mark.parametrize(
    ("salt", "fraction"), [(name, part) for name in SALTS for part in (0.005, 0.01, 0.03, 0.05, 0.08)]
)
def test_salts_weigh_what_an_outside_model_says(salt: str, fraction: float) -> None:
    # Laliberte, J. Chem. Eng. Data 54 (2009) 1725, through the thermo library.
    theirs = Laliberte_density(293.15, [fraction], [SALTS[salt]])
    assert weak_density(salt, fraction) == pytest.approx(theirs, rel=1e-3)


@pytest.mark.parametrize("crystals", [0.01, 0.03, 0.05, 0.10, 0.14])
def test_percarbonate_weighs_as_the_soda_ash_and_peroxide_it_falls_into(crystals: float) -> None:
    # 2 Na2CO3 . 3 H2O2 by mass, each of them in thermo's model of Laliberte (2009).
    ash = 2 * Formula("Na2CO3").mass / (2 * Formula("Na2CO3").mass + 3 * Formula("H2O2").mass)
    theirs = Laliberte_density(293.15, [crystals * ash, crystals * (1 - ash)], ["497-19-8", "7722-84-1"])
    assert weak_strength("percarbonate", crystals) == pytest.approx(crystals * theirs, rel=5e-4)


def test_salts_weigh_what_a_handbook_prints() -> None:
    # CRC Handbook's g/cm3 at 20 C as an engineering reference page quotes it: 1, 5 and 10 % of soda ash,
    # 1, 5, 10, 20, 30 and 40 % of thiosulfate, 1 and 5 % of bicarbonate.
    printed = {
        "soda_ash": [(0.01, 1.0086), (0.05, 1.0502), (0.10, 1.1029)],
        "thiosulfate": [(0.01, 1.0065), (0.05, 1.0399), (0.10, 1.0827), (0.20, 1.1740), (0.30, 1.2739), (0.40, 1.3827)],
        "bicarbonate": [(0.01, 1.0054), (0.05, 1.0337)],
    }
    for salt, rows in printed.items():
        for fraction, density in rows:
            assert weak_density(salt, fraction) / 1000 == pytest.approx(density, rel=1.2e-3), (salt, fraction)


def test_thiosulfate_is_sold_with_its_water_and_acids_count_by_their_hydrogen() -> None:
    salt, water = Formula("Na2S2O3").mass, 5 * Formula("H2O").mass
    assert CHEMICALS["thiosulfate"].solution.water_free == pytest.approx(salt / (salt + water), rel=1e-5)
    assert from_label("oxalic", 1.0, "normal") == pytest.approx(Formula("C2H6O6").mass / 2, rel=1e-4)
    assert from_label("citric", 1.0, "normal") == pytest.approx(Formula("C6H8O7").mass / 3, rel=1e-4)
    assert from_label("percarbonate", 1.0, "normal") is None
    assert from_label("percarbonate", 3.0, "vol") is None


@pytest.mark.parametrize("name", DRY)
def test_a_strength_rises_with_its_percent_past_the_end_of_its_table_too(name: str) -> None:
    strengths = [weak_strength(name, percent / 100) for percent in range(101)]
    assert strengths[0] == 0.0
    assert all(more > less for less, more in pairwise(strengths))
    with pytest.raises(ValueError, match="is not a share"):
        weak_strength(name, 1.01)


def test_density_outside_its_table_is_refused() -> None:
    with pytest.raises(ValueError, match="outside 0 to"):
        weak_density("oxalic", 0.06)
    with pytest.raises(ValueError, match="outside 0 to"):
        weak_density("citric", -0.01)
