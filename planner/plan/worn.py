"""What a pump at the wear limit would show on site: throw, bucket and closed gauge, to hold the day's own against."""

from __future__ import annotations

from typing import Final

from planner.inputs.joined import JobInput
from planner.physics.lines import SolveError
from planner.plan.altered import closed_gauge, solve_altered, wall_throw, with_share
from planner.plan.model import RunPlan, WornSigns

_SAME: Final = 1e-6


def worn_signs(job: JobInput, run: RunPlan) -> WornSigns | None:
    """The signs of a pump at the wear limit.

    None where there are none to show: no pump, a piston pump (its wear is flow), a line that will not solve, or a
    pressure switch that holds a sound pump to the same figures.
    """
    pump = run.input.pump
    if pump is None or pump.kind == "piston":
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
