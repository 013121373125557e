"""The frames of the first page: the verdict, the key figures, and the list of hold points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.graphics import renderPDF
from reportlab.platypus import Flowable

from planner.packet import shapes
from planner.packet.blocks import KeyFigures, Span, Tile, Verdict, said
from planner.packet.fonts import BOLD, fitted, width
from planner.packet.paragraphs import paragraph
from planner.packet.style import FRAME, FRAME_HELD, GUTTER, KEY_NUMBER, KEY_UNIT, columns

_ITEM_GAP = 4.0
_NARROW = 150.0
_HOLD_ROW = 19.0


class VerdictFrame(Flowable):  # type: ignore[misc]
    """The shape and the word at the left, what it rests on at the right."""

    def __init__(self, block: Verdict) -> None:
        super().__init__()
        self.block = block
        self.word = paragraph(said(block.word), "verdict")
        self.count = paragraph(said(block.count), "body")
        self.items = [
            (item, paragraph((Span(text=f"{item.title}: ", strong=True), Span(text=item.text)), "body"))
            for item in block.items
        ]
        self.more = paragraph(said(block.more), "small") if block.more else None

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        self.width = available
        self.left = _NARROW
        room = available - self.left - 56 - 26
        tall = sum(text.wrap(room, height)[1] + _ITEM_GAP for _, text in self.items)
        if self.more is not None:
            tall += self.more.wrap(room, height)[1] + 2
        words = self.word.wrap(self.left - 4, height)[1] + self.count.wrap(self.left - 4, height)[1]
        self.frame = max(tall, words) + 16
        self.height = self.frame + 8
        return available, self.height

    def draw(self) -> None:
        canvas = self.canv
        bottom, top = 4.0, 4.0 + self.frame
        canvas.setLineWidth(FRAME)
        canvas.rect(0.9, bottom, self.width - 1.8, self.frame)
        renderPDF.draw(shapes.drawing(self.block.level, 30), canvas, 12, top - 42)
        y = top - 7
        for part in (self.word, self.count):
            y -= part.height
            part.drawOn(canvas, 54, y)
        x, y = self.left + 56, top - 8
        for item, text in self.items:
            renderPDF.draw(shapes.drawing(item.level, 13), canvas, x, y - 13)
            text.drawOn(canvas, x + 20, y - text.height)
            y -= text.height + _ITEM_GAP
        if self.more is not None:
            self.more.drawOn(canvas, x + 20, y - self.more.height)


class Tiles(Flowable):  # type: ignore[misc]
    """Four key figures, each large enough to read from a truck's step; a failing one heavy with its octagon."""

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
        self.width, self.tile = available, columns(3)
        room = self.tile - 16
        tallest = 0.0
        for label, lines in self.parts:
            tall = label.wrap(room, height)[1] + 34 + sum(line.wrap(room, height)[1] for line in lines)
            tallest = max(tallest, tall)
        self.frame = tallest + 12
        self.height = self.frame + 10
        return available, self.height

    def draw(self) -> None:
        for n, (tile, (label, lines)) in enumerate(zip(self.tiles, self.parts, strict=True)):
            self._tile(tile, label, lines, n * (self.tile + GUTTER))

    def _tile(self, tile: Tile, label: Any, lines: Sequence[Any], x: float) -> None:
        canvas = self.canv
        line = FRAME_HELD if tile.failing else 0.9
        bottom = 5.0
        canvas.setLineWidth(line)
        canvas.rect(x + line / 2, bottom + line / 2, self.tile - line, self.frame - line)
        y = bottom + self.frame - 6 - label.height
        label.drawOn(canvas, x + 8, y)
        room = self.tile - 16 - (24 if tile.failing else 0)
        unit_width = width(tile.unit, *KEY_UNIT) + 4 if tile.unit else 0.0
        number, size = fitted(tile.number, KEY_NUMBER[0], room - unit_width, KEY_NUMBER[1], 13.0)
        y -= 28
        canvas.setFont(KEY_NUMBER[0], size)
        canvas.drawString(x + 8, y, number)
        canvas.setFont(*KEY_UNIT)
        canvas.drawString(x + 8 + width(number, KEY_NUMBER[0], size) + 4, y, tile.unit)
        if tile.failing:
            renderPDF.draw(shapes.drawing("stop", 20), canvas, x + self.tile - 28, y + 1)
        y -= 6
        for part in lines:
            y -= part.height
            part.drawOn(canvas, x + 8, y)


class HoldPoints(Flowable):  # type: ignore[misc]
    """The hold points of the packet, by number, with the page each stands on."""

    def __init__(self, holds: Sequence[tuple[int, str, int]]) -> None:
        super().__init__()
        self.holds = list(holds)
        self.rows = [(number, paragraph(said(title), "body"), f"page {page}") for number, title, page in holds]

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        self.width = available
        for _, text, _ in self.rows:
            text.wrap(available - 26 - 52, height)
        self.height = sum(max(_HOLD_ROW, text.height) + 2 for _, text, _ in self.rows) + 3
        return available, self.height

    def split(self, available: float, height: float) -> list[Any]:
        self.wrap(available, height)
        used, fits = 3.0, 0
        for _, text, _ in self.rows:
            used += max(_HOLD_ROW, text.height) + 2
            fits += used <= height
        if not 0 < fits < len(self.rows):
            return []
        return [HoldPoints(self.holds[:fits]), HoldPoints(self.holds[fits:])]

    def draw(self) -> None:
        canvas = self.canv
        y = self.height
        for number, text, page in self.rows:
            tall = max(_HOLD_ROW, text.height)
            canvas.rect(0, y - 19, 18, 18, stroke=0, fill=1)
            canvas.setFillGray(1)
            canvas.setFont(BOLD, 12)
            canvas.drawCentredString(9, y - 14, str(number))
            canvas.setFillGray(0)
            text.drawOn(canvas, 26, y - 3 - text.height)
            canvas.setFont("Planner-Regular", 11)
            canvas.drawRightString(self.width, y - 14, page)
            y -= tall + 2
