"""The job a record is of, and its plan: by the number on its paper, else the last one kept, else made now."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from planner.contract.record import planned_of
from planner.days.archiving import address_of, plan_json, workspace_of
from planner.days.prepare import Trouble, checked_jobs, loaded
from planner.faults import Fault, Where, in_order
from planner.frozen import dataclass
from planner.inputs.models import Company
from planner.inputs.reading.files import file_fault, is_day, is_there, no_text, no_workspace, shown
from planner.inputs.reading.names import names_under
from planner.inputs.record import Planned, joined_record
from planner.inputs.shelf import Desk
from planner.inputs.workspace import date_of
from planner.recording.packet_plan import is_plan, is_sound
from planner.recording.renamed import Asked, Before, elsewhere, renamed
from planner.recording.sources import Source, without_lines

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.contract.plan import PlanJson


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordJob:
    """The job asked for: its file, whether or not it still lies there, its id, its workspace and its lots."""

    file: Path
    id: str
    folder: Path
    company: Company
    lots: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Against:
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


def job_asked(path: Path) -> RecordJob | list[Fault]:
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
    if (fault := no_text(file)) is not None:
        return [fault]
    desk = Desk(folder)
    if desk.company.value is None or not desk.company.sound:
        return in_order(fault for fault in desk.faults if fault.where.file == shown(folder / "company.yaml"))
    day = file.absolute().parent
    id = f"{day.name}/{file.stem}" if date_of(day) is not None else file.stem
    lots = frozenset(names_under(desk.stock.raw, "lots"))
    return RecordJob(file=file, id=id, folder=folder, company=desk.company.value, lots=lots)


def planned_under(against: Against, plan: PlanJson, job: RecordJob) -> Planned:
    """The names of a plan, under the job's own."""
    return with_todays_lots(replace(planned_of(plan), job=job.id, once=against.once), job)


def with_todays_lots(planned: Planned, job: RecordJob) -> Planned:
    """The same with what came to the shelf since."""
    return replace(planned, lots=planned.lots | job.lots if planned.lots is not None else None)


def plan_for(
    archive: Opened,
    job: RecordJob,
    number: str | None,
    inside: Mapping[str, object] | None,
    made: Callable[[RecordJob], Against] | None = None,
) -> Against:
    """The plan the record speaks of: by the number on its paper, else the last one kept, else `made` now."""
    from planner.archive.kept import store

    kept = store.plan_of(archive, job.id, number)
    if kept is not None and is_sound(kept.content):
        moved = elsewhere(job.file, job.id, kept.content) if number is None else None
        return Against(plan=None, faults=(moved,), another=True) if moved is not None else Against(plan=kept.content)
    if number is not None and is_plan(inside, job.id, number):
        return Against(plan=inside, said=f"plan {number} was not in the archive: taken from the packet itself")
    now = (made or planned_now)(job)
    if number is None:
        said = f"the job was never printed: planned now, plan {now.plan['plan']}, and kept" if now.plan else ""
        return Against(plan=now.plan, said=said, faults=now.faults, ours=now.ours)
    if now.plan is not None and now.plan["plan"] == number:
        return Against(plan=now.plan, said=f"plan {number} was not in the archive: worked out again, and kept")
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
    return Against(plan=None, faults=(fault,), another=True)


def planned_now(job: RecordJob) -> Against:
    """The job planned as it is written today, within its day, which decides what it finds on the rig."""
    if not is_there(job.file):
        return Against(plan=None)
    whole_day = job.file.parent if is_day(job.file.parent) else job.file
    read = loaded([str(whole_day)])
    trouble = Trouble(faults=list(read.faults))
    for checked in checked_jobs(read, trouble):
        if checked.plan.id == job.id:
            return Against(plan=plan_json(checked, job.folder))
    return Against(plan=None, faults=tuple(trouble.faults), ours=trouble.ours)


def of_another_branch(archive: Opened, source: Source | None) -> Fault | None:
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


def renamed_of(archive: Opened, job: RecordJob, source: Source | None) -> Before | Fault | None:
    """What the job was called when its packet was printed, or that the record is another's; None for neither.

    Of a file with lines the strict reader tells where it says so, among the other slips in it.
    """
    raw = source.read.raw if source is not None else {}
    job_of, number = raw.get("job"), raw.get("plan")
    if source is None or not isinstance(job_of, str) or not isinstance(number, str | None):
        return None
    asked = Asked(
        id=job.id,
        file=job.file,
        workspace=job.folder,
        source=source.read.tree.file,
        written=" ".join(job_of.split()),
        number=" ".join(number.split()) if number is not None else None,
        inside=source.plan,
    )
    return renamed(archive, asked, lambda: planned_now(job).plan)


def misnamed(job: RecordJob, source: Source) -> list[Fault]:
    """What is wrong in the names of a record that cannot be read whole: all its faults are told at once."""
    from planner.archive.kept import opening
    from planner.archive.kept.refused import ArchiveRefused

    number = source.read.raw.get("plan")
    try:
        with opening.opened(address_of(job.company), job.folder, write=False) as archive:
            before = renamed_of(archive, job, source)
            if isinstance(before, Fault) and (source.drafted or before.code == "record.site"):
                return [before]
            if isinstance(before, Before):
                against = Against(plan=before.plan, once=before.id)
            else:
                against = plan_for(archive, job, number if isinstance(number, str) else None, source.plan)
    except ArchiveRefused:
        against = planned_now(job)
    if against.plan is None:
        return []
    _, faults = joined_record(source.read, planned_under(against, against.plan, job))
    return without_lines(source, faults)


def of_job(code: str, job: RecordJob, message: str, remedy: str) -> Fault:
    return Fault(code=code, message=message, remedy=remedy, where=Where(file=shown(job.file), lines=False))


def no_plan(job: RecordJob) -> Fault:
    return Fault(
        code="record.no_plan",
        message=f"no plan of {job.id} is in the archive, and none can be made now",
        remedy="fix what is wrong with the job, or check its name, then record it",
        where=Where(file=shown(job.file)),
    )
