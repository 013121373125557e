"""Whether tap and tanks keep up with the work, and for how long.

A line the tap feeds has no air gap, and without a pump no supply hose either: what keeps its mix out of the main is
only what the job writes of that tap.
"""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level, check, under
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.water.model import POND, TAP, Dry, SupplyPlan, TankLevel


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


# ------------------------------------------------------------ dry
# Whether the water lasts: no tank down to its outlet, no tap asked for more than it has, while the work goes on.


def _dry(about: str, plan: JobPlan, level: Level, case: str, **values: Value | str) -> Finding:
    where = plan.input.water.where
    return Finding(code="supply.dry", about=about, level=level, case=case, values=values, where=where)


@check("supply.dry")
def supply_dry(plan: JobPlan) -> Iterator[Finding]:
    """Each tank's lowest level against what stays below its outlet; a tap-fed run against what the tap has."""
    supply = plan.supply
    if supply is None or not any(phase.draws for phase in supply.phases):
        yield _dry("supply", plan, "none", "none" if plan.yard is None else "bench")
        return
    for tank in supply.tanks:
        yield _tank(tank, plan, supply.begins)
    for tap_short in supply.tap_short:
        level: Level = "stop" if tap_short.mix_on else "caution"
        at, step = Value(supply.begins + tap_short.at, "time"), _step(tap_short.what, tap_short.about)
        yield _dry(tap_short.run, plan, level, "tap_mix" if tap_short.mix_on else "tap", at=at, step=step)
    owed = supply.tap_owed
    if owed is not None:
        values: dict[str, Value | str] = {
            "wanted": Value(owed.wanted, "volume"),
            "gives": Value(owed.gives, "volume"),
            "short": Value(owed.short, "volume"),
            "wait": Value(owed.wait, "time"),
            "step": _step(owed.what, owed.about),
        }
        yield _dry(TAP, plan, "stop" if owed.mix_on else "caution", "owed_mix" if owed.mix_on else "owed", **values)
    if supply.nowhere > 0.0:
        yield _dry("supply", plan, "stop", "nowhere", volume=Value(supply.nowhere, "volume"))
    if not supply.tanks and not supply.tap_short and owed is None and supply.nowhere <= 0.0:
        yield from _no_tank(supply, plan)


def _tank(tank: TankLevel, plan: JobPlan, begins: float) -> Finding:
    dry = tank.dry
    if dry is None:
        low, dead = Value(tank.lowest, "volume"), Value(tank.dead_volume, "volume")
        case = "ok" if tank.dead_volume > 0.0 else "ok_all"
        return _dry(tank.name, plan, "ok", case, tank=tank.name, lowest=low, dead=dead)
    values: dict[str, Value | str] = {
        "tank": tank.name,
        "at": Value(begins + dry.at, "time"),
        "step": _step(dry.what, dry.about),
        "short": Value(dry.short, "volume"),
        "room": Value(dry.room, "volume"),
        "trips": str(tank.trips or 0),
    }
    if dry.wait is not None:
        values["wait"] = Value(dry.wait, "time")
    # Water that no tap brings is not there: somebody has to say that it is, by a fuller tank or another source. The tap
    # was waited for as often as it helps.
    level: Level = "caution" if tank.waited and not dry.mix_on and dry.wait is not None else "stop"
    return _dry(tank.name, plan, level, f"{'mix' if dry.mix_on else 'dry'}_{_cure(dry)}", **values)


def _cure(dry: Dry) -> str:
    """What makes up for it: a fuller start, the tap given time, or water brought."""
    if dry.full_lasts:
        return "fill"
    return "wait" if dry.wait is not None else "bring"


def _step(what: str, about: str) -> str:
    return f"{what} {about}".strip()


def _no_tank(supply: SupplyPlan, plan: JobPlan) -> Iterator[Finding]:
    """A job whose water comes from no tank: the tap or the pond gives it, or only a mix is drawn."""
    sources = {source for phase in supply.phases for source in phase.draws}
    if TAP in sources:
        yield _dry(TAP, plan, "ok", "tap_gives")
    elif POND in sources:
        yield _dry(POND, plan, "none", "pond")
    else:
        yield _dry("supply", plan, "none", "none")
