"""A clock bar: what follows what, to the scale of time, hatched where the rig drives."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from planner.frozen import dataclass
from planner.packet.drawings.kit import Sheet
from planner.packet.pages.fonts import BOLD, fitted, width
from planner.packet.pages.style import LABEL
from planner.units import System
from planner.words.dates import after_text, clock_text

_BAR = 18.0
_HOUR = 3600.0
_LEAST_ROOM = 14.0
_LEAST_LETTERS = 7
_SHADE = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One part of the bar, `seconds` long. `kind` is `drive` (hatched), `shade`, `plain` or `held` (crossed).

    `short` is its name where there is little room.
    """

    label: str
    seconds: float
    kind: str = "plain"
    short: str = ""


def clock_bar(pieces: Sequence[Piece], start: float | None, system: System, wide: float, tall: float) -> Any:
    """The bar from `start` [s from midnight], or from nought where nobody wrote when the rig leaves."""
    sheet = Sheet(wide, tall)
    whole = sum(piece.seconds for piece in pieces)
    if whole <= 0.0:
        return sheet.finished()
    bottom = tall - _BAR - 1
    scale = (wide - 2) / whole

    def x(seconds: float) -> float:
        return 1 + seconds * scale

    at = 0.0
    for piece in pieces:
        left, right = x(at), x(at + piece.seconds)
        sheet.rect(left, bottom, right - left, _BAR, weight=1.0, fill=_SHADE if piece.kind == "shade" else None)
        if piece.kind == "drive":
            sheet.hatch(left, bottom, right - left, _BAR)
        if piece.kind == "held":
            sheet.line((left, bottom), (right, bottom + _BAR), weight=0.8)
            sheet.line((left, bottom + _BAR), (right, bottom), weight=0.8)
        _named(sheet, piece, left, right, bottom)
        at += piece.seconds
    sheet.rect(1, bottom, wide - 2, _BAR, weight=1.2)
    sheet.drawing.contents[-1].fillColor = None
    _ticks(sheet, start, whole, bottom, x, system)
    return sheet.finished()


def _named(sheet: Sheet, piece: Piece, left: float, right: float, bottom: float) -> None:
    """The name in its part where enough of it fits to be read."""
    room = right - left - 5
    if room < _LEAST_ROOM:
        return
    names = [piece.label, *([piece.short] if piece.short else [])]
    words = next((name for name in names if width(name, *LABEL) <= room), "")
    if not words:
        words = fitted(names[-1], *LABEL[:1], room, LABEL[1])[0]
        if len(words) < _LEAST_LETTERS:
            return
    sheet.label(words, ((left + right) / 2, bottom + _BAR / 2 - 3.4), anchor="middle", room=room + 1)


def _ticks(sheet: Sheet, start: float | None, whole: float, bottom: float, x: Any, system: System) -> None:
    """Times below the bar: both ends, and each step of the clock that has room between them."""
    first = start if start is not None else 0.0
    ends = (first, first + whole)
    step = next((s for s in (_HOUR / 4, _HOUR / 2, _HOUR, 2 * _HOUR, 4 * _HOUR) if x(s) - x(0) >= 46), 8 * _HOUR)
    inner = math.ceil(first / step + 1e-9) * step
    times = [ends[0], ends[1]]
    while inner < ends[1]:
        times.append(inner)
        inner += step
    taken: list[tuple[float, float]] = []
    for time in times:
        # The ends say am and pm; between them the bar goes on from one to the other.
        text = after_text(time) if start is None else clock_text(time, system, bare=time not in ends)
        wide = width(text, BOLD, LABEL[1])
        place = x(time - first)
        left = min(max(place - wide / 2, 0.0), sheet.wide - wide)
        if any(left < b + 8 and a < left + wide + 8 for a, b in taken):
            continue
        taken.append((left, left + wide))
        sheet.line((place, bottom), (place, bottom - 4), weight=1.0)
        sheet.label(text, (left, bottom - 14), face=(BOLD, LABEL[1]), patch=False)
