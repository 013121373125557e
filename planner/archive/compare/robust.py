"""Middle, spread and slope that a wild value cannot carry away, and the pull toward a default while records are few.

Sources: median and its absolute deviation, Hampel, J. Am. Stat. Assoc. 69 (1974) 383; slope, Theil, Proc. K. Ned. Akad.
Wet. 53 (1950) 386; its interval, Sen, J. Am. Stat. Assoc. 63 (1968) 1379 (all from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import sqrt
from statistics import NormalDist, median
from typing import Final

from planner.frozen import dataclass

OF_NORMAL: Final = 1.4826
"""Median absolute deviation to standard deviation, where errors are normal: 1 / NormalDist().inv_cdf(0.75)."""

MOST_POINTS: Final = 300
"""Slopes are taken between every two points; of more points than this, medians of neighbours stand for them."""


def normal(confidence: float) -> float:
    """How many standard deviations on both sides hold so much [-] of a normal error."""
    return NormalDist().inv_cdf(0.5 + confidence / 2.0)


def spread(values: Sequence[float]) -> float:
    """Standard deviation by the median absolute deviation, in the values' unit; 0 for fewer than two."""
    if len(values) < 2:
        return 0.0
    middle = median(values)
    return OF_NORMAL * median(abs(value - middle) for value in values)


def shrunk(value: float, default: float, count: int, weight: float) -> float:
    """`value` pulled toward `default` by what `weight` records would say for it: n / (n + k) of the way from it.

    The mean of a normal prior of `weight` records' worth at the default; the choice of the weight is ours.
    """
    return default + (value - default) * count / (count + weight)


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """A straight line through points: `slope` per unit of x with the ends of its interval, `middle` of x and of y."""

    slope: float
    low: float
    high: float
    middle_x: float
    middle_y: float
    count: int

    def at(self, x: float) -> float:
        """The line's value."""
        return self.middle_y + self.slope * (x - self.middle_x)

    def when(self, y: float) -> float | None:
        """Where the line comes to `y`; None for a level line."""
        return None if self.slope == 0.0 else self.middle_x + (y - self.middle_y) / self.slope


def theil_sen(points: Sequence[tuple[float, float]], confidence: float = 0.9) -> Slope | None:
    """The median of the slopes between every two points of different x; None where there are no two.

    Nearly three points in ten may be wild without carrying it away. The interval is Sen's, for errors alike and apart.
    """
    kept = _thinned(sorted(points))
    slopes = sorted(
        (kept[j][1] - kept[i][1]) / (kept[j][0] - kept[i][0])
        for i in range(len(kept))
        for j in range(i + 1, len(kept))
        if kept[j][0] > kept[i][0]
    )
    if not slopes:
        return None
    slope, count = median(slopes), len(kept)
    middle_x = median(x for x, _ in kept)
    # The line goes through the middle of what is left when the slope is taken out, not of y itself.
    middle_y = median(y - slope * (x - middle_x) for x, y in kept)
    # Kendall's variance, less what points of one x take from it.
    ties = sum(size * (size - 1) * (2 * size + 5) for size in (len(list(same)) for _, same in groupby(kept, _x)))
    wide = normal(confidence) * sqrt(max(0, count * (count - 1) * (2 * count + 5) - ties) / 18)
    first, last = round((len(slopes) - wide) / 2.0) - 1, round((len(slopes) + wide) / 2.0)
    whole = first >= 0 and last < len(slopes)
    return Slope(
        slope=slope,
        low=slopes[first] if whole else float("-inf"),
        high=slopes[last] if whole else float("inf"),
        middle_x=middle_x,
        middle_y=middle_y,
        count=len(points),
    )


def _x(point: tuple[float, float]) -> float:
    return point[0]


def _thinned(points: Sequence[tuple[float, float]]) -> Sequence[tuple[float, float]]:
    if len(points) <= MOST_POINTS:
        return points
    size = -(-len(points) // MOST_POINTS)
    parts = [points[at : at + size] for at in range(0, len(points), size)]
    return [(median(x for x, _ in part), median(y for _, y in part)) for part in parts]
