"""Tanks: depth and volume, and what stands in one over time.

Shapes: a cylinder lying down, a cylinder standing, a box.  Cylinders by fluids.TANK (Jones 2006 for the lying
one), turned round by a bracketed root: TANK's own inverse pulls in scipy, which would double our start-up.
A tank's stated volume and its shape may differ a little; the stick is then scaled, so that full is full.

A tank over time: what is drawn from it, what runs into it, and what stands in it.

Draw and fill are constant for a while, then change; between changes the level is a straight line, so the balance
goes from event to event (draw or fill changes, tank full, tank down to its outlet) and has no step to choose.

    level(t) = level(0) + (fill - draw) t                      (mass balance, constant density)

A full tank takes in only what is drawn from it, as with a float valve: nothing runs over.  A tank down to its
dead volume gives only what runs in; the rest of the draw is missing.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import pi
from typing import Final, Literal

from fluids.geometry import TANK
from fluids.numerics import brenth

from planner.frozen import dataclass

_FULL: Final = 1e-9
_TRACE: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """The inside of a tank in m: `diameter` of a cylinder, `length` of a lying one or of a box, `width` of a box.

    `height` of a standing cylinder or a box may be left out: it then follows from the tank's volume.
    """

    kind: Literal["horizontal_cylinder", "upright_cylinder", "box"]
    diameter: float = 0.0
    length: float = 0.0
    width: float = 0.0
    height: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TankVolumes:
    """A tank: `volume` and `dead_volume` (what the pump cannot reach) in m3, `shape` or None if not known."""

    volume: float
    dead_volume: float = 0.0
    shape: Shape | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dip:
    """The stick after an addition: `depth` [m] standing, `rise` [m] it makes; both None without a shape.

    `by_stick`: the rise can be read; otherwise the addition is measured out.
    """

    contents: float
    depth: float | None
    rise: float | None
    by_stick: bool


def shape_volume(shape: Shape) -> float | None:
    """Volume [m3] of `shape` when full; None where its height is left out.

    Cylinder pi/4 D^2 L, box L W H. Source: geometry. Raises ValueError for a missing or negative size.
    """
    _check(shape)
    if shape.kind == "horizontal_cylinder":
        return pi / 4.0 * shape.diameter**2 * shape.length
    return None if shape.height is None else _cross_section(shape) * shape.height


def usable(tank: TankVolumes, contents: float) -> float:
    """Liquid [m3] the pump can still draw from `tank` holding `contents` [m3]: never below 0. Source: definition."""
    return max(contents - tank.dead_volume, 0.0)


def full_depth(tank: TankVolumes) -> float | None:
    """Depth [m] of liquid in `tank` when it is full; None without a shape."""
    if tank.shape is None:
        return None
    _check(tank.shape)
    if tank.shape.kind == "horizontal_cylinder":
        return tank.shape.diameter
    return _height(tank)


def depth_of(tank: TankVolumes, contents: float) -> float | None:
    """Depth [m] on the stick of `contents` [m3] in `tank`; None without a shape, or for more than it holds.

    fluids.TANK.V_from_h, scaled to the stated volume, turned round by a bracketed root; a box by L W h. Valid 0 to
    full. Raises ValueError below 0.
    """
    full = full_depth(tank)
    if not contents >= 0.0:
        raise ValueError(f"{contents} m3 in a tank")
    if tank.shape is None or full is None or contents > tank.volume * (1.0 + _FULL):
        return None
    wanted = contents * _scale(tank)
    if wanted <= _TRACE * _shape_contents(tank, full):
        return 0.0  # a trace: the root finder multiplies end values, and so small a product would vanish
    if wanted >= _shape_contents(tank, full):
        return full
    if tank.shape.kind == "box":
        return wanted / _cross_section(tank.shape)
    return float(brenth(lambda depth: _shape_contents(tank, depth) - wanted, 0.0, full))


def dips(tank: TankVolumes, start: float, additions: Sequence[float], least_rise: float) -> tuple[Dip, ...]:
    """The stick after each of `additions` [m3] poured in turn into `tank` holding `start` [m3].

    An addition that lifts the stick by less than `least_rise` [m] is not read off it. Source: depth_of.
    """
    marks: list[Dip] = []
    contents, before = start, depth_of(tank, start)
    for addition in additions:
        contents += addition
        after = depth_of(tank, contents)
        rise = None if before is None or after is None else after - before
        readable = rise is not None and rise >= least_rise * (1.0 - _FULL)
        marks.append(Dip(contents=contents, depth=after, rise=rise, by_stick=readable))
        before = after
    return tuple(marks)


@lru_cache(maxsize=64)
def _cylinder(diameter: float, length: float, lying: bool) -> TANK:
    return TANK(D=diameter, L=length, horizontal=lying)


def _shape_contents(tank: TankVolumes, depth: float) -> float:
    shape = tank.shape
    assert shape is not None
    if shape.kind == "horizontal_cylinder":
        return float(_cylinder(shape.diameter, shape.length, True).V_from_h(depth))
    if shape.kind == "upright_cylinder":
        return float(_cylinder(shape.diameter, _height(tank), False).V_from_h(depth))
    return _cross_section(shape) * depth


def _height(tank: TankVolumes) -> float:
    assert tank.shape is not None
    return tank.volume / _cross_section(tank.shape) if tank.shape.height is None else tank.shape.height


def _scale(tank: TankVolumes) -> float:
    """Shape's volume per stated volume."""
    assert tank.shape is not None
    full = shape_volume(tank.shape)
    return 1.0 if full is None else full / tank.volume


def _cross_section(shape: Shape) -> float:
    return shape.length * shape.width if shape.kind == "box" else pi / 4.0 * shape.diameter**2


def _check(shape: Shape) -> None:
    needed = {
        "horizontal_cylinder": (shape.diameter, shape.length),
        "upright_cylinder": (shape.diameter,),
        "box": (shape.length, shape.width),
    }[shape.kind]
    if not all(size > 0.0 for size in needed) or (shape.height is not None and not shape.height > 0.0):
        raise ValueError(f"a {shape.kind} without its sizes: {shape}")


# ------------------------------------------------------------ over time

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
