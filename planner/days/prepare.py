"""What `check` and `packet` share: read, plan and check every job, and say what is wrong with the rest.

`make_plan` weighs a job alone; `loaded_together` weighs the day's jobs together once all are planned, and checks the
load again.
"""

from __future__ import annotations

import datetime
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain, groupby
from pathlib import Path

from planner.checks.evaluate import check_again, check_plan
from planner.checks.model import CheckedJob
from planner.days.lineup import Entry, line_up
from planner.days.order import LOAD, held_then, left_behind, order_of
from planner.days.recorded import as_recorded, settled
from planner.days.rehearsing import met, rehearsed, tell
from planner.days.waiting import Waiting
from planner.exits import FAULTY, HELD, OK, OURS, apologise
from planner.faults import Fault, printed
from planner.inputs.joined import DayInput, JobInput
from planner.inputs.reading.files import is_day
from planner.inputs.workspace import Loaded, load
from planner.physics.lines import SolveError
from planner.plan.between.heels import next_morning, tonight
from planner.plan.between.runoff import remains_of
from planner.plan.between.sites import known_sites, traces
from planner.plan.days.day import DayPlan, plan_day
from planner.plan.days.reorder import with_outlook
from planner.plan.make import make_plan
from planner.plan.mix.mixing import next_mixes
from planner.plan.mix.model import Carried, NextMix, SiteTrace
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Procedure
from planner.plan.road.loading import loads_of_day
from planner.remedies.search import with_remedies


def loaded(paths: Sequence[str]) -> Loaded:
    """Everything the paths hold, joined, with every fault found on the way."""
    return load([Path(path) for path in paths])


def checked(
    job: JobInput, before: Carried | None, *, tables: bool, cures: bool = True, of_day: bool = True
) -> CheckedJob | Fault | None:
    """The job planned and checked, or the fault that kept it from being planned; None: our own error, apologised for.

    `before` is the rig as the job before leaves it. `cures`: look for what would help, which somebody will read.
    `of_day`: of a day that was asked for, so its acts are rehearsed.
    """
    try:
        found = check_plan(make_plan(job, before, tables=tables))
        found = with_remedies(found, failing=tables) if cures else found
        return rehearsed(found) if of_day else found
    except SolveError as error:
        return Fault(
            code="plan.unsolved",
            message=str(error),
            remedy="Check the pump's curve, the tip and the hoses of this run for a wrong unit.",
            where=job.where,
        )
    except Exception:
        # One job's trouble is not the others': they are still planned, and the call ends with our own exit code.
        apologise(job.id)
        return None


@dataclass(slots=True)
class Trouble:
    """What went wrong on the way: faults of the writer, whether there was an error of ours, and why earlier days count
    as planned where their records cannot be read.
    """

    faults: list[Fault]
    ours: bool = False
    records: str = ""


_Given = tuple[JobInput, Carried, JobInput | None, tuple[SiteTrace, ...]]


@dataclass(slots=True)
class Earlier:
    """What earlier days were read as and came to, for whoever asks again while nothing they rest on has changed.

    `given`: what each job of the day that is asked for was last checked from, by how deep, and what it came to: the
    same comes to the same. `last`: what it came to last, whatever from.
    """

    read: dict[Path, JobInput | None] = field(default_factory=dict)
    checked: dict[tuple[Path, str], CheckedJob] = field(default_factory=dict)
    given: dict[tuple[Path, str, bool, bool, bool], tuple[_Given, CheckedJob]] = field(default_factory=dict)
    last: dict[tuple[Path, str], CheckedJob] = field(default_factory=dict)


@dataclass(slots=True, kw_only=True)
class Depth:
    """How deep jobs are checked. `tables`: also plan what to do if it differs, for paper. `cures`: search remedies.

    `rehearse`: play the acts; without either it is a first answer that a second one follows. `known`: of earlier days,
    and of the day before it was changed. `until`: the job of the day that is asked about; those after it are given as
    they were known, where all are, and `waits` has their names.
    """

    tables: bool = False
    cures: bool = True
    rehearse: bool = True
    known: Earlier | None = None
    until: str = ""
    waits: frozenset[str] = frozenset()


def checked_jobs(read: Loaded, trouble: Trouble, asked: Depth | None = None) -> Iterator[CheckedJob]:
    """Every job asked for that could be planned, in its whole day; what could not be planned adds to `trouble`."""
    return chain.from_iterable(checked_folders(read, trouble, asked))


def checked_folders(read: Loaded, trouble: Trouble, asked: Depth | None = None) -> Iterator[list[CheckedJob]]:
    """The same as they are planned, a day's or another folder's at a time."""
    turn = line_up(read)
    if turn.trouble is not None:
        trouble.records = str(turn.trouble)
        print(f"caution: earlier days count as planned, their records cannot be read: {turn.trouble}", file=sys.stderr)
    for folder, of_folder in groupby(_in_turn(turn.entries, trouble, asked or Depth()), key=lambda row: row[0].folder):
        rows = list(of_folder)
        jobs = [job for _, job in rows]
        dated = rows[0][0].date is not None and is_day(folder)
        together = loaded_together(jobs) if dated else jobs
        yield [job for (entry, _), job in zip(rows, together, strict=True) if entry.asked]


def lacks_stock(job: CheckedJob) -> bool:
    """Whether a job is held only because the shelf lacks what it takes: once that is bought, it goes."""
    stops = {one.code for one in job.findings if one.level == "stop" and one.accepted is None}
    return not job.breaches and "mix.stock" in stops and stops <= LOAD | {"mix.stock"}


def loaded_together(jobs: Sequence[CheckedJob]) -> list[CheckedJob]:
    """One day's jobs with what rides on each leg of the road; a held one rides with nobody and is judged alone."""
    riding = [job for job in jobs if not left_behind(job)]
    loads = loads_of_day([job.plan for job in riding])
    together = {id(job): load for job, load in zip(riding, loads, strict=True)}
    return [
        check_again(job, replace(job.plan, load=together[id(job)]), LOAD) if id(job) in together else job
        for job in jobs
    ]


def _in_turn(entries: Sequence[Entry], trouble: Trouble, asked: Depth) -> Iterator[tuple[Entry, CheckedJob]]:
    """Every job of the days asked for that could be planned; what could not adds to `trouble`.

    Each finds in tanks and lines what the one before left there, on its ground what earlier jobs left, on the shelf
    what the asked days before it did not pull. Days that are only looked back upon take nothing off the shelf: it is
    as it was counted since.
    """
    rigs: dict[tuple[Path, str], Carried] = {}
    days: dict[Path, Carried] = {}
    lost: dict[Path, str] = {}
    sites: dict[Path, list[SiteTrace]] = {}
    taken: dict[Path, Mapping[str, float]] = {}
    used: dict[Path, Mapping[str, float]] = {}
    stands: dict[Path, dict[str, Procedure]] = {}
    waiting = Waiting(entries)
    for entry in entries:
        job, rig = entry.job, (entry.workspace, entry.rig)
        if job is None:
            if not settled(entry.record):
                waiting.add(entry, "unread")
            lost[entry.folder] = entry.name
            continue
        before = days.get(entry.folder)
        if before is None:
            before = next_morning(job, rigs[rig]) if rig in rigs else tonight(job)
        if entry.morning:
            rigs[rig] = before
            continue
        before = replace(
            before,
            sites=known_sites(sites.get(entry.workspace, ()), job),
            taken=taken.get(entry.workspace, before.taken) if entry.of_day else {},
            used=used.get(entry.workspace, before.used) if entry.of_day else {},
            pending=waiting.before(entry),
            benched=waiting.benched(entry),
            lost=lost.get(entry.folder, before.lost),
        )
        following, earlier = _next_of_day(entry, entries), tuple(sites.get(entry.workspace, ()))
        known = asked.known.checked if asked.known is not None and not entry.of_day else {}
        if entry.of_day and entry.name in asked.waits and asked.known is not None:
            yield entry, asked.known.last[entry.folder, entry.name]
            continue
        result = known.get((entry.folder, entry.name)) or _known_or_checked(
            (job, before, following, earlier), entry, asked
        )
        if entry.of_day and entry.name == asked.until:
            asked.waits = _known_after(entry, entries, asked.known)
        if not isinstance(result, CheckedJob):
            if result is None:
                trouble.ours = True
            elif entry.asked:
                trouble.faults.append(result)
            waiting.add(entry, "unplanned")
            lost[entry.folder] = entry.name
            continue
        known[entry.folder, entry.name] = result
        if entry.of_day and entry.record is None and asked.rehearse:
            result = met(result, stands.get(entry.folder, {}))
        # A held job is not done: the next one finds the rig as it was. The clock runs on for it all the same.
        # What holds the load alone is put right in the yard, before anything leaves.
        plan, done = result.plan, not (left_behind(result) if entry.of_day else held_then(result))
        done = done or entry.record is not None
        left = plan.left if done else replace(plan.found, ends=plan.left.ends, lost=plan.left.lost)
        if entry.record is not None:
            left = as_recorded(left, plan, entry.record)
        if entry.date is not None:
            days[entry.folder] = rigs[rig] = left
            sites.setdefault(entry.workspace, []).extend(traces(job, plan.mixes) if done else ())
            if entry.of_day:
                taken[entry.workspace], used[entry.workspace] = left.taken, left.used
            if not done:
                waiting.add(entry, "held")
        if entry.of_day:
            if result.breaches:
                trouble.ours = True
                tell(result)
            if entry.record is not None:
                stands[entry.folder] = {}  # what was written down, not what was planned, is where the next begins
            elif done and plan.procedure is not None:
                stands.setdefault(entry.folder, {})[plan.id] = plan.procedure
            yield entry, result


def _next_of_day(entry: Entry, entries: Sequence[Entry]) -> JobInput | None:
    """The job a rig goes to next on the same day; None where there is none, or it cannot be read."""
    if entry.date is None or not is_day(entry.folder):
        return None
    later = (one for one in entries if one.folder == entry.folder and one.place == entry.place + 1)
    return next((one.job for one in later if one.rig == entry.rig and not one.morning), None)


def _known_after(entry: Entry, entries: Sequence[Entry], known: Earlier | None) -> frozenset[str]:
    """The jobs of the day after this one, where it is known of each what it came to last; else none."""
    later = [one for one in entries if one.folder == entry.folder and one.place > entry.place and one.job is not None]
    names = frozenset(one.name for one in later)
    return names if known is not None and all((entry.folder, name) in known.last for name in names) else frozenset()


def _known_or_checked(given: _Given, entry: Entry, asked: Depth) -> CheckedJob | Fault | None:
    """What the job comes to: as it did before, where all that it is checked from is the same."""
    if asked.known is None or not entry.of_day:
        return _checked_before(given, entry, asked)
    deep = (entry.folder, entry.name, asked.tables and entry.asked, entry.asked and asked.cures, asked.rehearse)
    was = asked.known.given.get(deep)
    if was is not None and was[0] == given:
        result: CheckedJob | Fault | None = was[1]
    else:
        result = _checked_before(given, entry, asked)
    if isinstance(result, CheckedJob):
        asked.known.given[deep] = (given, result)
        asked.known.last[entry.folder, entry.name] = result
    return result


def _checked_before(given: _Given, entry: Entry, asked: Depth) -> CheckedJob | Fault | None:
    """The job checked; what it leaves over stays for the following one only where that goes and mixes on it."""
    job, before, following, sites = given

    def tried(next_in: Mapping[str, NextMix]) -> CheckedJob | Fault | None:
        found = replace(before, next_in=next_in)
        cures, of_day = entry.asked and asked.cures, entry.of_day and asked.rehearse
        return checked(job, found, tables=asked.tables and entry.asked, cures=cures, of_day=of_day)

    if following is None:
        return tried({})
    result = tried(next_mixes(following))
    if isinstance(result, CheckedJob) and not _mixes_on_it(following, result.plan, sites):
        return tried({})
    return result


def _mixes_on_it(job: JobInput, before: JobPlan, sites: Sequence[SiteTrace]) -> bool:
    """Whether the next job would go with what the one `before` leaves for it, and makes no more mix for it.

    True where nothing is left for it. `sites`: what the days before left on the ground.
    """
    if not any(mix.stays_for for mix in before.mixes):
        return True
    traced = known_sites((*sites, *traces(before.input, before.mixes)), job)
    try:
        found = check_plan(make_plan(job, replace(before.left, sites=traced), tables=False))
    except Exception:  # it is told of in its own turn
        return False
    mixes = [mix for mix in found.plan.mixes if mix.heel_of]
    none_more = all(
        remains_of(mix).spare <= mix.spare * sum(part.mix for part in mix.parts) * (1.0 + 1e-6) for mix in mixes
    )
    return bool(mixes) and none_more and not found.held and not left_behind(found)


Clocked = tuple[DayPlan, list[CheckedJob]]
"""A day and its jobs that could be planned, put on one clock."""


def days_of(read: Loaded, jobs: Sequence[CheckedJob], *, quick: bool = False) -> list[Clocked]:
    """Each day that was asked for whole, its shelf looked ahead to those after it.

    `quick`: no better order is looked for.
    """
    return looked_ahead(one for day in read.days if (one := clocked(day, jobs, quick=quick)) is not None)


def clocked(day: DayInput, jobs: Sequence[CheckedJob], *, quick: bool = False) -> Clocked | None:
    """A day that was asked for whole, alone; None where none of its jobs could be planned."""
    of_day = [job for job in jobs if job.plan.id in day.jobs and job.plan.input.date is not None]
    if not of_day:
        return None
    held = frozenset(job.plan.id for job in of_day if job.held)
    behind = frozenset(job.plan.id for job in of_day if left_behind(job))
    short = frozenset(job.plan.id for job in of_day if lacks_stock(job))
    planned = plan_day([job.plan for job in of_day], held, behind, short, lined=day.jobs)
    planned = planned if quick or planned.waits else replace(planned, better=order_of(of_day))
    return planned, [replace(job, plan=plan) for job, plan in zip(of_day, planned.jobs, strict=True)]


def looked_ahead(days: Iterable[Clocked]) -> list[Clocked]:
    """The days of a call in time, each with what becomes of its shelf on those after it."""
    in_time = sorted(days, key=lambda one: one[0].date)
    wanted: dict[datetime.date, list[JobPlan]] = {}
    for day, jobs in in_time:
        wanted.setdefault(day.date, []).extend(job.plan for job in jobs if not job.held or lacks_stock(job))
    looked = with_outlook([day for day, _ in in_time], wanted)
    return [(day, jobs) for day, (_, jobs) in zip(looked, in_time, strict=True)]


def report(faults: Sequence[Fault]) -> None:
    """Faults on standard error, a blank line after them."""
    if faults:
        print(printed(faults), file=sys.stderr)
        count = len(set(faults))
        print(f"{count} fault{'s' if count != 1 else ''} in what you wrote.\n", file=sys.stderr)


def exit_code(jobs: Sequence[CheckedJob], trouble: Trouble) -> int:
    """The command's exit code: our own errors come before faults, faults before stops."""
    if trouble.ours:
        return OURS
    if trouble.faults:
        return FAULTY
    return HELD if any(job.held for job in jobs) else OK
