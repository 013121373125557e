"""Our curves against scipy's."""

from __future__ import annotations

from itertools import accumulate, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from planner.physics.interpolation import monotone_cubic, straight
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(150), deadline=None, derandomize=True, database=None)
HEIGHTS = st.integers(min_value=-1000, max_value=1000).map(lambda n: n / 10.0)


@st.composite
def tables(draw: st.DrawFn, *, falling: bool = False) -> tuple[list[float], list[float]]:
    count = draw(st.integers(min_value=2, max_value=9))
    steps = draw(st.lists(st.integers(1, 500).map(lambda n: n / 50.0), min_size=count, max_size=count))
    heights = draw(st.lists(HEIGHTS, min_size=count, max_size=count))
    return list(accumulate(steps)), sorted(heights, reverse=True) if falling else heights


def _between(x: list[float]) -> list[float]:
    return [a + (b - a) * share for a, b in pairwise(x) for share in (0.0, 0.13, 0.5, 0.81)] + [x[-1]]


@pytest.mark.ci
@PROPERTY
@given(tables())
def test_the_curve_is_scipys_pchip_between_its_points(table: tuple[list[float], list[float]]) -> None:
    x, y = table
    ours, scipys = monotone_cubic(x, y), PchipInterpolator(x, y)
    for at in _between(x):
        assert ours(at) == pytest.approx(float(scipys(at)), rel=1e-9, abs=1e-9)


@PROPERTY
@given(tables(falling=True))
def test_a_curve_through_heads_that_never_rise_never_rises(table: tuple[list[float], list[float]]) -> None:
    x, y = table
    curve = monotone_cubic(x, y)
    values = [curve(x[0] - 1.0), *(curve(at) for at in _between(x)), curve(x[-1] + 1.0), curve(x[-1] + 50.0)]
    assert all(b <= a + 1e-9 for a, b in pairwise(values))


@pytest.mark.ci
@PROPERTY
@given(tables())
def test_both_curves_go_through_every_point(table: tuple[list[float], list[float]]) -> None:
    x, y = table
    for curve in (monotone_cubic(x, y), straight(x, y)):
        assert [curve(at) for at in x] == pytest.approx(y, rel=1e-12, abs=1e-12)


@pytest.mark.ci
@PROPERTY
@given(tables())
def test_beyond_its_ends_the_curve_goes_on_at_the_slope_it_ends_with(table: tuple[list[float], list[float]]) -> None:
    x, y = table
    scipys = PchipInterpolator(x, y).derivative()
    curve = monotone_cubic(x, y)
    assert curve(x[-1] + 2.0) - y[-1] == pytest.approx(2.0 * float(scipys(x[-1])), rel=1e-6, abs=1e-6)
    assert y[0] - curve(x[0] - 2.0) == pytest.approx(2.0 * float(scipys(x[0])), rel=1e-6, abs=1e-6)


def test_straight_lines_are_straight() -> None:
    curve = straight([0.0, 2.0, 6.0], [10.0, 8.0, 0.0])
    assert [curve(at) for at in (1.0, 4.0, 7.0, -1.0)] == pytest.approx([9.0, 4.0, -2.0, 11.0])
