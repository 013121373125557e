"""Whether the water lasts: no tank down to its outlet, no tap asked for more than it has, while the work goes on."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level
from planner.checks.registry import check
from planner.plan.model import JobPlan, Value
from planner.plan.supply_model import POND, TAP, Dry, SupplyPlan, TankLevel


def _finding(about: str, plan: JobPlan, level: Level, case: str, **values: Value | str) -> Finding:
    where = plan.input.water.where
    return Finding(code="supply.dry", about=about, level=level, case=case, values=values, where=where)


@check("supply.dry")
def supply_dry(plan: JobPlan) -> Iterator[Finding]:
    """Each tank's lowest level against what stays below its outlet; a tap-fed run against what the tap has."""
    supply = plan.supply
    if supply is None or not any(phase.draws for phase in supply.phases):
        yield _finding("supply", plan, "none", "none" if plan.yard is None else "bench")
        return
    for tank in supply.tanks:
        yield _tank(tank, plan, supply.begins)
    for one in supply.tap_short:
        level: Level = "stop" if one.mix_on else "caution"
        at, step = Value(supply.begins + one.at, "time"), _step(one.what, one.about)
        yield _finding(one.run, plan, level, "tap_mix" if one.mix_on else "tap", at=at, step=step)
    owed = supply.tap_owed
    if owed is not None:
        values: dict[str, Value | str] = {
            "wanted": Value(owed.wanted, "volume"),
            "gives": Value(owed.gives, "volume"),
            "short": Value(owed.short, "volume"),
            "wait": Value(owed.wait, "time"),
            "step": _step(owed.what, owed.about),
        }
        yield _finding(TAP, plan, "stop" if owed.mix_on else "caution", "owed_mix" if owed.mix_on else "owed", **values)
    if supply.nowhere > 0.0:
        yield _finding("supply", plan, "stop", "nowhere", volume=Value(supply.nowhere, "volume"))
    if not supply.tanks and not supply.tap_short and owed is None and supply.nowhere <= 0.0:
        yield from _no_tank(supply, plan)


def _tank(tank: TankLevel, plan: JobPlan, begins: float) -> Finding:
    dry = tank.dry
    if dry is None:
        low, dead = Value(tank.lowest, "volume"), Value(tank.dead_volume, "volume")
        case = "ok" if tank.dead_volume > 0.0 else "ok_all"
        return _finding(tank.name, plan, "ok", case, tank=tank.name, lowest=low, dead=dead)
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
    return _finding(tank.name, plan, level, f"{'mix' if dry.mix_on else 'dry'}_{_cure(dry)}", **values)


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
        yield _finding(TAP, plan, "ok", "tap_gives")
    elif POND in sources:
        yield _finding(POND, plan, "none", "pond")
    else:
        yield _finding("supply", plan, "none", "none")
