"""The latest record of each job beside the plan it was made from, one after another, however many there are."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import func, select

from planner.archive.opening import Opened
from planner.archive.tables import PLANS, RECORDS

Json = Mapping[str, Any]
_IN_ONE_GO: Final = 200
"""Rows read at a time: a plan is some fifty thousand characters."""
_PARTS: Final = ("runs", "mixes", "work", "flushes", "time")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One job: `record` its latest revision, `plan` the one it is held against, None where none was kept.

    `number` is the plan's; `date` the day it was done, the job's own where the record names none.
    """

    job: str
    date: datetime.date | None
    revision: int
    number: str | None
    record: Json
    plan: Json | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """Which records are meant: one `job`, those of some `days`, those not before `since`; None chooses all."""

    job: str | None = None
    days: frozenset[str] | None = None
    since: datetime.date | None = None

    def has(self, job: str, date: datetime.date | None) -> bool:
        """Whether a job done on a date is meant. A record without any date is not since anything."""
        if self.job is not None and job != self.job:
            return False
        if self.days is not None and job.partition("/")[0] not in self.days:
            return False
        return self.since is None or (date is not None and date >= self.since)


def counted(archive: Opened) -> int:
    """How many jobs have a record. Raises ArchiveRefused."""
    with archive.reading() as connection:
        return int(connection.scalar(select(func.count(func.distinct(RECORDS.c.job)))) or 0)


def recorded(archive: Opened) -> frozenset[str]:
    """The jobs that have a record. Raises ArchiveRefused."""
    with archive.reading() as connection:
        return frozenset(connection.scalars(select(RECORDS.c.job).distinct()))


def pairs(archive: Opened, chosen: Chosen | None = None) -> Iterator[Pair]:
    """Each chosen job's pair, by job. Raises ArchiveRefused."""
    wanted = chosen or Chosen()
    newest = select(RECORDS.c.job, func.max(RECORDS.c.revision).label("revision")).group_by(RECORDS.c.job)
    if wanted.job is not None:
        newest = newest.where(RECORDS.c.job == wanted.job)
    latest = newest.subquery()
    query = (
        select(RECORDS.c.job, RECORDS.c.revision, RECORDS.c.json, PLANS.c.number, PLANS.c.json.label("plan"))
        .join(latest, (RECORDS.c.job == latest.c.job) & (RECORDS.c.revision == latest.c.revision))
        .outerjoin(PLANS, RECORDS.c.plan == PLANS.c.sha256)
        .order_by(RECORDS.c.job)
    )
    with (
        archive.reading() as connection,
        connection.execution_options(stream_results=True).execute(query) as found,
    ):
        for part in found.partitions(_IN_ONE_GO):
            for row in part:
                record = json.loads(row.json)
                date = _date(record.get("date") or row.job.partition("/")[0])
                if wanted.has(row.job, date):
                    plan = _plan(row.plan)
                    yield Pair(
                        job=row.job,
                        date=date,
                        revision=row.revision,
                        number=row.number if plan is not None else None,
                        record=record,
                        plan=plan,
                    )


def _plan(text: str | None) -> Json | None:
    """A plan's figures; None where none was kept, or one of a kind that has not the parts a record is held against."""
    plan = json.loads(text) if text is not None else None
    whole = isinstance(plan, dict) and all(isinstance(plan.get(name), list) for name in _PARTS) and "water" in plan
    return plan if whole else None


def _date(text: str) -> datetime.date | None:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        return None
