"""A tank over time: what is drawn from it, what runs into it, and what stands in it.

Draw and fill are constant for a while, then change; between changes the level is a straight line, so the balance
goes from event to event (draw or fill changes, tank full, tank down to its outlet) and has no step to choose.

    level(t) = level(0) + (fill - draw) t                      (mass balance, constant density)

A full tank takes in only what is drawn from it, as with a float valve: nothing runs over.  A tank down to its
dead volume gives only what runs in; the rest of the draw is missing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

NOISE: Final = 1e-6
"""A lack of less than this [m3], a millilitre, is rounding of the computation (our choice)."""

_SAME: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """A time of `seconds` in which `draw` [m3/s] is wanted from the tank and `fill` [m3/s] could run in."""

    seconds: float
    draw: float
    fill: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A straight piece of the level, within the spell of number `spell`: it begins `start` [s] and lasts `seconds`.

    `level` [m3] stands at its beginning, `level_after` at its end; `inflow` and `outflow` [m3/s] are what really
    runs in and out, `missing` [m3/s] what is wanted over and above that.
    """

    spell: int
    start: float
    seconds: float
    level: float
    level_after: float
    inflow: float
    outflow: float
    missing: float


def stretches(
    spells: Sequence[Spell], level: float, volume: float, dead_volume: float = 0.0, start: float = 0.0, first: int = 0
) -> tuple[Stretch, ...]:
    """The tank's straight pieces through all `spells`, the `first` of them by number, from `level` [m3] at `start` [s].

    `volume` [m3] is full, `dead_volume` [m3] stays below the outlet. Source: mass balance, event by event.
    Raises ValueError for a level that does not fit the tank, or a negative time or flow.
    """
    if not 0.0 <= dead_volume <= volume or not 0.0 <= level <= volume * (1.0 + _SAME):
        raise ValueError(f"{level} m3 in a tank of {volume} m3 with {dead_volume} m3 below its outlet")
    pieces: list[Stretch] = []
    now, standing = start, min(level, volume)
    for number, spell in enumerate(spells, first):
        if spell.seconds < 0.0 or spell.draw < 0.0 or spell.fill < 0.0:
            raise ValueError("times and flows of a tank are never negative")
        left = spell.seconds
        while left > 0.0:
            inflow, outflow = _flows(spell, standing, volume, dead_volume)
            lasts, after = _until(standing, inflow - outflow, volume, dead_volume, left)
            pieces.append(
                Stretch(
                    spell=number,
                    start=now + spell.seconds - left,
                    seconds=lasts,
                    level=standing,
                    level_after=after,
                    inflow=inflow,
                    outflow=outflow,
                    missing=spell.draw - outflow,
                )
            )
            standing = after
            left -= lasts
        now += spell.seconds
    return tuple(pieces)


def _flows(spell: Spell, level: float, volume: float, dead_volume: float) -> tuple[float, float]:
    """What runs in and out [m3/s] at this level."""
    if level < dead_volume:
        return spell.fill, 0.0
    if level <= dead_volume and spell.fill < spell.draw:
        return spell.fill, spell.fill
    if level >= volume and spell.fill > spell.draw:
        return spell.draw, spell.draw
    return spell.fill, spell.draw


def _until(level: float, rate: float, volume: float, dead_volume: float, left: float) -> tuple[float, float]:
    """Seconds until the next event or the spell's end, and the level [m3] then; a bound is met exactly."""
    after = level + rate * left
    if rate < 0.0 and level > dead_volume:
        bound, passed = dead_volume, after <= dead_volume
    elif rate > 0.0:
        bound = dead_volume if level < dead_volume else volume
        passed = after >= bound
    else:
        return left, level
    if not passed:
        return left, after
    seconds = (bound - level) / rate
    # So near the end that rounding decides: the bound and the end fall together.
    return (left, bound) if seconds >= left * (1.0 - _SAME) else (seconds, bound)


def missing(pieces: Sequence[Stretch]) -> float:
    """Volume [m3] that was wanted and was not there. Source: sum over the pieces."""
    return sum(piece.missing * piece.seconds for piece in pieces)


def supplied(pieces: Sequence[Stretch]) -> float:
    """Volume [m3] that ran into the tank. Source: sum over the pieces."""
    return sum(piece.inflow * piece.seconds for piece in pieces)


def drawn(pieces: Sequence[Stretch]) -> float:
    """Volume [m3] that was really drawn from the tank. Source: sum over the pieces."""
    return sum(piece.outflow * piece.seconds for piece in pieces)


def dry_at(pieces: Sequence[Stretch]) -> float | None:
    """When [s] the tank first gives less than is wanted of it, by more than NOISE in all; None: it never does.

    Source: definition. Standing exactly at the dead volume is not dry.
    """
    if missing(pieces) <= NOISE:
        return None
    return next((piece.start for piece in pieces if piece.missing * piece.seconds > _SAME), None)


def filling(pieces: Sequence[Stretch], gap: float = 0.0) -> tuple[tuple[float, float], ...]:
    """When water runs in: (from, to) [s], pauses of up to `gap` [s] closed. Source: the pieces' inflow."""
    found: list[tuple[float, float]] = []
    for piece in pieces:
        if piece.inflow <= 0.0 or piece.seconds <= 0.0:
            continue
        end = piece.start + piece.seconds
        if found and piece.start - found[-1][1] <= gap + _SAME * abs(end):
            found[-1] = (found[-1][0], end)
        else:
            found.append((piece.start, end))
    return tuple(found)
