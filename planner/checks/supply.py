"""Whether the tap keeps up, and whether anything can go back into it."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level
from planner.checks.registry import check, under
from planner.plan.model import JobPlan, RunPlan, Value


def _finding(code: str, about: str, plan: JobPlan, level: Level, case: str, **values: Value | str) -> Finding:
    return Finding(code=code, about=about, level=level, case=case, values=values, where=plan.input.water.where)


def _draws_on_a_main(plan: JobPlan) -> bool:
    """Whether the job uses a tap or hydrant; work in the yard sprays nothing."""
    return plan.kind == "wash" and plan.input.water.source in ("tap", "hydrant")


def _tap_fed(plan: JobPlan) -> list[RunPlan]:
    return [run for run in plan.runs if run.input.feed == "tap"]


@check("supply.pressure")
def supply_pressure(plan: JobPlan) -> Iterator[Finding]:
    """What is left at the tap while a run draws on it; an untested tap is a guess."""
    water = plan.input.water
    if not _draws_on_a_main(plan):
        yield _finding("supply.pressure", water.source, plan, "none", "none")
        return
    tap_fed = _tap_fed(plan)
    if not tap_fed:
        level: Level = "ok" if water.tested else "caution"
        yield _finding("supply.pressure", water.source, plan, level, "fills_tank" if water.tested else _untested(plan))
    low = plan.input.limits["tap_pressure_low"]
    for run in tap_fed:
        assert run.tap_pressure is not None
        values = {
            "pressure": Value(run.tap_pressure, "pressure"),
            "limit": Value(low, "pressure"),
            "flow": Value(run.pump_flow, "flow"),
        }
        if under(run.tap_pressure, plan.input.limits["tap_pressure_stop"]):
            yield _finding("supply.pressure", run.name, plan, "stop", "cannot_give", **values)
        elif under(run.tap_pressure, low):
            yield _finding("supply.pressure", run.name, plan, "caution", "low", **values)
        elif not water.tested:
            yield _finding("supply.pressure", run.name, plan, "caution", _untested(plan), **values)
        else:
            yield _finding("supply.pressure", run.name, plan, "ok", "ok", **values)


def _untested(plan: JobPlan) -> str:
    return "assumed" if "tap" in plan.input.water.assumed else "untested"


@check("supply.backflow")
def supply_backflow(plan: JobPlan) -> Iterator[Finding]:
    """What keeps the mix out of the water main."""
    water = plan.input.water
    if not _draws_on_a_main(plan):
        yield _finding("supply.backflow", water.source, plan, "none", "none")
        return
    tap_fed = _tap_fed(plan)
    hoseless = [run.name for run in tap_fed if run.input.pump is None]
    guard = water.backflow
    level: Level = "ok"
    case, about = "ok", ", ".join(run.name for run in tap_fed)
    if guard in (None, "none"):
        if tap_fed:
            level, case = "stop", "open" if guard == "none" else "not_written"
        else:
            level, case = "caution", "tank_open" if guard == "none" else "tank_not_written"
    elif guard == "air_gap" and tap_fed:
        level, case = "stop", "no_gap"  # water falls through air into a tank alone, and here none is between
    elif hoseless and water.backflow_on_hose:
        # Without a pump the line itself is joined to the tap: what the supply hose carries is not in it.
        level, case, about = "stop", "not_in_line", ", ".join(hoseless)
    elif guard == "vacuum_breaker" and tap_fed:
        # A vacuum breaker answers to suction in the main; a pump or a raised tip behind it pushes the other way.
        level, case = "caution", "back_pressure"
    values = {"guard": (guard or "none").replace("_", " "), "line": about}
    yield _finding("supply.backflow", water.source, plan, level, case, **values)
