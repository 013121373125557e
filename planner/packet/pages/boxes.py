"""Things a hand goes to: a step with its box, a hold with its initials, a box to write in."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from reportlab.graphics import renderPDF
from reportlab.platypus import Flowable

from planner.packet.blocks import (
    Bullet,
    Caution,
    Hold,
    Marked,
    Signs,
    Span,
    Spans,
    Step,
    StepHead,
    Ticks,
    WriteIn,
    said,
)
from planner.packet.drawings.symbols import sign
from planner.packet.fields import draw_field, draw_tick, initials_of
from planner.packet.pages import shapes
from planner.packet.pages.columns import COLUMNS
from planner.packet.pages.fonts import BOLD, SEMIBOLD, fitted, in_figures, width
from planner.packet.pages.paragraphs import paragraph
from planner.packet.pages.style import FRAME, GAP_STEP, RULE_FIELD, RULE_HEAD, RULE_ROW

BOX = 14.0
BOX_LINE = 1.3
STEP_INDENT = 22.0
CAUTION_INDENT = 24.0
CAUTION_BAR = 3.0
TILE = 58.0
INITIALS = (46.0, 24.0)
MOST_TICKS = 3
HOLD_HEIGHT = 54.0
ACROSS = 400.0  # pt of measure from which on a step has columns of its own
NUMBERED = 36.0  # pt where the words of a step with a number begin
GUARDED = 14.0  # pt by which a guarded step is narrower than its frame
BESIDE = 80.0  # pt that what to do else needs beside a box
ROUND = (119.0, 20.0)  # pt of a round's box with its clock and word


class WriteInBox(Flowable):  # type: ignore[misc]
    """An empty box for a pen, and for a keyboard where it has a name."""

    def __init__(self, block: WriteIn) -> None:
        super().__init__()
        self.block = block

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        self.width, self.height = min(self.block.width, available), self.block.height
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setLineWidth(RULE_FIELD)
        self.canv.rect(0.4, 0.4, self.width - 0.8, self.height - 0.8)
        draw_field(self.canv, self.block, self.width, self.height)


class SignRow(Flowable):  # type: ignore[misc]
    """Hazard signs side by side, smaller where the cell is narrow."""

    def __init__(self, block: Signs) -> None:
        super().__init__()
        self.block = block

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        count = max(len(self.block.names), 1)
        self.size = min(self.block.size, available / count - 1)
        self.width, self.height = available, self.size + 1 if self.block.names else 0.0
        return available, self.height

    def draw(self) -> None:
        for n, name in enumerate(self.block.names):
            renderPDF.draw(sign(name, self.size), self.canv, n * (self.size + 1), 0.5)


class TickRow(Flowable):  # type: ignore[misc]
    """A box for each time, or how many times and a box to count them in."""

    def __init__(self, block: Ticks) -> None:
        super().__init__()
        self.block, self.count = block, block.count

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        self.width, self.height = available, BOX + 2
        return available, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setLineWidth(BOX_LINE)
        for n in range(self.count if self.count <= MOST_TICKS else 0):
            left = 0.7 + n * (BOX + 5)
            canvas.rect(left, 1, BOX, BOX)
            draw_tick(canvas, f"{self.block.tick}.{n + 1}", f"Done, {n + 1} of {self.count}", left, 1, BOX)
        if self.count > MOST_TICKS:
            canvas.rect(0.7, 1, 2 * BOX, BOX)
            counted = WriteIn(name=f"{self.block.tick}.count", label="Done, times", planned=str(self.count))
            draw_field(canvas, counted, 2 * BOX + 1.4, BOX + 2)
            canvas.setFont(BOLD, 11)
            canvas.drawString(2 * BOX + 4, 4, f"x {self.count}")


class MarkedFigure(Flowable):  # type: ignore[misc]
    """A figure at the right of its cell, its shape before it, framed where the plan was made with it."""

    def __init__(self, block: Marked) -> None:
        super().__init__()
        self.block = block

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        self.width, self.height = available, 14.0
        return available, self.height

    def draw(self) -> None:
        canvas, block = self.canv, self.block
        shape = 14.0 if block.level is not None else 0.0
        for room in (self.width - shape - 3, self.width):  # the shape leans into the white before its column
            if block.framed:
                face, (text, size) = BOLD, fitted(block.text, BOLD, room, 11.0)
            else:
                text, face, size = in_figures(block.text, room)
            if text and not text.endswith("…"):  # a figure is never cut
                break
        wide = width(text, face, size)
        canvas.setFont(face, size)
        canvas.drawRightString(self.width - 3, 3, text)
        if block.level is not None:
            renderPDF.draw(shapes.drawing(block.level, 10), canvas, self.width - 3 - wide - 14, 2)
        if block.framed:
            canvas.setLineWidth(RULE_HEAD)
            canvas.rect(self.width - wide - shape - 7, -1, wide + shape + 7, 15)


class CautionLine(Flowable):  # type: ignore[misc]
    """A bar, a triangle, and what may go wrong."""

    def __init__(self, block: Caution) -> None:
        super().__init__()
        self.text = paragraph(block.spans, "caution")

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        _, tall = self.text.wrap(available - CAUTION_INDENT, height)
        self.width, self.height = available, max(tall + 1, 14.0)
        return available, self.height + 1

    def draw(self) -> None:
        canvas = self.canv
        canvas.rect(0, 1, CAUTION_BAR, self.height, stroke=0, fill=1)
        renderPDF.draw(shapes.drawing("caution", 13), canvas, 8, self.height - 13)
        self.text.drawOn(canvas, CAUTION_INDENT, self.height - self.text.height)


class StepLine(Flowable):  # type: ignore[misc]
    """One action with its box, and its caution under it: one thing, so no page break parts them.

    Across a page it has its number before it, what it should show and what to do else beside it, a rule under it.
    """

    def __init__(self, block: Step, *, framed: bool = False, part: int = 0) -> None:
        super().__init__()
        self.block, self.framed, self.part = block, framed, part  # the part of one that runs on over pages, from 0
        self.text = paragraph(block.spans, "step")
        self.should = paragraph(block.should, "should") if block.should else None
        self.differs = paragraph(block.differs, "differs") if block.differs else None
        self.caution = CautionLine(Caution(spans=block.caution)) if block.caution else None
        self.narrow = paragraph(_in_line(block), "step") if block.should or block.differs else self.text

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        self.width, self.wide = available, available >= ACROSS
        self.indent = NUMBERED if self.block.number else STEP_INDENT
        self.shown = self.text if self.wide else self.narrow
        beside = [part for part in (self.should, self.differs) if part is not None and self.wide]
        at_should, at_differs = self.block.columns
        room = (at_should - 8 if self.should is not None else at_differs - 8) if beside else available
        write = self.block.write
        self.write_at, tall, ends = available, 0.0, available
        if write is not None:
            at_end = self.wide and available - at_differs >= write.width + BESIDE
            self.write_at, tall = (available if at_end else room) - write.width, write.height
            room, ends = (room, self.write_at - 4) if at_end else (self.write_at - 4, available)
        tall = max(tall, self.shown.wrap(room - self.indent, height)[1])
        for part, at in ((self.should, at_should), (self.differs, at_differs)):
            if part is not None and self.wide:
                end = at_differs - 6 if part is self.should and self.differs is not None else ends
                tall = max(tall, part.wrap(end - at, height)[1])
        self.text_height = max(tall, BOX)
        self.caution_height = self.caution.wrap(available - self.indent, height)[1] + 1 if self.caution else 0.0
        self.abreast = max(1, int((available - self.indent) // ROUND[0]))
        rounds = -(-len(self.block.rounds) // self.abreast) * ROUND[1]
        self.height = self.text_height + self.caution_height + rounds + (GAP_STEP if self.wide else GAP_STEP / 2)
        return available, self.height

    def split(self, available: float, height: float) -> list[Any]:
        """Times at which it is done again run on over the page, under the same step; nothing else of it does."""
        self.wrap(available, height)
        rows = int((height - self.first()) // ROUND[1]) + 1 if self.breaks() else 0
        here = rows * self.abreast
        if rows < 1 or here >= len(self.block.rounds):
            return []
        rest = replace(self.block, rounds=self.block.rounds[here:])
        return [
            StepLine(replace(self.block, rounds=self.block.rounds[:here]), part=self.part),
            StepLine(rest, part=self.part + 1),
        ]

    def breaks(self) -> bool:
        """Whether it has rows of rounds that may run on, once it is wrapped."""
        return len(self.block.rounds) > self.abreast and not self.framed

    def first(self) -> float:
        """Height in pt of it with its first row of rounds."""
        gap = GAP_STEP if self.wide else GAP_STEP / 2
        return float(self.text_height + self.caution_height + ROUND[1] + gap)

    def draw(self) -> None:
        canvas, block = self.canv, self.block
        top = self.height - (GAP_STEP if self.wide else GAP_STEP / 2) / 2
        canvas.setLineWidth(BOX_LINE)
        canvas.rect(0.7, top - 1 - BOX, BOX, BOX)
        name = f"{block.tick}_on{self.part}" if block.tick and self.part else block.tick
        draw_tick(canvas, name, self._about(), 0.7, top - 1 - BOX, BOX)
        if self.indent == NUMBERED:
            canvas.setFont(SEMIBOLD, 11)
            canvas.drawRightString(NUMBERED - 5, top - 12, str(block.number))
        self.shown.drawOn(canvas, self.indent, top - self.shown.height)
        if self.wide:
            for part, at in zip((self.should, self.differs), block.columns, strict=True):
                if part is not None:
                    part.drawOn(canvas, at, top - part.height - (0 if part is self.should else 1))
        if block.write is not None:
            self._write(block.write, top)
        at = top - self.text_height
        if self.caution:
            at -= self.caution_height
            self.caution.drawOn(canvas, self.indent, at)
        self._rounds(at)
        if self.wide and not self.framed:
            canvas.setLineWidth(RULE_ROW)
            canvas.line(0, 0.4, self.width, 0.4)

    def _write(self, write: WriteIn, top: float) -> None:
        box = WriteInBox(write)
        box.wrap(write.width, write.height)
        box.drawOn(self.canv, self.write_at, top - write.height)

    def _about(self) -> str:
        """What its field says of it: its number and its first words."""
        words = "".join(span.text for span in self.block.spans)
        return f"{self.block.number}. {words}" if self.block.number else words

    def _rounds(self, top: float) -> None:
        canvas = self.canv
        for n, (clock, note) in enumerate(self.block.rounds):
            x, y = self.indent + n % self.abreast * ROUND[0], top - (n // self.abreast + 1) * ROUND[1] + 4
            canvas.setLineWidth(BOX_LINE)
            canvas.rect(x + 0.7, y, BOX - 1, BOX - 1)
            if self.block.tick:
                name = f"{self.block.tick}_{re.sub('[^0-9]', '', clock)}"
                draw_tick(canvas, name, f"{self._about()}, {clock}", x + 0.7, y, BOX - 1)
            canvas.setFont(BOLD, 11)
            canvas.drawString(x + BOX + 5, y + 2.5, clock)
            if note:
                at = x + BOX + 9 + width(clock, BOLD, 11)
                text, face, size = in_figures(note, ROUND[0] - BOX - 13 - width(clock, BOLD, 11))
                canvas.setFont(face, size)
                canvas.drawString(at, y + 2.5, text)


def _in_line(block: Step) -> Spans:
    """A step's words with what it should show and what to do else behind them, where there is no room for columns."""
    spans = list(block.spans)
    if block.should:
        first = block.should[0]
        begun = replace(first, text=first.text[:1].upper() + first.text[1:])
        spans += [Span(text=" "), begun, *block.should[1:], Span(text=".")]
    if block.differs:
        spans += [Span(text=" "), *block.differs]
    return tuple(spans)


class StepHeads(Flowable):  # type: ignore[misc]
    """The heads of the columns of steps."""

    def __init__(self, block: StepHead) -> None:
        super().__init__()
        self.columns = block.columns

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        self.width, self.height = available, 16.0
        return available, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setFont(SEMIBOLD, 10)
        for words, at in zip(("Do", *COLUMNS), (NUMBERED, *self.columns), strict=True):
            canvas.drawString(at, 5, words)
        canvas.setLineWidth(RULE_HEAD)
        canvas.line(0, 1, self.width, 1)


class BulletLine(Flowable):  # type: ignore[misc]
    """A line of a list that is read, not ticked."""

    def __init__(self, block: Bullet) -> None:
        super().__init__()
        self.text = paragraph(block.spans, "body")

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        _, tall = self.text.wrap(available - STEP_INDENT, height)
        self.width, self.height = available, tall + 2
        return available, self.height

    def draw(self) -> None:
        self.canv.rect(1, self.height - 12, 6, 6, stroke=0, fill=1)
        self.text.drawOn(self.canv, STEP_INDENT, self.height - 1 - self.text.height)


class HoldBox(Flowable):  # type: ignore[misc]
    """A stop before an act, in one frame with it."""

    def __init__(self, block: Hold) -> None:
        super().__init__()
        self.block = block
        self.title = paragraph(said(block.title), "hold_head")
        self.text = paragraph(block.questions, "hold")
        self.guarded = StepLine(block.guards, framed=True) if block.guards is not None else None

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        self.room = available - TILE - 22 - len(self.block.who) * (INITIALS[0] + 8)
        told = self.title.wrap(self.room, height)[1] + self.text.wrap(self.room, height)[1]
        self.asked = max(HOLD_HEIGHT, told + 10)
        self.guard = self.guarded.wrap(available - GUARDED, height)[1] + 2 if self.guarded is not None else 0.0
        self.width, self.frame = available, self.asked + self.guard
        self.height = self.frame + 8
        return available, self.height

    def draw(self) -> None:
        canvas = self.canv
        bottom = 4.0
        canvas.setLineWidth(FRAME)
        canvas.rect(0.9, bottom, self.width - 1.8, self.frame)
        canvas.rect(0, bottom + self.guard, TILE, self.asked + 0.9, stroke=0, fill=1)
        if self.guarded is not None:
            canvas.rect(0, bottom, 5, self.guard, stroke=0, fill=1)
            canvas.setLineWidth(RULE_FIELD)
            canvas.line(TILE, bottom + self.guard, self.width, bottom + self.guard)
            self.guarded.drawOn(canvas, GUARDED / 2 + 2, bottom + 1)
        canvas.setFillGray(1)
        middle = bottom + self.guard + self.asked / 2
        canvas.setFont(BOLD, 13)
        canvas.drawCentredString(TILE / 2, middle + 10, "Stop")
        canvas.drawCentredString(TILE / 2, middle - 3, "point")
        canvas.setFont(BOLD, 20)
        canvas.drawCentredString(TILE / 2, middle - 23, str(self.block.number))
        canvas.setFillGray(0)
        top = bottom + self.frame - 4
        self.title.drawOn(canvas, TILE + 10, top - self.title.height)
        self.text.drawOn(canvas, TILE + 10, top - self.title.height - self.text.height)
        self._initials(middle)

    def _initials(self, middle: float) -> None:
        canvas = self.canv
        canvas.setFont(SEMIBOLD, 10)
        canvas.setLineWidth(RULE_HEAD)
        left = self.width - 6 - len(self.block.who) * (INITIALS[0] + 8) + 8
        low = middle - INITIALS[1] / 2 + 5
        for who, box in zip(self.block.who, initials_of(self.block), strict=True):
            canvas.rect(left, low, *INITIALS)
            canvas.saveState()
            canvas.translate(left, low)
            draw_field(canvas, box, *INITIALS)
            canvas.restoreState()
            canvas.drawCentredString(left + INITIALS[0] / 2, middle - INITIALS[1] / 2 - 6, who)
            left += INITIALS[0] + 8
