"""Tables with their rules and white: read ones, and tight ones with boxes to write in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from reportlab.lib.colors import Color, black
from reportlab.platypus import Table as EngineTable

from planner.packet.blocks import Cell, Table, said
from planner.packet.pages.fonts import REGULAR
from planner.packet.pages.paragraphs import paragraph
from planner.packet.pages.style import GREY_ROW, RULE_HEAD, RULE_ROW

_FEW = 2
_HALF = 300.0  # pt
_ROW_GREY = Color(GREY_ROW, GREY_ROW, GREY_ROW)


def table(block: Table, measure: float, cell: Callable[[Cell, str, str], Any]) -> Any:
    """A table whose head repeats; its columns are shares of the measure, so it is never too wide.

    `cell` makes what stands in a cell from the cell, its use of type and its alignment.
    """
    whole = sum(block.widths)
    widths = [measure * share / whole for share in block.widths]
    align = ["right" if n in block.right else "left" for n in range(len(widths))]
    rows = []
    if block.head:
        rows.append([paragraph(said(head), "table_head", align=align[n]) for n, head in enumerate(block.head)])
    rows += [
        [cell(one, "act" if n in block.act else "cell", align[n]) for n, one in enumerate(row)] for row in block.rows
    ]
    commands: list[tuple[Any, ...]] = [
        ("FONT", (0, 0), (-1, -1), REGULAR, 11),  # else the engine drags its own typeface in
        *(_tight(bool(block.head)) if block.tight else _read(bool(block.head))),
        *(("SPAN", (n, 0), (n + 1, 0)) for n in _over_two(block)),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        # The last row never goes to the next page by itself.
        *([("NOSPLIT", (0, -2), (-1, -1))] if len(block.rows) > _FEW else []),
        *(("SPAN", (0, n + bool(block.head)), (-1, n + bool(block.head))) for n in sorted(block.across)),
    ]
    return Rows(
        rows, colWidths=widths, repeatRows=1 if block.head else 0, style=commands, splitByRow=1, splitInRow=1,
        hAlign="LEFT", spaceBefore=0,
    )  # fmt: skip


def _over_two(block: Table) -> list[int]:
    """The columns whose head stands over the box beside them too."""
    if not block.tight or block.abreast > 1:
        return []
    return [n for n in block.right if n + 1 < len(block.head) and block.head[n] and not block.head[n + 1]]


class Rows(EngineTable):  # type: ignore[misc]
    """The engine's table; it tears a row only where that could fill half a page by itself."""

    _measured: float | None = None

    def split(self, wide: float, tall: float) -> Any:
        """Called by the engine where it does not fit."""
        self.splitInRow = int(max(self._rowHeights) > _HALF)
        return super().split(wide, tall)

    def _calc(self, available: float, height: float) -> None:
        # Its height is asked again and again. No cell spans rows, so the height that is left has no part in it.
        if self._measured != available:
            super()._calc(available, height)
            self._measured = available


def _read(headed: bool) -> list[tuple[Any, ...]]:
    head: list[tuple[Any, ...]] = [
        ("LINEBELOW", (0, 0), (-1, 0), RULE_HEAD, black),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
    ]
    return [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, int(headed)), (-1, -1), RULE_ROW, _ROW_GREY),
        *(head if headed else ()),
        ("TOPPADDING", (0, 0), (-1, -1), 0.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
        ("LEFTPADDING", (0, 0), (-1, -1), 4),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5),
    ]


def _tight(headed: bool) -> list[tuple[Any, ...]]:
    head: list[tuple[Any, ...]] = [
        ("LINEBELOW", (0, 0), (-1, 0), RULE_HEAD, black),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("BOTTOMPADDING", (0, 0), (-1, 0), 2),
    ]
    return [
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("TOPPADDING", (0, 0), (-1, -1), 0.75),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0.75),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        *(head if headed else ()),
    ]
