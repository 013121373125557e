"""Jets along level ground, to scale: the sound pump's solid, today's dashed, and where each lands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.frozen import dataclass
from planner.packet.drawings.kit import Sheet
from planner.packet.pages.fonts import width
from planner.packet.pages.style import LABEL, VALUE

_BOTTOM, _TOP, _LEFT, _RIGHT = 30.0, 14.0, 14.0, 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Jet:
    """One jet: its path (m along, m above the ground), where it lands (m), that distance as printed, and its name."""

    path: Sequence[tuple[float, float]]
    ground: float
    words: str
    name: str


def along_ground(after: Jet, before: Jet | None, wide: float, tall: float) -> Any:
    """Both jets from one tip; `before` None, or where it lands within a foot's breadth of the other, is left out."""
    sheet = Sheet(wide, tall)
    jets = [after, *([before] if before is not None else [])]
    longest = max(jet.ground for jet in jets)
    highest = max((height for jet in jets for _, height in jet.path), default=1.0)
    scale = min((wide - _LEFT - _RIGHT) / max(longest, 0.1), (tall - _BOTTOM - _TOP) / max(highest, 0.1))
    across = (wide - _LEFT - _RIGHT) / max(longest, 0.1)
    across = min(across, 2.0 * scale)  # a flat sheet draws lengths at most twice as large as heights
    ground = _BOTTOM

    def at(along: float, height: float) -> tuple[float, float]:
        return _LEFT + along * across, ground + max(height, 0.0) * scale

    sheet.line((4, ground), (min(wide - 2, at(longest, 0.0)[0] + 12), ground), weight=1.4)
    for jet, weight, dash in ((after, 2.0, None), (before, 1.2, (4, 3))):
        if jet is None:
            continue
        points = [at(*point) for point in jet.path] or [at(0.0, 1.0), at(jet.ground, 0.0)]
        sheet.line(*points, weight=weight, dash=dash)
        x = at(jet.ground, 0.0)[0]
        sheet.line((x, ground - 4), (x, ground + 3), weight=weight)
    tip = at(*after.path[0]) if after.path else at(0.0, 1.0)
    _person(sheet, tip, ground)
    x = at(after.ground, 0.0)[0]
    x = min(x, wide - width(after.words, *VALUE) / 2 - 1)
    sheet.label(after.words, (x, ground - 15), face=VALUE, anchor="middle")
    if before is not None:
        x = at(before.ground, 0.0)[0]
        places = [(x, ground - 15), (x - 24, ground - 15), (x, ground - 27)]
        sheet.label(before.words, places, face=LABEL, anchor="middle", must=True)
    middle = at(0.5 * min(jet.ground for jet in jets), 0.0)[0]
    for n, text in enumerate([f"solid: {after.name}", *([f"dashed: {before.name}"] if before is not None else [])]):
        sheet.label(text, (max(middle, width(text, *LABEL) / 2 + 1), ground + 20 - 12 * n), anchor="middle")
    return sheet.finished()


def _person(sheet: Sheet, tip: tuple[float, float], ground: float) -> None:
    """Somebody holding the gun; the tip stands at the jet's beginning."""
    x = tip[0] - 7
    sheet.circle(x, ground + 23, 2.6, solid=True)
    sheet.line((x, ground + 20), (x, ground + 10), weight=1.4)
    sheet.line((x - 4, ground), (x, ground + 10), (x + 4, ground), weight=1.4)
    sheet.line((x, ground + 17), (tip[0], max(tip[1], ground + 4)), weight=1.3)
