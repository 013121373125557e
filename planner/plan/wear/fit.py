"""Pump, tips and line fitted to all that was read of them at once: weighted least squares by steps of Gauss and Newton.

A reading is told by what the plan has it be at several shares of the pump, and by how it goes with the tip's flow and
the line's loss. Where its curve is flat, as a switch or an unloader holds it, it has no slope and tells nothing. Gauge,
bucket and jet have a share of error that is the same each time: no number of looks takes that away, but it is no slope
either. What is far off counts less (Huber, Ann. Math. Stat. 35 (1964) 73, from memory), and the rest is found by turns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from math import exp, log, sqrt
from typing import Final, Literal, TypeAlias

from planner.frozen import dataclass
from planner.inputs.tables.defaults import default
from planner.inputs.tables.rows import table

Kind: TypeAlias = Literal["gauge", "open", "bucket", "jet", "throw"]
Curve: TypeAlias = Sequence[tuple[float, float]]

FLAT: Final = 0.05
"""A reading that goes with the pump's share by less than this [- per -] tells nothing (common practice, no source)."""
_NEAR: Final = 1.5
"""Readings off by more of their errors than this count less, the further the less."""
_BEYOND: Final = 4.0
"""Readings beyond what any pump, tip and line would show by more of their errors than this are slips of the pen."""
_BETTER: Final = 5.0
"""How much better [squared errors] a worn pump must fit than one beside the sound one, where flat curves part them."""
_STARTS: Final = (0.65, 0.8)
_HELD: Final = (("by switch", 1.0),)
"""What a gauge goes with where a switch or an unloader holds it: the setting."""
_FREE: Final = 3
"""Fewer readings than this beyond those that settle the pump say nothing of how far readings scatter."""
_STEPS: Final = 12
_LEAST, _MOST = 0.4, 1.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One figure: its `value`, the `curve` of (share, what it would be), and its slope [-] with ln tip and ln loss.

    `of_tip` names the tip. All in one unit above zero.
    """

    kind: Kind
    value: float
    curve: Curve
    of_tip: str = ""
    tip: float = 0.0
    loss: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What was read of one pump on one `day` (an ordinal; None: nobody wrote when)."""

    day: float | None
    readings: Sequence[Reading]


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """What a tip passes or a line takes, of what is written [-], with its standard deviation."""

    value: float
    off: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A pump's `share` [-] on `day`, and how it moves a day; `covers`: variances of the two and their covariance.

    `looks` counts those that had a reading to fit; `tips` and `line` go by their own factors.
    """

    share: float
    day: float
    slope: float
    covers: tuple[float, float, float]
    looks: int
    tips: Mapping[str, Factor]
    line: Factor | None

    def at(self, day: float) -> float:
        """Its share on a day."""
        return self.share + self.slope * (day - self.day)

    def off(self, day: float) -> float:
        """The standard deviation of that [-]."""
        whole, slope, both = self.covers
        after = day - self.day
        return sqrt(max(whole + 2.0 * after * both + after * after * slope, 0.0))


@lru_cache(maxsize=16)
def _error(kind: str, key: str) -> float:
    return float(table("measured")["errors"][kind][key])


@lru_cache(maxsize=4)
def _before(what: str) -> float:
    return float(table("measured")["before"][what]["off"])


def fitted(looks: Sequence[Look], *, moving: bool = False) -> Fit | None:
    """The pump, tips and line that fit best; None where nothing was read that can be fitted.

    `moving`: with a slope, for which looks must have days.
    """
    told = [(look.day, one) for look in looks for one in look.readings if _tells(one)]
    if not told or (moving and len({day for day, _ in told if day is not None}) < 2):
        return None
    last = max((day for day, _ in told if day is not None), default=0.0)
    rows = [(0.0 if day is None else day - last, one) for day, one in told]
    found = _solved(rows, 1.0, moving)
    if any(_flat_somewhere(one.curve) for _, one in rows):
        for start in _STARTS:
            other = _solved(rows, start, moving)
            found = other if other.cost < found.cost - _BETTER else found
    names, values, inverse = found.names, found.values, found.inverse
    slope = (values[1], inverse[1][1], inverse[0][1]) if moving else (0.0, 0.0, 0.0)
    factors = {
        name: Factor(value=exp(values[at]), off=exp(values[at]) * sqrt(max(inverse[at][at], 0.0)))
        for name, at in names.items()
    }
    return Fit(
        share=values[0],
        day=last,
        slope=slope[0],
        covers=(max(inverse[0][0], 0.0), max(slope[1], 0.0), slope[2]),
        looks=sum(any(_tells(one) for one in look.readings) for look in looks),
        tips={name.removeprefix("tip "): one for name, one in factors.items() if name.startswith("tip ")},
        line=factors.get("line"),
    )


@dataclass(frozen=True, slots=True)
class _Solved:
    names: Mapping[str, int]
    values: list[float]
    inverse: list[list[float]]
    cost: float


def _solved(rows: Sequence[tuple[float, Reading]], start: float, moving: bool) -> _Solved:
    """From one start: each step solves the line that touches the curves there."""
    first = 2 if moving else 1
    names: dict[str, int] = {}
    for _, one in rows:
        for name, by in (*_factors(one), *_HELD[: one.kind == "gauge" and _flat_somewhere(one.curve)]):
            if by:
                names.setdefault(name, first + len(names))
    size = first + len(names)
    # A slope is let free: whether it is told is asked of its own error.
    weights = [1.0 / _before("pump") ** 2, *([1e-9] if moving else []), *(_prior(name) ** -2 for name in names)]
    values = [start] + [0.0] * (size - 1)
    middle = [1.0] + [0.0] * (size - 1)
    for _ in range(_STEPS):
        matrix = [[0.0] * size for _ in range(size)]
        right = [weights[at] * (middle[at] - values[at]) for at in range(size)]
        for at in range(size):
            matrix[at][at] = weights[at]
        for after, one in rows:
            off, row = _row(one, after, values, names, moving)
            if row is None:
                continue
            weight = 1.0 if abs(off) <= _NEAR else _NEAR / abs(off)
            for at, by in row:
                right[at] += weight * by * off
                for other, also in row:
                    matrix[at][other] += weight * by * also
        inverse = _inverse(matrix)
        step = [sum(inverse[at][other] * right[other] for other in range(size)) for at in range(size)]
        values = [value + by for value, by in zip(values, step, strict=True)]
        values[0] = min(max(values[0], _LEAST), _MOST)
        if max(abs(by) for by in step) < 1e-7:
            break
    cost = sum(weights[at] * (values[at] - middle[at]) ** 2 for at in range(size))
    offs = [_row(one, after, values, names, moving) for after, one in rows]
    cost += sum(_huber(off) for off, _ in offs)
    scatter = [_huber(off) for off, row in offs if row is not None]
    free = len(scatter) - first
    # Readings that scatter by more than they are said to make everything less sure, and never surer.
    wide = max(1.0, sum(scatter) / free) if free >= _FREE else 1.0
    return _Solved(names, values, [[wide * one for one in line] for line in inverse], cost)


def _row(
    one: Reading, after: float, values: Sequence[float], names: Mapping[str, int], moving: bool
) -> tuple[float, list[tuple[int, float]] | None]:  # fmt: skip
    """How far a reading is off, in its own errors, and how that goes with each value; None where it tells nothing."""
    share = values[0] + (values[1] * after if moving else 0.0)
    shown, slope = _on(one.curve, share)
    error = _error(one.kind, "once")
    off = log(one.value / shown)
    flat = abs(slope) < FLAT
    if flat and one.kind != "gauge":
        return off / error, None
    row = [(0, slope / error), *([(1, slope * after / error)] if moving else [])] if not flat else []
    for name, by in _HELD if flat else _factors(one):
        if by and name in names:
            off -= by * values[names[name]]
            row.append((names[name], by / error))
    return off / error, row


def _factors(one: Reading) -> tuple[tuple[str, float], ...]:
    """What else a reading goes with, and how: tip, line, and what is always wrong with what it was read by."""
    by = {"gauge": "by gauge", "open": "by gauge", "bucket": "by bucket"}.get(one.kind, f"by {one.kind} {one.of_tip}")
    return (f"tip {one.of_tip}", one.tip), ("line", one.loss), (by, 1.0)


def _prior(name: str) -> float:
    of, _, rest = name.partition(" ")
    return _error(rest.partition(" ")[0], "always") if of == "by" else _before(of)


def _tells(one: Reading) -> bool:
    """Whether a reading may say something: one that a switch or an unloader holds near its setting never does."""
    if not possible(one):
        return False
    if one.kind != "gauge" or not _flat_somewhere(one.curve):
        return True
    return abs(log(one.value / max(shown for _, shown in one.curve))) > default("switch_error")


def possible(one: Reading) -> bool:
    """Whether some pump, tip and line would show it; else it is a slip of the pen, or of another tip."""
    if not one.value > 0.0 or len(one.curve) < 2 or any(not shown > 0.0 for _, shown in one.curve):
        return False
    if any(not low < high for (low, _), (high, _) in pairwise(one.curve)):
        return False
    spread = [_error(one.kind, "once"), _error(one.kind, "always")]
    spread += [one.tip * _before("tip"), one.loss * _before("line")]
    if one.kind == "gauge" and _flat_somewhere(one.curve):
        spread.append(_error("switch", "always"))
    far = _BEYOND * sqrt(sum(off * off for off in spread))
    shown = [value for _, value in one.curve]
    return log(min(shown)) - far <= log(one.value) <= log(max(shown)) + far


def _flat_somewhere(curve: Curve) -> bool:
    return any(abs(second / first - 1.0) < FLAT * (high - low) for (low, first), (high, second) in pairwise(curve))


def _on(curve: Curve, share: float) -> tuple[float, float]:
    """What a reading would be at a share, straight between points and on beyond them, and its slope in ln [- per -]."""
    ends = list(pairwise(curve))
    (low, first), (high, second) = next((one for one in ends if share <= one[1][0]), ends[-1])
    by = (second - first) / (high - low)
    shown = max(first + by * (share - low), 0.05 * first)
    return shown, by / shown


def _huber(off: float) -> float:
    size = abs(off)
    return off * off if size <= _NEAR else _NEAR * (2.0 * size - _NEAR)


def _inverse(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    """Of a symmetric matrix whose diagonal is above zero, by elimination."""
    size = len(matrix)
    rows = [[*row, *(1.0 if at == other else 0.0 for other in range(size))] for at, row in enumerate(matrix)]
    for at in range(size):
        pivot = max(range(at, size), key=lambda row: abs(rows[row][at]))
        rows[at], rows[pivot] = rows[pivot], rows[at]
        lead = rows[at][at]
        rows[at] = [value / lead for value in rows[at]]
        for other in range(size):
            if other != at and rows[other][at]:
                by = rows[other][at]
                rows[other] = [value - by * own for value, own in zip(rows[other], rows[at], strict=True)]
    return [row[size:] for row in rows]
