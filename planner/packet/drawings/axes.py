"""A chart's two scales in the reader's units, over SI values."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planner.packet.drawings.kit import Point, Sheet, nice_step, tick_text
from planner.packet.style import RULE_FIELD, RULE_GRID


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """`per` SI units make one printed unit, named `unit`."""

    per: float
    unit: str


class Axes:
    """A frame with its grid on a sheet; `at` turns SI values into a point of the sheet."""

    def __init__(
        self, sheet: Sheet, box: tuple[float, float, float, float], across: Scale, up: Scale,
        spans: tuple[tuple[float, float], tuple[float, float]],
    ) -> None:  # fmt: skip
        self.sheet, self.across, self.up = sheet, across, up
        self.x, self.y, self.w, self.h = box
        self.x_step = nice_step((spans[0][1] - spans[0][0]) / across.per, max(2, int(self.w // 48)))
        self.y_step = nice_step((spans[1][1] - spans[1][0]) / up.per, max(2, int(self.h // 26)))
        self.x_span = self._whole(spans[0], across.per, self.x_step)
        self.y_span = self._whole(spans[1], up.per, self.y_step)

    @staticmethod
    def _whole(span: tuple[float, float], per: float, step: float) -> tuple[float, float]:
        low = math.floor(span[0] / per / step + 1e-9) * step
        high = math.ceil(span[1] / per / step - 1e-9) * step
        return low, high if high > low else low + step

    def at(self, across: float, up: float) -> Point:
        """The place on the sheet of an SI point."""
        x0, x1 = self.x_span
        y0, y1 = self.y_span
        return (
            self.x + self.w * (across / self.across.per - x0) / (x1 - x0),
            self.y + self.h * (up / self.up.per - y0) / (y1 - y0),
        )

    def inside(self, points: Sequence[tuple[float, float]]) -> list[Point]:
        """The points' places, cut where the line leaves the frame."""
        placed: list[Point] = []
        before: Point | None = None
        for across, up in points:
            x, y = self.at(across, up)
            if y > self.y + self.h or x > self.x + self.w + 0.1:
                if before is not None:
                    placed.append(self._edge(before, (x, y)))
                break
            placed.append((x, y))
            before = (x, y)
        return placed

    def _edge(self, a: Point, b: Point) -> Point:
        shares = [1.0]
        if b[1] > self.y + self.h:
            shares.append((self.y + self.h - a[1]) / (b[1] - a[1]))
        if b[0] > self.x + self.w:
            shares.append((self.x + self.w - a[0]) / (b[0] - a[0]))
        share = max(0.0, min(shares))
        return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])

    def draw(self) -> None:
        """Grid, numbers and units."""
        sheet = self.sheet
        step = self.x_span[0]
        while step <= self.x_span[1] + 1e-9:
            x = self.x + self.w * (step - self.x_span[0]) / (self.x_span[1] - self.x_span[0])
            sheet.line((x, self.y), (x, self.y + self.h), weight=RULE_GRID, grey=True)
            sheet.label(tick_text(step, self.x_step), (x, self.y - 12), anchor="middle", patch=False)
            step += self.x_step
        step = self.y_span[0]
        while step <= self.y_span[1] + 1e-9:
            y = self.y + self.h * (step - self.y_span[0]) / (self.y_span[1] - self.y_span[0])
            sheet.line((self.x, y), (self.x + self.w, y), weight=RULE_GRID, grey=True)
            sheet.label(tick_text(step, self.y_step), (self.x - 5, y - 3.5), anchor="end", patch=False)
            step += self.y_step
        sheet.line((self.x, self.y + self.h), (self.x, self.y), (self.x + self.w, self.y), weight=RULE_FIELD)
        sheet.label(self.up.unit, (self.x - 5, self.y + self.h + 9), anchor="end", patch=False)
        sheet.label(self.across.unit, (self.x + self.w, self.y - 24), anchor="end", patch=False)
