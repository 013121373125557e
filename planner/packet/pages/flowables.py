"""Blocks to things the page engine can place: one small function per kind of block."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.platypus import CondPageBreak, Spacer
from reportlab.platypus import Table as EngineTable

from planner.packet.blocks import (
    Block,
    Bullet,
    Caution,
    Cell,
    Code,
    Columns,
    DoNotStart,
    Fields,
    Gap,
    Heading,
    Hold,
    KeyFigures,
    Marked,
    NewPage,
    Picture,
    Signs,
    State,
    Step,
    StepHead,
    Table,
    Text,
    Ticks,
    Two,
    Verdict,
    WriteIn,
    said,
)
from planner.packet.pages import shapes
from planner.packet.pages.boxes import (
    BulletLine,
    CautionLine,
    HoldBox,
    MarkedFigure,
    SignRow,
    StepHeads,
    StepLine,
    TickRow,
    WriteInBox,
)
from planner.packet.pages.code import ScanCode
from planner.packet.pages.columns import Balanced, SectionHead, SideBySide, Vectors
from planner.packet.pages.fonts import REGULAR
from planner.packet.pages.frames import HeldFrame, Tiles, VerdictFrame
from planner.packet.pages.paragraphs import paragraph
from planner.packet.pages.style import MEASURE, columns
from planner.packet.pages.tables import table


def flowables(blocks: Sequence[Block], *, measure: float = MEASURE, top: bool = True) -> list[Any]:
    """The blocks in order, `measure` pt wide. A head keeps with the start of what it heads.

    `top` says that page breaks may be asked for here (not inside a column).
    """
    placed: list[Any] = []
    made = [_parts(block, measure) for block in blocks]
    begins = [n for n, block in enumerate(blocks) if isinstance(block, NewPage)]
    for n, (block, parts) in enumerate(zip(blocks, made, strict=True)):
        if top and isinstance(block, Heading):
            follow = [part for following in made[n + 1 : n + 3] for part in following if not isinstance(part, Spacer)][
                :2
            ]
            placed.append(CondPageBreak(_least(parts, measure) + sum(_least([part], measure) for part in follow)))
        if isinstance(block, NewPage):
            until = next((later for later in begins if later > n), len(blocks))
            whole = sum(float(part.wrap(measure, 0.0)[1]) for following in made[n + 1 : until] for part in following)
            placed.append(CondPageBreak(whole))
        if top and isinstance(block, Step) and block.together:
            until = next((later for later in range(n, len(blocks)) if not _by_clock(blocks[later])), len(blocks))
            whole = sum(float(part.wrap(measure, 0.0)[1]) for following in made[n:until] for part in following)
            placed.append(CondPageBreak(whole))
        placed.extend(parts)
    return placed


def _by_clock(block: Block) -> bool:
    return isinstance(block, Step) and bool(block.rounds)


def _least(parts: Sequence[Any], measure: float) -> float:
    """Height in pt of the least that must stand together of each part."""
    total = 0.0
    for part in parts:
        _, tall = part.wrap(measure, 0.0)
        total += min(tall, 90.0) if isinstance(part, (EngineTable, SideBySide, Balanced)) else min(tall, 320.0)
    return total


def _parts(block: Block, measure: float) -> list[Any]:
    match block:
        case Heading():
            return [SectionHead(paragraph(block.spans, "head"), block.columns)]
        case Text():
            return [paragraph(block.spans, block.use), Spacer(1, 3)]
        case Bullet():
            return [BulletLine(block)]
        case Caution():
            return [CautionLine(block)]
        case Step():
            return [StepLine(block)]
        case StepHead():
            return [StepHeads(block)]
        case Hold():
            return [HoldBox(block)]
        case Table():
            return [table(block, measure, _cell), Spacer(1, 3)]
        case Fields():
            return [_fields(block, measure), Spacer(1, 4)]
        case Gap():
            return [Spacer(1, block.height)]
        case NewPage():
            return []
        case KeyFigures():
            return [Tiles(block)]
        case DoNotStart():
            return [HeldFrame(block), Spacer(1, 6)]
        case Verdict():
            return [VerdictFrame(block)]
        case Picture():
            return [Vectors(block)]
        case Two():
            return [_two(block)]
        case Columns():
            half = columns(6)
            return [Balanced(flowables(block.blocks, measure=half, top=False), half)]
        case Code():
            return [ScanCode(block)]


def _two(block: Two) -> Any:
    left, right = (columns(count) for count in block.split)
    return SideBySide(
        flowables(block.left, measure=left, top=False),
        flowables(block.right, measure=right, top=False),
        (left, right),
    )


def _cell(cell: Cell, use: str, align: str) -> Any:
    match cell:
        case WriteIn():
            return WriteInBox(cell)
        case State():
            return shapes.drawing(cell.level, 12)
        case Marked():
            return MarkedFigure(cell)
        case Signs():
            return SignRow(cell)
        case Ticks():
            return TickRow(cell)
        case str():
            return paragraph(said(cell), use, align=align)
        case _:
            return paragraph(cell, use, align=align)


def _fields(block: Fields, measure: float) -> Any:
    rows = [[paragraph(said(label), "field_label"), _cell(value, "field", "left")] for label, value in block.rows]
    commands: list[tuple[Any, ...]] = [
        ("FONT", (0, 0), (-1, -1), REGULAR, 11),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), 1.0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ]
    return EngineTable(
        rows, colWidths=[block.label, measure - block.label], style=commands, splitByRow=1, splitInRow=1, hAlign="LEFT"
    )
