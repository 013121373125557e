"""A record kept in the archive, whoever asked for it, or why it is not; and a revision that counts no more."""

from __future__ import annotations

import re
import shlex
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from planner.contract.record import record_json
from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.models.quantities import LONGEST_WORDS
from planner.inputs.reading.files import shown
from planner.inputs.record import DoneJob, Planned, joined_record
from planner.inputs.workspace import date_of
from planner.recording.against import RecordJob, of_job
from planner.recording.doubts import Doubt, doubts
from planner.recording.earlier import texts_of
from planner.recording.sources import Source, without_lines
from planner.recording.words import caution_json, spoken
from planner.units import System

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.archive.kept.store import Stored
    from planner.contract.plan import PlanJson
    from planner.contract.record import RecordJson


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A record in the archive, and what is odd in it."""

    content: RecordJson
    stored: Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a record: `kept`, or the `faults` that kept it out; `cautions` are told either way."""

    kept: Kept | None = None
    faults: tuple[Fault, ...] = ()
    cautions: tuple[str, ...] = ()


def keep(
    archive: Opened, job: RecordJob, source: Source, plan: PlanJson, planned: Planned, system: System, *,
    number: str | None = None, after: int | None = None, confirmed: Collection[str] = (),
) -> Outcome:  # fmt: skip
    """Keep a record as `planner record` does. `number` is that on its paper, `after` the revision it goes on from,
    `confirmed` the key paths whose odd figures somebody said twice. Raises ArchiveRefused of a file of YAML."""
    from planner.archive.kept import store
    from planner.archive.kept.refused import ArchiveRefused

    done, faults = joined_record(source.read, planned)
    if done is None or any(fault.where.path for fault in source.lost):
        return Outcome(faults=(*source.read.faults, *without_lines(source, faults)))
    content, odd, unasked = said_of(done, source, plan, planned, job, system, number, confirmed)
    cautions = (*(fault.message for fault in source.lost), *unasked)
    try:
        stored = store.keep_record(
            archive, content, plan=plan, plan_number=number, source=source.name, beside=beside_of(source, odd),
            after=after,
        )  # fmt: skip
    except ArchiveRefused as refused:
        if not source.drafted:
            raise
        return Outcome(faults=(refused.fault,), cautions=cautions)
    if stored.late:
        return Outcome(faults=(late(job, stored.revision),), cautions=cautions)
    return Outcome(kept=Kept(content=content, stored=stored), cautions=cautions)


def said_of(
    done: DoneJob, source: Source, plan: PlanJson, planned: Planned, job: RecordJob, system: System,
    number: str | None = None, confirmed: Collection[str] = (),
) -> tuple[RecordJson, list[Doubt], list[str]]:  # fmt: skip
    """A record's JSON, what is odd in it, and what to say of that."""
    date = date_of(job.file.parent)
    content = record_json(done, planned, date.isoformat() if date is not None else None, number or plan["plan"])
    written = texts_of(source.read.raw, planned)
    odd = list(doubts(content, plan, system, job.company.percent, written))
    return content, odd, spoken(odd, source, planned, confirmed)


def beside_of(source: Source, odd: Sequence[Doubt]) -> dict[str, object]:
    """How a record was written and what was odd in it, kept beside what it says."""
    return {"as_written": dict(source.read.raw), "cautions": [caution_json(one) for one in odd]}


def late(job: RecordJob, revision: int) -> Fault:
    """That a revision came in while another was made."""
    return Fault(
        code="record.late",
        message=f"revision {revision} of {job.id} came in while these questions were asked: nothing was saved over it",
        remedy=f"run `planner record {shlex.quote(shown(job.file))}` again and go on from the draft; it offers both",
        where=Where(file=shown(job.file), lines=False),
    )


def withdrawn(archive: Opened, job: RecordJob, revision: str, reason: str) -> str | Fault:
    """Let one revision of the job's record count no more; what to say of it. Raises ArchiveRefused."""
    from planner.archive.kept import store

    reason = " ".join(reason.encode("utf-8", "replace").decode("utf-8").split())[:LONGEST_WORDS]
    if not re.fullmatch(r"[1-9][0-9]{0,8}", revision) or not reason:
        remedy = "write the revision's number and why, such as `--withdraw 2 'of the house next door'`"
        return of_job("record.withdraw", job, "a number and a reason are needed", remedy)
    counted = store.withdraw(archive, job.id, int(revision), reason)
    last = store.record_of(archive, job.id)
    if counted is None:
        remedy = f"the last one is revision {last.revision}" if last is not None else "nothing is recorded for this job"
        return of_job("record.withdraw", job, f"there is no revision {revision} of {job.id}", remedy)
    what = f"revision {last.revision} counts now" if last is not None else "no record of it counts now"
    return f"{job.id}: revision {revision} {'is withdrawn' if counted else 'was withdrawn before'}; {what}"
