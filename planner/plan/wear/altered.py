"""A planned run's line solved again with one thing altered, everything else as planned."""

from __future__ import annotations

from dataclasses import replace

from planner.inputs.joined import JobInput, RunInput
from planner.physics import jets
from planner.physics.lines import Branch, Fork, Line, Operating, solve
from planner.physics.liquids import GRAVITY
from planner.physics.pumps import HeadPump
from planner.plan.line import apparatus
from planner.plan.line.hydraulics import line_of
from planner.plan.line.throw import still_reach
from planner.plan.model import RunPlan


def altered_line(job: JobInput, run: RunPlan, changed: RunInput) -> Line:
    """The line of `changed`, which stands in for `run`; it is the first run.

    An injector goes on drawing, or not, as planned.
    """
    water = apparatus.liquid(job.water.temperature, 0.0)
    others = [other for other in job.runs if other.name in run.input.same_time]
    # With a tip to change to on, an injector's stock is shut.
    draws = run.injector_draws is not False and run.injector is not None
    return line_of(job, [changed, *others], water=water, mix=run.liquid, draws=draws)


def solve_altered(job: JobInput, run: RunPlan, changed: RunInput) -> Operating:
    """Operating point of `altered_line`; index 0 is the run. Raises SolveError, naming it."""
    return solve(altered_line(job, run, changed))


def with_share(run: RunInput, share: float) -> RunInput:
    """The run with its pump at a share of its sound self [-]: of head, or of flow where that is what wears.

    Of head `condition` is just that share. A constant flow is given at any head, so its wear shows as flow; its
    `condition` has no meaning.
    """
    pump = run.pump
    if pump is None:
        return run
    if pump.of_kind.wears == "flow":
        assert pump.flow is not None
        return replace(run, pump=pump.model_copy(update={"flow": pump.flow * share}))
    return replace(run, pump=pump.model_copy(update={"condition": share}))


def with_tip(line: Line, scale: float) -> Line:
    """The line with a tip of `scale` [-] times the flow on its first run, perhaps behind a hose that others share."""

    def first_of(branches: tuple[Branch | Fork, ...]) -> tuple[Branch | Fork, ...]:
        first, *rest = branches
        if isinstance(first, Fork):
            return (replace(first, branches=first_of(first.branches)), *rest)
        return (replace(first, coefficient=first.coefficient * scale), *rest)

    return replace(line, branches=first_of(line.branches))


def wall_throw(run: RunInput, tip_head: float) -> float | None:
    """What a throw test measures [m]: the height the jet gets to at the wall, above the ground at the tip.

    `tip_head` is m. Roof work is tested over its eave, as its packet prints the jet. None for a fan tip and where the
    jet does not get there.
    """
    return still_reach(run, tip_head)


def ground_throw(run: RunInput, tip_head: float) -> float | None:
    """How far [m] the jet is thrown along level ground, the gun held as high over it as on the job and aimed best.

    `tip_head` is m. In still air. None for a fan tip, and where nothing leaves the tip.
    """
    if run.tip.pattern != "solid":
        return None
    landed = jets.furthest(tip_head, apparatus.tip_orifice(run), above=run.tip_height)
    return landed.distance if landed is not None else None


def closed_gauge(job: JobInput, run: RunPlan, share: float) -> float | None:
    """Pressure [Pa] at the pump's outlet, every gun closed, with the pump at `share` [-]; None: nothing limits it.

    A switch stops a pump at its cut-off, if the pump still gets there.
    """
    return closed_at(altered_line(job, run, with_share(run.input, share)))


def closed_at(line: Line) -> float | None:
    """The same [Pa] of a line as it is: `closed_gauge` says how."""
    still = line.source.pressure_at(line.pump_height, 0.0)
    pump = line.pump
    if pump is None:
        return still
    if not isinstance(pump, HeadPump):
        return pump.unloader
    closed = still + line.pumped.density * GRAVITY * pump.curve(0.0)
    return closed if pump.cut_off is None else max(min(closed, pump.cut_off), still)
