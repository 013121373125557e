"""A comparison as JSON: SI, the unit by the figure's dimension, what does not apply null."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import TypedDict

from planner.archive.compare.causes import words
from planner.archive.compare.comparison import Compared, Comparison
from planner.archive.compare.differences import Difference
from planner.archive.compare.figures import figures
from planner.archive.compare.kept import CorrectionJson, KeptCorrectionJson, correction_json
from planner.archive.compare.learn import Correction
from planner.archive.compare.totals import Tally
from planner.archive.compare.trends import Forecast, Trend
from planner.faults import FaultJson

FORMAT = 1


class DifferenceJson(TypedDict):
    figure: str
    about: str | None
    run: str | None
    dimension: str
    planned: float | None
    done: float
    below: bool
    difference: float | None
    low: float | None
    high: float | None
    side: str | None
    outside: bool | None
    cause: str | None
    says: str | None


class ComparedJson(TypedDict):
    job: str
    date: str | None
    plan: str | None
    revision: int
    signed: str | None
    figures: list[DifferenceJson]
    deviations: str | None
    after: str | None
    callback: bool
    callbacks: str | None
    cost: str | None
    spent: float | None
    crew_s: float | None


class DayTotalJson(TypedDict):
    date: str | None
    jobs: int
    figures: int
    outside: int
    callbacks: int
    costs: list[str]
    spent: float | None
    crew_s: float | None


class FigureTotalJson(TypedDict):
    figure: str
    records: int
    done_to_planned: float
    spread: float
    outside: int


class TallyJson(TypedDict):
    by: str
    name: str | None
    jobs: int
    callbacks: int
    callback_share: float
    spent: float | None
    spent_jobs: int
    crew_s: float | None
    crew_jobs: int


class BelowJson(TypedDict):
    share: float
    date: str | None
    earliest: str | None
    latest: str | None


class TrendJson(TypedDict):
    subject: str
    name: list[str]
    what: str
    records: int
    set_aside: int
    first: str | None
    last: str | None
    since_service: str | None
    unmeasured: bool
    middle: float
    spread: float
    now: float
    pulled: float
    per_year: float | None
    per_year_low: float | None
    per_year_high: float | None
    moves: bool
    low: float | None
    high: float | None
    worn: bool
    known: bool
    below: list[BelowJson]


class ForecastJson(TypedDict):
    rig: str
    pump: str
    job: str
    run: str
    date: str | None
    needs: float
    expected: float
    short: bool
    records: int
    falls: str | None
    earliest: str | None
    latest: str | None


class ComparisonJson(TypedDict):
    format: int
    faults: list[FaultJson]
    records: int
    without_plan: int
    jobs: list[ComparedJson]
    days: list[DayTotalJson]
    season: list[FigureTotalJson]
    tallies: list[TallyJson]
    trends: list[TrendJson]
    forecasts: list[ForecastJson]
    learned: list[CorrectionJson]
    applied: bool
    corrections: list[KeptCorrectionJson]


def comparison_json(
    found: Comparison, ahead: Sequence[Forecast], learned: Sequence[Correction], applied: bool,
    kept: Sequence[KeptCorrectionJson],
) -> ComparisonJson:  # fmt: skip
    """The whole of `compare --json`; `kept` are the archive's corrections."""
    return {
        "format": FORMAT,
        "faults": [],
        "records": found.count,
        "without_plan": found.planless,
        "jobs": [_job(one) for one in found.jobs],
        "days": [
            {
                "date": _date(day.date),
                "jobs": day.jobs,
                "figures": day.figures,
                "outside": day.outside,
                "callbacks": day.callbacks,
                "costs": list(day.costs),
                "spent": day.spent,
                "crew_s": day.crew,
            }
            for day in found.days
        ],
        "season": [
            {
                "figure": total.figure,
                "records": total.count,
                "done_to_planned": total.middle,
                "spread": total.spread,
                "outside": total.outside,
            }
            for total in found.season
        ],
        "tallies": [_tally(tally) for tally in found.tallies],
        "trends": [_trend(trend) for trend in found.trends],
        "forecasts": [_forecast(one) for one in ahead],
        "learned": [correction_json(one) for one in learned],
        "applied": applied,
        "corrections": list(kept),
    }


def _job(one: Compared) -> ComparedJson:
    return {
        "job": one.job,
        "date": _date(one.date),
        "plan": one.plan,
        "revision": one.revision,
        "signed": one.signed,
        "figures": [_difference(row) for row in one.found],
        "deviations": one.remarks.get("deviations"),
        "after": one.remarks.get("after"),
        "callback": one.rang,
        "callbacks": one.remarks.get("callbacks"),
        "cost": one.remarks.get("cost"),
        "spent": one.spent,
        "crew_s": one.crew,
    }


def _difference(row: Difference) -> DifferenceJson:
    return {
        "figure": row.figure,
        "about": row.about or None,
        "run": row.run or None,
        "dimension": figures()[row.figure].dimension,
        "planned": row.planned,
        "done": row.done,
        "below": row.below,
        "difference": row.by,
        "low": row.low,
        "high": row.high,
        "side": row.sign,
        "outside": row.outside if row.sign is not None else None,
        "cause": row.cause,
        "says": words()[row.cause] if row.cause is not None else None,
    }


def _tally(tally: Tally) -> TallyJson:
    return {
        "by": tally.by,
        "name": tally.name or None,
        "jobs": tally.jobs,
        "callbacks": tally.callbacks,
        "callback_share": tally.share,
        "spent": tally.spent,
        "spent_jobs": tally.spent_jobs,
        "crew_s": tally.crew,
        "crew_jobs": tally.crew_jobs,
    }


def _trend(trend: Trend) -> TrendJson:
    return {
        "subject": trend.subject,
        "name": list(trend.called),
        "what": trend.what,
        "records": trend.count,
        "set_aside": trend.set_aside,
        "first": _date(trend.first),
        "last": _date(trend.last),
        "since_service": _date(trend.since),
        "unmeasured": trend.unmeasured,
        "middle": trend.middle,
        "spread": trend.spread,
        "now": trend.now,
        "pulled": trend.pulled,
        "per_year": trend.per_year,
        "per_year_low": trend.per_year_low,
        "per_year_high": trend.per_year_high,
        "moves": trend.moves,
        "low": trend.low,
        "high": trend.high,
        "worn": trend.worn,
        "known": trend.known,
        "below": [
            {
                "share": one.share,
                "date": _date(one.date),
                "earliest": _date(one.earliest),
                "latest": _date(one.latest),
            }
            for one in trend.below
        ],
    }


def _forecast(one: Forecast) -> ForecastJson:
    need = one.need
    return {
        "rig": need.rig,
        "pump": need.pump,
        "job": need.job,
        "run": need.run,
        "date": _date(need.date),
        "needs": need.share,
        "expected": one.expected,
        "short": one.short,
        "records": one.count,
        "falls": _date(one.falls),
        "earliest": _date(one.earliest),
        "latest": _date(one.latest),
    }


def _date(date: datetime.date | None) -> str | None:
    return date.isoformat() if date is not None else None
