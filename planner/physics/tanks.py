"""Tanks: what stands in them at a depth on the stick, and the depth of a volume.

Shapes: a cylinder lying down, a cylinder standing, a box.  Cylinders by fluids.TANK (Jones 2006 for the lying
one), turned round by a bracketed root: TANK's own inverse pulls in scipy, which would double our start-up.
A tank's stated volume and its shape may differ a little; the stick is then scaled, so that full is full.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import pi
from typing import Final, Literal

from fluids.geometry import TANK
from fluids.numerics import brenth

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
