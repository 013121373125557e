"""What a pump is taken down by: lines to write on, stage by stage."""

from __future__ import annotations

from planner.packet.blocks import Cell, Span, Table, WriteIn
from planner.packet.sections.yard_words import FALLBACK_ROWS
from planner.plan.yard_model import YardPlan

_TALL = 16.5
_MOST_KNOWN = 40  # letters of a spacer that was written before


def rows_of(yard: YardPlan) -> int:
    """How many lines there are to write on."""
    known = yard.stages if yard.pump.kind == "centrifugal" else None
    return known or max(FALLBACK_ROWS, len(yard.spacers))


def _numbered(yard: YardPlan) -> bool:
    """True where each line is a stage whose number is known."""
    return yard.pump.kind == "centrifugal" and yard.stages is not None


def _row(yard: YardPlan, number: int, count: int) -> tuple[Cell, ...]:
    """A stage's number, what is known of its spacer, and its boxes; a part to name where there are no stages."""
    name = f"pump.stages.{number}"
    called = f"Stage {number}" if yard.pump.kind == "centrifugal" else f"Line {number}"
    known = yard.spacers[number - 1] if number <= len(yard.spacers) else ""
    known = known if len(known) <= _MOST_KNOWN else f"{known[: _MOST_KNOWN - 1].rstrip()}…"
    first: Cell
    if _numbered(yard):
        ends = {1: "1 root", count: f"{count} clip"} if count > 1 else {}
        first = (Span(text=ends.get(number, f"{number}"), strong=number in (1, count)),)
    else:
        first = (Span(text=f"{number}"),)

    def box(key: str, about: str, planned: str = "") -> WriteIn:
        return WriteIn(
            width=1000, height=_TALL, name=f"{name}.{key}", label=f"{called}: {about}", planned=planned
        )  # fmt: skip

    boxes: list[Cell] = []
    if yard.pump.kind == "centrifugal":
        boxes = [box("spacer", "spacer", known), box("plate", "plate")]
        if not _numbered(yard):
            boxes.insert(0, box("part", "which stage it is"))
        else:
            boxes.insert(2, box("part", "other part"))
    else:
        boxes = [box("part", "which part it is"), box("plate", "how it was found")]
    boxes.append(box("cost", "cost"))
    return (first, *((known,) if yard.spacers and yard.pump.kind == "centrifugal" else ()), *boxes)


def _head(yard: YardPlan) -> tuple[tuple[str, ...], tuple[float, ...]]:
    """The head of the lines and their widths."""
    if yard.pump.kind != "centrifugal":
        return ("", "Part", "Found", "Cost"), (14.0, 80.0, 80.0, 40.0)
    known = (("Was",), (40.0,)) if yard.spacers else ((), ())
    if _numbered(yard):
        return ("Stage", *known[0], "Spacer", "Plate", "Part", "Cost"), (36.0, *known[1], 48.0, 48.0, 44.0, 38.0)
    return ("", *known[0], "Stage", "Spacer", "Plate", "Cost"), (14.0, *known[1], 44.0, 50.0, 50.0, 40.0)


def stages(yard: YardPlan) -> Table:
    """The lines, one a stage from the root on, down one half and then the other."""
    head, widths = _head(yard)
    count = rows_of(yard)
    half = (count + 1) // 2
    rows = []
    for n in range(1, half + 1):
        right = _row(yard, n + half, count) if n + half <= count else ("",) * len(head)
        rows.append((*_row(yard, n, count), "", *right, ""))
    return Table(
        head=(*head, "", *head, ""), rows=tuple(rows), widths=(*widths, 9.0, *widths, 6.0), tight=True, abreast=2
    )  # fmt: skip
