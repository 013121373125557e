"""Signs: the hazard symbols of the United Nations, an open standard, and our own.

On a label the frame is red; here the shape says it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from reportlab.graphics.shapes import Circle, Drawing, Group, Line, Path, Polygon, Rect
from reportlab.lib.colors import black, white

from planner.packet.drawings.kit import Point, Sheet
from planner.packet.pages.fonts import REGULAR, register, wrapped
from planner.packet.pages.style import LABEL
from planner.plan.model import RunPlan


def source(sheet: Sheet, run: RunPlan, pipe: float, base: float) -> None:
    """What the line draws from, at the left edge, joined at the height of the pipe."""
    feed = run.input.feed
    if feed == "tap":
        sheet.rect(6, base, 10, pipe - base + 16, weight=1.4)
        sheet.line((16, pipe), (56, pipe), weight=2.0)
        sheet.line((24, pipe), (24, pipe + 10), weight=1.6)
        sheet.line((18, pipe + 10), (30, pipe + 10), weight=2.2)
        sheet.label("tap", (32, pipe + 8))
        return
    if feed == "pond":
        wave = [(2 + 2 * n, base - 10 + 2 * math.sin(n)) for n in range(24)]
        sheet.line(*wave, weight=1.4)
        sheet.line((24, base - 16), (24, pipe), (56, pipe), weight=2.0)
        sheet.rect(20, base - 22, 8, 8, weight=1.2)
        sheet.label("pond", (4, base + 6))
        return
    sheet.rect(4, pipe - 14, 52, 48, weight=1.8)
    sheet.rect(5, pipe - 13, 50, 18, weight=1.0, fill=0.08)
    sheet.line((14, pipe - 14), (14, base), weight=1.2)
    sheet.line((46, pipe - 14), (46, base), weight=1.2)
    name = run.input.feed_tank.name if run.input.feed_tank is not None else feed
    for n, line in enumerate(wrapped(name, LABEL[0], LABEL[1], 46, 2)):
        sheet.label(line, (30, pipe + 23 - 12 * n), anchor="middle", patch=False)


def valve(sheet: Sheet, x: float, y: float) -> None:
    """A hand valve."""
    sheet.polygon((x - 8, y - 6), (x - 8, y + 6), (x + 8, y - 6), (x + 8, y + 6), weight=1.3)


def pump(sheet: Sheet, x: float, y: float) -> None:
    """A pump, its arrow the way the water goes."""
    sheet.circle(x, y, 14, weight=1.8)
    sheet.polygon((x - 6, y - 8), (x - 6, y + 8), (x + 10, y), weight=1.3)


def gauge(sheet: Sheet, x: float, y: float) -> None:
    """A gauge on its stem over the joint it reads."""
    sheet.line((x, y), (x, y + 14), weight=1.3)
    sheet.circle(x, y + 24, 10, weight=1.4)
    sheet.line((x, y + 24), (x + 5, y + 30), weight=1.2)
    sheet.circle(x, y, 3.4)
    sheet.keep_clear(x - 11, y + 13, 22, 22)


def dosing(sheet: Sheet, x: float, y: float, name: str) -> None:
    """A dosing panel or injector below the line."""
    sheet.line((x, y), (x, y - 10), weight=1.3)
    sheet.rect(x - 5, y - 18, 10, 9, weight=1.2, fill=0.2)
    sheet.keep_clear(x - 6, y - 19, 12, 10)
    sheet.label(name, [(x + 8, y - 18), (x, y - 34)], room=58)


def reel(sheet: Sheet, x: float, y: float) -> None:
    """A hose reel."""
    for radius in (13, 9, 5):
        sheet.circle(x, y, radius, weight=1.4)
    sheet.circle(x, y, 1.5, solid=True)
    sheet.keep_clear(x - 13, y - 13, 26, 26)


def lying(start: float, end: float, lie: Callable[[float], float]) -> list[Point]:
    """A hose lying on the ground from start to end, in gentle waves."""
    count = max(2, int((end - start) / 4))
    points = []
    for n in range(count + 1):
        x = start + (end - start) * n / count
        points.append((x, lie(x) + 1.6 * math.sin(n * 0.8)))
    return points


def worker(sheet: Sheet, x: float, ground: float, hand: float, tip: float) -> None:
    """Somebody holding the gun, the jet leaving upward."""
    sheet.circle(x, ground + 33, 4.2, solid=True)
    sheet.line((x, ground + 29), (x - 1, ground + 14), weight=2.2)
    sheet.line((x - 5, ground), (x - 1, ground + 14), (x + 5, ground), weight=2.0)
    sheet.line((x, hand), (tip, hand + 8), weight=2.0)
    sheet.circle(tip, hand + 8, 3.0)
    jet = [(tip + 2 + 1.2 * n, hand + 10 + 6 * n - 0.12 * n * n) for n in range(5)]
    sheet.line(*jet, weight=1.2)
    sheet.keep_clear(x - 6, ground, 12, 38)


# ------------------------------------------------------------ ghs
# Hazard signs of the GHS drawn by us: a diamond and its symbol in black, so that they copy in grey.
#
# The symbols are an open standard of the United Nations. On a label the frame is red; here the shape says it.


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
