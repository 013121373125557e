"""Jobs still to be done, and how worn a pump may be for each of their runs."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator
from contextlib import suppress
from pathlib import Path

from planner.archive.compare.trends import Need
from planner.faults import Fault
from planner.inputs.reading.files import is_day, listed_files
from planner.inputs.workspace import date_of, load
from planner.physics.lines import SolveError
from planner.plan.make import make_plan
from planner.plan.model import JobPlan
from planner.plan.wear.inverse import least_share
from planner.terminal import progress


def needs_of(
    folder: Path, after: datetime.date, done: Collection[str], pumps: Collection[tuple[str, str]]
) -> tuple[list[Need], list[Fault]]:
    """What the workspace's days after `after` ask of `pumps`, each (rig, pump); and what is faulty in those days.

    A job in `done` is recorded already. Each is planned as it is written, alone: what the day before leaves in tanks is
    nothing to a jet.
    """
    days = [day for day in listed_files(folder) if is_day(day) and (date_of(day) or after) > after]
    if not days or not pumps:
        return [], []
    read = load(days)
    found: list[Need] = []
    wanted = [job for job in read.jobs if job.kind == "wash" and job.id not in done and job.date is not None]
    with progress("booked jobs", len(wanted)) as step:
        for job in wanted:
            if any((job.rig.rig, run.pump.name) in pumps for run in job.runs if run.pump is not None):
                with suppress(SolveError):  # `check` tells of it; there is no line to be worn here
                    found += _needs(make_plan(job, tables=False), pumps)
            step()
    return found, list(read.faults)


def _needs(plan: JobPlan, pumps: Collection[tuple[str, str]]) -> Iterator[Need]:
    date, rig = plan.input.date, plan.input.rig.rig
    for run in plan.runs:
        pump = run.input.pump
        share = least_share(plan, run) if pump is not None and (rig, pump.name) in pumps else None
        if share is not None and pump is not None and date is not None:
            yield Need(rig=rig, pump=pump.name, job=plan.id, run=run.name, date=date, share=share)
