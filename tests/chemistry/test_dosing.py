"""Dials and injectors."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chemistry.dosing import (
    Dial,
    DialPoint,
    dial_for,
    injector,
    injector_share,
    injector_soap,
    injector_strength,
    metered,
    share_at,
)
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(100), deadline=None, derandomize=True, database=None)

PANEL = [DialPoint(setting=1, share=0.04), DialPoint(setting=2, share=0.09), DialPoint(setting=3, share=0.16)]


def test_the_house_job_sets_its_panel_between_one_and_two() -> None:
    # .8 % on the wall from stock tested 10.5: a share of 7.6 %, 5.4 gal of stock in 71 gal.
    setup = metered(target=8, stock_strength=105, points=PANEL)
    assert setup.stock == pytest.approx(0.076, abs=5e-4)
    assert setup.stock * 71 == pytest.approx(5.4, abs=0.05)
    assert setup.dial.outside is None
    assert setup.dial.setting == pytest.approx(1.724, abs=1e-3)
    assert setup.stock + setup.soap + setup.water == pytest.approx(1)
    assert (setup.dial_low, setup.dial_high) == pytest.approx((4.2, 16.8))


@pytest.mark.parametrize(
    ("share", "setting", "outside"),
    [
        (0.04, 1, None),
        (0.09, 2, None),
        (0.125, 2.5, None),
        (0.16, 3, None),
        (0.0399, None, "below"),
        (0.1601, None, "above"),
    ],
)
def test_the_dial_is_straight_between_tested_points_and_never_beyond(
    share: float, setting: float | None, outside: str | None
) -> None:
    dial = dial_for(share, PANEL)
    assert dial.outside == outside
    assert dial.setting == (None if setting is None else pytest.approx(setting))


def test_a_share_at_the_end_of_the_dial_passes_in_spite_of_float_noise() -> None:
    assert dial_for(0.16 * (1 + 1e-12), PANEL).setting == 3
    assert dial_for(0.04 * (1 - 1e-12), PANEL).setting == 1


@given(st.floats(0.04, 0.16), st.permutations(PANEL))
@PROPERTY
def test_dial_and_share_turn_round_in_whatever_order_the_tests_were_written(
    share: float, points: list[DialPoint]
) -> None:
    setting = dial_for(share, points).setting
    assert setting is not None
    assert share_at(setting, points) == pytest.approx(share, rel=1e-9)


def test_a_dial_that_closes_as_it_is_turned_up_works_too() -> None:
    closing = [DialPoint(setting=1, share=0.2), DialPoint(setting=5, share=0.1)]
    assert dial_for(0.15, closing).setting == pytest.approx(3)
    assert share_at(3, closing) == pytest.approx(0.15)
    assert share_at(5, closing) == pytest.approx(0.1)
    assert share_at(5.1, closing) is None
    assert share_at(0.9, closing) is None


@pytest.mark.parametrize(
    "points",
    [
        PANEL[:1],
        [*PANEL, DialPoint(setting=4, share=0.16)],
        [*PANEL, DialPoint(setting=2.5, share=0.20)],
        [DialPoint(setting=1, share=0.1), DialPoint(setting=1, share=0.2)],
    ],
)
def test_a_dial_that_does_not_run_one_way_is_refused(points: list[DialPoint]) -> None:
    with pytest.raises(ValueError, match="dial"):
        dial_for(0.05, points)


def test_stock_and_soap_must_fit_in_the_flow() -> None:
    assert metered(target=124, stock_strength=125, points=PANEL, soap_share=0.008).reachable
    beyond = metered(target=124.1, stock_strength=125, points=PANEL, soap_share=0.008)
    assert not beyond.reachable
    assert beyond.dial == Dial(setting=None, outside="above")
    assert beyond.highest == pytest.approx(124)
    assert beyond.water == 0


def test_ten_to_one_is_an_eleventh() -> None:
    assert injector_share(10) == pytest.approx(1 / 11)
    assert injector_strength(125, 10) / 10 == pytest.approx(1.136, abs=5e-4)
    assert injector_strength(94.6, 10) / 10 == pytest.approx(0.86, abs=5e-4)


def test_the_drive_cannot_be_given_one_percent_through_ten_to_one_from_tens() -> None:
    jug = injector(target=10, stock_strength=100, water_to_stock=10)
    assert not jug.reachable
    assert jug.strength / 10 == pytest.approx(0.91, abs=5e-3)
    assert jug.stock_strength_needed / 10 == pytest.approx(11)
    assert (jug.stock, jug.water) == (1, 0)


def test_strong_stock_is_thinned_in_the_jug() -> None:
    jug = injector(target=5, stock_strength=125, water_to_stock=10)
    assert jug.reachable
    assert jug.stock == pytest.approx(5 * 11 / 125)
    assert jug.strength == pytest.approx(5)


def test_soap_in_the_jug_is_the_wall_dose_times_eleven_and_costs_strength() -> None:
    assert injector_soap(0.008, 10) == pytest.approx(0.088)
    assert injector_strength(125, 10, 0.008) == pytest.approx(125 * (1 - 0.088) / 11)


@given(st.floats(0.1, 40), st.floats(20, 160), st.floats(3, 30), st.floats(0, 0.02))
@PROPERTY
def test_the_jug_is_full_and_gives_what_it_says(target: float, stock: float, ratio: float, soap: float) -> None:
    jug = injector(target=target, stock_strength=stock, water_to_stock=ratio, soap_share=soap)
    assert jug.stock + jug.soap + jug.water == pytest.approx(1)
    assert min(jug.stock, jug.water) >= 0
    assert jug.strength == pytest.approx(jug.stock * stock / (1 + ratio))
    assert jug.strength == pytest.approx(min(target, jug.highest))
    assert jug.reachable == (jug.stock_strength_needed <= stock * (1 + 1e-9))


def test_what_cannot_be_dosed_is_refused() -> None:
    with pytest.raises(ValueError, match="not a ratio"):
        injector_share(0)
    with pytest.raises(ValueError, match="no flow of"):
        metered(target=1, stock_strength=0, points=PANEL)
    with pytest.raises(ValueError, match="no jug for"):
        injector(target=1, stock_strength=100, water_to_stock=10, soap_share=0.1)
