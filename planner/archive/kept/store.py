"""What is kept and found again: plans and packets by hash, records by job and revision.

A row is named by its content's hash or by job and revision, never by a counter: keeping twice is keeping once, and an
import is a merge. Only a plan's `at` moves, to when it was last printed.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final, cast

from sqlalchemy import ColumnElement, Connection, Row, Table, case, exists, func, insert, select, update

from planner import __version__
from planner.archive.kept.content import hash_of, now, text_of
from planner.archive.kept.identity import refuse_another
from planner.archive.kept.opening import Opened
from planner.archive.kept.tables import PACKETS, PLANS, RECORDS, WITHDRAWN
from planner.frozen import dataclass

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson
    from planner.contract.record import RecordJson


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A plan and the packet printed from it: `plan` its JSON, `packet` the bytes, `pages` how many."""

    plan: PlanJson
    file: str
    packet: bytes
    pages: int
    held: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPlan:
    """A plan out of the archive; `at` is when it was kept or last printed, ISO text in UTC."""

    sha256: str
    job: str
    number: str
    content: Mapping[str, object]
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPaper:
    """What was last printed of a job: its plan without `BULKY`, and whether the paper only says why not to go."""

    plan: PlanJson
    at: str
    held: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRecord:
    """A record out of the archive: `plan` the hash of the plan it is held against, None where there was none."""

    job: str
    revision: int
    plan: str | None
    plan_number: str | None
    content: Mapping[str, object]
    source: str
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """What became of a record: its revision, and whether it is new; the same thing twice is not, nor what is `late`."""

    revision: int
    new: bool
    late: bool = False


def keep_printed(archive: Opened, printed: Sequence[Printed]) -> None:
    """Plans and packets of one printing, all or none. Raises ArchiveRefused.

    A plan printed again after another one is the latest again: its paper is what the crew has in hand.
    """
    with archive.writing() as connection:
        for one in printed:
            plan = _keep_plan(connection, archive, one.plan)
            connection.execute(update(PLANS).where(PLANS.c.sha256 == plan).values(at=now()))
            row = {"plan": plan, "file": one.file, "pages": one.pages, "held": int(one.held), "at": now()}
            _keep(connection, PACKETS, hash_of(one.packet), row)


def keep_record(
    archive: Opened,
    content: RecordJson,
    *,
    plan: PlanJson | None,
    plan_number: str | None,
    source: str,
    beside: Mapping[str, object] | None = None,
    after: int | None = None,
) -> Stored:
    """A record of the job `content["job"]`, with the plan it is held against. Raises ArchiveRefused.

    Content equal to the latest revision's, against the same plan, changes nothing; any other is a revision of its own,
    and none is ever overwritten. `beside` goes into the JSON but not into the comparison: how it was written, not what
    it says. Made from revision `after` (0 for none) it is kept only if no other came in since: `late` says so.
    """
    job, said = str(content["job"]), hash_of(text_of(content))
    with archive.writing() as connection:
        own = (RECORDS.c.branch == archive.branch) & (RECORDS.c.job == job)
        latest = connection.execute(
            select(RECORDS.c.revision, RECORDS.c.content, RECORDS.c.plan)
            .where(own & standing())
            .order_by(RECORDS.c.revision.desc())
            .limit(1)
        ).first()
        against = _keep_plan(connection, archive, plan) if plan is not None else None
        if latest is not None and (latest.content, latest.plan) == (said, against):
            return Stored(revision=latest.revision, new=False)
        if after is not None and after != (latest.revision if latest is not None else 0):
            return Stored(revision=latest.revision if latest is not None else 0, new=False, late=True)
        revision = (connection.scalar(select(func.max(RECORDS.c.revision)).where(own)) or 0) + 1
        connection.execute(
            insert(RECORDS).values(
                branch=archive.branch,
                job=job,
                revision=revision,
                plan=against,
                plan_number=plan_number,
                content=said,
                json=text_of({**content, **(beside or {})}),
                source=source,
                at=now(),
            )
        )
    return Stored(revision=revision, new=True)


def standing() -> ColumnElement[bool]:
    """That a revision was not withdrawn."""
    keys = ("branch", "job", "revision")
    return ~exists().where(*(WITHDRAWN.c[key] == RECORDS.c[key] for key in keys))


def withdraw(archive: Opened, job: str, revision: int, reason: str) -> bool | None:
    """Let one revision of a record count no more; gives whether it counted until now, None where there is none."""
    name = {"branch": archive.branch, "job": job, "revision": revision}
    with archive.writing() as connection:
        own = [RECORDS.c[key] == value for key, value in name.items()]
        counts = connection.scalar(select(standing()).select_from(RECORDS).where(*own))
        if counts:
            connection.execute(insert(WITHDRAWN).values(**name, reason=reason, at=now()))
    return None if counts is None else bool(counts)


def _keep_plan(connection: Connection, archive: Opened, plan: PlanJson) -> str:
    text = text_of(plan)
    refuse_another(connection, archive, plan)
    row = {"job": plan["id"], "number": plan["plan"], "json": text, "program": __version__, "at": now()}
    row |= {"branch": archive.branch}
    name = _keep(connection, PLANS, hash_of(text), row)
    # A row altered by hand under the hash of this very plan is put right.
    connection.execute(update(PLANS).where((PLANS.c.sha256 == name) & (PLANS.c.json != text)).values(json=text))
    return name


def _keep(connection: Connection, table: Table, sha256: str, row: Mapping[str, object]) -> str:
    """A row named by its hash, unless it is there; a write lock is held, so nobody comes between."""
    if connection.scalar(select(table.c.sha256).where(table.c.sha256 == sha256)) is None:
        connection.execute(insert(table).values(sha256=sha256, **row))
    return sha256


def plan_of(archive: Opened, job: str, number: str | None = None) -> KeptPlan | None:
    """The plan of a job by the number on its paper, or the one printed last; None where none is kept."""
    query = select(PLANS).where((PLANS.c.branch == archive.branch) & (PLANS.c.job == job))
    if number is not None:
        query = query.where(PLANS.c.number == number)
    with archive.reading() as connection:
        row = connection.execute(query.order_by(PLANS.c.at.desc(), PLANS.c.sha256).limit(1)).first()
    return _plan(row) if row is not None else None


def known_of(archive: Opened, jobs: Collection[str]) -> set[str]:
    """Those of these jobs that a plan or a record is kept of, one that was withdrawn too. Raises ArchiveRefused."""
    found: set[str] = set()
    with archive.reading() as connection:
        for table in (PLANS, RECORDS):
            own = (table.c.branch == archive.branch) & table.c.job.in_(sorted(jobs))
            found |= set(connection.scalars(select(table.c.job).where(own)))
    return found


BULKY: Final = (
    "runs", "procedure", "findings", "load", "remedies", "runoff", "runoff_total", "drift", "agents", "neutralise",
    "active", "flushes",
)  # fmt: skip
"""Most of a plan's text, which no list of jobs tells of."""


def latest_papers(archive: Opened) -> dict[str, KeptPaper]:
    """What was last printed of every job, by job; empty of a plan that cannot be read. Raises ArchiveRefused."""
    found: dict[str, KeptPaper] = {}
    with archive.reading() as connection:
        sqlite = connection.dialect.name == "sqlite"
        less = func.json_remove(PLANS.c.json, *(f"$.{name}" for name in BULKY))
        text = case((func.json_valid(PLANS.c.json) == 1, less), else_="") if sqlite else PLANS.c.json
        query = select(PLANS.c.job, PLANS.c.at, PACKETS.c.held, text.label("json")).join(
            PACKETS, PACKETS.c.plan == PLANS.c.sha256
        )
        with connection.execution_options(stream_results=True).execute(
            query.where(PLANS.c.branch == archive.branch).order_by(PLANS.c.at, PACKETS.c.at)
        ) as rows:
            for row in rows:
                plan = cast("PlanJson", _json(row.json))
                found[row.job] = KeptPaper(plan=plan, at=row.at, held=bool(row.held))
    return found


def printed_at(archive: Opened, sha256: str) -> str | None:
    """When a packet of a plan was last made, ISO text in UTC; None where none was. Raises ArchiveRefused."""
    query = select(func.max(PACKETS.c.at)).where(PACKETS.c.plan == sha256)
    with archive.reading() as connection:
        found: str | None = connection.scalar(query)
    return found


def stamp(archive: Opened) -> tuple[object, ...]:
    """What changes with every plan, record and withdrawal that is kept. Raises ArchiveRefused."""
    counts = [
        select(func.count(), func.max(table.c.at)).where(table.c.branch == archive.branch)
        for table in (PLANS, RECORDS, WITHDRAWN)
    ]
    with archive.reading() as connection:
        return tuple(value for count in counts for value in connection.execute(count).one())


def jobs_of_number(archive: Opened, number: str) -> list[str]:
    """The jobs that have a plan of this number; one, but for a file that was renamed or copied."""
    meant = (PLANS.c.branch == archive.branch) & (PLANS.c.number == number)
    with archive.reading() as connection:
        return sorted(set(connection.scalars(select(PLANS.c.job).where(meant))))


def plan_by_hash(archive: Opened, sha256: str) -> KeptPlan | None:
    """The plan a record or a packet names."""
    with archive.reading() as connection:
        row = connection.execute(select(PLANS).where(PLANS.c.sha256 == sha256)).first()
    return _plan(row) if row is not None else None


def record_of(archive: Opened, job: str) -> KeptRecord | None:
    """The latest record of a job; None where none is kept."""
    found = [record for record in latest_records(archive, job) if record.job == job]
    return found[0] if found else None


def latest_records(archive: Opened, job: str | None = None) -> list[KeptRecord]:
    """The latest revision of every job's record, or of one job's, by job; none that was withdrawn."""
    own = RECORDS.c.branch == archive.branch
    newest = select(RECORDS.c.job, func.max(RECORDS.c.revision).label("revision")).group_by(RECORDS.c.job)
    newest = newest.where(own & standing())
    if job is not None:
        newest = newest.where(RECORDS.c.job == job)
    found = newest.subquery()
    same = (RECORDS.c.job == found.c.job) & (RECORDS.c.revision == found.c.revision)
    query = select(RECORDS).join(found, same).where(own)
    with archive.reading() as connection:
        rows = connection.execute(query.order_by(RECORDS.c.job)).all()
    return [_record(row) for row in rows]


def _plan(row: Row[Any]) -> KeptPlan:
    return KeptPlan(sha256=row.sha256, job=row.job, number=row.number, content=_json(row.json), at=row.at)


def _record(row: Row[Any]) -> KeptRecord:
    return KeptRecord(
        job=row.job,
        revision=row.revision,
        plan=row.plan,
        plan_number=row.plan_number,
        content=_json(row.json),
        source=row.source,
        at=row.at,
    )


def _json(text: str) -> Mapping[str, object]:
    """What was kept; nothing where somebody has put there what is no mapping."""
    try:
        content = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return content if isinstance(content, dict) else {}
