"""What the day's yard jobs found of a pump and its line, told to the jobs that are planned with more of them.

A pump mended before a job is sound only once its test says so. A bucket goes by the closed gauge and a throw by either
(`beside`): what lacks beside a finer reading is the line's, never the pump's `condition`, and is told to jobs that take
that pump, a hose or the tip of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from math import floor
from typing import Literal

from planner.frozen import dataclass
from planner.inputs.joined import JobInput, RunInput
from planner.physics.lines import SolveError
from planner.plan.days.pending import Benched, BenchLook
from planner.plan.line.throw import reach_of
from planner.plan.model import JobPlan, RunPlan
from planner.plan.wear.altered import solve_altered, with_share
from planner.plan.wear.model import Found, beside, finer_than, lost_in_line, told_by
from planner.plan.yard.throw import plan_test


@dataclass(frozen=True, slots=True, kw_only=True)
class WornRun:
    """A run planned with more of its pump than a yard job of the day found.

    `planned` [-] is the share it is planned with, `known` whether anybody wrote or learned it; `left` the share to
    write, None where the pump works no longer; `flow` [m3/s] the same where wear takes flow. `nominal`, `low`, `needed`
    [m]: its reach with that share; None where no height is asked for or nothing gets there.
    """

    run: RunPlan
    by: Benched
    planned: float
    known: bool
    left: float | None
    flow: float | None
    nominal: float | None
    low: float | None
    needed: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldBack:
    """A run through what a yard job of the day found to pass less water than its pump gives; `shared`: which of it."""

    run: RunPlan
    by: Benched
    shared: tuple[str, ...]


def look_of(job: JobInput) -> BenchLook | None:
    """What a yard job found before its work: wear of its pump, and what its line takes away; None of any other job."""
    yard = job.yard
    test = plan_test(job, yard) if yard is not None else None
    if yard is None or test is None:
        return None
    mends = bool({"descale", "rebuild"} & set(yard.works))
    said = partial(Benched, job=job.title, pump=yard.pump, rig=job.rig.name, of=test.of, mends=mends)
    told = []
    worn = _worn_by(test.found, test.of)
    if worn is not None:
        told.append(said(found=worn))
    lost = lost_in_line(test.found, test.of)
    if lost is not None:
        gear = (*dict.fromkeys(hose.name for hose in test.run.hoses), test.run.tip.name)
        told.append(said(found=lost, gear=gear, line=True))
    return BenchLook(
        pump=yard.pump,
        told=tuple(told),
        mends=mends,
        read=told_by(test.found, test.of) is not None,
        flowed=any(reading.by == "bucket" for reading in test.found),
    )


def _worn_by(found: tuple[Found, ...], of: Literal["head", "flow"]) -> Found | None:
    """What shows wear: what says how much, else what says at least that, unless a finer one speaks against it."""
    finer = told_by(found, of)
    if finer is not None:
        return finer if finer.worn else None
    short = (reading for reading in found if reading.side == "short")
    return next(
        (reading for reading in short if beside(reading, finer_than(reading, found, of)) in (None, "with")), None
    )


def worn_runs(plan: JobPlan) -> tuple[WornRun, ...]:
    """The runs of a plan whose pump was found to have clearly less than they are planned with."""
    pumps = [benched for benched in plan.found.benched if not benched.line]
    return tuple(worn for run in plan.runs if (worn := _worn(plan.input, run, pumps)) is not None)


def held_back(plan: JobPlan) -> tuple[HeldBack, ...]:
    """The runs of a plan that go through pump, hose or tip of a line that passed less than its pump gives."""
    found = []
    for run in plan.runs:
        pump = run.input.pump.name if run.input.pump is not None else ""
        takes = [*([pump] if pump else []), *(hose.name for hose in run.input.hoses), run.input.tip.name]
        for benched in plan.found.benched:
            shared = tuple(
                name for name in dict.fromkeys(takes) if benched.line and name in (benched.pump, *benched.gear)
            )
            if shared:
                found.append(HeldBack(run=run, by=benched, shared=shared))
                break
    return tuple(found)


def _worn(job: JobInput, run: RunPlan, benched: Sequence[Benched]) -> WornRun | None:
    pump = run.input.pump
    one = next((one for one in benched if pump is not None and one.pump == pump.name), None)
    if pump is None or one is None:
        return None
    of, planned = pump.of_kind.wears, pump.share
    known = of == "head" and "condition" in pump.model_fields_set
    best = _most(one.found)
    if known and best is not None and planned <= (best + job.limits["wear_apart"]) * (1.0 + 1e-9):
        return None
    if not known and best is not None and planned <= best:
        return None
    left = one.found.share if one.found.share is not None else one.found.low
    # Down to the hundredth a person writes.
    left = floor(left * 100.0 + 1e-6) / 100.0 if left is not None else None
    nominal, low = _reach(job, run, left) if left is not None else (None, None)
    return WornRun(
        run=run,
        by=one,
        planned=planned,
        known=known,
        left=left,
        flow=left * pump.flow if of == "flow" and left is not None and pump.flow is not None else None,
        nominal=nominal,
        low=low,
        needed=run.needed,
    )


def _most(found: Found) -> float | None:
    """The most of its head the pump may have: by gauge and bucket what they say, by a throw the end of its band."""
    return found.high if found.by == "throw" else found.share


def _reach(job: JobInput, run: RunPlan, share: float) -> tuple[float | None, float | None]:
    if run.reach is None or run.needed is None:
        return None, None
    changed: RunInput = with_share(run.input, share)
    try:
        reach = reach_of(job, changed, solve_altered(job, run, changed).tip_heads[0])
    except SolveError:
        return None, None
    return (reach.nominal, reach.low) if reach is not None else (0.0, 0.0)
