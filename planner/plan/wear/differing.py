"""If it differs on site, where no computer is: reach by hose and standoff, minutes to a dry tank by the bucket."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from planner.inputs.joined import JobInput, RunInput
from planner.physics.lines import SolveError
from planner.plan.line.throw import still_reach
from planner.plan.model import ReachTable, RunPlan, WornSigns
from planner.plan.wear.altered import closed_gauge, solve_altered, wall_throw, with_share

_FEET = 0.3048
_HOSE_US = (-50.0 * _FEET, 0.0, 50.0 * _FEET, 100.0 * _FEET)
_HOSE_SI = (-15.0, 0.0, 15.0, 30.0)
_STANDOFF_US = tuple(feet * _FEET for feet in (10.0, 15.0, 20.0, 25.0))
_STANDOFF_SI = (3.0, 4.5, 6.0, 7.5)
_BUCKET_US = 5 * 231 * 0.0254**3
_BUCKET_SI = 0.02
_BUCKET_SECONDS = (20.0, 30.0, 40.0, 50.0, 60.0, 90.0)
"""Steps of the tables on paper, in the reader's own round numbers (our choice)."""


def plan_differences(job: JobInput, runs: Sequence[RunPlan]) -> tuple[ReachTable, ...]:
    """One table for each run whose jet is asked to reach."""
    return tuple(_table(job, run) for run in runs if run.reach is not None)


def _table(job: JobInput, run: RunPlan) -> ReachTable:
    us = job.company.units == "us"
    standoffs = _STANDOFF_US if us else _STANDOFF_SI
    changes = _HOSE_US if us else _HOSE_SI
    kept: list[float] = []
    heights: list[tuple[float | None, ...]] = []
    for change in changes:
        changed = _with_hose(run.input, change)
        if changed is None:
            continue
        head = _tip_head(job, run, changed)
        kept.append(change)
        row: list[float | None] = []
        for standoff in standoffs:
            row.append(still_reach(replace(changed, standoff=standoff), head) if head is not None else None)
        heights.append(tuple(row))
    bucket = _BUCKET_US if us else _BUCKET_SI
    return ReachTable(
        run=run.name,
        hose=tuple(kept),
        standoffs=standoffs,
        heights=tuple(heights),
        bucket=bucket,
        dry=_dry_times(job, run, bucket),
        worn=worn_signs(job, run),
    )


def _with_hose(run: RunInput, change: float) -> RunInput | None:
    """The run with its last hose longer or shorter; None where it has not so much to lose."""
    last = run.hoses[-1]
    length = last.length + change
    if length <= 0.0:
        return None
    return replace(run, hoses=(*run.hoses[:-1], replace(last, length=length)))


def _tip_head(job: JobInput, run: RunPlan, changed: RunInput) -> float | None:
    """Head at the tip [m] with the changed hose, everything else as planned and this run alone or together."""
    try:
        return solve_altered(job, run, changed).tip_heads[0]
    except SolveError:
        return None


def _dry_times(job: JobInput, run: RunPlan, bucket: float) -> tuple[tuple[float, float | None], ...]:
    """Seconds until a full water tank is dry with the gun open all the time, by seconds to fill the bucket."""
    tank = next((tank for tank in job.rig.tanks if tank.holds == "water"), run.input.feed_tank)
    if tank is None or run.input.premix or run.input.feed != "tank" or job.water.source not in ("tap", "hydrant"):
        return ()
    usable = tank.volume - tank.dead_volume
    rows = []
    for seconds in _BUCKET_SECONDS:
        short = run.pump_flow - bucket / seconds
        rows.append((seconds, usable / short if short > 0.0 else None))
    return tuple(rows)


# ------------------------------------------------------------ worn
# What a pump at the wear limit would show on site: throw, bucket and closed gauge, to hold the day's own against.


_SAME: Final = 1e-6


def worn_signs(job: JobInput, run: RunPlan) -> WornSigns | None:
    """The signs of a pump at the wear limit.

    None where there are none to show: no pump, one whose wear is flow, a line that will not solve, or a
    pressure switch that holds a sound pump to the same figures.
    """
    pump = run.input.pump
    if pump is None or pump.of_kind.wears == "flow":
        return None
    limit = job.limits["pump_condition"]
    try:
        at_limit, sound = (solve_altered(job, run, with_share(run.input, share)) for share in (limit, 1.0))
        planned = solve_altered(job, run, run.input)
    except SolveError:
        return None
    if at_limit.flows[0] >= sound.flows[0] * (1.0 - _SAME):
        return None
    closed, closed_sound = (closed_gauge(job, run, share) for share in (limit, 1.0))
    shows = closed is not None and closed_sound is not None and closed < closed_sound * (1.0 - _SAME)
    return WornSigns(
        condition=limit,
        throw=wall_throw(run.input, at_limit.tip_heads[0]),
        throw_planned=wall_throw(run.input, planned.tip_heads[0]),
        flow=at_limit.flows[0],
        closed=closed if shows else None,
    )
