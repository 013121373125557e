"""Walls side by side with the marks where their equal sections end, numbered in the order they are worked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

from planner.frozen import dataclass
from planner.packet.drawings.kit import Sheet
from planner.packet.pages.fonts import width
from planner.packet.pages.style import LABEL, MEASURE, VALUE

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


# ------------------------------------------------------------ strip
# One section as a strip: water, mix, what is left of it in the hose, the wait and the rinse, with the calls above.


TALL = 74.0
_BAND, _AT = 26.0, 18.0  # pt of the strip, and where it stands above the times
_WAIT, _RINSE = 104.0, 92.0
_LEAST_PIECE = 44.0  # pt of the narrowest piece that still holds its word
_WATER, _MIX = 0.08, 0.20  # shares of black


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Seconds of open gun: `wet`, then `mix`; `mix_at` of the wetting and `water_at` of the mix are their calls.

    `water_at` under nought is so long before the mix; a call that is None is not made here. `said` are those times as
    they are printed beside it, by name; `wait` and `rinse` are words, empty where there is none.
    """

    wet: float
    mix: float
    mix_at: float | None
    water_at: float | None
    said: dict[str, str]
    wait: str
    rinse: str


def strip(one: Strip, wide: float, tall: float) -> Any:
    """The strip to scale in time of open gun; wait and rinse behind it are not to scale."""
    sheet = Sheet(wide, tall)
    rest = (_WAIT + 14.0 if one.wait else 0.0) + (_RINSE + 14.0 if one.rinse else 0.0)
    room, whole = wide - rest - 2.0, one.wet + one.mix
    width = {"wet": room * one.wet / whole, "mix": room * one.mix / whole}
    for name, other in (("wet", "mix"), ("mix", "wet")):
        if 0.0 < width[name] < _LEAST_PIECE:
            width[name], width[other] = _LEAST_PIECE, room - _LEAST_PIECE
    x, begin = 1.0, 1.0 + width["wet"]
    if one.wet > 0.0:
        sheet.rect(x, _AT, width["wet"], _BAND, weight=1.4, fill=_WATER)
        sheet.label("water", (x + width["wet"] / 2, _AT + 9), anchor="middle", patch=False)
    sheet.rect(begin, _AT, width["mix"], _BAND, weight=1.4, fill=_MIX)
    end = begin + width["mix"]
    turn = begin + width["mix"] * one.water_at / one.mix if one.water_at is not None and one.water_at > 0.0 else None
    if turn is not None:
        sheet.line((turn, _AT), (turn, _AT + _BAND), dash=(3, 2), weight=1.4)
        for left, right, word in ((begin, turn, "mix"), (turn, end, "mix left")):
            sheet.label(word, ((left + right) / 2, _AT + 9), anchor="middle", room=right - left - 6, patch=False)
    else:
        sheet.label("mix", ((begin + end) / 2, _AT + 9), anchor="middle", patch=False)
    for at, words in ((x, "0 s"), (end, one.said.get("end", ""))):
        sheet.label(words, (at, 4), anchor="start" if at == x else "middle")
    if one.wet > 0.0:
        sheet.label(one.said.get("wet", ""), (begin, 4), anchor="middle")
    calls = []
    if one.mix_at is not None:
        calls.append((x + (width["wet"] * one.mix_at / one.wet if one.wet > 0.0 else 0.0), "call “Mix”"))
    if one.water_at is not None:
        early = x + max(0.0, width["wet"] * (1.0 + one.water_at / one.wet)) if one.wet > 0.0 else x
        calls.append((turn if turn is not None else early, "call “Water”"))
    for at, words in calls:
        sheet.line((at, _AT + _BAND), (at, _AT + _BAND + 6), weight=1.4)
        sheet.label(words, (min(at, wide - 70.0), _AT + _BAND + 9), face=VALUE, must=True)
    after = end
    if one.wait:
        sheet.line((after, _AT + _BAND / 2), (after + 14, _AT + _BAND / 2), dash=(1, 2), weight=0.8)
        after += 14
        edge = ((after, _AT), (after + _WAIT, _AT), (after + _WAIT, _AT + _BAND), (after, _AT + _BAND), (after, _AT))
        sheet.line(*edge, dash=(4, 2), weight=1.4)
        sheet.label(one.wait, (after + _WAIT / 2, _AT + 9), anchor="middle", room=_WAIT - 6, patch=False)
        after += _WAIT
    if one.rinse:
        sheet.line((after, _AT + _BAND / 2), (after + 14, _AT + _BAND / 2), dash=(1, 2), weight=0.8)
        sheet.rect(after + 14, _AT, _RINSE, _BAND, weight=1.4, fill=_WATER)
        middle = after + 14 + _RINSE / 2
        sheet.label(one.rinse, (middle, _AT + 9), face=LABEL, anchor="middle", room=_RINSE - 6, patch=False)
    return sheet.finished()
