"""Whether the day is longer than a crew works."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from planner.checks.model import CheckedJob, Finding, Level
from planner.checks.registry import check, over
from planner.plan.model import JobPlan, Value
from planner.plan.timing import end_of


@check("time.day")
def time_day(plan: JobPlan) -> Iterator[Finding]:
    """From leaving the yard to driving off from this job; the way home is not counted, for nobody wrote it.

    Where nobody wrote when the rig leaves, the job alone.
    """
    limit = plan.input.limits["day_length"]
    leaves = plan.input.day.leave_yard if plan.input.day is not None else None
    ends = end_of(plan.time)
    whole = leaves is not None and ends is not None
    length = ends - leaves if leaves is not None and ends is not None else sum(span.seconds for span in plan.time)
    level: Level = "none" if not plan.time else "caution" if over(length, limit) else "ok"
    case = "none" if not plan.time else ("day" if whole else "job") + ("_long" if level == "caution" else "")
    yield Finding(
        code="time.day",
        about="day",
        level=level,
        case=case,
        values={"length": Value(length, "time"), "limit": Value(limit, "time")},
        where=plan.where,
    )


def day_findings(jobs: Sequence[CheckedJob]) -> tuple[Finding, ...]:
    """What is found of a day as a whole: how long it is when the last of its jobs is done."""
    ends = [one for job in jobs for one in job.findings if one.code == "time.day" and one.level != "none"]
    return tuple(replace(one, about="day") for one in ends[-1:])
