"""Curves through measured points that never overshoot between them.

Source: Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238; end slopes by the three-point rule of
Moler, Numerical Computing with MATLAB, ch. 3.6.  Tests hold it to scipy's PchipInterpolator.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from planner.frozen import dataclass


@dataclass(frozen=True, slots=True)
class MonotoneCurve:
    """A curve through (x, y) points, monotone wherever the points are; straight beyond both ends.

    `x` strictly rising; `slopes` the derivative at each point, as made by `monotone_cubic` or `straight`.
    """

    x: tuple[float, ...]
    y: tuple[float, ...]
    slopes: tuple[float, ...]
    is_cubic: bool

    def __call__(self, at: float) -> float:
        """The curve's value at `at`; beyond an end it goes on at the end's slope."""
        x, y = self.x, self.y
        if at >= x[-1]:
            return y[-1] + self.slopes[-1] * (at - x[-1])
        if at <= x[0]:
            return y[0] + self.slopes[0] * (at - x[0])
        i = bisect_right(x, at) - 1
        width = x[i + 1] - x[i]
        t = (at - x[i]) / width
        if not self.is_cubic:
            return y[i] + t * (y[i + 1] - y[i])
        square, rest = t * t, 1.0 - t
        return (
            (1.0 + 2.0 * t) * rest * rest * y[i]
            + t * rest * rest * width * self.slopes[i]
            + square * (3.0 - 2.0 * t) * y[i + 1]
            - square * rest * width * self.slopes[i + 1]
        )


def straight(x: Sequence[float], y: Sequence[float]) -> MonotoneCurve:
    """Straight lines between the points. `x` strictly rising, at least two points."""
    first = (y[1] - y[0]) / (x[1] - x[0])
    last = (y[-1] - y[-2]) / (x[-1] - x[-2])
    return MonotoneCurve(tuple(x), tuple(y), (first, *(0.0 for _ in x[2:]), last), is_cubic=False)


def monotone_cubic(x: Sequence[float], y: Sequence[float]) -> MonotoneCurve:
    """Monotone piecewise cubic through the points. `x` strictly rising, at least two points."""
    if len(x) == 2:
        return straight(x, y)
    widths = [b - a for a, b in pairwise(x)]
    secants = [(d - c) / w for (c, d), w in zip(pairwise(y), widths, strict=True)]
    slopes = [_end_slope(widths[0], widths[1], secants[0], secants[1])]
    for i in range(1, len(x) - 1):
        left, right = secants[i - 1], secants[i]
        if left * right <= 0.0:
            slopes.append(0.0)
            continue
        weight_left = 2.0 * widths[i] + widths[i - 1]
        weight_right = widths[i] + 2.0 * widths[i - 1]
        slopes.append((weight_left + weight_right) / (weight_left / left + weight_right / right))
    slopes.append(_end_slope(widths[-1], widths[-2], secants[-1], secants[-2]))
    return MonotoneCurve(tuple(x), tuple(y), tuple(slopes), is_cubic=True)


def _end_slope(near: float, far: float, near_secant: float, far_secant: float) -> float:
    slope = ((2.0 * near + far) * near_secant - near * far_secant) / (near + far)
    if slope * near_secant <= 0.0:
        return 0.0
    if near_secant * far_secant <= 0.0 and abs(slope) > abs(3.0 * near_secant):
        return 3.0 * near_secant
    return slope
