"""Rinsing a drained tank with the least water, alone or with its line washed by the same stream.

A rinse fills the heel h up with r of clean water, is swilled round, and drains to h again: C - Ci falls to
h / (h + r) of itself (mass balance).  For n rinses equal ones take least, n h (q^(1/n) - 1) with
q = (C0 - Ci) / (Ct - Ci): the less the more of them, so what wets the walls of the tank sets the end.
Pumped out through the line, the last rinse washes the line as well: it is clean water of the strength left in the
tank, and has to be as much as the line needs of that (washout).  Of earlier rinses the line gets no credit.
Volumes in m3, concentrations in kg/m3; Ci is the inlet's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, exp, log
from typing import Final

from planner.chemistry.constants import MARGIN
from planner.chemistry.washout import LineFlush, Part, Rinses, flush_line

MOST_RINSES: Final = 12
"""Nobody rinses a tank oftener than this where fewer do (our choice)."""

_STEPS: Final = 16
_PASSES: Final = 3
_CLEANEST: Final = 1e-4
_DIRTIEST: Final = 0.999
"""Shares of the target tried for the strength of the last rinse, from a tenth of a thousandth to nearly all of it: in
so many steps, then closer on both sides of the best (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Through:
    """A tank's rinses pumped out through its line: `count` in all, `each` [m3] but the `last` [m3].

    `volume` [m3] in all; `residual` [kg/m3] is left in the tank, and `line` says what is left in each part of it.
    """

    count: int
    each: float
    last: float
    volume: float
    residual: float
    line: LineFlush


def rinsed_with_least(
    heel: float, tank: float, start: float, target: float, inlet: float = 0.0, least: float = 0.0
) -> Rinses:
    """The rinses that bring a `tank` [m3] drained to `heel` [m3] from `start` to `target` [kg/m3] with least water.

    Each is at least `least` [m3] and fits in the tank; water of `inlet` [kg/m3]. `count` 0: clean already; None: the
    inlet is not below the target. Source, range: the module. Raises ValueError unless 0 <= heel < tank.
    """
    if not 0.0 <= heel < tank:
        raise ValueError(f"a heel of {heel} m3 in {tank} m3")
    room = tank - heel
    least = min(least, room)
    if start <= target:
        return Rinses(count=0, each=least, volume=0.0, residual=start)
    if inlet >= target:
        return Rinses(count=None, each=least, volume=None, residual=None)
    best: Rinses | None = None
    for count in _counts(heel, tank, (start - inlet) / (target - inlet)):
        each = _each(heel, (start - inlet) / (target - inlet), count, least)
        if each > room * (1.0 + MARGIN):
            continue
        if best is None or best.volume is None or count * each < best.volume * (1.0 - MARGIN):
            left = inlet + (start - inlet) * (heel / (heel + each)) ** count if each > 0.0 else start
            best = Rinses(count=count, each=each, volume=count * each, residual=min(left, target))
        if each <= least:
            # From here on a rinse more is only more water.
            break
    assert best is not None
    return best


def rinsed_through(
    heel: float,
    tank: float,
    start: float,
    target: float,
    line: Sequence[Part],
    flow: float,
    inlet: float = 0.0,
    least: float = 0.0,
) -> Through | None:
    """The same with the rinses pumped out through `line` [m3, kg/m3] at `flow` [m3/s], both down to `target` [kg/m3].

    Tank of `tank` [m3] drained to `heel` [m3], from `start` [kg/m3], each rinse at least `least` [m3], water of
    `inlet` [kg/m3]. None where the inlet is not below the target, the line does not flow, or no last rinse that fits
    in the tank is enough for the line. Source, range: the module. Raises ValueError unless 0 <= heel < tank.
    """
    if not 0.0 <= heel < tank:
        raise ValueError(f"a heel of {heel} m3 in {tank} m3")
    if inlet >= target or not flow > 0.0:
        return None
    best: Through | None = None
    low, high = log(_CLEANEST), log(_DIRTIEST)
    for _ in range(_PASSES):
        width = (high - low) / _STEPS
        tried = [low + width * step for step in range(_STEPS + 1)]
        ways = [
            (way.volume, share, way)
            for share in tried
            if (
                way := _ended_at(
                    inlet + (target - inlet) * exp(share), heel, tank, start, target, line, flow, inlet, least
                )
            )
            is not None
        ]
        if not ways:
            break
        _, share, way = min(ways, key=lambda one: one[:2])
        best = way if best is None or way.volume < best.volume else best
        # Look closer on both sides of the best.
        low, high = max(share - width, log(_CLEANEST)), min(share + width, log(_DIRTIEST))
    return best


def _ended_at(
    left: float,
    heel: float,
    tank: float,
    start: float,
    target: float,
    line: Sequence[Part],
    flow: float,
    inlet: float,
    least: float,
) -> Through | None:
    """The least water with a last rinse that leaves `left` [kg/m3] in the tank, which the line is washed with."""
    room = tank - heel
    fall = max((start - inlet) / (left - inlet), 1.0)
    # What earlier rinses carry through the line may be stronger than what stood in it.
    soiled = [replace(part, strength=max(part.strength, start)) for part in line]
    once, again = flush_line(line, target, flow, left), flush_line(soiled, target, flow, left)
    best: Through | None = None
    for count in range(1, MOST_RINSES + 1):
        flushed = once if count == 1 else again
        if flushed.volume is None:
            continue
        last = max(flushed.volume, least, heel * (fall ** (1.0 / count) - 1.0))
        each = _each(heel, max(fall * heel / (heel + last), 1.0), count - 1, min(least, room))
        if max(last, each) > room * (1.0 + MARGIN):
            continue
        volume = (count - 1) * each + last
        if best is None or volume < best.volume * (1.0 - MARGIN):
            fallen = (heel / (heel + each)) ** (count - 1) * heel / (heel + last) if last > 0.0 else 1.0
            residual = min(inlet + max(start - inlet, 0.0) * fallen, left)
            best = Through(count=count, each=each, last=last, volume=volume, residual=residual, line=flushed)
        if each <= least and count > 1:
            # From here on a rinse more is only more water.
            break
    return best


def _counts(heel: float, tank: float, fall: float) -> range:
    """Numbers of rinses worth trying for a `fall` [-] of the strength above the inlet's."""
    fewest = 1 if heel == 0.0 else max(ceil(log(fall) / log(tank / heel) * (1.0 - MARGIN)), 1)
    return range(fewest, max(fewest, MOST_RINSES) + 1)


def _each(heel: float, fall: float, count: int, least: float) -> float:
    """One of `count` equal rinses that make a `fall` [-] together, and never less than `least` [m3]."""
    if count < 1:
        return 0.0
    each: float = heel * (fall ** (1.0 / count) - 1.0)
    return max(each, least)
