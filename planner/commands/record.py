"""`planner record`: what was done, from a filled packet, a YAML record or answers on the terminal, into the archive."""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from planner.days.archiving import address_of
from planner.days.prepare import report
from planner.exits import FAULTY, OK, OURS
from planner.faults import Fault
from planner.inputs.reading.files import file_fault, shown
from planner.inputs.record import Planned, joined_record, same_job
from planner.interview import record as record_asked
from planner.interview.record import Answered
from planner.recording.against import (
    Against,
    RecordJob,
    job_asked,
    misnamed,
    no_plan,
    of_another_branch,
    of_job,
    plan_for,
    planned_under,
    renamed_of,
    with_todays_lots,
)  # fmt: skip
from planner.recording.amending import ADDED, amended, typed
from planner.recording.asked import Asked
from planner.recording.drafts import drop, is_draft, keep_draft
from planner.recording.keeping import beside_of, keep, late, said_of, withdrawn
from planner.recording.renamed import Before
from planner.recording.sources import Source, from_answers, from_file, without_lines
from planner.recording.words import told

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.contract.plan import PlanJson


def run(args: argparse.Namespace) -> int:
    """Take in one record."""
    job = job_asked(Path(args.job))
    if isinstance(job, list):
        return _faulty(job)
    if args.withdraw is not None:
        return _withdrawn(job, *args.withdraw)
    if args.source is None and not args.add and not sys.stdin.isatty():
        remedy = "name the filled packet or a YAML record with --from, or run this on a terminal to be asked"
        return _faulty([file_fault("record.source", job.file, "there is nothing to read a record from", remedy)])
    source = None
    if args.add and args.source is not None:
        remedy = "write what to add behind --add, or name a file with --from"
        return _faulty([of_job("record.add", job, "there are two things to add from", remedy)])
    if args.source is not None or args.add:
        found = from_file(Path(args.source)) if args.source is not None else typed(args.add, job.id, job.file)
        if isinstance(found, list):
            return _faulty(found)
        if found.read.record is None:
            return _refused(found, [*found.read.faults, *misnamed(job, found)], job, Path(args.source))
        source = found
    from planner.archive.kept import opening
    from planner.archive.kept.refused import ArchiveRefused

    try:
        with opening.opened(address_of(job.company), job.folder) as archive:
            return _recorded(archive, job, source, args) if args.add is None else _added(archive, job, source, args)
    except ArchiveRefused as refused:
        if source is not None and source.drafted and args.source is not None:
            return _refused(source, [refused.fault], job, Path(args.source))
        return _faulty([refused.fault])


def _recorded(archive: Opened, job: RecordJob, source: Source | None, args: argparse.Namespace) -> int:
    number = source.read.record.plan if source is not None and source.read.record is not None else None
    before = of_another_branch(archive, source) or renamed_of(archive, job, source)
    if isinstance(before, Fault) and source is not None and source.drafted:
        return _refused(source, [before], job, Path(args.source), called=source.answers["job"])
    if isinstance(before, Fault) and before.code in ("record.site", "record.branch"):
        return _faulty([before])
    if isinstance(before, Before):
        said = f"{before.id} is called {job.id} now: recorded under that name"
        against = Against(plan=before.plan, said=said, once=before.id)
    else:
        against = plan_for(archive, job, number, source.plan if source is not None else None)
    if against.plan is None:
        faults = list(against.faults) if against.another else [*against.faults, no_plan(job)]
        if source is not None and source.drafted:
            return _refused(source, faults, job, Path(args.source))
        report(faults)
        return OURS if against.ours else FAULTY
    plan, planned = against.plan, planned_under(against, against.plan, job)
    answered: Answered | None = None
    if source is None:
        found = _asked(archive, job, plan, planned, args)
        if isinstance(found, str):
            print(found)
            return OK
        answered, source, plan = found, found.source, found.asked.plan
        planned = with_todays_lots(found.asked.planned, job)
        if not answered.keep:
            return _put_off(answered, job)
    by = answered if answered is not None else Path(args.source)
    outcome = keep(
        archive, job, source, plan, planned, args.units or job.company.units, number=number,
        after=answered.asked.revision if answered is not None else None,
        confirmed=answered.confirmed if answered is not None else (),
    )  # fmt: skip
    for caution in outcome.cautions:
        print(f"caution: {caution}", file=sys.stderr)
    if outcome.kept is None:
        return _refused(source, list(outcome.faults), job, by)
    stored = outcome.kept.stored
    taken = answered.draft.path if answered is not None else Path(args.source)
    if taken is not None and (answered is not None or is_draft(taken)):
        drop(taken)
    if against.said:
        print(against.said)
    if not stored.new:
        print(f"{job.id} is recorded already as revision {stored.revision}: nothing was changed in {_at(archive)}")
        return OK
    older = f" (revision {stored.revision - 1} is kept too)" if stored.revision > 1 else ""
    print(f"{job.id} recorded, revision {stored.revision}{older}: {told(outcome.kept.content)}")
    print(f"against plan {plan['plan']}, in {_at(archive)}")
    return OK


def _asked(
    archive: Opened, job: RecordJob, plan: PlanJson, planned: Planned, args: argparse.Namespace
) -> Answered | str:  # fmt: skip
    """What somebody answers at the terminal. Raises ArchiveRefused."""
    system, percent = args.units or job.company.units, job.company.percent
    adding = args.add is not None
    asked = Asked(file=job.file, plan=plan, planned=planned, system=system, percent=percent, adding=adding)
    return record_asked.ask(asked, archive)


def _put_off(answered: Answered, job: RecordJob) -> int:
    """Keep answers as a draft, and say how to go on."""
    draft, unwritten = _drafted(answered.source, (), [job.file], job.id, answered)
    if draft is None:
        return _faulty([unwritten] if unwritten is not None else [])
    print(f"not recorded; the answers are kept in {shown(draft)}. To go on:\n")
    print(f"  planner record {shlex.quote(shown(job.file))}")
    return OK


def _drafted(
    source: Source, faults: Sequence[Fault], beside: Sequence[Path], called: str, answered: Answered | None
) -> tuple[Path | None, Fault | None]:
    """Keep a draft; over the one of these very questions, where there is one."""
    if answered is None:
        return keep_draft(source, faults, beside, called)
    kept = answered.draft
    return keep_draft(source, faults, beside, called, kept.path, begun=kept.begun, remarks=kept.remarks)


def _at(archive: Opened) -> str:
    return shown(archive.path) if archive.path is not None else archive.where


def _added(archive: Opened, job: RecordJob, source: Source | None, args: argparse.Namespace) -> int:
    """Lay what was given over the last revision, and keep that as the next."""
    from planner.archive.kept import store

    if source is None:
        if store.record_of(archive, job.id) is None:
            fault = amended(archive, from_answers({"job": job.id}, ADDED, ADDED), job.id, job.file)
            return _faulty([fault] if isinstance(fault, Fault) else [])
        return _recorded(archive, job, None, args)
    other = of_another_branch(archive, source)
    if other is not None:
        return _faulty([other])
    found = amended(archive, source, job.id, job.file)
    if isinstance(found, Fault):
        return _faulty([found])
    planned = with_todays_lots(found.planned, job)
    _, faults = joined_record(source.read, planned)
    if faults:
        return _faulty(without_lines(source, faults))
    done, faults = joined_record(found.source.read, planned)
    if done is None:
        return _faulty([*found.source.read.faults, *faults])
    content, odd, cautions = said_of(done, found.source, found.plan, planned, job, args.units or job.company.units)
    for caution in [*(fault.message for fault in source.lost), *cautions]:
        if not any(caution.startswith(f"{path}:") and message in caution for path, message in found.known):
            print(f"caution: {caution}", file=sys.stderr)
    stored = store.keep_record(
        archive, content, plan=found.plan, plan_number=found.source.read.raw.get("plan"), source=source.name,
        beside=beside_of(found.source, odd), after=found.after,
    )  # fmt: skip
    if stored.late:
        return _faulty([late(job, stored.revision)])
    if not stored.new:
        print(f"{job.id} has that in revision {stored.revision} already: nothing was changed in {_at(archive)}")
        return OK
    print(f"{job.id} recorded, revision {stored.revision}: {'; '.join(found.told)}")
    print(f"the rest as in revision {found.after}, in {_at(archive)}")
    return OK


def _withdrawn(job: RecordJob, revision: str, reason: str) -> int:
    """Let one revision of the job's record count no more."""
    from planner.archive.kept import opening
    from planner.archive.kept.refused import ArchiveRefused

    try:
        with opening.opened(address_of(job.company), job.folder) as archive:
            found, where = withdrawn(archive, job, revision, reason), _at(archive)
    except ArchiveRefused as refused:
        return _faulty([refused.fault])
    if isinstance(found, Fault):
        return _faulty([found])
    print(f"{found}, in {where}")
    return OK


def _refused(
    source: Source, faults: list[Fault], job: RecordJob, by: Path | Answered, called: str = ""
) -> int:  # fmt: skip
    """Name what could not be read, and keep the rest where it is not the reader's own file already.

    It is kept beside the job, where questions go on from it, else beside the source it came `by`; `called` is the job
    a draft is of, where that is not the one asked for: its draft stays beside its source.
    """
    told = [*faults, *source.lost]
    if source.drafted:
        answered = by if isinstance(by, Answered) else None
        own = answered is not None or same_job(source.answers.get("job", ""), job.id)
        beside = [*([job.file] if own else []), *([by] if isinstance(by, Path) else [])]
        draft, unwritten = _drafted(source, faults, beside, called or job.id, answered)
        told += [unwritten] if unwritten is not None else []
        report(told)
        if draft is not None:
            print(f"nothing is recorded yet; what could be read is kept in {shown(draft)}", file=sys.stderr)
        return FAULTY
    return _faulty(told)


def _faulty(faults: list[Fault]) -> int:
    report(faults)
    return FAULTY
