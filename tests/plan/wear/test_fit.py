"""Pump, tips and line fitted to readings made from known ones: told where they can be, left alone where they cannot."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import pairwise
from math import exp

import pytest

from planner.plan.wear.fit import Kind, Look, Reading, fitted

STEEP = [(0.6, 43.0), (0.75, 53.0), (0.9, 64.0), (1.0, 71.0), (1.15, 82.0)]
HELD = [(0.6, 50.0), (0.75, 60.0), (0.9, 60.0), (1.0, 60.0), (1.15, 60.0)]
FLOWS = [(0.6, 7.45), (0.75, 8.27), (0.9, 8.97), (1.0, 9.39), (1.15, 9.96)]
TIP, LOSS = 0.3, -0.2


def shown(curve: Sequence[tuple[float, float]], share: float) -> float:
    for (low, first), (high, second) in pairwise(curve):
        if share <= high:
            return first + (second - first) * (share - low) / (high - low)
    raise AssertionError(share)


def read(kind: Kind, curve: Sequence[tuple[float, float]], share: float, by: float = 1.0) -> Reading:
    goes = {"tip": TIP, "loss": LOSS, "of_tip": "long"} if kind == "bucket" else {}
    return Reading(kind=kind, value=by * shown(curve, share), curve=curve, **goes)  # type: ignore[arg-type]


def season(shares: Sequence[float], *, noise: float = 0.0, days: int = 3, bucket: float = 1.0) -> list[Look]:
    draw = random.Random(5)
    return [
        Look(
            day=700_000.0 + days * number,
            readings=[
                read("gauge", STEEP, share, exp(draw.gauss(0.0, noise))),
                read("bucket", FLOWS, share, bucket * exp(draw.gauss(0.0, 2.0 * noise))),
            ],
        )
        for number, share in enumerate(shares)
    ]


@pytest.mark.parametrize("share", [0.65, 0.8, 0.93, 1.0, 1.1])
def test_a_pump_read_without_error_is_found(share: float) -> None:
    fit = fitted(season([share] * 5))
    assert fit is not None
    assert fit.share == pytest.approx(share, abs=0.005)
    assert fit.off(fit.day) < 0.03


@pytest.mark.parametrize("by", [0.92, 0.95, 1.0, 1.05])
@pytest.mark.parametrize("count", [1, 8])
def test_a_gauge_that_a_switch_holds_tells_nothing_of_the_pump(by: float, count: int) -> None:
    looks = [Look(day=float(day), readings=[read("gauge", HELD, 1.0, by)]) for day in range(count)]
    assert fitted(looks) is None
    slow = [Look(day=one.day, readings=[*one.readings, read("bucket", FLOWS, 0.8)]) for one in looks]
    beside = fitted(slow)
    assert beside is not None
    assert beside.off(beside.day) > 0.06, "and makes no bucket surer"


def test_a_gauge_far_under_its_switch_day_by_day_is_a_worn_pump() -> None:
    looks = [Look(day=float(day), readings=[read("gauge", HELD, 0.6)]) for day in range(6)]
    fit = fitted(looks)
    assert fit is not None
    assert fit.share == pytest.approx(0.6, abs=0.03)


def test_a_slow_bucket_beside_a_sound_gauge_is_the_line_and_not_the_pump() -> None:
    fit = fitted(season([1.0] * 12, bucket=0.9))
    assert fit is not None
    assert fit.share == pytest.approx(1.0, abs=0.015)
    assert fit.line is not None
    assert fit.line.value > 1.2


def test_a_bucket_by_itself_tells_less_than_a_gauge_and_no_number_of_them_tells_all() -> None:
    looks = [Look(day=float(day), readings=[read("bucket", FLOWS, 0.9)]) for day in range(100)]
    fit = fitted(looks)
    assert fit is not None
    assert fit.off(fit.day) > 0.06, "its mark and its line are the same each time"


def test_one_wild_reading_moves_nothing_and_one_beyond_any_pump_does_not_count() -> None:
    calm = fitted(season([0.9] * 10))
    looks = season([0.9] * 9 + [0.62])
    wild = fitted(looks)
    assert calm is not None
    assert wild is not None
    assert wild.share == pytest.approx(calm.share, abs=0.01)
    gone = fitted([*season([0.9] * 9), Look(day=700_030.0, readings=[Reading(kind="gauge", value=7.0, curve=STEEP)])])
    assert gone is not None
    assert gone.looks == 9


def test_a_slope_is_found_with_its_error_and_its_day() -> None:
    fit = fitted(season([1.0 - 0.01 * number for number in range(15)], noise=0.01), moving=True)
    assert fit is not None
    assert fit.slope * 3.0 == pytest.approx(-0.01, rel=0.2)
    assert fit.day == 700_042.0
    assert fit.at(fit.day) == pytest.approx(0.86, abs=0.015)
    assert abs(fit.slope) > 5.0 * fit.covers[1] ** 0.5
    assert fit.off(fit.day + 100.0) > fit.off(fit.day), "the further ahead, the less it says"


@pytest.mark.ci
def test_bands_hold_the_truth_as_often_as_they_say() -> None:
    """Gauges with an error of their own, the same all season: what is told holds the pump 19 times in 20."""
    draw, held = random.Random(11), 0
    for _ in range(200):
        own, share = draw.gauss(0.0, 0.02), draw.uniform(0.7, 1.0)
        looks = [
            Look(day=float(day), readings=[read("gauge", STEEP, share, exp(own + draw.gauss(0.0, 0.02)))])
            for day in range(8)
        ]
        fit = fitted(looks)
        assert fit is not None
        held += abs(fit.share - share) <= 1.96 * fit.off(fit.day)
    assert held >= 180


def test_nothing_to_fit_is_no_fit() -> None:
    assert fitted([]) is None
    assert fitted([Look(day=1.0, readings=[Reading(kind="gauge", value=0.0, curve=STEEP)])]) is None
    assert fitted([Look(day=1.0, readings=[read("gauge", STEEP, 1.0)])], moving=True) is None
