"""What a run shows with its pump at several shares of its sound self: a reading of any later day is found between."""

from __future__ import annotations

from typing import Final

from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.physics.lines import SolveError
from planner.plan.model import RunPlan
from planner.plan.wear.altered import closed_gauge, ground_throw, solve_altered, wall_throw, with_share

SHARES: Final = (0.6, 0.75, 0.9, 1.0, 1.15)
"""Between two of these the figures run so nearly straight that a line is off by under a hundredth of a share."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WearPoint:
    """The signs at one `share` [-]; None: none to show.

    `throw` m above the ground at the tip, at the standoff and without an eave, `ground` m along level ground, `flow`
    m3/s at the tip, `closed` Pa at the gauge with the gun closed.
    """

    share: float
    throw: float | None
    ground: float | None
    flow: float
    closed: float | None


def wear_points(job: JobInput, run: RunPlan) -> tuple[WearPoint, ...]:
    """The signs at each of SHARES; none without a pump, or where the line has no operating point at one of them."""
    if run.input.pump is None:
        return ()
    try:
        return tuple(_point(job, run, share) for share in SHARES)
    except SolveError:
        return ()


def _point(job: JobInput, run: RunPlan, share: float) -> WearPoint:
    changed = with_share(run.input, share)
    at = solve_altered(job, run, changed)
    return WearPoint(
        share=share,
        throw=wall_throw(run.input, at.tip_heads[0]),
        ground=ground_throw(run.input, at.tip_heads[0]),
        flow=at.flows[0],
        closed=closed_gauge(job, run, share),
    )
