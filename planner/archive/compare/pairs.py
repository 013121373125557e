"""The latest record of each job beside the plan it was made from, one after another, however many there are.

Going back to an earlier text is a revision too: only the latest counts.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, Final, Literal, TypeGuard, cast

from sqlalchemy import ColumnElement, Connection, Row, exc, func, select

from planner.archive.compare.figures import date_of
from planner.archive.kept.opening import Opened
from planner.archive.kept.store import standing
from planner.archive.kept.tables import PLANS, RECORDS
from planner.contract.held import MALFORMED, record_of
from planner.contract.planned import NOT_DONE
from planner.frozen import dataclass

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson
    from planner.contract.record import RecordJson

_IN_ONE_GO: Final = 200
"""Rows read at a time: a plan is some fifty thousand characters."""
_PARTS: Final = ("runs", "mixes", "work", "flushes", "time")
LEFT_OUT: Final = ("findings", "load", "remedies", "runoff", "runoff_total", "drift", "agents", "neutralise", "active")
"""With the tank's level by the minute, most of a plan's text; no record is held against them, and reading plans is most
of the work."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One job: `record` its latest revision, `plan` the one it is held against, None where none was kept.

    `number` is the plan's; `date` the day it was done, the job's own where the record names none.
    """

    job: str
    date: datetime.date | None
    revision: int
    number: str | None
    record: RecordJson
    plan: PlanJson | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """A job nothing can be said of: its archived `what` is none, or not as this program writes it."""

    job: str
    what: Literal["plan", "record"]


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


def pair_of(job: str, record: RecordJson, plan: PlanJson, number: str, revision: int) -> Pair | None:
    """A record that may not be kept yet beside its plan; None of a job that was not done."""
    if record.get("status") in NOT_DONE:
        return None
    held = _of_part(record) if record.get("status") == "part" else record
    return Pair(job=job, date=_day(job, record), revision=revision, number=number, record=held, plan=plan)


def counted(archive: Opened) -> int:
    """How many jobs have a record. Raises ArchiveRefused."""
    with archive.reading() as connection:
        return int(connection.scalar(select(func.count(func.distinct(RECORDS.c.job))).where(_counts(archive))) or 0)


def _counts(archive: Opened) -> ColumnElement[bool]:
    """The branch's own revisions that nobody withdrew."""
    return (RECORDS.c.branch == archive.branch) & standing()


def recorded(archive: Opened) -> frozenset[str]:
    """The jobs that have a record. Raises ArchiveRefused."""
    with archive.reading() as connection:
        return frozenset(connection.scalars(select(RECORDS.c.job).where(_counts(archive)).distinct()))


def pairs(archive: Opened, chosen: Chosen | None = None) -> Iterator[Pair | Unread]:
    """Each chosen job's pair, by job. Raises ArchiveRefused.

    Jobs are read in turn, some at a time, and plans by their names afterwards: a database that is asked for all of it
    in order sorts every plan's text first.
    """
    wanted = chosen or Chosen()
    with archive.reading() as connection:
        after: str | None = None
        counts = _counts(archive)
        gone = _under_old_names(connection, counts)
        while True:
            rows = _records(connection, counts, wanted, after)
            if not rows:
                return
            after = rows[-1].job
            read = [(row, record, _day(row.job, record)) for row, record in ((row, _json(row.json)) for row in rows)]
            done = [one for one in read if not (isinstance(one[1], dict) and one[1].get("status") in NOT_DONE)]
            meant = [one for one in done if wanted.has(one[0].job, one[2]) and (one[0].job, one[0].plan) not in gone]
            plans = _plans(connection, {row.plan for row, _, _ in meant if row.plan is not None})
            for row, record, date in meant:
                yield _pair(row, record, date, plans.get(row.plan))


def _records(
    connection: Connection, counts: ColumnElement[bool], wanted: Chosen, after: str | None
) -> list[Any]:  # fmt: skip
    """The next records, each a job's latest, by job."""
    newest = select(RECORDS.c.job, func.max(RECORDS.c.revision).label("revision")).group_by(RECORDS.c.job)
    newest = newest.where(counts).order_by(RECORDS.c.job).limit(_IN_ONE_GO)
    if wanted.job is not None:
        newest = newest.where(RECORDS.c.job == wanted.job)
    if after is not None:
        newest = newest.where(RECORDS.c.job > after)
    latest = newest.subquery()
    same = (RECORDS.c.job == latest.c.job) & (RECORDS.c.revision == latest.c.revision)
    query = select(RECORDS.c.job, RECORDS.c.revision, RECORDS.c.json, RECORDS.c.plan).join(latest, same).where(counts)
    return list(connection.execute(query.order_by(RECORDS.c.job)))


def _under_old_names(connection: Connection, counts: ColumnElement[bool]) -> frozenset[tuple[str, str]]:
    """(job, plan) of records made anew under another name: a plan is one job's, so its newest record is that job's."""
    shared = select(RECORDS.c.plan).where(counts & RECORDS.c.plan.is_not(None)).group_by(RECORDS.c.plan)
    shared = shared.having(func.min(RECORDS.c.job) != func.max(RECORDS.c.job))
    rows = connection.execute(
        select(RECORDS.c.plan, RECORDS.c.job, RECORDS.c.at, RECORDS.c.revision).where(
            counts & RECORDS.c.plan.in_(shared)
        )
    )
    found: dict[str, list[tuple[str, int, str]]] = {}
    for row in rows:
        found.setdefault(row.plan, []).append((row.at, row.revision, row.job))
    newest = {plan: max(rows)[2] for plan, rows in found.items()}
    return frozenset((job, plan) for plan, rows in found.items() for _, _, job in rows if job != newest[plan])


def _plans(connection: Connection, names: Collection[str]) -> Mapping[str, Row[Any]]:
    """Number and text of plans by their hashes."""
    if not names:
        return {}
    meant = PLANS.c.sha256.in_(sorted(names))
    if connection.dialect.name == "sqlite":
        less = func.json_remove(PLANS.c.json, *(f"$.{name}" for name in LEFT_OUT), "$.water.level").label("json")
        try:
            return _by_hash(connection.execute(select(PLANS.c.sha256, PLANS.c.number, less).where(meant)))
        except exc.OperationalError:
            pass  # one of them is no JSON, or this SQLite cannot read it: each is read by itself below
    return _by_hash(connection.execute(select(PLANS.c.sha256, PLANS.c.number, PLANS.c.json).where(meant)))


def _by_hash(found: Iterable[Row[Any]]) -> Mapping[str, Row[Any]]:
    return {row.sha256: row for row in found}


def _pair(row: Row[Any], written: object, date: datetime.date | None, kept: Row[Any] | None) -> Pair | Unread:
    plan = _json(kept.json) if kept is not None else None
    if kept is not None and not _is_plan(plan):
        return Unread(job=row.job, what="plan" if isinstance(written, dict) else "record")
    try:
        record = record_of(written)
    except MALFORMED:
        return Unread(job=row.job, what="record")
    if record.get("status") == "part":
        record = _of_part(record)
    number = kept.number if kept is not None else None
    return Pair(job=row.job, date=date, revision=row.revision, number=number, record=record, plan=plan)


def _of_part(record: RecordJson) -> RecordJson:
    """A job done in part: what gear, stock and strips showed holds; what all of it took is not what was planned."""
    taken = {"stock_m3", "stock_kg", "mix_m3", "water_m3", "batches", "left_m3"}
    mixes = [{key: None if key in taken else value for key, value in mix.items()} for mix in record["mixes"]]
    times = dict.fromkeys(record["times"])
    part = {**record, "mixes": mixes, "sides": [], "times": times, "water": {**record["water"], "used_m3": None}}
    return cast("RecordJson", part)


def _is_plan(plan: Any) -> TypeGuard[PlanJson]:
    """Whether a plan has the parts a record is held against, the others taken out. What is in them is told where it is
    read."""
    if (
        not isinstance(plan, dict)
        or not all(isinstance(plan.get(name), list) for name in _PARTS)
        or "water" not in plan
    ):
        return False
    for part, names in ((plan, LEFT_OUT), (plan["water"], ("level",))):
        for name in names if isinstance(part, dict) else ():
            part.pop(name, None)
    return True


def _json(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def _day(job: str, record: object) -> datetime.date | None:
    """The day a job was done: what its record says, else its own."""
    return date_of((record.get("date") if isinstance(record, dict) else None) or job.partition("/")[0][:10])
