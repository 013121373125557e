"""Whether another order of a day's jobs would be better, planned and checked as the day itself is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from planner.checks.evaluate import check_again
from planner.checks.model import CheckedJob
from planner.frozen import dataclass
from planner.inputs.reading.addresses import same_place
from planner.plan.days.order import BetterOrder, Step, better_order
from planner.plan.make import make_plan
from planner.plan.mix.model import Carried, SiteTrace

BY_ORDER: Final = frozenset({"mix.reaction", "mix.heel", "mix.reach", "flush.needed"})
"""Findings that follow from what the jobs before left in the rig. What they took off the shelf is the same in any
order, and rain and the day's length follow from its clock."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Done:
    """One job done on a rig: the step, and what it adds to the sites; nothing where it is held."""

    step: Step[Carried]
    left: tuple[SiteTrace, ...]
    held: bool


def order_of(jobs: Sequence[CheckedJob]) -> BetterOrder | None:
    """A better order for one day's jobs as they were checked; None where there is none. Yard work keeps its place."""
    if len(jobs) < 2 or not any(job.plan.changes or _stops(job) for job in jobs):
        return None  # none stops for what went before it, and none flushes it: no order does better
    by_id = {job.plan.id: job for job in jobs}
    known: dict[object, _Done] = {}

    def step(name: str, rig: Carried) -> Step[Carried]:
        here = same_place(by_id[name].plan.input.job.site.address)
        key = (name, _standing(rig, here))
        if key not in known:
            known[key] = _done(by_id[name], rig)
        done = known[key]
        # Rigs that look the same to this job may come from different places.
        after = rig if done.held else replace(done.step.after, sites=(*rig.sites, *done.left))
        return replace(done.step, after=after)

    yard = frozenset(job.plan.id for job in jobs if job.plan.kind != "wash")
    return better_order([job.plan.id for job in jobs], _timeless(jobs[0].plan.found), step, yard)


def _done(job: CheckedJob, rig: Carried) -> _Done:
    """One job on the rig as it stands. A held one is not done: the next finds the rig as it was."""
    plan = make_plan(job.plan.input, rig, tables=False, known=job.plan.runs)
    again = check_again(job, plan, BY_ORDER)
    return _Done(
        step=Step(
            stops=_stops(again),
            volume=sum(change.volume for change in plan.changes),
            seconds=sum(change.seconds for change in plan.changes),
            after=replace(_timeless(plan.left), taken=rig.taken),
        ),
        left=plan.left.sites[len(plan.found.sites) :],
        held=left_behind(again),
    )


def _stops(job: CheckedJob) -> int:
    return sum(one.level == "stop" and one.accepted is None and one.code in BY_ORDER for one in job.findings)


def _timeless(rig: Carried) -> Carried:
    """The rig without its clock, its water and what comes next, which no order here is judged by."""
    return replace(rig, ends=None, water=MappingProxyType({}), next_in=MappingProxyType({}))


def _standing(rig: Carried, here: str) -> object:
    """The same for rigs that differ in nothing a job at this address could notice."""
    return (
        frozenset(rig.tanks.items()),
        frozenset(rig.overnight.items()),
        frozenset(rig.parts.items()),
        frozenset(trace for trace in rig.sites if trace.address == here),
        rig.bleach_pumps,
        rig.unflushed,
    )


# ------------------------------------------------------------ riding
# Which jobs of a day would be done at all.


LOAD: Final = frozenset({"load.weight", "load.transport", "load.apart"})
"""What holds a job for its load alone is put right in the yard, before anything leaves."""


def left_behind(job: CheckedJob) -> bool:
    """Whether a job would not go even if the load were put right: it is held for something else."""
    return bool(job.breaches) or any(
        one.level == "stop" and one.accepted is None and one.code not in LOAD for one in job.findings
    )


def held_then(job: CheckedJob) -> bool:
    """Whether a job of a day before was held, as far as that can be told today: the shelf has been counted since."""
    held = (one for one in job.findings if one.level == "stop" and one.accepted is None)
    return bool(job.breaches) or any(one.code not in LOAD | {"mix.stock"} for one in held)
