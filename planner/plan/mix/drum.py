"""How high the stock stands over a panel, from a lot's first gallon tonight to its last.

With the drum's floor (`drum_floor`), its size and what is left of it, a level is as good as the stick; a drum without a
shape is taken as slender as drums usually are. What nobody wrote may be anything its drum allows, by both ends: then
at the test it was as full as not.
"""

from __future__ import annotations

from math import pi
from typing import Literal

from planner.frozen import dataclass
from planner.inputs.models import Dosing, Lot
from planner.inputs.tables.defaults import default
from planner.physics import tanks
from planner.plan.mix.pouring import shape_of

Unknown = Literal["drum_floor", "container", "on_hand"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrumLevels:
    """Heights of the stock's surface over a panel [m]: `first` as the dial is set, `last` with the mix drawn out of it.

    `high` and `low` are the most and the least it may be; `unknown` is the key without which that is wide.
    """

    first: float
    last: float
    high: float
    low: float
    unknown: Unknown | None


def levels(device: Dosing, over: float, lot: Lot | None, left: float | None, taken: float) -> DrumLevels:
    """Levels of a lot with `left` [m3] in it, of which a mix takes `taken` [m3], over a panel at height `over` [m]."""
    assert device.at is not None
    container = lot.container.volume if lot is not None and lot.container is not None else None
    tall = deepest(lot)
    depths = _depths(lot, container, left, taken)
    base = device.drum_floor - over if device.drum_floor is not None else None
    tested = device.at.stock
    if base is not None and depths is not None:
        first, last = (base + depth for depth in depths)
        return DrumLevels(first=first, last=last, high=first, low=last, unknown=None)
    if base is not None:
        first = min(max(tested, base), base + tall)
        unknown: Unknown = "container" if container is None else "on_hand"
        return DrumLevels(first=first, last=first, high=base + tall, low=base, unknown=unknown)
    # As full tonight as is known, and at the test as full or as empty as its drum may have been.
    now, then = depths if depths is not None else (tall, 0.0)
    high, low = tested + now, tested + then - tall
    return DrumLevels(first=tested, last=tested, high=high, low=low, unknown="drum_floor")


def deepest(lot: Lot | None) -> float:
    """How deep a lot's liquid stands when its drum is full [m]."""
    most = default("drum_deep")
    container = lot.container.volume if lot is not None and lot.container is not None else None
    if lot is None or container is None:
        return most
    full = tanks.full_depth(tanks.TankVolumes(volume=container, shape=shape_of(lot.shape)))
    # V = pi/4 D2 h, h = s D
    return full if full is not None else min((4.0 / pi * container * default("drum_slender") ** 2) ** (1 / 3), most)


def _depths(lot: Lot | None, container: float | None, left: float | None, taken: float) -> tuple[float, float] | None:
    """How deep it stands [m] before and after; None where nobody wrote its size or what is left of it."""
    if lot is None or container is None or left is None:
        return None
    # Of several drums of one lot the one before is drawn empty.
    held = [min(left, container), max(left - taken, 0.0) if left <= container * (1.0 + 1e-9) else 0.0]
    if lot.shape is None:
        first, last = (deepest(lot) * volume / container for volume in held)
        return first, last
    drum = tanks.TankVolumes(volume=container, shape=shape_of(lot.shape))
    known = [depth for volume in held if (depth := tanks.depth_of(drum, volume)) is not None]
    return (known[0], known[1]) if len(known) == len(held) else None
