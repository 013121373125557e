"""Washing chemical out of tanks, pumps and hose with clean water.

A pump, a panel or a tank while it is filled and drawn is stirred: (C - Ci) / (C0 - Ci) = exp(-V / V0).
Hose is nearly plug flow: N equal stirred tanks in series, (C - Ci) / (C0 - Ci) = exp(-y) sum y^i / i!,
i < N, y = N V / V0 (Levenspiel, Chemical Reaction Engineering, 3rd ed., ch. 14); N = 20, and never less than
three volumes (common practice, no source).  A tank is drained and refilled: (h / F) to the n.
Parts washed by one stream: their volumes add, each by its own rule; safe from a tenfold fall upward.
Ci is the inlet's own chlorine: below it nothing can be washed.  Concentrations in kg/m3 (4 mg/L is 0.004).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, fsum, lgamma, log
from typing import Final, Literal

from fluids.numerics import brenth

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
