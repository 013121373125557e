"""Middle, spread and slope: against another program's, against exact lines, and with wild values among them."""

from __future__ import annotations

import random
from statistics import stdev

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.archive.compare.robust import MOST_POINTS, shrunk, spread, theil_sen
from tests.sampled import examples

SEASON = [(float(day), 1.0 - 0.001 * day + 0.01 * ((7 * day) % 5 - 2)) for day in range(0, 120, 7)]


def test_slope_and_interval_are_those_of_scipy() -> None:
    ours = theil_sen(SEASON, confidence=0.9)
    from scipy.stats import theilslopes  # takes a second to load

    theirs = theilslopes([y for _, y in SEASON], [x for x, _ in SEASON], alpha=0.9)
    assert ours is not None
    assert ours.slope == pytest.approx(theirs.slope, rel=1e-12)
    assert ours.low == pytest.approx(theirs.low_slope, rel=1e-12)
    assert ours.high == pytest.approx(theirs.high_slope, rel=1e-12)


def test_a_quarter_of_wild_values_moves_an_exact_line_not_at_all() -> None:
    line = [(float(x), 2.0 - 0.5 * x) for x in range(12)]
    wild = [(x, 40.0 if x in (3.0, 8.0) else y) for x, y in line]
    found = theil_sen(wild)
    assert found is not None
    assert found.slope == pytest.approx(-0.5)
    assert found.at(20.0) == pytest.approx(-8.0)
    assert found.when(-8.0) == pytest.approx(20.0)


@settings(max_examples=examples(30), deadline=None)
@given(
    ys=st.lists(st.floats(-5.0, 5.0), min_size=3, max_size=15),
    lift=st.floats(-10.0, 10.0),
    tilt=st.floats(-3.0, 3.0),
)
def test_a_line_added_to_the_points_is_added_to_their_line(ys: list[float], lift: float, tilt: float) -> None:
    before = theil_sen([(float(x), y) for x, y in enumerate(ys)])
    after = theil_sen([(float(x), y + lift + tilt * x) for x, y in enumerate(ys)])
    assert before is not None
    assert after is not None
    assert after.slope == pytest.approx(before.slope + tilt, abs=1e-9)
    assert after.at(7.0) == pytest.approx(before.at(7.0) + lift + tilt * 7.0, abs=1e-8)


def test_one_day_has_no_slope() -> None:
    assert theil_sen([(3.0, 1.0), (3.0, 0.9), (3.0, 0.8)]) is None
    assert theil_sen([]) is None


def test_two_points_have_a_slope_and_no_interval() -> None:
    found = theil_sen([(0.0, 1.0), (10.0, 0.0)])
    assert found is not None
    assert found.slope == pytest.approx(-0.1)
    assert (found.low, found.high) == (float("-inf"), float("inf"))


def test_many_points_keep_their_slope_when_neighbours_are_drawn_together() -> None:
    draw = random.Random(5)
    points = [(float(x), 1.0 - 1e-4 * x + draw.gauss(0.0, 0.02)) for x in range(MOST_POINTS * 20)]
    found = theil_sen(points)
    assert found is not None
    assert found.count == len(points)
    assert found.slope == pytest.approx(-1e-4, rel=0.05)


def test_spread_is_a_standard_deviation_that_one_slip_of_the_pen_leaves_alone() -> None:
    draw = random.Random(11)
    values = [draw.gauss(1.0, 0.05) for _ in range(2000)]
    assert spread(values) == pytest.approx(stdev(values), rel=0.1)
    assert spread([*values, 1000.0]) == pytest.approx(spread(values), rel=0.01)
    assert spread([1.0]) == 0.0


def test_few_records_are_pulled_to_the_default_and_many_are_not() -> None:
    assert shrunk(0.8, 1.0, 0, 2.0) == 1.0
    assert shrunk(0.8, 1.0, 2, 2.0) == pytest.approx(0.9), "as many records as the default counts for: half way"
    assert shrunk(0.8, 1.0, 10_000, 2.0) == pytest.approx(0.8, abs=1e-4)
