"""Whether the day is longer than a crew works, and whether mix comes off each wall in time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from planner.checks.model import CheckedJob, Finding, Level
from planner.checks.registry import check, over
from planner.plan.model import JobPlan, Value
from planner.plan.timing import end_of, home_after, lost_by


@check("time.day")
def time_day(plan: JobPlan) -> Iterator[Finding]:
    """From leaving the yard to driving off from this job, and home from the day's last.

    Without a time of leaving, the job alone; behind a drive that is missing or a job that cannot be read nothing is
    said of the hour, and that is asked for.
    """
    limit = plan.input.limits["day_length"]
    leaves = plan.input.day.leave_yard if plan.input.day is not None else None
    ends = end_of(plan.time)
    home = home_after(plan) or 0.0
    whole = leaves is not None and ends is not None
    length = sum(span.seconds for span in plan.time) + home
    if leaves is not None and ends is not None:
        length = ends - leaves + home
    waits = lost_by(plan.input, plan.found) if leaves is not None else ""
    level: Level = "none" if not plan.time else "caution" if over(length, limit) or waits else "ok"
    case = "none" if not plan.time else ("home" if home and whole else "day" if whole else "job")
    case += "_long" if level == "caution" else ""
    if waits and level != "none":
        case = "lost" if plan.found.lost else "no_drive"
    yield Finding(
        code="time.day",
        about="day",
        level=level,
        case=case,
        values={
            "length": Value(length, "time"),
            "limit": Value(limit, "time"),
            "home": Value(home, "time"),
            "waits": waits,
        },
        where=plan.where,
    )


def day_findings(jobs: Sequence[CheckedJob]) -> tuple[Finding, ...]:
    """What is found of a day as a whole: how long it is when the last of its jobs is done."""
    ends = [one for job in jobs for one in job.findings if one.code == "time.day" and one.level != "none"]
    return tuple(replace(one, about="day") for one in ends[-1:])


@check("wall.dwell")
def wall_dwell(plan: JobPlan) -> Iterator[Finding]:
    """Each wall whose mix would stand too long, whatever the size of its sections; the plan has tried them."""
    where = {surface.name: surface.where for surface in plan.input.surfaces}
    for one in plan.procedure_misfits:
        yield Finding(
            code="wall.dwell",
            about=one.surface,
            level="stop",
            case="too_long",
            values={
                "surface": one.surface,
                "shortest": Value(one.shortest, "time"),
                "bound": Value(one.bound, "time"),
                "least": Value(one.least, "time"),
            },
            where=where.get(one.surface, plan.where),
        )
    if not plan.procedure_misfits:
        stands = any(work.dwell_bound > 0.0 for work in plan.work)
        level: Level = "ok" if stands else "none"
        yield Finding(code="wall.dwell", about="walls", level=level, case=level, values={}, where=plan.where)
