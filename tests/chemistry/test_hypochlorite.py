"""What the figure on a hypochlorite drum comes to."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from molmass import Formula

from planner.chemistry import constants, hypochlorite
from planner.chemistry.hypochlorite import Label
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(100), deadline=None, derandomize=True, database=None)

LABELS: tuple[Label, ...] = ("trade", "g_l_cl2", "wt_cl2", "wt_naocl", "molar")
GALLON_PER_POUND = 3.785411784e-3 / 0.45359237


@pytest.mark.parametrize(
    ("formula", "ours"),
    [
        ("Cl2", constants.CHLORINE),
        ("NaOCl", constants.HYPOCHLORITE),
        ("NaOH", constants.CAUSTIC),
        ("HCl", constants.HYDROGEN_CHLORIDE),
        ("CaCO3", constants.CALCIUM_CARBONATE),
    ],
)
def test_molar_masses_are_those_of_their_formulas(formula: str, ours: float) -> None:
    assert ours == pytest.approx(Formula(formula).mass / 1000, rel=1e-6)


def test_water_at_20_c_weighs_what_iapws_says() -> None:
    from iapws import IAPWS95

    assert IAPWS95(T=293.15, P=0.101325).rho == pytest.approx(constants.WATER_AT_ROOM, abs=1e-3)


@pytest.mark.parametrize(
    ("trade", "molar", "gravity", "wt_cl2", "wt_naocl", "lb_per_gallon"),
    [
        (5.25, 0.740, 1.072, 4.91, 5.15, 0.438),
        (10, 1.410, 1.134, 8.84, 9.28, 0.835),
        (12.5, 1.763, 1.167, 10.74, 11.27, 1.043),
        (15, 2.116, 1.199, 12.53, 13.16, 1.252),
    ],
)
def test_the_projects_table_of_strengths(
    trade: float, molar: float, gravity: float, wt_cl2: float, wt_naocl: float, lb_per_gallon: float
) -> None:
    strength = hypochlorite.from_trade_percent(trade)
    assert hypochlorite.molarity(strength) == pytest.approx(molar, abs=6e-4)
    assert hypochlorite.specific_gravity(strength) == pytest.approx(gravity, abs=6e-4)
    assert hypochlorite.to_wt_cl2(strength) == pytest.approx(wt_cl2, abs=6e-3)
    assert hypochlorite.to_wt_naocl(strength) == pytest.approx(wt_naocl, abs=6e-3)
    assert strength * GALLON_PER_POUND == pytest.approx(lb_per_gallon, abs=6e-4)


@pytest.mark.parametrize(("label", "trade"), [(6, 6.18), (8.25, 8.77), (12.5, 14.12)])
def test_a_label_in_weight_percent_is_stronger_in_trade_percent(label: float, trade: float) -> None:
    assert hypochlorite.from_wt_naocl(label) / 10 == pytest.approx(trade, abs=6e-3)


def test_a_drum_marked_12_5_percent_is_12_5_or_14_1_or_15_trade_percent() -> None:
    read = hypochlorite.readings(12.5)
    assert read.trade == 125
    assert read.wt_naocl == pytest.approx(141.2, abs=0.1)
    assert read.wt_cl2 == pytest.approx(149.6, abs=0.1)
    assert (read.lowest, read.highest) == (read.trade, read.wt_cl2)
    assert read.spread == pytest.approx(149.6 / 125 - 1, abs=1e-3)


def test_a_drum_of_water_has_no_spread() -> None:
    assert hypochlorite.readings(0).spread == 0


@given(st.sampled_from(LABELS), st.floats(0, 160), st.floats(0, 0.01))
@PROPERTY
def test_every_label_reads_back(label: Label, strength: float, caustic: float) -> None:
    written = hypochlorite.to_label(strength, label, caustic)
    assert hypochlorite.from_label(written, label, caustic) == pytest.approx(strength, rel=1e-12, abs=1e-12)


@given(st.floats(0, 15), st.floats(0, 0.01))
@PROPERTY
def test_the_closed_form_solves_the_implicit_definition(percent: float, caustic: float) -> None:
    strength = hypochlorite.from_wt_cl2(percent, caustic)
    assert strength == pytest.approx(percent / 100 * hypochlorite.density(strength, caustic), rel=1e-12)


@given(st.floats(0.1, 15))
@PROPERTY
def test_weight_percents_are_always_stronger_than_trade(percent: float) -> None:
    read = hypochlorite.readings(percent)
    # Weight percent chlorine counts no sodium, so it is the strongest reading; below 5 % NaOCl meets trade.
    assert read.wt_cl2 > read.wt_naocl
    assert read.wt_cl2 > read.trade


def test_a_mix_weighs_by_the_water_it_is_made_with() -> None:
    assert hypochlorite.density(10, 0.0, 999.1) == pytest.approx(999.1 * (1 + 0.0013083 * 10), rel=1e-12)


@pytest.mark.parametrize("label", LABELS)
def test_a_strength_below_zero_is_refused(label: Label) -> None:
    with pytest.raises(ValueError, match="0 or more"):
        hypochlorite.from_label(-1, label)
    with pytest.raises(ValueError, match="0 or more"):
        hypochlorite.to_label(-1, label)
    with pytest.raises(ValueError, match="0 or more"):
        hypochlorite.from_label(float("nan"), label)


def test_a_weight_percent_beyond_any_stock_is_refused() -> None:
    with pytest.raises(ValueError, match="beyond any stock"):
        hypochlorite.from_wt_cl2(31)
