"""A panel's dial laid out straight: its own bucket-tested points, and where to set it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.packet.drawings.kit import Sheet
from planner.packet.style import LABEL, VALUE
from planner.units import System, show

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
