"""What `check` and `packet` share: read, plan and check every job, and say what is wrong with the rest."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from planner.checks.evaluate import check_plan
from planner.checks.model import CheckedJob
from planner.commands.exits import FAULTY, HELD, OK, OURS
from planner.commands.sorry import apologise
from planner.faults import Fault, printed
from planner.inputs.joined import JobInput
from planner.inputs.workspace import Loaded, load
from planner.physics.lines import SolveError
from planner.plan.day import DayPlan, plan_day
from planner.plan.make import make_plan
from planner.plan.mix_model import Carried


def loaded(paths: Sequence[str]) -> Loaded:
    """Everything the paths hold, joined, with every fault found on the way."""
    return load([Path(path) for path in paths])


def checked(job: JobInput, before: Carried | None, *, tables: bool) -> CheckedJob | Fault | None:
    """The job planned and checked, or the fault that kept it from being planned; None: our own error, apologised for.

    `before` is the rig as the day's job before leaves it.
    """
    try:
        return check_plan(make_plan(job, before, tables=tables))
    except SolveError as error:
        return Fault(
            code="plan.unsolved",
            message=str(error),
            remedy="Check the pump's curve, the tip and the hoses of this run for a slip of unit.",
            where=job.where,
        )
    except Exception:
        # One job's trouble is not the others': they are still planned, and the call ends with our own exit code.
        apologise(job.id)
        return None


@dataclass(slots=True)
class Trouble:
    """What went wrong on the way: faults of the writer, and whether there was an error of ours."""

    faults: list[Fault]
    ours: bool = False


def checked_jobs(jobs: Sequence[JobInput], trouble: Trouble, *, tables: bool = False) -> Iterator[CheckedJob]:
    """Every job that could be planned; what could not adds to `trouble`.

    `tables`: also plan what to do if it differs, for paper. Jobs of one day follow each other: each finds in tanks
    and lines what the one before left there.
    """
    left: dict[object, Carried] = {}
    for job in jobs:
        result = checked(job, left.get(job.date) if job.date is not None else None, tables=tables)
        if isinstance(result, Fault):
            trouble.faults.append(result)
        elif result is None:
            trouble.ours = True
        else:
            # A held job is not done: the next one finds the rig as it was.
            if job.date is not None and result.verdict != "stop":
                left[job.date] = result.plan.left
            yield result


def days_of(read: Loaded, jobs: Sequence[CheckedJob]) -> list[tuple[DayPlan, list[CheckedJob]]]:
    """Each day that was asked for whole, with those of its jobs that could be planned, put on one clock."""
    days = []
    for day in read.days:
        of_day = [job for job in jobs if job.plan.id in day.jobs and job.plan.input.date is not None]
        if not of_day:
            continue
        held = frozenset(job.plan.id for job in of_day if job.verdict == "stop")
        planned = plan_day([job.plan for job in of_day], held)
        clocked = [replace(job, plan=plan) for job, plan in zip(of_day, planned.jobs, strict=True)]
        days.append((planned, clocked))
    return days


def report(faults: Sequence[Fault]) -> None:
    """Faults on standard error, a blank line after them."""
    if faults:
        print(printed(faults), file=sys.stderr)
        count = len(set(faults))
        print(f"{count} fault{'s' if count != 1 else ''} in what was written.\n", file=sys.stderr)


def exit_code(jobs: Sequence[CheckedJob], trouble: Trouble) -> int:
    """The command's exit code: our own errors come before faults, faults before stops."""
    if trouble.ours:
        return OURS
    if trouble.faults:
        return FAULTY
    return HELD if any(job.verdict == "stop" for job in jobs) else OK
