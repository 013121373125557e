"""The frames of the first page: the verdict or what holds the job, the key figures, and the list of hold points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.graphics import renderPDF
from reportlab.platypus import Flowable

from planner.packet.blocks import DoNotStart, KeyFigures, Span, Tile, Verdict, said
from planner.packet.pages import shapes
from planner.packet.pages.fonts import fitted, width
from planner.packet.pages.paragraphs import paragraph
from planner.packet.pages.style import (
    BODY,
    DO_NOT_START,
    FRAME,
    FRAME_HELD,
    GUTTER,
    KEY_NUMBER,
    KEY_UNIT,
    RULE_FIELD,
    columns,
)

_ITEM_GAP = 3.0
_BEFORE_PAGE = 10.0  # pt between an act and the page it is done on
_WIDE, _NARROW = 150.0, 106.0  # pt for the verdict's word on one line, and on two
_ABOVE = 32.0  # pt of the shape over the word
_HELD_TILE, _HELD_LEAST = 150.0, 96.0
_PAIR = 2
_MARKED = 100.0


class VerdictFrame(Flowable):  # type: ignore[misc]
    """The shape and the word at the left, what it rests on at the right."""

    def __init__(self, block: Verdict) -> None:
        super().__init__()
        self.block = block
        self.word = paragraph(said(block.word), "verdict")
        self.count = paragraph(said(block.count), "body")
        self.items = [
            (
                item,
                paragraph((Span(text=f"{item.title}: ", strong=True), Span(text=item.text)), "body")
                if item.text
                else paragraph((Span(text=item.title, strong=True),), "body"),
            )
            for item in block.items
        ]
        self.more = paragraph(said(block.more), "small") if block.more else None

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        """The word takes one line or two, its shape beside it or above it, whichever makes the lowest frame."""
        self.width = available
        ways = [(_WIDE, False), (_NARROW, False), (_NARROW, True)]
        self.left, self.above = min(ways, key=lambda way: self._tall(way[0], way[1], height))
        self.frame = self._tall(self.left, self.above, height) + 10
        self.height = self.frame + 7
        return available, self.height

    def _tall(self, left: float, above: bool, height: float) -> float:
        self.words_at = 12 if above else 48
        self.items_at = self.words_at + left + 4
        pages = [width(item.page, BODY.face, BODY.size) + _BEFORE_PAGE for item, _ in self.items if item.page]
        room = self.width - self.items_at - 26 - max(pages, default=0.0)
        tall = sum(text.wrap(room, height)[1] + _ITEM_GAP for _, text in self.items)
        if self.more is not None:
            tall += float(self.more.wrap(room, height)[1]) + 2
        words = float(self.word.wrap(left - 4, height)[1] + self.count.wrap(left - 4, height)[1])
        return max(float(tall), words + (_ABOVE if above else 0.0))

    def draw(self) -> None:
        canvas = self.canv
        bottom, top = 3.5, 3.5 + self.frame
        canvas.setLineWidth(FRAME)
        canvas.rect(0.9, bottom, self.width - 1.8, self.frame)
        renderPDF.draw(shapes.drawing(self.block.level, 28), canvas, 12, top - 34)
        y = top - 3 - (_ABOVE if self.above else 0.0)
        for part in (self.word, self.count):
            y -= part.height
            part.drawOn(canvas, self.words_at, y)
        x, y = self.items_at, top - 6
        for item, text in self.items:
            renderPDF.draw(shapes.drawing(item.level, 13), canvas, x, y - 13)
            text.drawOn(canvas, x + 20, y - text.height)
            if item.page:
                canvas.setFont(BODY.face, BODY.size)
                canvas.drawRightString(self.width - 10, y - 11, item.page)
            y -= text.height + _ITEM_GAP
        if self.more is not None:
            self.more.drawOn(canvas, x + 20, y - self.more.height)


class HeldFrame(Flowable):  # type: ignore[misc]
    """`Do not start` white on a black tile, the reason beside it in the largest type of any page."""

    def __init__(self, block: DoNotStart) -> None:
        super().__init__()
        self.parts = [paragraph(block.reason, "reason"), paragraph(said(block.leave), "reading")]

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        self.width = available
        room = available - _HELD_TILE - 28
        self.text = sum(part.wrap(room, height)[1] for part in self.parts) + 4
        self.height = max(_HELD_LEAST, self.text + 20)
        return available, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setLineWidth(FRAME_HELD)
        canvas.rect(1.5, 1.5, self.width - 3, self.height - 3)
        canvas.rect(0, 0, _HELD_TILE, self.height, stroke=0, fill=1)
        canvas.setFillGray(1)
        canvas.setFont(*DO_NOT_START)
        for n, word in enumerate(("Do not", "start")):
            canvas.drawCentredString(_HELD_TILE / 2, self.height / 2 + 6 - 32 * n, word)
        canvas.setFillGray(0)
        y = self.height / 2 + self.text / 2
        for part in self.parts:
            y -= part.height
            part.drawOn(canvas, _HELD_TILE + 14, y)
            y -= 4


class Tiles(Flowable):  # type: ignore[misc]
    """Key figures, each large enough to read from a truck's step; a failing one heavy with its octagon."""

    def __init__(self, block: KeyFigures) -> None:
        super().__init__()
        self.tiles = block.tiles
        self.parts: list[tuple[Any, list[Any]]] = []
        for tile in block.tiles:
            lines = [paragraph(said(line), "tile") for line in tile.lines]
            if tile.last:
                lines.append(paragraph(said(tile.last), "tile_last"))
            self.parts.append((paragraph(said(tile.label), "tile_label"), lines))

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        # Four across a page; fewer share a narrower place, and stretch no wider than half of one.
        self.width = available
        share = (available - (len(self.tiles) - 1) * GUTTER) / len(self.tiles)
        self.tile = share if len(self.tiles) == _PAIR else min(share, columns(3))
        room = self.tile - 16
        self.label = max(label.wrap(room, height)[1] for label, _ in self.parts)
        self.frame = self.label + 39 + max(sum(line.wrap(room, height)[1] for line in lines) for _, lines in self.parts)
        self.height = self.frame + 8
        return available, self.height

    def draw(self) -> None:
        for n, (tile, (label, lines)) in enumerate(zip(self.tiles, self.parts, strict=True)):
            self._tile(tile, label, lines, n * (self.tile + GUTTER))

    def _tile(self, tile: Tile, label: Any, lines: Sequence[Any], x: float) -> None:
        canvas = self.canv
        line = FRAME_HELD if tile.failing else RULE_FIELD
        bottom = 4.0
        canvas.setLineWidth(line)
        canvas.rect(x + line / 2, bottom + line / 2, self.tile - line, self.frame - line)
        y = bottom + self.frame - 3
        label.drawOn(canvas, x + 8, y - label.height)
        y -= self.label  # numbers stand level, whatever a label takes
        marked = tile.failing and self.tile >= _MARKED  # in a narrower one the frame alone says it
        room = self.tile - 16 - (24 if marked else 0)
        unit_width = width(tile.unit, *KEY_UNIT) + 4 if tile.unit else 0.0
        number, size = fitted(tile.number, KEY_NUMBER[0], room - unit_width, KEY_NUMBER[1], 13.0)
        y -= 26
        canvas.setFont(KEY_NUMBER[0], size)
        canvas.drawString(x + 8, y, number)
        canvas.setFont(*KEY_UNIT)
        canvas.drawString(x + 8 + width(number, KEY_NUMBER[0], size) + 4, y, tile.unit)
        if marked:
            renderPDF.draw(shapes.drawing("stop", 20), canvas, x + self.tile - 28, y + 1)
        y -= 4
        for part in lines:
            y -= part.height
            part.drawOn(canvas, x + 8, y)
