"""A comparison as its one page: the figures in words, the worst first."""

from __future__ import annotations

from collections.abc import Sequence

from planner.archive.compare.comparison import Comparison
from planner.archive.compare.learn import Correction
from planner.archive.compare.trends import Forecast
from planner.commands import compare_words as words
from planner.inputs.models import Company
from planner.packet.compared import ComparedPage, compared_pdf
from planner.packet.pages import Paper
from planner.units import System

_LONGEST = 300
"""Characters of what was written as cost; more is a list of its own."""


def page_of(
    found: Comparison, ahead: Sequence[Forecast], learned: Sequence[Correction], company: Company, *,
    system: System, paper: Paper, applied: bool = False,
) -> bytes:  # fmt: skip
    """The page as a PDF. Raises TemplateRefused."""
    one = found.count == 1
    latest = list(reversed(found.jobs))
    head: tuple[str, ...] = words.FIGURE_HEAD
    if one:
        figures = [words.figure_row(row, system, company.percent) for row in found.jobs[0].found]
    else:
        head, figures = ("job", *head), words.outside_rows(latest, system, company.percent)
    dates = [day.date for day in found.days if day.date is not None]
    days = f"{dates[0].isoformat()} to {dates[-1].isoformat()}" if len(dates) > 1 else "".join(map(str, dates))
    costs = words.written_costs(found.days)
    causes = words.cause_lines(found.jobs[0]) if one else words.season_causes(found.jobs)
    return compared_pdf(
        ComparedPage(
            company=company.name,
            line=f"{found.jobs[0].job}  {found.jobs[0].title}" if one else f"{found.count:,} jobs",
            period=days or "no date",
            jobs="1 job" if one else f"{found.count:,} jobs",
            one=one,
            judged=sum(day.figures for day in found.days),
            outside=sum(day.outside for day in found.days),
            planless=found.planless,
            callbacks=sum(day.callbacks for day in found.days),
            date=dates[-1] if dates else None,
            head=head,
            figures=tuple(figures),
            season_head=words.SEASON_HEAD,
            season=tuple(words.season_row(row) for row in found.season),
            trend_head=words.TREND_HEAD,
            trends=tuple(words.trend_row(row) for row in words.told_trends(found)),
            tally_head=words.TALLY_HEAD,
            tallies=tuple(words.tally_row(row) for row in words.told_tallies(found)),
            causes=tuple(causes),
            forecasts=tuple(words.forecast_line(row) for row in ahead),
            learned=tuple(words.correction_line(row) for row in learned),
            applied=applied,
            costs=costs if len(costs) <= _LONGEST else f"{costs[:_LONGEST].rstrip()} ...",
        ),
        paper,
    )
