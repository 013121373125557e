"""The place from above, not to scale: rig, tap, hose, house, and what is near it with its distance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from planner.frozen import dataclass
from planner.packet.drawings.kit import Point, Sheet
from planner.packet.pages.fonts import width
from planner.packet.pages.style import LABEL

_PLACES = ("north east", "south east", "east", "north west", "north", "west")
_PER_SIDE = 5
_DOTS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """Something near the house: `kind` says how it is drawn, `label` names it with its distance."""

    kind: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SitePlan:
    """What is drawn. `hoses` name the hose runs, `downspouts` counts them, `wires` is their label or nothing."""

    house: str
    rig: str
    tap: str
    hoses: tuple[str, ...]
    beds: str
    downspouts: int
    wires: str
    things: tuple[Thing, ...]


def site_plan(plan: SitePlan, wide: float, tall: float) -> Any:
    """The sketch; whoever walks round writes in what differs."""
    sheet = Sheet(wide, tall)
    sheet.rect(0.5, 0.5, wide - 1, tall - 1, weight=1.0)
    top = tall - (22 if plan.wires else 6)
    x0, x1 = 0.36 * wide, 0.66 * wide
    y0, y1 = 0.30 * tall + 6, 0.30 * tall + 6 + 0.34 * top
    if plan.wires:
        _wires(sheet, plan.wires, wide, tall)
    _north(sheet, 13, top - 11)
    _house(sheet, plan, (x0, y0, x1, y1))
    _rig(sheet, plan, (x0, y0, x1, y1))
    spots = _spots(wide, top, (x0, y0, x1, y1))
    placed = [(thing, spots[place]) for thing, place in zip(plan.things, _PLACES, strict=False)]
    for _, (x, y) in placed:
        sheet.keep_clear(x - 19, y - 10, 38, 20)
    for thing, place in placed:
        _thing(sheet, thing, place, (x0, y0, x1, y1))
    _legend(sheet, plan, (x0, y0, x1, y1))
    if len(plan.things) > len(_PLACES):
        rest = ", ".join(thing.label for thing in plan.things[len(_PLACES) :])
        sheet.label(f"also {rest}", (6, 4), room=wide - 60)
    return sheet.finished()


def _spots(wide: float, top: float, house: tuple[float, float, float, float]) -> dict[str, Point]:
    _x0, y0, _x1, y1 = house
    right, left = wide - 42, 42.0
    return {
        "north east": (right, top - 20),
        "south east": (right, max(0.5 * y0, 46.0)),
        "east": (right, (y0 + y1) / 2 + 4),
        "north west": (left, top - 20),
        "north": (0.5 * wide, top - 16),
        "west": (left, (y0 + y1) / 2 + 8),
    }


def _house(sheet: Sheet, plan: SitePlan, house: tuple[float, float, float, float]) -> None:
    x0, y0, x1, y1 = house
    if plan.beds:
        sheet.hatch(x0 - 8, y0 - 8, x1 - x0 + 16, y1 - y0 + 16, gap=5.0)
    sheet.rect(x0, y0, x1 - x0, y1 - y0, weight=2.0)
    middle = (x0 + x1) / 2, (y0 + y1) / 2
    sheet.line((x0 + 14, middle[1] + 13), (x1 - 14, middle[1] + 13), weight=0.5, grey=True)
    sheet.label(plan.house, (middle[0], middle[1] - 3), anchor="middle", room=x1 - x0 - 8)
    for n in range(min(plan.downspouts, _DOTS)):
        corner = ((x0, y0), (x1, y1), (x1, y0), (x0, y1), (x0, middle[1]), (x1, middle[1]), (middle[0], y0),
                  (middle[0], y1))[n]  # fmt: skip
        sheet.circle(*corner, 3.0, solid=True)


def _legend(sheet: Sheet, plan: SitePlan, house: tuple[float, float, float, float]) -> None:
    """What the hatching and the dots stand for, above or below the house."""
    x0, y0, x1, y1 = house
    words = []
    if plan.beds:
        words.append(f"hatched: {plan.beds}")
    if plan.downspouts:
        words.append(f"dots: {plan.downspouts} downspouts")
    for text in words:
        spots = [((x0 + x1) / 2, y) for y in (y1 + 12, y0 - 19, y1 + 24, y0 - 31, y0 - 43, 18)]
        sheet.label(text, spots, anchor="middle", room=150)


def _rig(sheet: Sheet, plan: SitePlan, house: tuple[float, float, float, float]) -> None:
    """The rig in the south-west corner, its hose to the house and the tap's hose back to it."""
    x0, y0, _x1, y1 = house
    sheet.rect(12, 20, 46, 20, weight=1.6, fill=0.15)
    for wheel in (22.0, 48.0):
        sheet.circle(wheel, 18.5, 3.0, solid=True)
    sheet.label(plan.rig, (35, 27), anchor="middle", room=42, patch=False)
    sheet.keep_clear(10, 14, 50, 28)
    for n, name in enumerate(plan.hoses[:2]):
        start = (58, 34 - 5 * n)
        end = (x0 - 3, y0 + 10 + 12 * n)
        bend = ((start[0] + end[0]) / 2 + 4 * n, start[1])
        sheet.line(start, bend, end, weight=2.0)
        more = f", {len(plan.hoses) - 2} more" if n and len(plan.hoses) > 2 else ""
        sheet.label(f"{name}{more}", (62, 5 + 12 * n), room=sheet.wide - 100)
    if plan.tap:
        tap = (x0 - 3, y1 - 8)
        sheet.circle(*tap, 3.4, weight=1.4)
        sheet.line((38, 40), (tap[0] - 14, tap[1] - 12), (tap[0] - 3, tap[1] - 2), weight=1.4, dash=(4, 3))
        sheet.label(plan.tap, [(tap[0] - 8, tap[1] + 5), (tap[0] - 8, tap[1] - 20)], anchor="end")


def _thing(sheet: Sheet, thing: Thing, at: Point, house: tuple[float, float, float, float]) -> None:
    """One thing at its spot, a line to the nearest corner of the house, its label below."""
    x, y = at
    x0, y0, x1, y1 = house
    near = (min(max(x, x0), x1), min(max(y, y0), y1))
    length = math.hypot(near[0] - x, near[1] - y)
    if length > 26:
        along = ((near[0] - x) / length, (near[1] - y) / length)
        sheet.line((x + 20 * along[0], y + 12 * along[1]), near, weight=0.7, dash=(2, 2))
    _DRAWN.get(thing.kind, _spot)(sheet, x, y)
    half = min(width(thing.label, *LABEL) / 2 + 5, sheet.wide / 2)
    middle = min(max(x, half), sheet.wide - half)
    spots = [(middle, y - 21), (middle, y + 14)]
    if not sheet.label(thing.label, spots, anchor="middle", room=120) and not sheet.label(
        thing.label, [(x - 24, y - 4), (x - 24, y + 4)], anchor="end", room=120
    ):
        sheet.label(thing.label, (middle, y - 21), anchor="middle", room=120, must=True)


def _pond(sheet: Sheet, x: float, y: float) -> None:
    outline = [(x + 17 * math.cos(a / 12 * math.pi), y + 9 * math.sin(a / 12 * math.pi)) for a in range(24)]
    sheet.polygon(*outline, weight=1.2)
    for rise in (-3.0, 2.0):
        sheet.line(*[(x - 9 + 3 * n, y + rise + (1.3 if n % 2 else -1.3)) for n in range(7)], weight=0.8)


def _stream(sheet: Sheet, x: float, y: float) -> None:
    for rise in (-5.0, 0.0, 5.0):
        sheet.line(*[(x - 20 + 4 * n, y + rise + 1.8 * math.sin(n * 1.1)) for n in range(11)], weight=1.0)


def _drain(sheet: Sheet, x: float, y: float) -> None:
    sheet.rect(x - 11, y - 8, 22, 16, weight=1.4)
    for n in range(1, _PER_SIDE):
        sheet.line((x - 11 + 22 * n / _PER_SIDE, y - 8), (x - 11 + 22 * n / _PER_SIDE, y + 8), weight=1.2)


def _well(sheet: Sheet, x: float, y: float) -> None:
    sheet.circle(x, y, 8, weight=1.4)
    sheet.circle(x, y, 4, weight=1.0)


def _barrel(sheet: Sheet, x: float, y: float) -> None:
    sheet.circle(x, y, 8, weight=1.4)
    sheet.line((x - 8, y), (x + 8, y), weight=1.0)


def _cars(sheet: Sheet, x: float, y: float) -> None:
    sheet.rect(x - 16, y - 7, 32, 14, weight=1.3)
    sheet.rect(x - 7, y - 6, 14, 12, weight=1.0, fill=0.08)


def _spot(sheet: Sheet, x: float, y: float) -> None:
    sheet.circle(x, y, 5, weight=1.3)


_DRAWN = {
    "fish_pond": _pond,
    "stream": _stream,
    "well": _well,
    "rain_barrel": _barrel,
    "storm_drain": _drain,
    "cars": _cars,
}


def _wires(sheet: Sheet, label: str, wide: float, tall: float) -> None:
    """A power line along the upper edge with its poles."""
    y = tall - 13
    for x in (12.0, wide - 12.0):
        sheet.line((x, y - 6), (x, y + 7), weight=1.6)
        sheet.line((x - 5, y + 4), (x + 5, y + 4), weight=1.2)
    sheet.line((12, y + 4), (wide - 12, y + 4), weight=1.4, dash=(8, 3))
    sheet.label(label, (wide / 2, y - 1), anchor="middle", room=wide - 60)


def _north(sheet: Sheet, x: float, y: float) -> None:
    """A ring to draw north into."""
    sheet.circle(x, y, 10, weight=1.0)
    sheet.label("N?", (x, y - 3.6), face=LABEL, anchor="middle", patch=False)
    sheet.keep_clear(x - 11, y - 11, 22, 22)


def things(pairs: Sequence[tuple[str, str]]) -> tuple[Thing, ...]:
    """Kinds and labels as things to draw."""
    return tuple(Thing(kind=kind, label=label) for kind, label in pairs)
