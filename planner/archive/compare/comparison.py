"""Many jobs compared one after another: by job, by day, over the season; what they say of pumps, surfaces and lots."""

from __future__ import annotations

import datetime
from array import array
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from statistics import median
from typing import Any, Final

from planner.archive.compare.differences import Difference, differences
from planner.archive.compare.figures import figures
from planner.archive.compare.observed import Observed, Serviced, observed, serviced
from planner.archive.compare.pairs import Pair
from planner.archive.compare.robust import spread
from planner.archive.compare.trends import Trend, trends

MOST_KEPT: Final = 200
"""Jobs whose figures are kept one by one where not all are asked for: the latest ones, as nobody reads more."""
_REMARKS: Final = ("deviations", "after", "callbacks", "cost")


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One job: its figures, its remarks as written, and what it cannot be held against (`planless`)."""

    job: str
    title: str
    date: datetime.date | None
    plan: str | None
    revision: int
    signed: str | None
    found: tuple[Difference, ...]
    remarks: Mapping[str, str]

    @property
    def planless(self) -> bool:
        """Whether no plan was kept that it could be held against."""
        return self.plan is None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTotal:
    """One day: how many jobs, figures outside their band of how many with one, and callbacks."""

    date: datetime.date | None
    jobs: int
    figures: int
    outside: int
    callbacks: int
    costs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureTotal:
    """One figure over all jobs: `middle` of done over planned [-] with its `spread`, and how many lie outside."""

    figure: str
    count: int
    middle: float
    spread: float
    outside: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All of it. `jobs` are those kept one by one, by date; `count` is how many were compared."""

    count: int
    planless: int
    jobs: tuple[Compared, ...]
    days: tuple[DayTotal, ...]
    season: tuple[FigureTotal, ...]
    trends: tuple[Trend, ...]


@dataclass(slots=True)
class _Day:
    jobs: int = 0
    figures: int = 0
    outside: int = 0
    callbacks: int = 0
    costs: list[str] = field(default_factory=list)


@dataclass(slots=True)
class _Sum:
    ratios: array[float] = field(default_factory=lambda: array("d"))
    outside: int = 0


def compared(pairs: Iterable[Pair], *, all_jobs: bool = False) -> Comparison:
    """Every pair, read once. `all_jobs`: keep every job's figures, not the latest alone."""
    kept: list[Compared] = []
    days: dict[datetime.date | None, _Day] = {}
    sums: dict[str, _Sum] = {}
    seen: list[Observed] = []
    services: list[Serviced] = []
    count = planless = 0
    for pair in pairs:
        found = differences(pair)
        one = _compared(pair, found)
        count += 1
        planless += one.planless
        kept.append(one)
        if not all_jobs and len(kept) >= 2 * MOST_KEPT:
            kept = _latest(kept)
        _add_day(days.setdefault(pair.date, _Day()), one)
        for difference in found:
            if difference.sign is not None and difference.planned:
                total = sums.setdefault(difference.figure, _Sum())
                total.ratios.append(difference.done / difference.planned)
                total.outside += difference.outside
        seen += observed(pair, found)
        services += [service] if (service := serviced(pair)) is not None else []
    return Comparison(
        count=count,
        planless=planless,
        jobs=tuple(sorted(kept, key=_by_date) if all_jobs else _latest(kept)),
        days=tuple(_day(date, total) for date, total in sorted(days.items(), key=_day_order)),
        season=tuple(_figure(name, sums[name]) for name in figures() if name in sums),
        trends=tuple(trends(seen, services)),
    )


def _compared(pair: Pair, found: tuple[Difference, ...]) -> Compared:
    record: Mapping[str, Any] = pair.record
    return Compared(
        job=pair.job,
        title=str(pair.plan["title"]) if pair.plan is not None else "",
        date=pair.date,
        plan=pair.number,
        revision=pair.revision,
        signed=record["signed"],
        found=found,
        remarks={name: record[name] for name in _REMARKS if record[name]},
    )


def _by_date(one: Compared) -> tuple[datetime.date, str]:
    return (one.date or datetime.date.min, one.job)


def _latest(kept: list[Compared]) -> list[Compared]:
    return sorted(kept, key=_by_date)[-MOST_KEPT:]


def _add_day(day: _Day, one: Compared) -> None:
    day.jobs += 1
    day.figures += sum(found.sign is not None for found in one.found)
    day.outside += sum(found.outside for found in one.found)
    day.callbacks += "callbacks" in one.remarks
    if "cost" in one.remarks:
        day.costs.append(one.remarks["cost"])


def _day_order(row: tuple[datetime.date | None, _Day]) -> datetime.date:
    return row[0] or datetime.date.min


def _day(date: datetime.date | None, total: _Day) -> DayTotal:
    return DayTotal(
        date=date, jobs=total.jobs, figures=total.figures, outside=total.outside, callbacks=total.callbacks,
        costs=tuple(total.costs),
    )  # fmt: skip


def _figure(name: str, total: _Sum) -> FigureTotal:
    return FigureTotal(
        figure=name,
        count=len(total.ratios),
        middle=median(total.ratios),
        spread=spread(total.ratios),
        outside=total.outside,
    )
