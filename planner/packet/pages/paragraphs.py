"""The one function that makes paragraphs. Whatever was written is data here: escaped, printable, never markup."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from reportlab.lib.colors import black
from reportlab.lib.enums import TA_CENTER, TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph

from planner.packet.blocks import Spans
from planner.packet.pages.fonts import markup, register
from planner.packet.pages.style import FACES

_ALIGN = {"left": TA_LEFT, "right": TA_RIGHT, "center": TA_CENTER}


@lru_cache(maxsize=128)
def _style(use: str, align: str) -> Any:
    register()
    face = FACES[use]
    return ParagraphStyle(
        f"{use}-{align}",
        fontName=face.face,
        fontSize=face.size,
        leading=face.leading,
        alignment=_ALIGN[align],
        textColor=black,
        splitLongWords=1,
        allowWidows=0,
        allowOrphans=0,
    )


class Words(Paragraph):  # type: ignore[misc]
    """A paragraph that breaks its lines once for each width: what holds it asks its height again and again."""

    made_of: tuple[str, str, str] | None = None
    """Text, use and alignment; None of what is left of a paragraph that was split."""
    _broken: float | None = None
    _size: tuple[float, float] = (0.0, 0.0)

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        """Width and height in pt for so wide a column."""
        if self._broken != available or not hasattr(self, "blPara"):  # a table that is split throws the lines away
            if self.made_of is None:
                self._size = super().wrap(available, height)
            else:
                self._size, self.blPara, frags = _lines(*self.made_of, available)
                self.width, self.height = self._size
                self.frags = list(frags)
            self._broken = available
        return self._size


def paragraph(spans: Spans, use: str, *, align: str = "left") -> Any:
    """Spans as a paragraph of one use of type. Strong spans are bold and, in what is acted on, larger."""
    face = FACES[use]
    pieces = []
    for span in spans:
        if span.strong:
            size = face.size * face.scale
            pieces.append(f'<font name="{face.strong}" size="{size:.2f}">{markup(span.text, size)}</font>')
        else:
            pieces.append(markup(span.text, face.size, face.face))
    text = "".join(pieces)
    words = Words(text, _style(use, align), frags=list(_parsed(text, use, align)))
    words.made_of = (text, use, align)
    return words


@lru_cache(maxsize=8192)
def _parsed(text: str, use: str, align: str) -> tuple[Any, ...]:
    """A text's pieces as the engine reads them, read once: a packet is laid out twice and most of its words stay.

    The engine copies a piece before it alters it; only its list is emptied in place, so each paragraph gets its own.
    """
    return tuple(Paragraph(text, _style(use, align)).frags)


@lru_cache(maxsize=2048)
def _lines(text: str, use: str, align: str, wide: float) -> tuple[tuple[float, float], Any, tuple[Any, ...]]:
    """Size, lines and pieces of a text in so wide a column, broken once; lines are only read, the list of pieces is
    the paragraph's own."""
    whole = Paragraph(text, _style(use, align), frags=list(_parsed(text, use, align)))
    size = whole.wrap(wide, 0.0)
    return size, whole.blPara, tuple(whole.frags)
