"""The load against the rating: one bar from left to right, what it is made of, and where caution and limit lie."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.frozen import dataclass
from planner.packet.drawings.kit import Sheet
from planner.packet.pages.fonts import fitted, width
from planner.packet.pages.style import LABEL, VALUE
from planner.units import System, Toward, show

_SIDE = 2.0
_BAR, _LOW, _HIGH = 18.0, 16.0, 14.0
_FILLS = (None, 0.10, 0.25, 0.45, 0.65)
_LEAST_LETTERS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One part of the load: its name and mass [kg]."""

    label: str
    mass: float


def load_height() -> float:
    """How tall the drawing is, pt."""
    return _LOW + _BAR + _HIGH + 4.0


def load_bar(pieces: Sequence[Piece], rated: float, caution: float, system: System, wide: float, tall: float) -> Any:
    """The pieces end to end, the rating [kg] as a heavy line and the caution [kg] as a dashed one.

    Over the rating the bar goes on past the line, hatched. Pieces too narrow for a name leave it to the list.
    """
    sheet = Sheet(wide, tall)
    total = sum(piece.mass for piece in pieces)
    scale = (wide - 2 * _SIDE) / (max(total, rated) * 1.02)
    y = _LOW
    at = _SIDE
    for number, piece in enumerate(pieces):
        long = piece.mass * scale
        sheet.rect(at, y, long, _BAR, weight=1.0, fill=_FILLS[number % len(_FILLS)])
        _named(sheet, piece, at, y, long, system, dark=number % len(_FILLS) >= 3)
        at += long
    if total > rated:
        sheet.hatch(_SIDE + rated * scale, y, (total - rated) * scale, _BAR, gap=4.0)
    words = f"total {_mass(total, system, 'up')}"
    sheet.label(words, (_SIDE + total * scale, 3.0), face=VALUE, anchor="end", must=True, patch=False)
    _mark(sheet, rated, scale, "rated", system, dash=False)
    if caution < rated:
        _mark(sheet, caution, scale, "caution", system, dash=True)
    return sheet.finished()


def _named(sheet: Sheet, piece: Piece, x: float, y: float, long: float, system: System, *, dark: bool) -> None:
    whole = f"{piece.label} {_mass(piece.mass, system, 'up')}"
    for text in (whole, piece.label):
        if width(text, *LABEL) <= long - 6:
            sheet.label(text, (x + long / 2, y + 5.5), anchor="middle", patch=dark)
            return
    words, _ = fitted(piece.label, LABEL[0], long - 6, LABEL[1], LABEL[1])
    if len(words) >= _LEAST_LETTERS and long > 6:
        sheet.label(words, (x + long / 2, y + 5.5), anchor="middle", room=long - 6, patch=dark)


def _mark(sheet: Sheet, at: float, scale: float, name: str, system: System, *, dash: bool) -> None:
    x = _SIDE + at * scale
    sheet.line((x, _LOW - 3), (x, _LOW + _BAR + 3), weight=1.0 if dash else 2.2, dash=(3, 2) if dash else None)
    words = f"{name} {_mass(at, system, 'down')}"
    top = _LOW + _BAR + 5
    sheet.label(words, [(x - 3, top), (x - 3, 3.0)], anchor="end", patch=False)


def _mass(mass: float, system: System, toward: Toward) -> str:
    return show(mass, "mass", system, toward=toward)
