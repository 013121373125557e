"""The strict reader itself: each thing it is there to find, put on a page on purpose."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pytest
from reportlab.pdfgen.canvas import Canvas

from planner.packet.pages.fonts import REGULAR, register
from tests.packet.reading import problems


def _page(draw: Any, tall: float = 792.0) -> list[str]:
    register()
    file = BytesIO()
    canvas = Canvas(file, pagesize=(612, tall), initialFontName=REGULAR, invariant=1)
    canvas.setFont(REGULAR, 11)
    for n in range(4):
        canvas.drawString(60, 600 - 20 * n, "A line of plain words that nobody minds.")
    draw(canvas)
    canvas.showPage()
    canvas.save()
    return problems(file.getvalue(), "letter")


def test_a_sound_page_is_passed() -> None:
    def ticks(canvas: Any) -> None:
        canvas.line(6, 396, 16, 396)
        canvas.line(596, 396, 606, 396)

    assert _page(ticks) == []


@pytest.mark.parametrize(
    ("draw", "found"),
    [
        (lambda canvas: canvas.drawString(540, 500, "over the edge"), "in the margin"),
        (lambda canvas: canvas.drawString(60, 12, "under the foot"), "in the margin"),
        (lambda canvas: canvas.drawString(64, 602, "over it"), "lies on"),
        (lambda canvas: canvas.drawString(60, 400, "山"), "no glyph"),
        (lambda canvas: (canvas.setFont(REGULAR, 9), canvas.drawString(60, 400, "small")), "of 9.0 pt"),
        (lambda canvas: canvas.line(20, 300, 40, 300), "ink in the margin"),
        (lambda canvas: (canvas.setFont(REGULAR, 13), canvas.drawString(60, 60, "A head")), "heads nothing"),
        (lambda canvas: canvas.rect(500, 300, 80, 20), "ink in the margin"),
        (lambda canvas: (canvas.showPage(), canvas.setFont(REGULAR, 11), canvas.drawString(60, 700, "x")), "is empty"),
    ],
)
def test_each_fault_of_a_page_is_found(draw: Any, found: Any) -> None:
    assert any(found in problem for problem in _page(draw))
