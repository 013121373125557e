"""How worn a run's pump may be before its jet, at the worst, no longer gets where it must."""

from __future__ import annotations

from fluids.numerics import brenth

from planner.physics.lines import SolveError
from planner.plan.altered import solve_altered, with_share
from planner.plan.inverse import LEAST_SHARE, MOST_SHARE
from planner.plan.model import JobPlan, RunPlan
from planner.plan.throw import reach_of


def least_share(plan: JobPlan, run: RunPlan) -> float | None:
    """The share of the sound pump's head [-] at which the run's low reach just meets what it needs.

    None where no height is asked, there is no such pump, or none up to MOST_SHARE would do.
    """
    pump, needed = run.input.pump, run.needed
    if pump is None or pump.kind == "piston" or needed is None or needed <= plan.input.limits["reach_from"]:
        return None

    def over(share: float) -> float:
        head = solve_altered(plan.input, run, with_share(run.input, share)).tip_heads[0]
        reach = reach_of(plan.input, run.input, head)
        return (reach.low if reach is not None else 0.0) - needed

    try:
        if over(MOST_SHARE) < 0.0:
            return None
        if over(LEAST_SHARE) >= 0.0:
            return LEAST_SHARE
        return float(brenth(over, LEAST_SHARE, MOST_SHARE, xtol=1e-6))
    except SolveError:
        return None
