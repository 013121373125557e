"""Whether the jet gets to where the mix has to land."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level
from planner.checks.registry import check, over, under
from planner.plan.model import JobPlan, RunPlan, Value


def _needs_reach(plan: JobPlan, run: RunPlan) -> bool:
    if run.input.tip.pattern == "surface_cleaner":
        return False
    return run.needed is not None and over(run.needed, plan.input.limits["reach_from"])


@check("reach.short")
def reach_short(plan: JobPlan) -> Iterator[Finding]:
    """The jet's low and nominal reach against the height needed, run by run."""
    for run in plan.runs:
        values: dict[str, Value | str] = {
            "needed": Value(run.needed or 0.0, "height"),
            "standoff": Value(run.input.standoff, "length"),
            "past_eave": Value(run.input.past_eave, "length"),
            "tip_pressure": Value(run.tip_pressure, "pressure"),
        }
        if run.reach is not None:
            values["reach"] = Value(run.reach.nominal, "height")
            values["low"] = Value(run.reach.low, "height")
            values["wind"] = Value(run.reach.wind, "speed")
            values["missing"] = Value(max((run.needed or 0.0) - run.reach.nominal, 0.0), "height")
            values["missing_low"] = Value(max((run.needed or 0.0) - run.reach.low, 0.0), "height")
        level, case = _reach_level(plan, run)
        yield Finding(code="reach.short", about=run.name, level=level, case=case, values=values, where=run.input.where)


def _reach_level(plan: JobPlan, run: RunPlan) -> tuple[Level, str]:
    if run.flow <= 0.0:
        return "stop", "no_flow"
    if not _needs_reach(plan, run):
        return "none", "low_target"
    assert run.needed is not None
    if run.reach is None:
        return "stop", "fan" if run.input.tip.pattern != "solid" else "falls_short"
    if not under(run.reach.low, run.needed):
        return "ok", "ok"
    return ("stop", "short") if under(run.reach.nominal, run.needed) else ("caution", "low_only")


@check("reach.pattern")
def reach_pattern(plan: JobPlan) -> Iterator[Finding]:
    """A fan tip breaks up at once: it cannot be asked to reach."""
    for run in plan.runs:
        fan = run.input.tip.pattern != "solid"
        needs = _needs_reach(plan, run)
        yield Finding(
            code="reach.pattern",
            about=run.name,
            level="none" if not needs else "stop" if fan else "ok",
            case="none" if not needs else "fan" if fan else "ok",
            values={"needed": Value(run.needed or 0.0, "height"), "tip": run.input.tip.name},
            where=run.input.where,
        )
