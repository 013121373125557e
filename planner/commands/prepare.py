"""What `check` and `packet` share: read, plan and check every job, and say what is wrong with the rest."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from planner.checks.evaluate import check_plan
from planner.checks.model import CheckedJob
from planner.commands.exits import FAULTY, HELD, OK
from planner.faults import Fault, printed
from planner.inputs.joined import JobInput
from planner.inputs.workspace import Loaded, load
from planner.physics.lines import SolveError
from planner.plan.make import make_plan


def loaded(paths: Sequence[str]) -> Loaded:
    """Everything the paths hold, joined, with every fault found on the way."""
    return load([Path(path) for path in paths])


def checked(job: JobInput) -> CheckedJob | Fault:
    """The job planned and checked, or the fault that kept it from being planned."""
    try:
        return check_plan(make_plan(job))
    except SolveError as error:
        return Fault(
            code="plan.unsolved",
            message=str(error),
            remedy="Check the pump's curve, the tip and the hoses of this run for a slip of unit.",
            where=job.where,
        )


def checked_jobs(jobs: Sequence[JobInput], faults: list[Fault]) -> Iterator[CheckedJob]:
    """Every job that could be planned; what could not adds to `faults`."""
    for job in jobs:
        result = checked(job)
        if isinstance(result, Fault):
            faults.append(result)
        else:
            yield result


def report(faults: Sequence[Fault]) -> None:
    """Faults on standard error, a blank line after them."""
    if faults:
        print(printed(faults), file=sys.stderr)
        count = len(set(faults))
        print(f"{count} fault{'s' if count != 1 else ''} in what was written.\n", file=sys.stderr)


def exit_code(jobs: Sequence[CheckedJob], faults: Sequence[Fault]) -> int:
    """The command's exit code: faults come before stops."""
    if faults:
        return FAULTY
    return HELD if any(job.verdict == "stop" for job in jobs) else OK
