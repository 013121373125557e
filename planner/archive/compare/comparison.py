"""Many jobs compared one after another: by job, by day, over the season; what they say of pumps, surfaces and lots."""

from __future__ import annotations

import datetime
import gc
from array import array
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field
from statistics import median
from typing import TYPE_CHECKING, Final, Literal

from planner.archive.compare.differences import Difference, differences
from planner.archive.compare.figures import figures, most_of
from planner.archive.compare.observed import Observed, PumpLook, Serviced, looks, observed, serviced
from planner.archive.compare.pairs import Pair, Unread
from planner.archive.compare.robust import spread
from planner.archive.compare.totals import Sum, Tally, Totals, rang
from planner.archive.compare.trends import Trend, trends
from planner.contract.held import MALFORMED, hold_numbers, hold_words
from planner.frozen import dataclass

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson
    from planner.contract.record import RecordJson

MOST_KEPT: Final = 200
"""Jobs whose figures are kept one by one where not all are asked for: the latest ones, as nobody reads more."""
_REMARKS: Final[tuple[Literal["deviations", "after", "callbacks", "cost"], ...]] = (
    "deviations", "after", "callbacks", "cost",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One job: its figures, its remarks as written, and what it cannot be held against (`planless`).

    `spent` is in the company's own money, `crew` [s] of all hands together, None where not written; `kinds`: washed;
    `callback` as it was asked for, None in records of before.
    """

    job: str
    title: str
    date: datetime.date | None
    plan: str | None
    revision: int
    signed: str | None
    found: tuple[Difference, ...]
    remarks: Mapping[str, str]
    spent: float | None = None
    crew: float | None = None
    kinds: tuple[str, ...] = ()
    callback: bool | None = None

    @property
    def rang(self) -> bool:
        """Whether the customer called back about it."""
        return rang(self.remarks.get("callbacks"), self.callback)

    @property
    def planless(self) -> bool:
        """Whether no plan was kept that it could be held against."""
        return self.plan is None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTotal:
    """One day: how many jobs, figures outside their band of how many with one, callbacks, money and crew time [s]."""

    date: datetime.date | None
    jobs: int
    figures: int
    outside: int
    callbacks: int
    costs: tuple[str, ...]
    spent: float | None = None
    crew: float | None = None


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
    """All of it. `jobs` are those kept one by one, by date; `count` is how many were compared, `unread` the others."""

    count: int
    planless: int
    jobs: tuple[Compared, ...]
    days: tuple[DayTotal, ...]
    season: tuple[FigureTotal, ...]
    trends: tuple[Trend, ...]
    unread: tuple[Unread, ...] = ()
    tallies: tuple[Tally, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What one pair says, all of it, before any of it counts: small beside its plan."""

    one: Compared
    seen: list[Observed]
    looks: list[PumpLook]
    service: Serviced | None


@dataclass(slots=True)
class _Day:
    jobs: int = 0
    figures: int = 0
    outside: int = 0
    callbacks: int = 0
    costs: list[str] = field(default_factory=list)
    spent: Sum = field(default_factory=Sum)
    crew: Sum = field(default_factory=Sum)


@dataclass(slots=True)
class _Sum:
    ratios: array[float] = field(default_factory=lambda: array("d"))
    outside: int = 0


def compared(pairs: Iterable[Pair | Unread | Told], *, all_jobs: bool = False) -> Comparison:
    """Every pair, read once, or as it was read before (`told_of`). `all_jobs`: keep every job, not the latest alone."""
    kept: list[Compared] = []
    days: dict[datetime.date | None, _Day] = {}
    sums: dict[str, _Sum] = {}
    seen: list[Observed] = []
    looked: list[PumpLook] = []
    services: list[Serviced] = []
    unread: list[Unread] = []
    totals = Totals()
    count = planless = 0
    for told in _without_collecting(map(told_of, pairs)):
        if isinstance(told, Unread):
            unread.append(told)
            continue
        one, found = told.one, told.one.found
        count += 1
        planless += one.planless
        kept.append(one)
        if not all_jobs and len(kept) >= 2 * MOST_KEPT:
            kept = _latest(kept)
        _add_day(days.setdefault(one.date, _Day()), one)
        totals.add(signed=one.signed, kinds=one.kinds, callback=one.rang, spent=one.spent, crew=one.crew)
        for difference in found:
            if difference.sign is not None and difference.planned and not difference.below:
                total = sums.setdefault(difference.figure, _Sum())
                total.ratios.append(difference.done / difference.planned)
                total.outside += difference.outside
        seen += told.seen
        looked += told.looks
        services += [told.service] if told.service is not None else []
    return Comparison(
        count=count,
        planless=planless,
        jobs=tuple(sorted(kept, key=_by_date) if all_jobs else _latest(kept)),
        days=tuple(_day(date, total) for date, total in sorted(days.items(), key=_day_order)),
        season=tuple(_figure(name, sums[name]) for name in figures() if name in sums),
        trends=tuple(trends(seen, services, looked)),
        unread=tuple(unread),
        tallies=totals.told(),
    )


def _without_collecting(made: Iterator[Told | Unread]) -> Iterator[Told | Unread]:
    """The same, one by one. A plan is a tree of some thousand parts, none of which leads back: it goes when it is let
    go of, and looking for rings among all that is kept would take a seventh of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield from made
    finally:
        if was:
            gc.enable()


def told_of(pair: Pair | Unread | Told) -> Told | Unread:
    """What a pair says, or which half of it is not as it was written: one job's trouble is never the others'."""
    if isinstance(pair, Unread | Told):
        return pair
    try:
        found = differences(pair)
        told = Told(one=_compared(pair, found), seen=observed(pair, found), looks=looks(pair), service=serviced(pair))
        _hold(told)
    except MALFORMED:
        return Unread(job=pair.job, what="plan")
    return told


def _hold(told: Told) -> None:
    """Nothing where all of it can be summed and printed. Raises one of MALFORMED."""
    hold_words((told.one.title, *told.one.kinds))
    hold_numbers((told.one.spent, told.one.crew))
    for row in told.one.found:
        hold_words((row.about, row.run))
        hold_numbers((row.planned, row.done), least=0.0, most=most_of(row.figure))
        hold_numbers((row.low, row.high))
        if row.sign is not None and row.planned:
            hold_numbers((row.done / row.planned,))
    for seen in told.seen:
        hold_words((*seen.name, seen.text))
        hold_numbers((seen.value,))
    for look in told.looks:
        hold_words((*look.name, look.of))
        for one in look.readings:
            hold_words((one.of_tip,))
            hold_numbers((one.value, one.tip, one.loss, *(figure for point in one.curve for figure in point)))
    if told.service is not None:
        hold_words(told.service.name)


def _compared(pair: Pair, found: tuple[Difference, ...]) -> Compared:
    record = pair.record
    return Compared(
        job=pair.job,
        title=str(pair.plan["title"]) if pair.plan is not None else "",
        date=pair.date,
        plan=pair.number,
        revision=pair.revision,
        signed=record["signed"],
        found=found,
        remarks={name: said for name in _REMARKS if (said := record[name])},
        # Records kept before they were asked for have neither.
        spent=_spent(record),
        crew=record.get("crew_s"),
        kinds=_kinds(pair.plan) if pair.plan is not None else (),
        callback=record.get("callback"),
    )


def _spent(record: RecordJson) -> float | None:
    """What the job came to; where only its stages say, their sum."""
    whole, pump = record.get("spent"), record["pump"]
    stages = pump.get("stages", ()) if pump is not None and whole is None else ()
    sums = [spent for row in stages if (spent := row.get("spent")) is not None]
    return round(sum(sums), 2) if sums else whole


def _kinds(plan: PlanJson) -> tuple[str, ...]:
    """What was washed; of plans kept before they said so, what the mixes went on."""
    washed = {side["kind"] for side in plan["work"] if "kind" in side}
    return tuple(sorted(washed or {part["kind"] for mix in plan["mixes"] for part in mix.get("parts", ())}))


def _by_date(one: Compared) -> tuple[datetime.date, str]:
    return (one.date or datetime.date.min, one.job)


def _latest(kept: list[Compared]) -> list[Compared]:
    return sorted(kept, key=_by_date)[-MOST_KEPT:]


def _add_day(day: _Day, one: Compared) -> None:
    day.jobs += 1
    day.figures += sum(found.sign is not None for found in one.found)
    day.outside += sum(found.outside for found in one.found)
    day.callbacks += one.rang
    day.spent.add(one.spent)
    day.crew.add(one.crew)
    if "cost" in one.remarks:
        day.costs.append(one.remarks["cost"])


def _day_order(row: tuple[datetime.date | None, _Day]) -> datetime.date:
    return row[0] or datetime.date.min


def _day(date: datetime.date | None, total: _Day) -> DayTotal:
    return DayTotal(
        date=date, jobs=total.jobs, figures=total.figures, outside=total.outside, callbacks=total.callbacks,
        costs=tuple(total.costs), spent=total.spent.told, crew=total.crew.told,
    )  # fmt: skip


def _figure(name: str, total: _Sum) -> FigureTotal:
    return FigureTotal(
        figure=name,
        count=len(total.ratios),
        middle=median(total.ratios),
        spread=spread(total.ratios),
        outside=total.outside,
    )
