"""What `check` and `packet` share: read, plan and check every job, and say what is wrong with the rest."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path

from planner.checks.evaluate import check_again, check_plan
from planner.checks.model import CheckedJob
from planner.commands.exits import FAULTY, HELD, OK, OURS
from planner.commands.order import order_of
from planner.commands.riding import LOAD, left_behind
from planner.commands.sorry import apologise
from planner.commands.waiting import Waiting
from planner.faults import Fault, printed
from planner.inputs.joined import JobInput
from planner.inputs.workspace import Loaded, load
from planner.physics.lines import SolveError
from planner.plan.day import DayPlan, plan_day
from planner.plan.heels import next_morning, tonight
from planner.plan.loading import loads_of_day
from planner.plan.make import make_plan
from planner.plan.mix_model import Carried, SiteTrace
from planner.plan.model import JobPlan
from planner.plan.reorder import with_outlook
from planner.plan.sites import from_days_before, traces
from planner.remedies.search import with_remedies


def loaded(paths: Sequence[str]) -> Loaded:
    """Everything the paths hold, joined, with every fault found on the way."""
    return load([Path(path) for path in paths])


def checked(job: JobInput, before: Carried | None, *, tables: bool) -> CheckedJob | Fault | None:
    """The job planned and checked, or the fault that kept it from being planned; None: our own error, apologised for.

    `before` is the rig as the day's job before leaves it.
    """
    try:
        return with_remedies(check_plan(make_plan(job, before, tables=tables)))
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
    """Every job that could be planned, with the load of its whole day; what could not be planned adds to `trouble`."""
    for day, jobs_of_day in groupby(_in_turn(jobs, trouble, tables=tables), key=lambda job: job.plan.input.day_name):
        of_day = list(jobs_of_day)
        yield from loaded_together(of_day) if day else of_day


def lacks_stock(job: CheckedJob) -> bool:
    """Whether a job is held only because the shelf lacks what it takes: once that is bought, it goes."""
    stops = {one.code for one in job.findings if one.level == "stop" and one.accepted is None}
    return "mix.stock" in stops and stops <= LOAD | {"mix.stock"}


def loaded_together(jobs: Sequence[CheckedJob]) -> list[CheckedJob]:
    """One day's jobs with what rides on each leg of the road; a held one rides with nobody and is judged alone."""
    riding = [job for job in jobs if not left_behind(job)]
    loads = loads_of_day([job.plan for job in riding])
    together = {id(job): load for job, load in zip(riding, loads, strict=True)}
    return [
        check_again(job, replace(job.plan, load=together[id(job)]), LOAD) if id(job) in together else job
        for job in jobs
    ]


def _in_turn(jobs: Sequence[JobInput], trouble: Trouble, *, tables: bool) -> Iterator[CheckedJob]:
    """Every job that could be planned; what could not adds to `trouble`.

    `tables`: also plan what to do if it differs, for paper. Jobs follow each other by date: within a day each finds
    in tanks and lines what the one before left there, and on the shelf what all before it did not pull. What an earlier
    day left in a tank is remembered too, where the day's own file says nothing of it.
    """
    left: dict[str, Carried] = {}
    nights: dict[str, Carried] = {}
    sites: list[SiteTrace] = []
    taken: Mapping[str, float] = {}
    waiting = Waiting(jobs)
    for job in sorted(jobs, key=lambda job: (job.date or datetime.date.min, job.day_name, job.place_in_day or (0, 0))):
        before = left.get(job.day_name) if job.date is not None else None
        rig = job.rig.name.casefold()
        if before is None and job.date is not None:
            night = next_morning(job, nights[rig]) if rig in nights else tonight(job)
            before = replace(night, sites=from_days_before(sites, job), taken=taken)
        if before is not None:
            before = replace(before, pending=waiting.before(job), benched=waiting.benched(job))
        result = checked(job, before, tables=tables)
        if isinstance(result, Fault):
            trouble.faults.append(result)
            waiting.add(job, "unplanned")
        elif result is None:
            trouble.ours = True
            waiting.add(job, "unplanned")
        else:
            # A held job is not done: the next one finds the rig as it was. The clock runs on for it all the same.
            # What holds the load alone is put right in the yard, before anything leaves.
            if job.date is not None:
                plan, done = result.plan, not left_behind(result)
                left[job.day_name] = plan.left if done else replace(plan.found, ends=plan.left.ends)
                sites += traces(job, plan.mixes) if done else ()
                taken = left[job.day_name].taken
                nights[rig] = left[job.day_name]
                if not done:
                    waiting.add(job, "held")
            yield result


def days_of(read: Loaded, jobs: Sequence[CheckedJob]) -> list[tuple[DayPlan, list[CheckedJob]]]:
    """Each day that was asked for whole, with those of its jobs that could be planned, put on one clock."""
    days: list[tuple[DayPlan, list[CheckedJob]]] = []
    wanted: dict[datetime.date, list[JobPlan]] = {}
    for day in sorted(read.days, key=lambda day: day.date or datetime.date.min):
        of_day = [job for job in jobs if job.plan.id in day.jobs and job.plan.input.date is not None]
        if not of_day:
            continue
        held = frozenset(job.plan.id for job in of_day if job.verdict == "stop")
        behind = frozenset(job.plan.id for job in of_day if left_behind(job))
        short = frozenset(job.plan.id for job in of_day if lacks_stock(job))
        planned = replace(plan_day([job.plan for job in of_day], held, behind, short), better=order_of(of_day))
        clocked = [replace(job, plan=plan) for job, plan in zip(of_day, planned.jobs, strict=True)]
        wanted.setdefault(planned.date, []).extend(
            job.plan for job in of_day if job.plan.id not in held or job.plan.id in short
        )
        days.append((planned, clocked))
    looked = with_outlook([planned for planned, _ in days], wanted)
    return [(day, clocked) for day, (_, clocked) in zip(looked, days, strict=True)]


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
