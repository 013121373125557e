"""A drawing of the paper's as SVG: attributes alone, since the page's policy bars styles within it.

Black becomes the page's own color, so that a drawing survives forced colors; white stays paper.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import Any, Final

from reportlab.graphics.shapes import Circle, Drawing, Group, Line, Polygon, PolyLine, Rect, String

_ANCHORS: Final = {"start": "start", "middle": "middle", "end": "end"}


def svg_of(drawing: Any, told: str) -> str:
    """The drawing as an SVG element that says what it shows."""
    wide, tall = float(drawing.width), float(drawing.height)
    shapes = "".join(_shapes(drawing, tall))
    return (
        f'<svg class="drawing" role="img" viewBox="0 0 {_n(wide)} {_n(tall)}">'
        f"<title>{escape(told)}</title>{shapes}</svg>"
    )


def _shapes(group: Any, tall: float) -> Iterator[str]:
    for shape in group.contents:
        if isinstance(shape, (Drawing, Group)):
            yield from _shapes(shape, tall)
        elif isinstance(shape, PolyLine):
            named = getattr(shape, "name", None)
            kept = f' class="beside" data-name="{escape(named)}"' if named else ""
            yield f'<polyline points="{_points(shape.points, tall)}" fill="none"{_stroke(shape)}{kept}/>'
        elif isinstance(shape, Polygon):
            yield f'<polygon points="{_points(shape.points, tall)}"{_fill(shape)}{_stroke(shape)}/>'
        elif isinstance(shape, Line):
            ends = f'x1="{_n(shape.x1)}" y1="{_n(tall - shape.y1)}" x2="{_n(shape.x2)}" y2="{_n(tall - shape.y2)}"'
            yield f"<line {ends}{_stroke(shape)}/>"
        elif isinstance(shape, Rect):
            at = f'x="{_n(shape.x)}" y="{_n(tall - shape.y - shape.height)}"'
            size = f'width="{_n(shape.width)}" height="{_n(shape.height)}"'
            yield f"<rect {at} {size}{_fill(shape)}{_stroke(shape)}/>"
        elif isinstance(shape, Circle):
            at = f'cx="{_n(shape.cx)}" cy="{_n(tall - shape.cy)}" r="{_n(shape.r)}"'
            yield f"<circle {at}{_fill(shape)}{_stroke(shape)}/>"
        elif isinstance(shape, String):
            bold = ' font-weight="700"' if "Bold" in shape.fontName or "Semi" in shape.fontName else ""
            anchor = _ANCHORS.get(shape.textAnchor, "start")
            yield (
                f'<text x="{_n(shape.x)}" y="{_n(tall - shape.y)}" font-size="{_n(shape.fontSize)}"{bold} '
                f'text-anchor="{anchor}" fill="currentColor">{escape(shape.text)}</text>'
            )


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _points(flat: Any, tall: float) -> str:
    pairs = zip(flat[::2], flat[1::2], strict=True)
    return " ".join(f"{_n(x)},{_n(tall - y)}" for x, y in pairs)


def _color(color: Any) -> str:
    if color is None:
        return "none"
    shade = (color.red + color.green + color.blue) / 3.0
    return "currentColor" if shade < 0.05 else "var(--paper)" if shade > 0.98 else "var(--grey)"


def _fill(shape: Any) -> str:
    color = _color(shape.fillColor)
    return ' class="paper"' if color == "var(--paper)" else ' class="grey"' if "grey" in color else f' fill="{color}"'


def _stroke(shape: Any) -> str:
    if shape.strokeColor is None:
        return ' stroke="none"'
    color = "currentColor"
    opacity = ' stroke-opacity="0.45"' if "grey" in _color(shape.strokeColor) else ""
    dash = f' stroke-dasharray="{",".join(_n(one) for one in shape.strokeDashArray)}"' if shape.strokeDashArray else ""
    return f' stroke="{color}" stroke-width="{_n(shape.strokeWidth)}"{opacity}{dash}'
