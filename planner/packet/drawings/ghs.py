"""Hazard signs of the GHS drawn by us: a diamond and its symbol in black, so that they copy in grey.

The symbols are an open standard of the United Nations. On a label the frame is red; here the shape says it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from reportlab.graphics.shapes import Circle, Drawing, Group, Line, Path, Polygon, Rect
from reportlab.lib.colors import black, white

from planner.packet.fonts import REGULAR, register

_FRAME = 5.0  # of a sign 100 wide


def sign(name: str, size: float) -> Any:
    """One sign `size` pt square on a drawing of its own. Raises KeyError for a sign that is not drawn here."""
    register()
    sheet = Drawing(size, size)
    sheet.initialFontName = REGULAR  # else the engine drags its own typeface in
    group = Group(_diamond(), *_SYMBOLS[name]())
    group.scale(size / 100, size / 100)
    sheet.add(group)
    return sheet


def _diamond() -> Any:
    edge = _FRAME / 2 * math.sqrt(2)
    points = [50, edge, 100 - edge, 50, 50, 100 - edge, edge, 50]
    return Polygon(points, strokeColor=black, fillColor=white, strokeWidth=_FRAME, strokeLineJoin=0)


def _solid(*points: float) -> Any:
    return Polygon(list(points), strokeColor=None, fillColor=black)


def _stroke(*points: float, weight: float) -> Any:
    return Line(*points, strokeColor=black, strokeWidth=weight, strokeLineCap=0)


def _corrosion() -> list[Any]:
    """Two tubes, one pouring on a bar, one on a hand, both eaten where the drops fall."""
    shapes: list[Any] = []
    for side in (-1.0, 1.0):

        def x(across: float, side: float = side) -> float:
            return 50 + side * across

        # The tube leans outward and down; its mouth is the outer end.
        shapes.append(_solid(x(2.5), 71, x(5.5), 76, x(24), 65, x(21), 60))
        shapes.append(_solid(x(19.8), 58, x(25.6), 67.5, x(27.6), 66.3, x(21.8), 56.8))
        for at, height in ((23.5, 53.5), (20.5, 51), (25.5, 48.5), (21.5, 46)):
            shapes.append(Circle(x(at), height, 1.9, strokeColor=None, fillColor=black))
    shapes.append(_solid(21, 35, 46, 35, 46, 43, 35, 43, 32, 39, 29, 42, 26.5, 39.5, 24, 43, 21, 43))
    # A hand with its thumb up, eaten at the back.
    shapes.append(
        _solid(54, 35, 76, 35, 79, 38, 78, 43, 75, 43, 72.5, 39.5, 70, 42, 67, 39, 64.5, 43, 61, 44.5, 57, 50, 54.5, 48,
               57, 42.5, 54, 40)
    )  # fmt: skip
    return shapes


def _exclamation() -> list[Any]:
    return [
        _solid(43.5, 77, 56.5, 77, 53.4, 42, 46.6, 42),
        Circle(50, 31, 5.8, strokeColor=None, fillColor=black),
    ]


def _environment() -> list[Any]:
    """A bare tree on its bank and a fish belly up."""
    ground = _solid(24, 35, 45, 35, 49, 31, 55, 30, 55, 28, 31, 28)
    trunk = _solid(33, 34, 38.5, 34, 37, 52, 38, 71, 35, 71, 34.5, 52)
    branches = [
        _stroke(35.5, 50, 27, 60, weight=2.6),
        _stroke(28.5, 58, 28, 65, weight=2.0),
        _stroke(36, 54, 45, 64, weight=2.6),
        _stroke(43, 61.5, 44, 69, weight=2.0),
        _stroke(36, 60, 31, 69, weight=2.2),
        _stroke(36.5, 62, 41.5, 73, weight=2.2),
    ]
    fish = _path([(49, 40), ((55, 50), (66, 50), (72, 42)), ((66, 34), (55, 33), (49, 40))])
    tail = _solid(70, 42, 79, 48, 77, 41.5, 80, 36)
    eye = Circle(54.5, 39.5, 1.7, strokeColor=None, fillColor=white)
    gill = Line(59.5, 36.5, 60.5, 45.5, strokeColor=white, strokeWidth=1.4)
    fin = _solid(60, 46.5, 66, 52, 66.5, 46)
    lifted = Group(ground, trunk, *branches, fish, tail, fin, eye, gill)
    lifted.translate(2, 4)
    return [lifted]


def _flame_over_circle() -> list[Any]:
    """A flame standing on a ring."""
    ring = Circle(50, 33.5, 12, strokeColor=black, strokeWidth=4.6, fillColor=None)
    flame = _path(
        [
            (41, 48),
            ((32, 53), (34, 61), (39, 66)),
            ((39, 62), (40, 60), (42, 58.5)),
            ((41, 67), (45, 74), (52, 83)),
            ((50, 76), (53, 71), (57, 67)),
            ((58, 70), (58, 72), (57, 75)),
            ((65, 68), (68, 55), (59, 48)),
            ((61, 55), (58, 59), (55, 61)),
            ((56, 57), (54, 54), (51, 52)),
            ((51, 56), (48, 58), (46, 60)),
            ((43, 56), (41, 52), (41, 48)),
        ]
    )
    base = Rect(42, 14.6, 16, 3.4, strokeColor=None, fillColor=black)
    return [ring, flame, base]


def _path(pieces: Sequence[Any]) -> Any:
    """A closed black shape from a first point and curves of three points each."""
    path = Path(strokeColor=None, fillColor=black)
    path.moveTo(*pieces[0])
    for first, second, end in pieces[1:]:
        path.curveTo(*first, *second, *end)
    path.closePath()
    return path


_SYMBOLS: dict[str, Callable[[], list[Any]]] = {
    "corrosion": _corrosion,
    "exclamation": _exclamation,
    "environment": _environment,
    "flame_over_circle": _flame_over_circle,
}
