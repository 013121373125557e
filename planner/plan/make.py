"""The whole job on one screen: a joined job in, its plan out."""

from __future__ import annotations

import hashlib

from planner import __version__
from planner.inputs.joined import JobInput
from planner.plan.hydraulics import plan_runs
from planner.plan.model import JobPlan


def make_plan(job: JobInput) -> JobPlan:
    """The plan of one job. Raises planner.physics.lines.SolveError where a line has no operating point."""
    runs = plan_runs(job)
    return JobPlan(
        id=job.id,
        title=job.title,
        kind=job.kind,
        input=job,
        runs=runs,
        notes=tuple(dict.fromkeys((*job.assumed, *job.water.assumed))),
        hash=plan_number(job),
        where=job.where,
    )


def plan_number(job: JobInput) -> str:
    """Eight hex digits over everything that was read and the program's version: `7c41-e9b2`."""
    digest = hashlib.sha256(f"{__version__}\n{job.id}\n{job.source_text}".encode()).hexdigest()
    return f"{digest[:4]}-{digest[4:8]}"
