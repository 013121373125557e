"""Washing chemical out with clean water, and rinsing a drained tank with the least of it.

A pump, a panel or a tank while it is filled and drawn is stirred: (C - Ci) / (C0 - Ci) = exp(-V / V0).
Hose is nearly plug flow: N equal stirred tanks in series, (C - Ci) / (C0 - Ci) = exp(-y) sum y^i / i!,
i < N, y = N V / V0 (Levenspiel, Chemical Reaction Engineering, 3rd ed., ch. 14); N = 20, and never less than
three volumes (common practice, no source).  A tank is drained and refilled: (h / F) to the n.
Parts washed by one stream: their volumes add, each by its own rule; safe from a tenfold fall upward.
Ci is the inlet's own chlorine: below it nothing can be washed.  Concentrations in kg/m3 (4 mg/L is 0.004).

Rinsing a drained tank with the least water, alone or with its line washed by the same stream.

A rinse fills the heel h up with r of clean water, is swilled round, and drains to h again: C - Ci falls to
h / (h + r) of itself (mass balance).  For n rinses equal ones take least, n h (q^(1/n) - 1) with
q = (C0 - Ci) / (Ct - Ci): the less the more of them, so what wets the walls of the tank sets the end.
Pumped out through the line, the last rinse washes the line as well: it is clean water of the strength left in the
tank, and has to be as much as the line needs of that (washout).  Of earlier rinses the line gets no credit.
Volumes in m3, concentrations in kg/m3; Ci is the inlet's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, exp, fsum, lgamma, log
from typing import Final, Literal

from fluids.numerics import brenth

from planner.chemistry.constants import MARGIN
from planner.frozen import dataclass

TANKS_IN_SERIES: Final = 20
"""N of a hose: little mixing along it (Levenspiel's model; the number is our choice)."""

LEAST_VOLUMES: Final = 3.0
"""A hose gets at least three times its volume: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of a line: `volume` [m3]; `strength` [kg/m3] of the strongest liquid it held.

    `mixing` is `stirred` for pumps, panels and tanks, `hose` for hose.
    """

    name: str
    volume: float
    strength: float
    mixing: Literal["stirred", "hose"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFlush:
    """Water for one part: `volume` [m3] and what is left at its end, `residual` [kg/m3]; None: can't be washed."""

    name: str
    volume: float | None
    residual: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFlush:
    """Water for a line: `volume` [m3], `seconds` [s] at its flow, `residual` [kg/m3] at the worst part.

    All three None where the inlet's own chlorine is not below the target: neutralise instead.
    """

    parts: tuple[PartFlush, ...]
    volume: float | None
    seconds: float | None
    residual: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rinses:
    """Drain and refill: `count` times `each` [m3] of water, `volume` [m3] in all, `residual` [kg/m3] after.

    `count` and `residual` are None where the inlet's own chlorine is not below the target.
    """

    count: int | None
    each: float
    volume: float | None
    residual: float | None


def stirred_residual(volume: float, part_volume: float, start: float, inlet: float = 0.0) -> float:
    """Strength [kg/m3] left in a stirred part of `part_volume` [m3] after `volume` [m3] of water.

    Ci + (C0 - Ci) exp(-V / V0) from `start` with water of `inlet` [kg/m3]. Source: the module.
    Raises ValueError for a part of no volume.
    """
    return inlet + (start - inlet) * exp(-_turnovers(volume, part_volume))


def stirred_volume(part_volume: float, start: float, target: float, inlet: float = 0.0) -> float | None:
    """Water [m3] that brings a stirred part of `part_volume` [m3] from `start` to `target` [kg/m3].

    V0 ln((C0 - Ci) / (Ct - Ci)); 0 where it is there already; None where `inlet` [kg/m3] is not below the
    target. Source: the module. Any volume >= 0.
    """
    if start <= target:
        return 0.0
    if inlet >= target:
        return None
    return part_volume * log((start - inlet) / (target - inlet))


def series_left(turnovers: float, tanks: int = TANKS_IN_SERIES) -> float:
    """Share [-] left at the outlet of `tanks` [-] equal stirred tanks in series after `turnovers` [V / V0].

    exp(-y) sum_{i<N} y^i / i!, y = N V / V0. Source: Levenspiel, see the module. Valid to 1,000 tanks.
    Raises ValueError for less than one tank or negative turnovers.
    """
    if tanks < 1 or turnovers < 0.0:
        raise ValueError(f"{turnovers} turnovers of {tanks} tanks")
    y = tanks * turnovers
    if y == 0.0:
        return 1.0
    return min(fsum(exp(i * log(y) - y - lgamma(i + 1)) for i in range(tanks)), 1.0)


def series_turnovers(left: float, tanks: int = TANKS_IN_SERIES) -> float:
    """Turnovers [V / V0] after which the share `left` [-] remains at the outlet of `tanks` [-] in series.

    series_left turned round by a bracketed root in ln(left). Source: the module. Valid 1e-12 to 1.
    Raises ValueError for a share not above 0.
    """
    if not left > 0.0:
        raise ValueError("water never takes the last of it")
    if left >= 1.0:
        return 0.0
    high = 1.0
    while series_left(high, tanks) > left:
        high *= 2.0
    low = high / 2.0 if high > 1.0 else 0.0
    return float(brenth(lambda turnovers: log(series_left(turnovers, tanks) / left), low, high))


def hose_residual(
    volume: float, part_volume: float, start: float, inlet: float = 0.0, tanks: int = TANKS_IN_SERIES
) -> float:
    """Strength [kg/m3] at the end of a hose of `part_volume` [m3] after `volume` [m3] of water.

    From `start`, with water of `inlet` [kg/m3]; `tanks` [-] in series. Source: the module.
    Raises ValueError for a part of no volume.
    """
    return inlet + (start - inlet) * series_left(_turnovers(volume, part_volume), tanks)


def hose_volume(
    part_volume: float,
    start: float,
    target: float,
    inlet: float = 0.0,
    tanks: int = TANKS_IN_SERIES,
    least_volumes: float = LEAST_VOLUMES,
) -> float | None:
    """Water [m3] that brings a hose of `part_volume` [m3] from `start` to `target` [kg/m3] at its end.

    By `tanks` [-] in series, and at least `least_volumes` [hose volumes]; 0 where it is there already; None
    where `inlet` [kg/m3] is not below the target. Source: the module. Any volume >= 0.
    """
    if start <= target:
        return 0.0
    if inlet >= target:
        return None
    needed = series_turnovers((target - inlet) / (start - inlet), tanks)
    return part_volume * max(needed, least_volumes)


def flush_line(parts: Sequence[Part], target: float, flow: float, inlet: float = 0.0) -> LineFlush:
    """Water and time for a line of `parts` washed by one stream of `flow` [m3/s] down to `target` [kg/m3].

    Volumes add, each part by its own rule, with water of `inlet` [kg/m3]; seconds = volume / flow, plain
    water's. Drain first. Source, range: the module. Raises ValueError for a flow not above 0.
    """
    if not flow > 0.0:
        raise ValueError("a line that does not flow is not flushed")
    flushed = tuple(_part_flush(part, target, inlet) for part in parts)
    volumes = [part.volume for part in flushed if part.volume is not None]
    residuals = [part.residual for part in flushed if part.residual is not None]
    if len(volumes) < len(flushed):
        return LineFlush(parts=flushed, volume=None, seconds=None, residual=None)
    total = sum(volumes)
    return LineFlush(parts=flushed, volume=total, seconds=total / flow, residual=max(residuals, default=inlet))


def _part_flush(part: Part, target: float, inlet: float) -> PartFlush:
    stirred = part.mixing == "stirred"
    volume = (stirred_volume if stirred else hose_volume)(part.volume, part.strength, target, inlet)
    if volume is None:
        return PartFlush(name=part.name, volume=None, residual=None)
    if not volume > 0.0:
        return PartFlush(name=part.name, volume=0.0, residual=min(part.strength, target))
    residual = (stirred_residual if stirred else hose_residual)(volume, part.volume, part.strength, inlet)
    return PartFlush(name=part.name, volume=volume, residual=residual)


def _turnovers(volume: float, part_volume: float) -> float:
    if not part_volume > 0.0 or volume < 0.0:
        raise ValueError(f"{volume} m3 through a part of {part_volume} m3")
    return volume / part_volume


# ------------------------------------------------------------ a drained tank

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
