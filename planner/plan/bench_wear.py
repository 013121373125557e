"""What the day's yard jobs found of a pump, told to the jobs that are planned with more of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from planner.inputs.joined import JobInput, RunInput
from planner.physics.lines import SolveError
from planner.plan.altered import solve_altered, with_share
from planner.plan.found_wear import Found
from planner.plan.model import JobPlan, RunPlan
from planner.plan.pending import Benched
from planner.plan.throw import reach_of
from planner.plan.yard_throw import plan_test


@dataclass(frozen=True, slots=True, kw_only=True)
class WornRun:
    """A run planned with more of its pump than a yard job of the day found.

    `planned` [-] is the share it is planned with, `known` whether anybody wrote or learned it; `left` the share to
    write, None where the pump works no longer; `flow` [m3/s] the same of a piston pump. `nominal`, `low`, `needed` [m]:
    its reach with that share; None where no height is asked for or nothing gets there.
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


def benched_of(job: JobInput) -> Benched | None:
    """What a yard job found before its work that shows wear; None where it found none."""
    yard = job.yard
    test = plan_test(job, yard) if yard is not None else None
    if yard is None or test is None:
        return None
    # What says how worn it is, else what says at least that it is.
    found = next((one for one in test.found if one.tells and one.worn), None)
    found = found or next((one for one in test.found if one.side == "short"), None)
    finer = next((one for one in test.found if one.tells), None)
    if found is None or (finer is not None and not finer.worn):
        return None
    return Benched(job=job.title, pump=yard.pump, rig=job.rig.name, of=test.of, found=found)


def worn_runs(plan: JobPlan) -> tuple[WornRun, ...]:
    """The runs of a plan whose pump was found to have clearly less than they are planned with."""
    return tuple(told for run in plan.runs if (told := _worn(plan.input, run, plan.found.benched)) is not None)


def _worn(job: JobInput, run: RunPlan, benched: Sequence[Benched]) -> WornRun | None:
    pump = run.input.pump
    one = next((one for one in benched if pump is not None and one.pump == pump.name), None)
    if pump is None or one is None:
        return None
    piston = pump.kind == "piston"
    known = not piston and "condition" in pump.model_fields_set
    planned = 1.0 if piston else pump.condition
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
        flow=left * pump.flow if piston and left is not None and pump.flow is not None else None,
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
