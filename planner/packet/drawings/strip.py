"""One section as a strip: water, mix, what is left of it in the hose, the wait and the rinse, with the calls above."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from planner.packet.drawings.kit import Sheet
from planner.packet.style import LABEL, VALUE

TALL = 74.0
_BAND, _AT = 26.0, 18.0  # pt of the strip, and where it stands above the times
_WAIT, _RINSE = 104.0, 92.0
_LEAST = 44.0  # pt of the narrowest piece that still holds its word
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
        if 0.0 < width[name] < _LEAST:
            width[name], width[other] = _LEAST, room - _LEAST
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
