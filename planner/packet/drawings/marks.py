"""Walls side by side with the marks where their equal sections end, numbered in the order they are worked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

from planner.packet.drawings.kit import Sheet
from planner.packet.fonts import width
from planner.packet.style import LABEL, MEASURE

Walls: TypeAlias = Sequence[tuple[str, int]]
"""The walls by name, each with how many sections it has."""

_ROWS = (22.0, 15.0)  # pt of a row, where there is room and where there is little
_WHITE = 2.0  # pt above and below a wall in its row, where there is room
_APART, _NAME = 12.0, 5.0  # pt between walls, and between a wall and its name
_LONGEST = 120.0  # pt of a name; the table has all of it
_LEAST, _MOST = 18.0, 48.0  # pt of a section
_TICK = 4.0  # pt of the mark of a section without a number
_STEPS = (1, 2, 5, 10, 20, 50, 100)


def heights(walls: Walls) -> tuple[float, ...]:
    """The heights in pt that they take across a page."""
    return tuple(row * len(_rows(walls)) for row in _ROWS)


def marks(walls: Walls, wide: float, tall: float) -> Any:
    """The walls in their order; where sections are narrow, every second, fifth or tenth has its number at its end."""
    sheet = Sheet(wide, tall)
    scale = wide / MEASURE
    top, rows = tall, _rows(walls)
    high = tall / len(rows)
    band = high - 2 * _WHITE if high >= _ROWS[0] else high - 1.6
    for row in rows:
        spare = MEASURE - 2.0 - _APART * (len(row) - 1) - sum(_least(name, count) for name, count in row)
        sections = sum(count for _, count in row)
        x, y = 0.0, top - (high + band) / 2
        for name, count in row:
            words = _named(name)
            each = min(_least(name, count) - words + spare * count / sections, count * _MOST) / count * scale
            sheet.label(name, (x, y + band / 2 - 3.5), room=(words - _NAME) * scale)
            x += words * scale
            sheet.rect(x, y, count * each, band, weight=1.4)
            step = next((n for n in _STEPS if n * each >= _LEAST - 2.0), count)
            for n in range(1, count + 1):
                end = x + n * each
                if n < count:
                    sheet.line((end, y), (end, y + (band if n % step == 0 else _TICK)), weight=1.0)
                if n % step == 0:
                    at, anchor = (end - each / 2, "middle") if step == 1 else (end - 2.0, "end")
                    sheet.label(f"{n}", (at, y + band / 2 - 3.5), anchor=anchor, patch=False)
            x += count * each + _APART * scale
        top -= high
    return sheet.finished()


def _named(name: str) -> float:
    """Width in pt that a wall's name takes before it."""
    return min(width(name, *LABEL), _LONGEST) + _NAME


def _least(name: str, count: int) -> float:
    """Width in pt of a wall with its name."""
    return _named(name) + min(count * _LEAST, MEASURE - 2.0 - _LONGEST - _NAME)


def _rows(walls: Walls) -> list[list[tuple[str, int]]]:
    """The walls in as many rows as they need."""
    rows: list[list[tuple[str, int]]] = []
    used = MEASURE
    for name, count in walls:
        least = _least(name, count)
        if used + _APART + least > MEASURE - 2.0:
            rows.append([])
            used = -_APART
        rows[-1].append((name, count))
        used += _APART + least
    return rows
