"""What was done against what was planned, on a page or two. All its figures come as text; this sets them in place."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any, Final

from planner import __version__
from planner.frozen import dataclass
from planner.packet.blocks import Block, Picture, Section, Span, Table
from planner.packet.drawings.charts import Falls, falling
from planner.packet.pages.pages import Bound, Masthead, Paper, bind
from planner.packet.sections.reading import template
from planner.packet.wording import section_from

Row = tuple[str, ...]
_TRIES: Final = (
    # outside, season, causes, said, trends, tallies
    (60, 60, 40, 60, 60, 60),
    (40, 40, 30, 60, 40, 40),
    (24, 40, 20, 40, 30, 30),
    (12, 20, 12, 30, 24, 20),
    (8, 14, 10, 24, 20, 14),
    (4, 12, 8, 20, 16, 10),
    (0, 10, 8, 18, 14, 8),
    (0, 8, 6, 16, 12, 6),
    (0, 4, 6, 12, 8, 4),
    (0, 3, 5, 10, 6, 0),
    (0, 0, 4, 8, 4, 0),
    (0, 0, 3, 6, 0, 0),
)
"""How many rows of each, the fullest that fits `_MOST_PAGES`. A figure outside is told again by its cause, so it goes
first; causes, forecasts and what is learned (`said`) are what somebody acts on, so they go last."""
_MOST_PAGES: Final = 2


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
    falls: tuple[Falls, ...] = ()


def compared_pdf(page: ComparedPage, paper: Paper) -> bytes:
    """The page as a PDF: the same comparison gives the same bytes. Raises TemplateRefused.

    Where all of it will not go on two pages, rows are left out by _TRIES, and what is left out is counted on the page.
    """
    masthead = Masthead(
        job=page.company, line=page.line, plan="", program=f"planner {__version__}", date=page.date,
    )  # fmt: skip
    content: Callable[[], bytes] = bytes
    for most in _TRIES:
        content, bound = bind([_section(page, *most)], masthead, paper, Bound())
        if bound.total <= _MOST_PAGES:
            break
    return content()


def _section(
    page: ComparedPage, outside: int, season: int, causes: int, said: int, trends: int, tallies: int
) -> Section:
    # One job is told whole where it fits; of several only what lies outside comes here at all.
    figures = page.figures[: outside + season] if page.one else page.figures[:outside]
    kept = _worst(page.season, season)
    places: dict[str, tuple[Block, ...]] = {
        "figures": _table(page.head, figures, done=len(page.head) - 4),
        "season": _table(page.season_head, kept, done=2),
        "trends": _table(page.trend_head, page.trends[:trends], done=5),
        "falls": tuple(_falls(one) for one in page.falls[:trends]),
        "tallies": _table(page.tally_head, page.tallies[:tallies], done=2),
    }
    left = [("figure outside", "figures outside", len(page.figures) - len(figures))]
    if page.one:
        left = [("figure", "figures", len(page.figures) - len(figures))]
    left.append(("cause", "causes", len(page.causes) - causes))
    left.append(("forecast", "forecasts", len(page.forecasts) - said))
    left.append(("thing learned", "things learned", len(page.learned) - said))
    if not page.one:
        left.append(("row of the season", "rows of the season", len(page.season) - len(kept)))
        left.append(("trend", "trends", len(page.trends) - trends))
        left.append(("row of cost", "rows of cost", len(page.tallies) - tallies))
    values: dict[str, Any] = {
        "period": page.period,
        "jobs": page.jobs,
        "one": page.one,
        "outside": page.outside,
        "judged": page.judged,
        "callbacks": page.callbacks,
        "causes": list(page.causes[:causes]),
        "forecasts": list(page.forecasts[:said]),
        "learned": list(page.learned[:said]),
        "applied": page.applied,
        "shown": len(figures),
        "trends": len(page.trends[:trends]),
        "tallies": len(page.tallies[:tallies]),
        "planless": page.planless,
        "seasons": len(kept),
        "left": ", ".join(f"{count} {name if count == 1 else names}" for name, names, count in left if count > 0),
        "costs": page.costs,
    }
    return section_from("compared", template("compared"), values, places, foot="planner compare", role="owner")


def _falls(one: Falls) -> Picture:
    def paint(wide: float, tall: float) -> object:
        return falling(one, wide, tall)

    told = "; ".join(f"under {100 * share:.0f} % on {day.isoformat()}" for share, day in one.below)
    return Picture(paint=paint, heights=(110.0, 84.0), title=f"{one.name}, head left", told=f"{one.name}: {told}")


def _worst(rows: tuple[Row, ...], most: int) -> tuple[Row, ...]:
    """So many rows of the season, those with most outside, in the order they had."""
    chosen = sorted(range(len(rows)), key=lambda at: (-int(rows[at][-1].replace(",", "") or 0), at))[:most]
    return tuple(rows[at] for at in sorted(chosen))


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
