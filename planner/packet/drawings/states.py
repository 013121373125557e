"""Two small boxes: how the line stands for water, and how for mix."""

from __future__ import annotations

import math
from typing import Any

from planner.frozen import dataclass
from planner.packet.drawings.kit import Sheet
from planner.packet.pages.style import LABEL, VALUE

HEIGHTS = (66.0, 48.0, 34.0)
_BETWEEN = 12.0
_APART = 6.0
_ABREAST = 400.0  # pt from which on they stand side by side, else one over the other
STACKED = (2 * HEIGHTS[2] + _APART,)
"""How tall they are one over the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class States:
    """`kind`: a panel's knob with its `mark`, or where the suction or pick-up is: in `water` or in `mix`.

    `until` and `then` say until when the one holds and who makes the other.
    """

    kind: str
    water: str
    mix: str
    mark: str = ""
    until: str = ""
    then: str = ""


def states(what: States, wide: float, tall: float) -> Any:
    """Both boxes."""
    sheet = Sheet(wide, tall)
    abreast = wide >= _ABREAST
    across, high = ((wide - _BETWEEN) / 2, tall) if abreast else (wide, (tall - _APART) / 2)
    for name, words, on_mix in (("Water", what.until, False), ("Mix", what.then, True)):
        x = across + _BETWEEN if abreast and on_mix else 0.0
        y = 0.0 if abreast or on_mix else high + _APART
        middle = y + high / 2
        sheet.rect(x + 0.7, y + 0.7, across - 1.4, high - 1.4, weight=1.4)
        if what.kind == "knob":
            _knob(sheet, (x + 36, middle, min(17.0, high / 2 - 7.0)), what.mark, on_mix)
            text = x + 84
        else:
            _paths(sheet, (x + 8, middle, min(12.0, high / 4 - 1.0)), (what.water, what.mix), on_mix)
            text = x + 148
        lead = min(18.0, high / 2 - 4.0)
        sheet.label(name, (text, middle + 0.5 * lead - 4.0), face=VALUE, must=True)
        sheet.label(words, (text, middle - 0.5 * lead - 4.0), face=LABEL, room=x + across - 4 - text, must=True)
    return sheet.finished()


def _knob(sheet: Sheet, place: tuple[float, float, float], mark: str, on_mix: bool) -> None:
    """A panel's knob: its pointer at water, down left, or at the mark, up right. `place` has its radius last."""
    x, y, radius = place
    water, at = math.radians(215.0), math.radians(55.0)
    sheet.circle(x, y, radius, weight=1.4)
    angle = at if on_mix else water
    sheet.line((x, y), (x + (radius - 2) * math.cos(angle), y + (radius - 2) * math.sin(angle)), weight=3.2)
    for way in (water, at):
        near, far = radius, radius + 5
        sheet.line(
            (x + near * math.cos(way), y + near * math.sin(way)), (x + far * math.cos(way), y + far * math.sin(way))
        )
    sheet.label("W", (x - radius - 14, y - radius), face=VALUE, must=True)
    sheet.label(mark, (x + radius + 2, y + radius - 7), face=VALUE, must=True)


def _paths(sheet: Sheet, place: tuple[float, float, float], names: tuple[str, str], on_mix: bool) -> None:
    """Two places to draw from, and the hose in one of them: it is put there, no valve is turned.

    `place` has last how far up and down they stand.
    """
    x, y, apart = place
    for up, name, drawn_from in ((apart, names[0], not on_mix), (-apart, names[1], on_mix)):
        sheet.rect(x, y + up - 0.75 * apart, 78, 1.5 * apart)
        sheet.label(name, (x + 39, y + up - 3.5), face=LABEL, anchor="middle", room=74, patch=False)
        if drawn_from:
            sheet.line((x + 78, y + up), (x + 112, y), (x + 136, y), weight=3.2)
