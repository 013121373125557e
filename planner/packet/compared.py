"""One page of what was done against what was planned. All its figures come as text; this sets them in their places."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any, Final

from planner import __version__
from planner.packet.blocks import Block, Section, Span, Table
from planner.packet.findings import Held
from planner.packet.pages import Bound, Masthead, Paper, bind
from planner.packet.sections.reading import template
from planner.packet.wording import section_from

Row = tuple[str, ...]
_TRIES: Final = (
    (24, 9, 14),
    (12, 7, 10),
    (8, 6, 9),
    (6, 6, 8),
    (4, 5, 7),
    (2, 4, 6),
    (0, 4, 5),
    (0, 4, 4),
    (0, 3, 3),
    (0, 1, 2),
)
"""How many figures, causes and trends: the fullest that fits one page. A figure is told again by its cause."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedPage:
    """What the page says. `figures` are rows under `head`, the worst first; `bold` names the column that is done."""

    company: str
    line: str
    period: str
    jobs: str
    one: bool
    judged: int
    outside: int
    callbacks: int
    planless: int
    date: datetime.date | None
    head: Row
    figures: tuple[Row, ...]
    season_head: Row
    season: tuple[Row, ...]
    trend_head: Row
    trends: tuple[Row, ...]
    tally_head: Row
    tallies: tuple[Row, ...]
    causes: tuple[str, ...]
    forecasts: tuple[str, ...]
    learned: tuple[str, ...]
    applied: bool
    costs: str


def compared_pdf(page: ComparedPage, paper: Paper) -> bytes:
    """The page as a PDF: the same comparison gives the same bytes. Raises TemplateRefused.

    Where all of it will not go on one page, figures, causes and trends are left out from the end; figures are counted.
    """
    masthead = Masthead(
        job=page.company, line=page.line, plan="", program=f"planner {__version__}", date=page.date,
        held=Held(everything=False, runs=frozenset()),
    )  # fmt: skip
    content = b""
    for rows, causes, trends in _TRIES:
        content, bound = bind([_section(page, rows, causes, trends)], masthead, paper, Bound())
        if bound.total <= 1:
            break
    return content


def _section(page: ComparedPage, rows: int, causes: int, trends: int) -> Section:
    # One job is told whole where it fits; of several only what lies outside comes here at all.
    figures = page.figures[: rows + 8] if page.one else page.figures[:rows]
    places: dict[str, tuple[Block, ...]] = {
        "figures": _table(page.head, figures, done=len(page.head) - 4),
        "season": _table(page.season_head, page.season, done=2),
        "trends": _table(page.trend_head, page.trends[:trends], done=5),
        "tallies": _table(page.tally_head, page.tallies[:trends], done=2),
    }
    values: dict[str, Any] = {
        "period": page.period,
        "jobs": page.jobs,
        "one": "yes" if page.one else "no",
        "outside": page.outside,
        "judged": page.judged,
        "callbacks": page.callbacks,
        "causes": list(page.causes[:causes]),
        "forecasts": list(page.forecasts[:causes]),
        "learned": list(page.learned[:trends]),
        "applied": "yes" if page.applied else "no",
        "shown": len(figures),
        "trends": len(page.trends[:trends]),
        "tallies": len(page.tallies[:trends]),
        "planless": page.planless,
        "more": len(page.figures) - len(figures),
        "costs": page.costs,
    }
    return section_from("compared", template("compared"), values, places, foot="planner compare", owner=True)


def _table(head: Row, rows: tuple[Row, ...], *, done: int) -> tuple[Block, ...]:
    """Numbers to the right, the done one strong; columns as wide as what stands in them."""
    if not rows:
        return ()
    longest = [max(len(row[at]) for row in (head, *rows)) for at in range(len(head))]
    numbers = frozenset(at for at, name in enumerate(head) if name not in ("", "figure", "job", "as planned is"))
    return (
        Table(
            head=head,
            rows=tuple(
                tuple((Span(text=cell, strong=True),) if at == done else cell for at, cell in enumerate(row))
                for row in rows
            ),
            widths=tuple(
                max(8.0, (1.35 if at in numbers else 0.95) * min(float(size), 24.0)) + 2.0
                for at, size in enumerate(longest)
            ),
            right=numbers,
        ),
    )
