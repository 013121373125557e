"""How much is left in a drum after its days in the shed or the van."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from planner.chemistry.hypochlorite import (
    Aged,
    Stored,
    exposure,
    ionic_strength,
    left_after,
    ph_of_lye,
    rate_constant,
    strength_since_made,
    strength_since_test,
)
from tests.sampled import examples

pytestmark = pytest.mark.short

PROPERTY = settings(max_examples=examples(100), deadline=None, derandomize=True, database=None)

DAY = 86400.0
CAUSTIC = 0.003


def kept(celsius: float, days: float) -> Stored:
    return Stored(temperature=celsius + 273.15, seconds=days * DAY)


@pytest.mark.parametrize(
    ("celsius", "left"), [(20, (12.28, 11.59, 10.12)), (30, (11.63, 9.46, 6.36)), (40, (9.76, 5.67, 2.71))]
)
def test_left_of_12_5_after_a_week_a_month_and_a_quarter(celsius: float, left: tuple[float, ...]) -> None:
    for days, expected in zip((7, 30, 90), left, strict=True):
        aged = strength_since_made(125, [kept(celsius, days)], CAUSTIC)
        assert aged.nominal / 10 == pytest.approx(expected, abs=0.006)


@pytest.mark.parametrize(("trade", "days"), [(15, 61), (12.5, 93), (10, 149), (6, 366)])
def test_half_life_at_30_c_by_strength(trade: float, days: float) -> None:
    mu = ionic_strength(10 * trade, CAUSTIC)
    stood = Stored(seconds=days * DAY, temperature=303.15)
    assert left_after(10 * trade, exposure([stood], mu)) == pytest.approx(5 * trade, rel=0.006)


def test_the_closed_form_is_the_rate_law_integrated() -> None:
    history = [kept(22, 20), kept(38, 11), kept(16, 60)]
    mu = ionic_strength(125, CAUSTIC)
    molar = 125 / 70.9058
    for stretch in history:
        rate = rate_constant(mu, stretch.temperature)
        solved = solve_ivp(
            lambda _t, c, rate=rate: -rate * c * c, (0, stretch.seconds), [molar], rtol=1e-10, atol=1e-13
        )
        molar = solved.y[0][-1]
    ours = strength_since_made(125, history, CAUSTIC)
    assert ours.nominal == pytest.approx(molar * 70.9058, rel=1e-7)


def test_ionic_strength_stays_as_hypochlorite_turns_to_chlorate_and_chloride() -> None:
    # 3 OCl- -> ClO3- + 2 Cl-: three ions of charge one become three.
    mu = ionic_strength(125, 0.0)
    hypochlorite = chloride = 125 / 70.9058
    lost = 0.6
    assert hypochlorite - lost + chloride + lost * 2 / 3 + lost / 3 == pytest.approx(mu, rel=1e-6)


@given(st.lists(st.tuples(st.floats(16, 50), st.floats(0, 60)), min_size=1, max_size=6), st.floats(20, 160))
@PROPERTY
def test_the_order_of_storage_makes_no_difference_and_parts_add(
    stretches: list[tuple[float, float]], strength: float
) -> None:
    history = [kept(celsius, days) for celsius, days in stretches]
    forward = strength_since_made(strength, history)
    backward = strength_since_made(strength, history[::-1])
    assert forward.nominal == pytest.approx(backward.nominal, rel=1e-12)
    stepwise = strength
    for stretch in history:
        stepwise = left_after(stepwise, exposure([stretch], ionic_strength(strength)))
    assert stepwise == pytest.approx(forward.nominal, rel=1e-10)


@given(st.floats(16, 50), st.floats(0.1, 200), st.floats(10, 160))
@PROPERTY
def test_the_band_holds_the_nominal_and_nothing_gets_stronger(celsius: float, days: float, strength: float) -> None:
    aged = strength_since_made(strength, [kept(celsius, days)])
    assert 0 < aged.low < aged.nominal < aged.high < strength


def test_the_band_is_the_rate_times_and_over_one_and_a_half() -> None:
    aged = strength_since_made(125, [kept(30, 30)])
    assert aged.low == pytest.approx(strength_since_made(125, [kept(30, 45)]).nominal, rel=1e-12)
    assert aged.high == pytest.approx(strength_since_made(125, [kept(30, 20)]).nominal, rel=1e-12)


def test_a_test_restarts_at_the_birth_strengths_rate() -> None:
    # Aged to the test, tested, aged on: the same as one storage, for the salt stays.
    first, second = kept(30, 30), kept(30, 20)
    whole = strength_since_made(125, [first, second])
    at_test = strength_since_made(125, [first]).nominal
    restarted = strength_since_test(at_test, [second], birth_strength=125)
    assert restarted.nominal == pytest.approx(whole.nominal, rel=1e-12)
    assert not restarted.optimistic


def test_a_test_with_no_birth_strength_is_marked_optimistic_and_is() -> None:
    informed = strength_since_test(95, [kept(30, 30)], birth_strength=125)
    blind = strength_since_test(95, [kept(30, 30)], birth_strength=None)
    assert blind.optimistic
    assert blind.nominal > informed.nominal


def test_a_test_stronger_than_the_label_corrects_the_label() -> None:
    tested = strength_since_test(140, [kept(30, 30)], birth_strength=125)
    assert tested.nominal == strength_since_made(140, [kept(30, 30)]).nominal
    assert tested.nominal < 140


def test_tested_this_morning_is_what_was_tested() -> None:
    today = strength_since_test(105, [], birth_strength=125)
    assert (today.low, today.nominal, today.high) == (105, 105, 105)


@given(st.floats(16, 50), st.floats(0, 200), st.floats(10, 160), st.floats(0.01, 0.3), st.floats(0.0, 0.01))
@PROPERTY
def test_a_band_is_never_narrower_than_what_it_started_from(
    celsius: float, days: float, strength: float, error: float, lye: float
) -> None:
    aged = strength_since_test(strength, [kept(celsius, days)], None, lye, error=(error, error))
    exact = strength_since_test(strength, [kept(celsius, days)], None, lye)
    assert 0 < aged.low < exact.low <= exact.nominal == aged.nominal <= exact.high < aged.high


@given(st.floats(0.0, 0.002), st.floats(0.0, 0.002), st.floats(20, 150))
@PROPERTY
def test_less_caustic_than_usual_never_keeps_bleach_longer(one: float, other: float, strength: float) -> None:
    less, more = sorted((one, other))
    weak = strength_since_made(strength, [kept(30, 30)], less)
    firm = strength_since_made(strength, [kept(30, 30)], more)
    assert weak.nominal <= firm.nominal * (1 + 1e-9)
    assert weak.low <= firm.low * (1 + 1e-9)


@pytest.mark.parametrize(("lye", "short"), [(0.002, False), (0.0001, False), (0.00003, True), (0.0, True)])
def test_below_ph_11_by_its_lye_bleach_is_outside_the_model(lye: float, short: bool) -> None:
    # .001 mol/L of lye is pH 11: .0034 percent of 12.5 trade percent.
    aged = strength_since_made(125, [kept(25, 10)], lye)
    assert aged.extrapolated is short
    assert (ph_of_lye(125, lye) < 11) is short


def test_a_drum_told_to_have_lost_a_fifth_within_a_week_is_inside_a_labels_band() -> None:
    # One distributor reports 12.5 at 10 after a week: far faster than any rate that was read.
    assert strength_since_made(125, [kept(25, 7)], error=(0.2, 0.15)).low < 100


def test_a_lot_of_unknown_age_stands_as_written_and_says_so() -> None:
    aged = strength_since_made(125, None)
    assert (aged.low, aged.nominal, aged.high, aged.known) == (125, 125, 125, False)


def flagged(aged: Aged) -> bool:
    return aged.extrapolated


@pytest.mark.parametrize(
    ("celsius", "strength", "outside"),
    [
        (15, 125, False),
        (55, 125, False),
        (14.9, 125, True),
        (55.1, 125, True),
        # mu is 2 x 35.453 / 70.906 = 1 mol/L, and 6 at 212.72 g/L; .01 percent of lye adds under .003 to it
        (25, 35.3, True),
        (25, 35.5, False),
        (25, 212.5, False),
        (25, 213, True),
    ],
)
def test_outside_15_to_55_c_or_below_one_molar_ionic_strength_is_said(
    celsius: float, strength: float, outside: bool
) -> None:
    assert flagged(strength_since_made(strength, [kept(celsius, 10)], 0.0001)) is outside


def test_no_time_spent_outside_the_range_is_not_extrapolated() -> None:
    assert not flagged(strength_since_made(125, [kept(70, 0), kept(20, 5)]))


def test_hotter_is_always_faster() -> None:
    rates = [rate_constant(3.6, 273.15 + celsius) for celsius in range(0, 60, 5)]
    assert all(high > low for low, high in pairwise(rates))


def test_impossible_storage_is_refused() -> None:
    with pytest.raises(ValueError, match="storage of -1"):
        exposure([Stored(temperature=300, seconds=-1)], 3)
    with pytest.raises(ValueError, match="no rate"):
        rate_constant(3, 0)
    with pytest.raises(ValueError, match="no rate"):
        rate_constant(-1, 300)
