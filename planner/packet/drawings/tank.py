"""The tank with its stick, to scale in depth: what stands in it after each thing poured, a batch each side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.frozen import dataclass
from planner.packet.drawings.kit import Sheet
from planner.packet.pages.fonts import fitted
from planner.packet.pages.style import LABEL, VALUE
from planner.units import System, Toward, show

WATER, STOCK, SOAP, HEEL = 0.08, 0.20, 0.55, 0.12
_STICK = 30.0
_BOTTOM, _TOP = 18.0, 10.0
_LEAST_TICK, _LEAST_NUMBER = 2.4, 17.0
_INCH = 0.0254
_TICKS = {"us": (0.125, 0.25, 0.5, 1.0, 2.0, 5.0), "si": (2.0, 5.0, 10.0, 20.0, 50.0, 100.0)}
_NUMBERS = {"us": (1, 2, 5, 10, 20), "si": (10, 20, 50, 100, 200, 500)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """What stands in the tank up to `depth` (m). `read`: the stick is read there; else `amount` was measured out.

    `side` is where its mark is rounded to, as beside the step that pours it.
    """

    what: str
    depth: float
    fill: float
    read: bool
    amount: str
    side: Toward = "near"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One batch: its name, a line below it, and its levels from the floor up."""

    title: str
    note: str
    levels: tuple[Level, ...]


def tank_levels(
    columns: Sequence[Column], full: float, system: System, wide: float, tall: float, *, foot: str = ""
) -> Any:
    """One or two batches beside the stick. `full` (m) is the tank's own depth; only the part in use is drawn.

    `foot` is what stands below it in place of the tank's depth.
    """
    sheet = Sheet(wide, tall)
    highest = max(level.depth for column in columns for level in column.levels)
    top = min(full, highest * 1.06)
    head = 34.0  # two lines of names over the liquid
    scale = (tall - _BOTTOM - _TOP - head) / top
    shown = columns[:2]
    side = (wide - _STICK) / len(shown)
    stick_x = side if len(shown) > 1 else wide - _STICK
    xs = [0.0, side + _STICK] if len(shown) > 1 else [0.0]
    for column, x in zip(shown, xs, strict=True):
        _column(sheet, column, system, x, side, scale, tall)
    _stick(sheet, stick_x, top, scale, system)
    sheet.line((1.3, _BOTTOM + top * scale + 6), (1.3, _BOTTOM), (wide - 1.3, _BOTTOM), weight=2.6)
    right = _BOTTOM + top * scale + 6
    sheet.line((wide - 1.3, _BOTTOM), (wide - 1.3, right), weight=2.6)
    part = " drawn to scale" if top >= full * 0.98 else ", the lower part drawn"
    sheet.label(foot or f"tank {show(full, 'dip', system)} deep{part}", (0, 3), room=wide, patch=False)
    return sheet.finished()


def _column(sheet: Sheet, column: Column, system: System, x: float, wide: float, scale: float, tall: float) -> None:
    floor = _BOTTOM
    below = 0.0
    for level in column.levels:
        y0, y1 = floor + below * scale, floor + level.depth * scale
        sheet.rect(x, y0, wide, max(y1 - y0, 0.1), weight=1.0, fill=level.fill)
        sheet.line((x, y1), (x + wide, y1), weight=1.8 if level.read else 0.8)
        below = max(below, level.depth)
    room = wide - 14
    _name(sheet, column.title, x + 7, tall - 12, VALUE, room)
    _name(sheet, column.note, x + 7, tall - 25, LABEL, room)
    places = _apart([floor + level.depth * scale for level in column.levels], floor, tall - 28)
    for level, y in zip(column.levels, places, strict=True):
        depth = show(level.depth, "dip", system, toward=level.side)
        words = f"{depth} {level.what}" if level.read else f"{level.what} {level.amount}"
        sheet.label(words, (x + 7, y), face=VALUE if level.read else LABEL, room=room, must=True)


def _name(sheet: Sheet, text: str, x: float, y: float, face: tuple[str, float], room: float) -> None:
    words, _ = fitted(text, face[0], room, face[1], face[1])
    sheet.label(words, (x, y), face=face, room=room)


def _apart(levels: Sequence[float], floor: float, ceiling: float) -> list[float]:
    """Baselines just under each level, never closer than a line of type, none below the floor or over the top."""
    places: list[float] = []
    for level in levels:
        lowest = places[-1] + 14.0 if places else floor + 4.0
        places.append(max(level - 13.0, lowest))
    over = places[-1] + 10.0 - ceiling if places else 0.0
    return [y - over for y in places] if over > 0 else places


def _stick(sheet: Sheet, x: float, top: float, scale: float, system: System) -> None:
    """The stick with ticks as fine as they can be drawn, and numbers."""
    per = _INCH if system == "us" else 1e-3
    high = top * scale
    sheet.rect(x, _BOTTOM, _STICK, high, weight=1.2)
    each = scale * per
    tick = next((t for t in _TICKS[system] if t * each >= _LEAST_TICK), _TICKS[system][-1])
    number = next((n for n in _NUMBERS[system] if n * each >= _LEAST_NUMBER), _NUMBERS[system][-1])
    for n in range(1, int(top / per / tick + 1e-9) + 1):
        mark = n * tick
        y = _BOTTOM + mark * each
        whole = abs(mark / number - round(mark / number)) < 1e-9
        unit = abs(mark - round(mark)) < 1e-9 if system == "us" else abs(mark / 10 - round(mark / 10)) < 1e-9
        length = 5.0 if whole or unit else 3.2 if n % 2 == 0 else 2.2
        sheet.line((x, y), (x + length, y), weight=1.0 if whole else 0.4)
        sheet.line((x + _STICK - length, y), (x + _STICK, y), weight=1.0 if whole else 0.4)
        if whole and _BOTTOM + 4 < y < _BOTTOM + high - 5:
            sheet.label(f"{round(mark)}", (x + _STICK / 2, y - 3.5), anchor="middle", patch=False)


# ------------------------------------------------------------ dial
# A panel's dial laid out straight: its own bucket-tested points, and where to set it.


_MARGIN = 26.0


def dial(points: Sequence[tuple[float, float]], setting: float, words: str, system: System, wide: float, tall: float,
         ) -> Any:  # fmt: skip
    """`points` are (mark, share of stock); `setting` the mark to set, said as `words`."""
    sheet = Sheet(wide, tall)
    low, high = points[0][0], points[-1][0]
    span = high - low or 1.0

    def x(mark: float) -> float:
        return _MARGIN + (wide - 2 * _MARGIN) * (mark - low) / span

    base = 30.0
    at = x(setting)
    sheet.rect(_MARGIN, base, wide - 2 * _MARGIN, 9, weight=1.2)
    sheet.polygon((at, base + 10), (at - 7, base + 24), (at + 7, base + 24), solid=True)
    sheet.line((at, base), (at, base + 10), weight=2.2)
    sheet.label(words, (at, base + 29), face=VALUE, anchor="middle", must=True)
    for mark, _ in points:
        sheet.line((x(mark), base - 4), (x(mark), base + 9), weight=1.2)
    for mark, share in [points[0], points[-1], *points[1:-1]]:
        text = f"{mark:g}"
        if sheet.label(text, (x(mark), base - 15), anchor="middle", patch=False):
            sheet.label(show(share, "fraction", system), (x(mark), base - 28), face=LABEL, anchor="middle", patch=False)
    return sheet.finished()
