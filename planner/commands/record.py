"""`planner record`: what was done, from a filled packet, a YAML record or answers on the terminal, into the archive."""

from __future__ import annotations

import argparse
import re
import shlex
import sys
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from planner.contract.record import planned_of, record_json
from planner.days.archiving import address_of, plan_json, workspace_of
from planner.days.prepare import Trouble, checked_jobs, loaded, report
from planner.exits import FAULTY, OK, OURS
from planner.faults import Fault, Where, in_order
from planner.inputs.models import Company
from planner.inputs.models.quantities import LONGEST_WORDS
from planner.inputs.reading.files import file_fault, is_day, is_there, no_workspace, shown
from planner.inputs.reading.names import names_under
from planner.inputs.record import DoneJob, Planned, joined_record, same_job
from planner.inputs.shelf import Desk
from planner.inputs.workspace import date_of
from planner.interview import record as record_asked
from planner.interview.offered import Asked
from planner.interview.record import Answered
from planner.recording.amending import ADDED, amended, typed
from planner.recording.doubts import Doubt, doubts
from planner.recording.drafts import drop, is_draft, keep_draft
from planner.recording.earlier import texts_of
from planner.recording.packet_plan import is_plan, is_sound
from planner.recording.renamed import Asked as Named
from planner.recording.renamed import Before, elsewhere, renamed
from planner.recording.sources import Source, from_answers, from_file, without_lines
from planner.recording.words import caution_json, spoken, told

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.contract.plan import PlanJson
    from planner.contract.record import RecordJson


@dataclass(frozen=True, slots=True, kw_only=True)
class _Job:
    """The job asked for: its file, whether or not it still lies there, its id, its workspace and its lots."""

    file: Path
    id: str
    folder: Path
    company: Company
    lots: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Against:
    """The plan a record is held against, and what there is to say of how it was found.

    `another`: there are plans, and the record is of none of them. `once` is what the job was called when it was
    printed, where that was another name.
    """

    plan: PlanJson | None
    said: str = ""
    faults: tuple[Fault, ...] = ()
    ours: bool = False
    another: bool = False
    once: str = ""


def run(args: argparse.Namespace) -> int:
    """Take in one record."""
    job = _job(Path(args.job))
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
        return _faulty([_of_job("record.add", job, "there are two things to add from", remedy)])
    if args.source is not None or args.add:
        found = from_file(Path(args.source)) if args.source is not None else typed(args.add, job.id, job.file)
        if isinstance(found, list):
            return _faulty(found)
        if found.read.record is None:
            return _refused(found, [*found.read.faults, *_misnamed(job, found)], job, Path(args.source))
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


def _misnamed(job: _Job, source: Source) -> list[Fault]:
    """What is wrong in the names of a record that cannot be read whole: all its faults are told at once."""
    from planner.archive.kept import opening
    from planner.archive.kept.refused import ArchiveRefused

    number = source.read.raw.get("plan")
    try:
        with opening.opened(address_of(job.company), job.folder, write=False) as archive:
            before = _renamed(archive, job, source)
            if isinstance(before, Fault) and (source.drafted or before.code == "record.site"):
                return [before]
            if isinstance(before, Before):
                against = _Against(plan=before.plan, once=before.id)
            else:
                against = _plan_for(archive, job, number if isinstance(number, str) else None, source.plan)
    except ArchiveRefused:
        against = _planned_now(job)
    if against.plan is None:
        return []
    _, faults = joined_record(source.read, _planned(against, against.plan, job))
    return without_lines(source, faults)


def _recorded(archive: Opened, job: _Job, source: Source | None, args: argparse.Namespace) -> int:
    from planner.archive.kept import store
    from planner.archive.kept.refused import ArchiveRefused

    number = source.read.record.plan if source is not None and source.read.record is not None else None
    before = _of_branch(archive, source) or _renamed(archive, job, source)
    if isinstance(before, Fault) and source is not None and source.drafted:
        return _refused(source, [before], job, Path(args.source), called=source.answers["job"])
    if isinstance(before, Fault) and before.code in ("record.site", "record.branch"):
        return _faulty([before])
    if isinstance(before, Before):
        said = f"{before.id} is called {job.id} now: recorded under that name"
        against = _Against(plan=before.plan, said=said, once=before.id)
    else:
        against = _plan_for(archive, job, number, source.plan if source is not None else None)
    if against.plan is None:
        faults = list(against.faults) if against.another else [*against.faults, _no_plan(job)]
        if source is not None and source.drafted:
            return _refused(source, faults, job, Path(args.source))
        report(faults)
        return OURS if against.ours else FAULTY
    plan, planned = against.plan, _planned(against, against.plan, job)
    answered: Answered | None = None
    if source is None:
        found = _asked(archive, job, plan, planned, args)
        if isinstance(found, str):
            print(found)
            return OK
        answered, source, plan, planned = found, found.source, found.asked.plan, _today(found.asked.planned, job)
        if not answered.keep:
            return _put_off(answered, job)
    by = answered if answered is not None else Path(args.source)
    done, faults = joined_record(source.read, planned)
    if done is None or any(fault.where.path for fault in source.lost):
        return _refused(source, [*source.read.faults, *without_lines(source, faults)], job, by)
    confirmed = answered.confirmed if answered is not None else frozenset()
    content, odd, unasked = _said(done, source, plan, planned, job, args, number, confirmed)
    for caution in [*(fault.message for fault in source.lost), *unasked]:
        print(f"caution: {caution}", file=sys.stderr)
    try:
        stored = store.keep_record(
            archive,
            content,
            plan=plan,
            plan_number=number,
            source=source.name,
            beside=_beside(source, odd),
            after=answered.asked.revision if answered is not None else None,
        )
    except ArchiveRefused as refused:
        if not source.drafted:
            raise
        return _refused(source, [refused.fault], job, by)
    if stored.late:
        return _refused(source, [_late(job, stored.revision)], job, by)
    taken = answered.draft.path if answered is not None else Path(args.source)
    if taken is not None and (answered is not None or is_draft(taken)):
        drop(taken)
    if against.said:
        print(against.said)
    if not stored.new:
        print(f"{job.id} is recorded already as revision {stored.revision}: nothing was changed in {_at(archive)}")
        return OK
    older = f" (revision {stored.revision - 1} is kept too)" if stored.revision > 1 else ""
    print(f"{job.id} recorded, revision {stored.revision}{older}: {told(content)}")
    print(f"against plan {plan['plan']}, in {_at(archive)}")
    return OK


def _planned(against: _Against, plan: PlanJson, job: _Job) -> Planned:
    """The names of a plan, under the job's own."""
    return _today(replace(planned_of(plan), job=job.id, once=against.once), job)


def _today(planned: Planned, job: _Job) -> Planned:
    """The same with what came to the shelf since."""
    return replace(planned, lots=planned.lots | job.lots if planned.lots is not None else None)


def _asked(
    archive: Opened, job: _Job, plan: PlanJson, planned: Planned, args: argparse.Namespace
) -> Answered | str:  # fmt: skip
    """What somebody answers at the terminal. Raises ArchiveRefused."""
    system, percent = args.units or job.company.units, job.company.percent
    adding = args.add is not None
    asked = Asked(file=job.file, plan=plan, planned=planned, system=system, percent=percent, adding=adding)
    return record_asked.ask(asked, archive)


def _put_off(answered: Answered, job: _Job) -> int:
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


def _plan_for(archive: Opened, job: _Job, number: str | None, inside: Mapping[str, object] | None) -> _Against:
    """The plan the record speaks of: by the number on its paper, else the last one kept, else made now."""
    from planner.archive.kept import store

    kept = store.plan_of(archive, job.id, number)
    if kept is not None and is_sound(kept.content):
        moved = elsewhere(job.file, job.id, kept.content) if number is None else None
        return _Against(plan=None, faults=(moved,), another=True) if moved is not None else _Against(plan=kept.content)
    if number is not None and is_plan(inside, job.id, number):
        return _Against(plan=inside, said=f"plan {number} was not in the archive: taken from the packet itself")
    now = _planned_now(job)
    if number is None:
        said = f"the job was never printed: planned now, plan {now.plan['plan']}, and kept" if now.plan else ""
        return _Against(plan=now.plan, said=said, faults=now.faults, ours=now.ours)
    if now.plan is not None and now.plan["plan"] == number:
        return _Against(plan=now.plan, said=f"plan {number} was not in the archive: worked out again, and kept")
    others = [other for other in store.jobs_of_number(archive, number) if other != job.id]
    if others:
        what, remedy = f"of `{others[0]}`", f"name that job, `planner record {shown(job.folder / others[0])}.yaml`"
    else:
        what = "not in the archive, and the job has changed since or the number is misread"
        latest = store.plan_of(archive, job.id)
        last = f": then it is held against {latest.number}, printed last" if latest is not None else ""
        remedy = f"check the number on the packet, or record from the packet itself; or leave `plan:` out{last}"
    place = Where(file=shown(job.file), lines=False)
    fault = Fault(code="record.plan", message=f"plan {number[:40]} is {what}", remedy=remedy, where=place)
    return _Against(plan=None, faults=(fault,), another=True)


def _of_branch(archive: Opened, source: Source | None) -> Fault | None:
    """That a packet was printed by another branch."""
    branch = (source.plan or {}).get("branch") if source is not None else None
    if source is None or not isinstance(branch, str) or branch.casefold() == archive.branch:
        return None
    return Fault(
        code="record.branch",
        message=f"this packet is of branch {branch[:60]}, and company.yaml here has "
        + (f"`branch: {archive.branch}`" if archive.branch else "no `branch:`"),
        remedy="record it in that branch's own workspace, or correct `branch:`",
        where=Where(file=source.read.tree.file, lines=False),
    )


def _added(archive: Opened, job: _Job, source: Source | None, args: argparse.Namespace) -> int:
    """Lay what was given over the last revision, and keep that as the next."""
    from planner.archive.kept import store

    if source is None:
        if store.record_of(archive, job.id) is None:
            fault = amended(archive, from_answers({"job": job.id}, ADDED, ADDED), job.id, job.file)
            return _faulty([fault] if isinstance(fault, Fault) else [])
        return _recorded(archive, job, None, args)
    other = _of_branch(archive, source)
    if other is not None:
        return _faulty([other])
    found = amended(archive, source, job.id, job.file)
    if isinstance(found, Fault):
        return _faulty([found])
    planned = _today(found.planned, job)
    _, faults = joined_record(source.read, planned)
    if faults:
        return _faulty(without_lines(source, faults))
    done, faults = joined_record(found.source.read, planned)
    if done is None:
        return _faulty([*found.source.read.faults, *faults])
    content, odd, cautions = _said(done, found.source, found.plan, planned, job, args)
    for caution in [*(fault.message for fault in source.lost), *cautions]:
        if not any(caution.startswith(f"{path}:") and message in caution for path, message in found.known):
            print(f"caution: {caution}", file=sys.stderr)
    stored = store.keep_record(
        archive, content, plan=found.plan, plan_number=found.source.read.raw.get("plan"), source=source.name,
        beside=_beside(found.source, odd), after=found.after,
    )  # fmt: skip
    if stored.late:
        return _faulty([_late(job, stored.revision)])
    if not stored.new:
        print(f"{job.id} has that in revision {stored.revision} already: nothing was changed in {_at(archive)}")
        return OK
    print(f"{job.id} recorded, revision {stored.revision}: {'; '.join(found.told)}")
    print(f"the rest as in revision {found.after}, in {_at(archive)}")
    return OK


def _withdrawn(job: _Job, revision: str, reason: str) -> int:
    """Let one revision of the job's record count no more."""
    from planner.archive.kept import opening, store
    from planner.archive.kept.refused import ArchiveRefused

    reason = " ".join(reason.encode("utf-8", "replace").decode("utf-8").split())[:LONGEST_WORDS]
    if not re.fullmatch(r"[1-9][0-9]{0,8}", revision) or not reason:
        remedy = "write the revision's number and why, such as `--withdraw 2 'of the house next door'`"
        return _faulty([_of_job("record.withdraw", job, "a number and a reason are needed", remedy)])
    try:
        with opening.opened(address_of(job.company), job.folder) as archive:
            counted = store.withdraw(archive, job.id, int(revision), reason)
            last = store.record_of(archive, job.id)
            where = _at(archive)
    except ArchiveRefused as refused:
        return _faulty([refused.fault])
    if counted is None:
        remedy = f"the last one is revision {last.revision}" if last is not None else "nothing is recorded for this job"
        message = f"there is no revision {revision} of {job.id}"
        return _faulty([_of_job("record.withdraw", job, message, remedy)])
    what = f"revision {last.revision} counts now" if last is not None else "no record of it counts now"
    print(f"{job.id}: revision {revision} {'is withdrawn' if counted else 'was withdrawn before'}; {what}, in {where}")
    return OK


def _said(
    done: DoneJob, source: Source, plan: PlanJson, planned: Planned, job: _Job, args: argparse.Namespace,
    number: str | None = None, confirmed: Collection[str] = (),
) -> tuple[RecordJson, list[Doubt], list[str]]:  # fmt: skip
    """A record's JSON, what is odd in it, and what to say of that."""
    date = date_of(job.file.parent)
    content = record_json(done, planned, date.isoformat() if date is not None else None, number or plan["plan"])
    written, system = texts_of(source.read.raw, planned), args.units or job.company.units
    odd = list(doubts(content, plan, system, job.company.percent, written))
    return content, odd, spoken(odd, source, planned, confirmed)


def _beside(source: Source, odd: Sequence[Doubt]) -> dict[str, object]:
    """How a record was written and what was odd in it, kept beside what it says."""
    return {"as_written": dict(source.read.raw), "cautions": [caution_json(one) for one in odd]}


def _renamed(archive: Opened, job: _Job, source: Source | None) -> Before | Fault | None:
    """What the job was called when its packet was printed, or that the record is another's; None for neither.

    Of a file with lines the strict reader tells where it says so, among the other slips in it.
    """
    raw = source.read.raw if source is not None else {}
    job_of, number = raw.get("job"), raw.get("plan")
    if source is None or not isinstance(job_of, str) or not isinstance(number, str | None):
        return None
    asked = Named(
        id=job.id,
        file=job.file,
        workspace=job.folder,
        source=source.read.tree.file,
        written=" ".join(job_of.split()),
        number=" ".join(number.split()) if number is not None else None,
        inside=source.plan,
    )
    return renamed(archive, asked, lambda: _planned_now(job).plan)


def _planned_now(job: _Job) -> _Against:
    """The job planned as it is written today, within its day, which decides what it finds on the rig."""
    if not is_there(job.file):
        return _Against(plan=None)
    whole_day = job.file.parent if is_day(job.file.parent) else job.file
    read = loaded([str(whole_day)])
    trouble = Trouble(faults=list(read.faults))
    for checked in checked_jobs(read, trouble):
        if checked.plan.id == job.id:
            return _Against(plan=plan_json(checked, job.folder))
    return _Against(plan=None, faults=tuple(trouble.faults), ours=trouble.ours)


def _job(path: Path) -> _Job | list[Fault]:
    """The job a path names; its file may be gone, its plan is in the archive."""
    if not path.name:
        return [file_fault("file.kind", path, "this is not a job", "name one job's file: a record is of one job")]
    file = path if path.suffix in (".yaml", ".yml") else path.with_name(path.name + ".yaml")
    folder = workspace_of(file.parent)
    if folder is None:
        remedy = "name a job of a workspace, such as `2026-06-09/10-boathouse.yaml`"
        return [no_workspace(path, remedy)]
    if path.is_dir() or file.stem == "day":
        return [file_fault("file.kind", path, "this is not a job", "name one job's file: a record is of one job")]
    desk = Desk(folder)
    if desk.company.value is None or not desk.company.sound:
        return in_order(fault for fault in desk.faults if fault.where.file == shown(folder / "company.yaml"))
    day = file.absolute().parent
    id = f"{day.name}/{file.stem}" if date_of(day) is not None else file.stem
    lots = frozenset(names_under(desk.stock.raw, "lots"))
    return _Job(file=file, id=id, folder=folder, company=desk.company.value, lots=lots)


def _of_job(code: str, job: _Job, message: str, remedy: str) -> Fault:
    return Fault(code=code, message=message, remedy=remedy, where=Where(file=shown(job.file), lines=False))


def _no_plan(job: _Job) -> Fault:
    return Fault(
        code="record.no_plan",
        message=f"no plan of {job.id} is in the archive, and none can be made now",
        remedy="fix what is wrong with the job, or check its name, then record it",
        where=Where(file=shown(job.file)),
    )


def _late(job: _Job, revision: int) -> Fault:
    return Fault(
        code="record.late",
        message=f"revision {revision} of {job.id} came in while these questions were asked: nothing was saved over it",
        remedy=f"run `planner record {shlex.quote(shown(job.file))}` again and go on from the draft; it offers both",
        where=Where(file=shown(job.file), lines=False),
    )


def _refused(
    source: Source, faults: list[Fault], job: _Job, by: Path | Answered, called: str = ""
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
