"""Things a hand goes to: a step with its box, a hold with its initials, a box to write in."""

from __future__ import annotations

from typing import Any

from reportlab.graphics import renderPDF
from reportlab.platypus import Flowable

from planner.packet import shapes
from planner.packet.blocks import Bullet, Caution, Hold, Marked, Signs, Span, Step, WriteIn
from planner.packet.drawings.ghs import sign
from planner.packet.fields import draw_field
from planner.packet.fonts import BOLD, REGULAR, SEMIBOLD, fitted, width
from planner.packet.paragraphs import paragraph
from planner.packet.style import FRAME, GAP_STEP, RULE_FIELD, RULE_HEAD

BOX = 13.0
BOX_LINE = 1.3
STEP_INDENT = 22.0
CAUTION_INDENT = 24.0
CAUTION_BAR = 3.0
TILE = 58.0
INITIALS = (46.0, 24.0)
HOLD_HEIGHT = 33.0


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
        face = BOLD if block.framed else REGULAR
        shape = 14.0 if block.level is not None else 0.0
        text, size = fitted(block.text, face, self.width - shape - 3, 11.0)
        if not text or text.endswith("…"):  # the shape leans into the white before its column; a figure is never cut
            text, size = fitted(block.text, face, self.width, 11.0)
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
    """One action with its box, and its caution under it: one thing, so no page break parts them."""

    def __init__(self, block: Step) -> None:
        super().__init__()
        self.held = block.held
        self.text = paragraph(block.spans, "step")
        self.caution = CautionLine(Caution(spans=block.caution)) if block.caution else None

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        room = available - STEP_INDENT
        _, self.text_height = self.text.wrap(room, height)
        self.text_height = max(self.text_height, BOX)
        self.caution_height = self.caution.wrap(room, height)[1] + 1 if self.caution else 0.0
        self.width = available
        self.height = self.text_height + self.caution_height + GAP_STEP
        return available, self.height

    def draw(self) -> None:
        canvas = self.canv
        top = self.height - GAP_STEP / 2
        canvas.setLineWidth(BOX_LINE)
        if self.held:
            canvas.line(1, top - 9, BOX - 1, top - 9)
        else:
            canvas.rect(0.7, top - 1 - BOX, BOX, BOX)
        self.text.drawOn(canvas, STEP_INDENT, top - self.text.height)
        if self.caution:
            self.caution.drawOn(canvas, STEP_INDENT, top - self.text_height - self.caution_height)


class BulletLine(Flowable):  # type: ignore[misc]
    """A line of a list that is read, not ticked."""

    def __init__(self, block: Bullet) -> None:
        super().__init__()
        self.text = paragraph(block.spans, "reading")

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        _, tall = self.text.wrap(available - STEP_INDENT, height)
        self.width, self.height = available, tall + 2
        return available, self.height

    def draw(self) -> None:
        self.canv.rect(1, self.height - 12, 6, 6, stroke=0, fill=1)
        self.text.drawOn(self.canv, STEP_INDENT, self.height - 1 - self.text.height)


class HoldBox(Flowable):  # type: ignore[misc]
    """A stop before an act. `seen` is told the number, name and page when it is drawn."""

    def __init__(self, block: Hold, seen: Any = None) -> None:
        super().__init__()
        self.block, self.seen = block, seen
        self.text = paragraph((Span(text=f"{block.title}: ", strong=True), *block.questions), "hold")

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        self.who = [(who, width(who, SEMIBOLD, 10)) for who in self.block.who]
        self.room = available - TILE - 18 - sum(wide + INITIALS[0] + 12 for _, wide in self.who)
        _, tall = self.text.wrap(self.room, height)
        self.width, self.frame = available, max(HOLD_HEIGHT, tall + 5)
        self.height = self.frame + 6
        return available, self.height

    def draw(self) -> None:
        canvas = self.canv
        bottom = 3.0
        canvas.setLineWidth(FRAME)
        canvas.rect(0.9, bottom, self.width - 1.8, self.frame)
        canvas.rect(0, bottom - 0.9, TILE, self.frame + 1.8, stroke=0, fill=1)
        canvas.setFillGray(1)
        middle = bottom + self.frame / 2
        canvas.setFont(BOLD, 10.5)
        canvas.drawCentredString(TILE / 2, middle + 5, "Stop point")
        canvas.setFont(BOLD, 17)
        canvas.drawCentredString(TILE / 2, middle - 13, str(self.block.number))
        canvas.setFillGray(0)
        self.text.drawOn(canvas, TILE + 10, middle - self.text.height / 2 + 1)
        self._initials(middle)
        if self.seen is not None:
            self.seen(self.block.number, self.block.title, canvas.getPageNumber())

    def _initials(self, middle: float) -> None:
        canvas = self.canv
        canvas.setFont(SEMIBOLD, 10)
        canvas.setLineWidth(RULE_FIELD)
        left = self.width
        for who, wide in reversed(self.who):
            left -= INITIALS[0] + 8
            if self.block.held:
                canvas.line(left + 8, middle, left + INITIALS[0] - 8, middle)
            else:
                canvas.rect(left, middle - INITIALS[1] / 2, *INITIALS)
            left -= wide + 4
            canvas.drawString(left, middle - 3, who)
