"""A sheet to draw on that keeps its labels apart: each finds a free place, and gets white behind it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

from reportlab import rl_config
from reportlab.graphics.shapes import Circle, Drawing, Line, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import Color, black, white

from planner.packet.pages.fonts import fitted, register, width
from planner.packet.pages.style import GREY_GRID, LABEL

Point: TypeAlias = tuple[float, float]
Box: TypeAlias = tuple[float, float, float, float]
_ANCHOR = {"start": 0.0, "middle": 0.5, "end": 1.0}
GRID_GREY = Color(GREY_GRID, GREY_GRID, GREY_GRID)
rl_config.shapeChecking = 0  # else the engine holds each attribute of each shape to a table of its own


class Sheet:
    """A drawing `wide` by `tall` pt, y upward; labels stay on it and off each other."""

    def __init__(self, wide: float, tall: float) -> None:
        register()
        self.wide, self.tall = wide, tall
        self.drawing = Drawing(wide, tall)
        self.drawing.initialFontName = LABEL[0]  # else the engine drags its own typeface in
        self.taken: list[Box] = []
        self._labels: list[Any] = []

    def finished(self) -> Any:
        """The drawing, labels over lines."""
        for shape in self._labels:
            self.drawing.add(shape)
        self._labels = []
        return self.drawing

    def line(
        self, *points: Point, weight: float = 1.0, dash: Sequence[float] | None = None, grey: bool = False
    ) -> None:
        """A line through the points."""
        flat = [part for point in points for part in point]
        colour = GRID_GREY if grey else black
        self.drawing.add(PolyLine(flat, strokeColor=colour, strokeWidth=weight, strokeDashArray=dash, strokeLineJoin=1))

    def rect(self, x: float, y: float, w: float, h: float, *, weight: float = 1.0, fill: float | None = None) -> None:
        """A box; `fill` is a share of black, None leaves it white."""
        shade = white if fill is None else Color(1 - fill, 1 - fill, 1 - fill)
        self.drawing.add(Rect(x, y, w, h, strokeColor=black, strokeWidth=weight, fillColor=shade))

    def circle(self, x: float, y: float, radius: float, *, weight: float = 1.2, solid: bool = False) -> None:
        """A circle, white inside unless solid."""
        self.drawing.add(
            Circle(x, y, radius, strokeColor=black, strokeWidth=weight, fillColor=black if solid else white)
        )

    def polygon(self, *points: Point, weight: float = 1.2, solid: bool = False) -> None:
        """A closed shape, white inside unless solid."""
        flat = [part for point in points for part in point]
        self.drawing.add(
            Polygon(flat, strokeColor=black, strokeWidth=weight, fillColor=black if solid else white, strokeLineJoin=1)
        )

    def hatch(self, x: float, y: float, w: float, h: float, gap: float = 4.5) -> None:
        """Lines at 45 degrees inside a box, with its outline: it may lie anywhere here."""
        if w <= 0 or h <= 0:
            return
        offset = -h
        while offset < w:
            left, right = max(0.0, offset), min(w, offset + h)
            if right > left:
                start, end = (x + left, y + left - offset), (x + right, y + right - offset)
                self.drawing.add(Line(*start, *end, strokeColor=black, strokeWidth=0.4))
            offset += gap
        self.drawing.add(Rect(x, y, w, h, strokeColor=black, strokeWidth=1.0, fillColor=None))

    def room_for(self, box: Box, apart: float = 1.0) -> bool:
        """True where a box lies on the sheet and touches no label."""
        x0, y0, x1, y1 = box
        if x0 < -0.5 or y0 < -0.5 or x1 > self.wide + 0.5 or y1 > self.tall + 0.5:
            return False
        return all(
            x1 + apart <= a0 or a1 + apart <= x0 or y1 + apart <= b0 or b1 + apart <= y0
            for a0, b0, a1, b1 in self.taken
        )

    def label(
        self, text: str, at: Point | Iterable[Point], *, face: tuple[str, float] = LABEL, anchor: str = "start",
        room: float | None = None, patch: bool = True, must: bool = False,
    ) -> bool:  # fmt: skip
        """Set a label at the first of its places that is free; False where there is none and it need not be.

        `room` shortens the text to so many pt. With `must` it is set at the first free place above or below.
        """
        words, size = fitted(text, face[0], room or self.wide, face[1], face[1])
        if not words.strip():
            return False
        wide = width(words, face[0], size)
        tried = _places(at)
        if must:
            x, y = tried[0]
            steps = sorted((n for n in range(-40, 41)), key=abs)
            tried += [(x, y + 4.0 * n) for n in steps]
        for x, y in tried:
            left = x - wide * _ANCHOR[anchor]
            left = min(max(left, 0.0), max(self.wide - wide, 0.0)) if must else left
            box = (left, y - 0.22 * size, left + wide, y + 0.72 * size)
            if self.room_for(box):
                self._set(words, face[0], size, left, y, box, patch)
                return True
        return False

    def _set(self, words: str, face: str, size: float, x: float, y: float, box: Box, patch: bool) -> None:
        self.taken.append(box)
        if patch:
            x0, y0, x1, y1 = box
            # Under every label, so that none covers another; a line hard by a letter runs into it on a copy.
            self._labels.insert(
                0, Rect(x0 - 1, y0 - 0.6, x1 - x0 + 2, y1 - y0 + 1.6, strokeColor=None, fillColor=white)
            )
        self._labels.append(String(x, y, words, fontName=face, fontSize=size, fillColor=black))

    def keep_clear(self, x: float, y: float, w: float, h: float) -> None:
        """Keep labels out of a place."""
        self.taken.append((x, y, x + w, y + h))


def _places(at: Point | Iterable[Point]) -> list[Point]:
    """One place or several, as a list."""
    listed = list(at)
    if len(listed) == 2 and all(isinstance(part, (int, float)) for part in listed):
        return [(float(listed[0]), float(listed[1]))]  # type: ignore[arg-type]
    return [(float(place[0]), float(place[1])) for place in listed]  # type: ignore[index]


def nice_step(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that cuts `span` in at most `most`."""
    if span <= 0:
        return 1.0
    rough = span / most
    power = 10.0 ** math.floor(math.log10(rough))
    for factor in (1, 2, 5, 10):
        if factor * power >= rough * (1 - 1e-9):
            return factor * power
    return 10 * power


def tick_text(value: float, step: float) -> str:
    """A value of a scale in as many decimals as its step has."""
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    text = f"{value:.{decimals}f}"
    return text.replace("-", "−") if float(text) else text.lstrip("-")
