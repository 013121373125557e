"""State by shape: a tick, a triangle with its mark, an octagon with its bar, a dash. Never by colour."""

from __future__ import annotations

import math
from typing import Any

from reportlab.graphics.shapes import Circle, Drawing, Group, Line, Polygon, PolyLine
from reportlab.lib.colors import black, white

from planner.checks.model import Level
from planner.packet.pages.fonts import REGULAR, register


def mark(level: Level, size: float) -> Any:
    """The shape of a level, `size` pt square, as vectors with their corner at 0, 0."""
    draw = {"ok": _tick, "caution": _triangle, "stop": _octagon, "none": _dash}[level]
    return draw(size)


def drawing(level: Level, size: float) -> Any:
    """The same on a drawing of its own."""
    register()
    sheet = Drawing(size, size)
    sheet.initialFontName = REGULAR  # else the engine drags its own typeface in
    sheet.add(mark(level, size))
    return sheet


def _tick(size: float) -> Any:
    points = [0.08 * size, 0.48 * size, 0.36 * size, 0.16 * size, 0.94 * size, 0.86 * size]
    return Group(PolyLine(points, strokeColor=black, strokeWidth=max(1.2, 0.13 * size), strokeLineJoin=0))


def _triangle(size: float) -> Any:
    line = max(1.1, 0.085 * size)
    corners = [0.03 * size, 0.08 * size, 0.97 * size, 0.08 * size, 0.5 * size, 0.93 * size]
    return Group(
        Polygon(corners, strokeColor=black, fillColor=white, strokeWidth=line, strokeLineJoin=1),
        Line(0.5 * size, 0.62 * size, 0.5 * size, 0.36 * size, strokeColor=black, strokeWidth=line),
        Circle(0.5 * size, 0.23 * size, 0.6 * line, strokeColor=None, fillColor=black),
    )


def _octagon(size: float) -> Any:
    radius, middle = 0.5 * size, 0.5 * size
    corners: list[float] = []
    for corner in range(8):
        angle = math.pi / 8 + corner * math.pi / 4
        corners += [middle + radius * math.cos(angle), middle + radius * math.sin(angle)]
    bar = Line(0.26 * size, middle, 0.74 * size, middle, strokeColor=white, strokeWidth=0.16 * size)
    return Group(Polygon(corners, strokeColor=black, fillColor=black, strokeWidth=0.5), bar)


def _dash(size: float) -> Any:
    line = Line(0.14 * size, 0.5 * size, 0.86 * size, 0.5 * size, strokeColor=black, strokeWidth=max(1.2, 0.13 * size))
    return Group(line)
