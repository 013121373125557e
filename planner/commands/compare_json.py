"""A comparison as JSON: SI, the unit by the figure's dimension, what does not apply null."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

from planner.archive.compare.causes import words
from planner.archive.compare.comparison import Compared, Comparison
from planner.archive.compare.differences import Difference
from planner.archive.compare.figures import figures
from planner.archive.compare.learn import Correction
from planner.archive.compare.totals import Tally
from planner.archive.compare.trends import Forecast, Trend

FORMAT = 1
Json = dict[str, Any]


def comparison_json(
    found: Comparison, ahead: Sequence[Forecast], learned: Sequence[Correction], applied: bool, kept: Sequence[Json]
) -> Json:  # fmt: skip
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
        "learned": [_correction(one) for one in learned],
        "applied": applied,
        "corrections": list(kept),
    }


def _job(one: Compared) -> Json:
    return {
        "job": one.job,
        "date": _date(one.date),
        "plan": one.plan,
        "revision": one.revision,
        "signed": one.signed,
        "figures": [_difference(row) for row in one.found],
        **{name: one.remarks.get(name) for name in ("deviations", "after", "callbacks", "cost")},
        "spent": one.spent,
        "crew_s": one.crew,
    }


def _difference(row: Difference) -> Json:
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


def _tally(tally: Tally) -> Json:
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


def _trend(trend: Trend) -> Json:
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
    }


def _forecast(one: Forecast) -> Json:
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


def _correction(one: Correction) -> Json:
    return {
        "kind": one.kind,
        "about": list(one.about),
        "key": one.key,
        "value": one.value,
        "text": one.text or None,
        "raw": one.raw,
        "old": one.old.value if one.old is not None else None,
        "old_text": (one.old.text or None) if one.old is not None else None,
        "records": one.records,
        "through": _date(one.through),
    }


def _date(date: datetime.date | None) -> str | None:
    return date.isoformat() if date is not None else None
