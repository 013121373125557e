"""The whole job on one screen: a joined job in, its plan out."""

from __future__ import annotations

import hashlib

from planner import __version__
from planner.inputs.joined import JobInput
from planner.plan.differing import plan_differences
from planner.plan.flushing import plan_flushes
from planner.plan.heels import tonight
from planner.plan.hydraulics import plan_runs
from planner.plan.mix_model import Carried
from planner.plan.mixing import plan_mixes
from planner.plan.model import JobPlan
from planner.plan.neutralisers import plan_neutralisers
from planner.plan.shelf import lot_today
from planner.plan.timing import plan_time
from planner.plan.work import beds_of, plan_work, water_of


def make_plan(job: JobInput, before: Carried | None = None, *, tables: bool = True) -> JobPlan:
    """The plan of one job. Raises planner.physics.lines.SolveError where a line has no operating point.

    `before` is the rig as the day's job before leaves it; left out, as the day's file says it stands tonight.
    `tables`: also what to do if it differs on site, which only paper shows and which takes most of the time.
    """
    found = before if before is not None else tonight(job)
    runs = plan_runs(job)
    shelf = tuple(lot_today(lot, job.date) for lot in job.lots)
    mixes, left = plan_mixes(job, runs, found)
    work = plan_work(job, runs, mixes)
    flushes = plan_flushes(job, runs, mixes)
    beds = beds_of(job, work)
    water = water_of(runs, mixes, work, flushes, beds)
    return JobPlan(
        id=job.id,
        title=job.title,
        kind=job.kind,
        input=job,
        runs=runs,
        shelf=shelf,
        mixes=mixes,
        found=found,
        left=left,
        work=work,
        water=water,
        beds=beds,
        flushes=flushes,
        neutralisers=plan_neutralisers(job, mixes),
        differs=plan_differences(job, runs) if tables else (),
        time=plan_time(job, mixes, work, flushes, job.day.leave_yard if job.day is not None else None),
        notes=tuple(dict.fromkeys((*job.assumed, *job.water.assumed))),
        hash=plan_number(job),
        where=job.where,
    )


def plan_number(job: JobInput) -> str:
    """Eight hex digits over everything that was read and the program's version: `7c41-e9b2`."""
    digest = hashlib.sha256(f"{__version__}\n{job.id}\n{job.source_text}".encode()).hexdigest()
    return f"{digest[:4]}-{digest[4:8]}"
