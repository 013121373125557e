"""What leaves a wall, and how sour it is."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chemistry.runoff import (
    KEPT,
    carbonate_ph,
    leaving,
    remains,
    strong_ph,
    times_over,
    weak_ph,
)
from planner.inputs.tables.chemicals import CHEMICALS
from tests.sampled import examples

DISSOCIATION = {name: one.acid.pk for name, one in CHEMICALS.items() if one.acid is not None and one.acid.pk}

PROPERTY = settings(max_examples=examples(150), deadline=None, derandomize=True, database=None)
VOLUME = st.floats(0.0, 10.0)


def test_a_wall_s_chlorine_is_thinned_by_all_its_water() -> None:
    # 48 gal of 3.5 % on a roof hold 14 lb of chlorine (practice of the trade); nothing rinses it.
    gallon, pound = 3.785411784e-3, 0.45359237
    roof = leaving(mix=48 * gallon, strength=35.0, water=0.0)
    assert roof.active / pound == pytest.approx(14.0, abs=0.05)
    assert roof.strength == pytest.approx(35.0)
    assert leaving(mix=48 * gallon, strength=35.0, water=48 * gallon).strength == pytest.approx(17.5)


def test_nothing_is_taken_as_used_up_unless_it_is_said() -> None:
    assert KEPT == 0.0
    assert leaving(mix=1.0, strength=10.0, water=1.0, kept=0.25).active == pytest.approx(7.5)


@given(st.floats(1e-6, 10.0), st.floats(0.0, 200.0, allow_subnormal=False), VOLUME, st.floats(0.0, 1.0))
@PROPERTY
def test_no_more_leaves_a_wall_than_landed_on_it(mix: float, strength: float, water: float, kept: float) -> None:
    left = leaving(mix=mix, strength=strength, water=water, kept=kept)
    assert left.active <= mix * strength * (1 + 1e-12)
    assert left.strength <= strength * (1 + 1e-12) + 1e-300
    assert left.strength * left.volume == pytest.approx(left.active)
    assert left.volume == mix + water


@given(VOLUME, VOLUME, VOLUME)
@PROPERTY
def test_what_was_made_is_on_walls_in_the_tank_or_spare(made: float, walls: float, heel: float) -> None:
    left = remains(made=made, walls=walls, heel=heel)
    parts = (left.walls, left.heel, left.spare)
    assert sum(parts) == pytest.approx(made, abs=1e-12)
    assert min(parts) >= 0.0
    assert left.heel <= heel
    assert left.walls <= walls


def test_a_heel_is_kept_before_anything_is_spare() -> None:
    left = remains(made=10.0, walls=8.0, heel=3.0)
    assert (left.heel, left.spare) == (2.0, 0.0)


def test_times_over_is_how_often_it_would_have_to_be_thinned() -> None:
    assert times_over(1.9e-3, 1.9e-5) == pytest.approx(100.0)
    with pytest.raises(ValueError, match="not a criterion"):
        times_over(1.0, 0.0)


@pytest.mark.parametrize(
    ("mix", "strength", "water", "kept"), [(0, 1, 1, 0), (1, -1, 1, 0), (1, 1, -1, 0), (1, 1, 1, 2)]
)
def test_what_cannot_be_is_refused(mix: float, strength: float, water: float, kept: float) -> None:
    with pytest.raises(ValueError, match="nothing leaves"):
        leaving(mix=mix, strength=strength, water=water, kept=kept)
    with pytest.raises(ValueError, match="-1"):
        remains(made=-1, walls=0, heel=0)


def test_a_strong_acid_s_ph_is_the_logarithm_of_its_normality() -> None:
    assert strong_ph(0.1) == pytest.approx(1.0, abs=1e-9)
    assert strong_ph(0.001) == pytest.approx(3.0, abs=1e-7)
    assert strong_ph(0.0) == pytest.approx(7.0)
    assert strong_ph(-0.1) == pytest.approx(13.0, abs=1e-9)
    # Measured with activities, 0.1 mol/L HCl is pH 1.09 (Bates): the plain sum is a tenth too low, the safe side.
    assert 0.0 < 1.09 - strong_ph(0.1) < 0.12


def test_a_weak_acid_of_one_step_obeys_its_textbook_quadratic() -> None:
    # Acetic acid, pK 4.76, 0.1 mol/L: pH 2.88.
    constant, amount = 10**-4.76, 0.1
    hydrogen = (-constant + (constant**2 + 4 * constant * amount) ** 0.5) / 2
    assert 10 ** -weak_ph(amount, (4.76,)) == pytest.approx(hydrogen, rel=1e-6)
    assert weak_ph(amount, (4.76,)) == pytest.approx(2.88, abs=0.005)


# Handbook values of 0.1 N acid in water: oxalic 1.6 (0.05 mol/L; 1.3 at 0.1 mol/L), citric 2.2 (0.033 mol/L).
@pytest.mark.parametrize(("acid", "molar", "ph"), [("oxalic", 0.05, 1.6), ("citric", 0.0333, 2.2)])
def test_the_trade_s_weak_acids_are_as_sour_as_handbooks_say(acid: str, molar: float, ph: float) -> None:
    assert weak_ph(molar, DISSOCIATION[acid]) == pytest.approx(ph, abs=0.2)


@given(st.floats(1e-6, 0.5), st.floats(1.01, 10.0))
@PROPERTY
def test_thinning_an_acid_never_makes_it_sourer(amount: float, times: float) -> None:
    for constants in DISSOCIATION.values():
        assert weak_ph(amount / times, constants) > weak_ph(amount, constants)
        # No weak acid is sourer than if every proton had left it.
        assert weak_ph(amount, constants) >= strong_ph(len(constants) * amount) - 1e-9
    assert strong_ph(amount / times) > strong_ph(amount)


def test_no_acid_at_all_is_water() -> None:
    assert weak_ph(0.0, DISSOCIATION["citric"]) == pytest.approx(7.0)


def test_soda_ash_is_as_alkaline_as_textbooks_say_and_peroxide_takes_some_of_it() -> None:
    # Textbooks: 0.1 mol/L Na2CO3 is pH 11.6; percarbonate at 1 % stands at 10.4 to 10.6 by its data sheets (from memory).
    assert carbonate_ph(0.1) == pytest.approx(11.65, abs=0.05)
    moles = 10.0 / 314.02
    # Concentrations for activities: a little too alkaline, the safe side.
    assert 10.5 < carbonate_ph(2 * moles, 3 * moles) < 11.0 < carbonate_ph(2 * moles)
    assert carbonate_ph(0.0) == pytest.approx(7.0)
