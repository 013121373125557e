"""Water of a job as the JSON contract writes it: by use, over time, and as what runs off.

Times are seconds from the start of the work, below 0 during set-up.
"""

from __future__ import annotations

from typing import NotRequired, TypedDict

from planner.plan.between.flushing import controls_of, kept_from
from planner.plan.between.model import AgentNeed, RunoffPlan, SurfaceRunoff
from planner.plan.model import JobPlan
from planner.plan.water.model import Phase, SupplyPlan, TankLevel
from planner.plan.water.tap import has_tap, open_flow


class TapJson(TypedDict):
    from_s: float
    wanted_m3: float
    gives_m3: float
    short_m3: float
    wait_s: float
    mix_on: bool


class TankJson(TypedDict):
    tank: str
    holds: str
    start_m3: float
    end_m3: float
    lowest_m3: float
    lowest_at_s: float
    dead_m3: float
    volume_m3: float
    wanted_m3: float
    drawn_m3: float
    filled_m3: float
    level: list[list[float]]
    fill: list[list[float]]
    lasts_alone_s: float | None
    runs_dry_at_s: float | None
    short_m3: float | None
    wait_s: float | None
    trips: int | None


class StepJson(TypedDict):
    what: str
    about: str | None
    start_s: float
    seconds: float
    draws_m3: dict[str, float]
    mix_on: bool


class SupplyJson(TypedDict):
    lowest_tank_m3: float | None
    runs_dry_at_s: float | None
    level: list[list[float]]
    tank: str | None
    work_begins_s: float | None
    fill_m3_per_s: float | None
    fill: list[list[float]]
    tap: TapJson | None
    tanks: list[TankJson]
    steps: list[StepJson]


class ByUseJson(TypedDict):
    pre_wet: float
    line: float
    test: float
    mix: float
    rinse: float
    flush: float
    clean: float
    beds: float


class WaterJson(SupplyJson):
    source: NotRequired[str]
    tap_m3_per_s: NotRequired[float | None]
    tap_tested: NotRequired[bool | None]
    need_m3: float
    most_m3: NotRequired[float]
    by_use_m3: ByUseJson
    seconds: dict[str, float]
    tap_pressure_low_pa: float | None


class BedsJson(TypedDict):
    before_m3: float
    during_m3: float
    after_m3: float
    every_s: float | None
    each_m3: float
    during_s: float


class RunoffJson(TypedDict):
    surface: str
    chemical: str
    active_kg: float | None
    volume_m3: float
    strength_g_per_l: float | None
    mix_m3: float
    water_m3: float
    first_g_per_l: float | None
    times_acute: float | None
    times_chronic: float | None
    times_tap: float | None
    ph: float | None


class OutletsJson(TypedDict):
    count: int
    chemical: str
    each_m3: float
    each_kg: float | None


class ControlJson(TypedDict):
    kind: str
    keeps_from: list[str]


class ActiveJson(TypedDict):
    mix: str
    stock_kg: float
    found_kg: float
    walls_kg: float
    spare_kg: float
    line_kg: float
    heel_kg: float
    test_kg: float


class AgentJson(TypedDict):
    agent: str
    against: str
    lots: list[str]
    kg: float
    carry_kg: float
    on_hand_kg: float | None
    buy_kg: float
    rise_delta_k: float | None


def water_json(plan: JobPlan) -> WaterJson:
    """Water by use, and how it lasts: times are seconds from the start of the work, the end of set-up.

    In the yard, where a tap is at hand, nothing is told of how it lasts.
    """
    water = plan.water
    tap = [run.tap_pressure for run in plan.lines if run.tap_pressure is not None]
    return {
        "source": plan.input.water.source,
        "tap_m3_per_s": open_flow(plan.input),
        "tap_tested": plan.input.water.tested if has_tap(plan.input) else None,
        "need_m3": water.need,
        "most_m3": water.most,
        "by_use_m3": {
            "pre_wet": water.pre_wet,
            "line": water.line,
            "test": water.test,
            "mix": water.mix,
            "rinse": water.rinse,
            "flush": water.flush,
            "clean": water.clean,
            "beds": water.beds,
        },
        "seconds": dict(water.seconds),
        "tap_pressure_low_pa": min(tap) if tap else None,
        **_supply(plan.supply),
    }


def beds_json(plan: JobPlan) -> BedsJson | None:
    """Water for the flower beds before, during and after; null where there are none."""
    beds = plan.beds
    if beds is None:
        return None
    return {
        "before_m3": beds.before,
        "during_m3": beds.during,
        "after_m3": beds.after,
        "every_s": beds.every,
        "each_m3": beds.each,
        "during_s": beds.seconds,
    }


def _supply(supply: SupplyPlan | None) -> SupplyJson:
    """The level of the water tank drawn on most, when water fails, and every tank and step behind it.

    Levels and what is lowest begin with the arrival, set-up's own included, and count what stays below the outlet.
    Without a water tank they are null and empty.
    """
    main = supply.main if supply is not None else None
    return {
        "lowest_tank_m3": main.lowest if main is not None else None,
        "runs_dry_at_s": supply.dry_at if supply is not None else None,
        "level": _points(main) if main is not None else [],
        "tank": main.name if main is not None else None,
        "work_begins_s": supply.begins if supply is not None else None,
        "fill_m3_per_s": main.fill_flow if main is not None else None,
        "fill": [[start, stop] for start, stop in main.fills] if main is not None else [],
        "tap": _tap(supply),
        "tanks": [_tank(tank) for tank in (*supply.tanks, *supply.mix_tanks)] if supply is not None else [],
        "steps": [_phase(phase) for phase in supply.phases] if supply is not None else [],
    }


def _tap(supply: SupplyPlan | None) -> TapJson | None:
    """What the tap is asked for and gives in the steps that ask for more than it gives; null where it gives all."""
    owed = supply.tap_owed if supply is not None else None
    if owed is None:
        return None
    return {
        "from_s": owed.at,
        "wanted_m3": owed.wanted,
        "gives_m3": owed.gives,
        "short_m3": owed.short,
        "wait_s": owed.wait,
        "mix_on": owed.mix_on,
    }


def _points(tank: TankLevel) -> list[list[float]]:
    return [[seconds, volume] for seconds, volume in tank.points]


def _tank(tank: TankLevel) -> TankJson:
    dry = tank.dry
    return {
        "tank": tank.name,
        "holds": "mix" if tank.mix else "water",
        "start_m3": tank.start,
        "end_m3": tank.end,
        "lowest_m3": tank.lowest,
        "lowest_at_s": tank.lowest_at,
        "dead_m3": tank.dead_volume,
        "volume_m3": tank.volume,
        "wanted_m3": tank.wanted,
        "drawn_m3": tank.drawn,
        "filled_m3": tank.supplied,
        "level": _points(tank),
        "fill": [[start, stop] for start, stop in tank.fills],
        "lasts_alone_s": tank.alone,
        "runs_dry_at_s": dry.at if dry is not None else None,
        "short_m3": dry.short if dry is not None else None,
        "wait_s": dry.wait if dry is not None else None,
        "trips": tank.trips,
    }


def _phase(phase: Phase) -> StepJson:
    return {
        "what": phase.what,
        "about": phase.about or None,
        "start_s": phase.start,
        "seconds": phase.seconds,
        "draws_m3": dict(phase.draws),
        "mix_on": phase.mix_on,
    }


def runoff_json(plan: RunoffPlan | None) -> list[RunoffJson]:
    """What leaves each surface; empty where no mix is made. Strengths in g/L of the active as sold."""
    return [_row(one) for one in plan.surfaces] if plan is not None else []


def total_json(plan: RunoffPlan | None) -> list[RunoffJson]:
    """The same for the whole job, a row for each chemical."""
    return [_row(one) for one in plan.totals] if plan is not None else []


def _row(one: SurfaceRunoff) -> RunoffJson:
    return {
        "surface": one.surface,
        "chemical": one.chemical,
        "active_kg": one.active,
        "volume_m3": one.volume,
        "strength_g_per_l": one.strength,
        "mix_m3": one.mix,
        "water_m3": one.water,
        "first_g_per_l": one.first if one.active is not None else None,
        "times_acute": one.times_acute,
        "times_chronic": one.times_chronic,
        "times_tap": one.times_tap,
        "ph": one.ph,
    }


def outlets_json(plan: RunoffPlan | None) -> OutletsJson | None:
    """What each downspout of the roofs takes, shared evenly; null where no roof is sprayed or none is written."""
    out = plan.outlets if plan is not None else None
    if out is None:
        return None
    return {"count": out.count, "chemical": out.chemical, "each_m3": out.volume, "each_kg": out.active}


def controls_json(plan: JobPlan) -> list[ControlJson]:
    """Each kind of control that is written, and what near this job it keeps the runoff from."""
    return [{"kind": one.kind, "keeps_from": list(kept_from(plan, one))} for one in controls_of(plan.input)]


def active_json(plan: RunoffPlan | None) -> list[ActiveJson]:
    """Where the active of each mix comes from and goes: stock + found = walls + spare + heel.

    Nothing stays in a line or a test's bucket: the test is drawn onto the wall, and the line chased with water.
    """
    return [
        {
            "mix": one.mix,
            "stock_kg": one.stock,
            "found_kg": one.found,
            "walls_kg": one.walls,
            "spare_kg": one.spare,
            "line_kg": 0.0,
            "heel_kg": one.heel,
            "test_kg": 0.0,
        }
        for one in (plan.ledger if plan is not None else ())
    ]


def agent_json(one: AgentNeed) -> AgentJson:
    """One agent in all: what to carry, what is on the shelf, what to buy; `rise` of the strongest bucket."""
    return {
        "agent": one.agent,
        "against": one.against,
        "lots": list(one.lots),
        "kg": one.mass,
        "carry_kg": one.carry,
        "on_hand_kg": one.on_hand,
        "buy_kg": one.buy,
        "rise_delta_k": one.rise,
    }
