"""A whole day checked as its files stand in the page, saved or not.

The first answer has verdict, figures and findings; remedies, the rehearsal and a better order come with the second,
and so do jobs behind the one that is typed in, which are said to wait.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path

from planner.checks.model import CheckedJob
from planner.days.prepare import Depth, Earlier, Trouble, checked_jobs, days_of
from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.reading.files import in_working_order, shown
from planner.inputs.workspace import BARE, Loaded, load
from planner.plan.days.day import DayPlan
from planner.units import System
from planner.writing import unsaved


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the checks say of one day: each job's file with its plan, None where it could not be planned, and why not.

    `records`: why earlier days count as planned, where theirs cannot be read. `whole`: with remedies and rehearsal.
    `waits`: jobs behind the one that was asked about, given as they were known before it changed.
    `at` is the local time it was asked. `found` and `days` are what is printed.
    """

    folder: Path
    jobs: Mapping[Path, CheckedJob | None]
    inputs: Mapping[Path, JobInput]
    day: DayPlan | None
    faults: tuple[Fault, ...]
    ours: bool
    records: str
    whole: bool
    system: System
    at: datetime.datetime
    found: tuple[CheckedJob, ...] = ()
    days: tuple[tuple[DayPlan, list[CheckedJob]], ...] = ()
    waits: frozenset[Path] = frozenset()

    def faults_of(self, path: Path) -> list[Fault]:
        """The faults in one file."""
        name = shown(path)
        return [fault for fault in self.faults if fault.where.file == name]


def answer_for(
    folder: Path,
    texts: Mapping[Path, bytes],
    *,
    whole: bool,
    orders: bool = False,
    tables: bool = False,
    known: Earlier | None = None,
    until: Path | None = None,
) -> Answer:
    """Check a day's folder with unsaved `texts` in place of what the disk holds.

    `orders`: look for a better order too. `tables`: all that paper needs, a better order among it. `known`: what
    earlier days came to, where nothing they rest on has changed. `until`: the job that is asked about first.
    """
    with unsaved(texts):
        read = load([folder])
        known = Earlier() if known is None else known
        read.call.jobs |= {path: job for path, job in known.read.items() if path.parent != folder}
        trouble = Trouble(faults=[fault for fault in read.faults if fault.code != BARE])
        depth = Depth(tables=tables, cures=whole, rehearse=whole, known=known, until=until.stem if until else "")
        found = list(checked_jobs(read, trouble, depth))
        days = days_of(read, found, quick=not (orders or tables))
        known.read |= {path: job for path, job in read.call.jobs.items() if path.parent != folder}
        paths = in_working_order(folder)
    clocked = {job.plan.id: job for _, of_day in days for job in of_day}
    planned = {job.plan.id: clocked.get(job.plan.id, job) for job in found}
    jobs = {path: planned.get(f"{folder.name}/{path.stem}") for path in paths}
    return Answer(
        folder=folder,
        jobs=jobs,
        inputs={path: job for path in paths if (job := read.call.jobs.get(path)) is not None},
        day=next((day for day, _ in days), None),
        faults=tuple(dict.fromkeys(trouble.faults)),
        ours=trouble.ours,
        records=trouble.records,
        whole=whole,
        system=units_of(read, found),
        at=datetime.datetime.now(),
        found=tuple(found),
        days=tuple(days),
        waits=frozenset(path for path in paths if path.stem in depth.waits),
    )


def units_of(read: Loaded, found: list[CheckedJob]) -> System:
    """The company's units, where its page can be read."""
    if found:
        return found[0].plan.input.company.units
    desk = read.call.desks.get(read.workspace)
    company = desk.company.value if desk is not None else None
    return company.units if company is not None else "us"
