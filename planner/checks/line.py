"""The line: reach, pressures, speed of the water, and what strains hands and hoses."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from planner.checks.model import Finding, Level, check, over, under
from planner.checks.yard import wear as bench_wear
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, kind_of, words_of
from planner.plan.line.model import HoseSpeed
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.road.rig_rules import shut_most
from planner.plan.yard.wear import held_back, worn_runs


@check("line.rating")
def line_rating(plan: JobPlan) -> Iterator[Finding]:
    """The highest pressure the line sees, gun closed or open, against the lowest rating on it.

    A hose whose rating nobody read is no more than a garden hose.
    """
    for run in plan.runs:
        pressure = max(run.shut_off_pressure or 0.0, run.pump_pressure)
        level: Level = "none"
        case = "none"
        values: dict[str, Value | str] = {"pressure": Value(pressure, "pressure")}
        if run.rating is not None:
            share = pressure / run.rating
            values |= {
                "rating": Value(run.rating, "pressure"),
                "part": run.weakest or "",
                "share": Value(share, "fraction"),
            }
            if over(share, plan.input.limits["rating_stop"]):
                level = "stop"
            else:
                level = "caution" if over(share, plan.input.limits["rating_caution"]) else "ok"
            case = level
        unrated = [hose.name for hose in run.input.hoses if hose.rated is None]
        if unrated and level in ("none", "ok") and over(pressure, plan.input.limits["rating_unread"]):
            level, case = "caution", "unread"
            values |= {"part": ", ".join(unrated), "limit": Value(plan.input.limits["rating_unread"], "pressure")}
        yield Finding(code="line.rating", about=run.name, level=level, case=case, values=values, where=run.input.where)


@check("line.hot")
def line_hot(plan: JobPlan) -> Iterator[Finding]:
    """Hot water: what hose, pump and mix bear of it, and that it scalds. Heated behind the pump, but for the tap's."""
    for run in plan.runs:
        hot = max(run.input.hot or 0.0, plan.input.water.temperature)
        told = list(_too_hot(plan, run, hot))
        quiet: Level = "none" if run.input.hot is None else "ok"
        for level, case, of, limit in told or [(quiet, quiet, "", 0.0)]:
            yield Finding(
                code="line.hot", about=run.name if len(told) < _ALONE else f"{run.name}, {of}", level=level, case=case,
                values={
                    "hot": Value(hot, "temperature"), "run": run.name, "part": of, "chemical": of,
                    "limit": Value(limit, "temperature"),
                },
                where=run.input.where,
            )  # fmt: skip


def _too_hot(plan: JobPlan, run: RunPlan, hot: float) -> Iterator[tuple[Level, str, str, float]]:
    """What does not bear it: how bad that is, in which words, whose, and what it bears [K]."""
    limits, pump, inlet = plan.input.limits, run.input.pump, plan.input.water.temperature
    bears = {hose.name: (hose.hot or limits["hot_hose"], hose.hot is None) for hose in run.input.hoses}
    part, (most, unread) = min(bears.items(), key=lambda one: one[1])
    if over(hot, most):
        yield "stop", "unread" if unread else "hose", part, most
    if pump is not None and over(inlet, pump.hot or limits["hot_pump"]):
        yield "stop", "pump", pump.name, pump.hot or limits["hot_pump"]
    for mix in plan.mixes if over(hot, limits["hot_mix"]) else ():
        if mix.run.name == run.name:
            mild = kind_of(mix.chemical) in ("soap", "alkali") and mix.chemical not in _GASSES
            case = "label" if mild else "bleach" if mix.chemical == BLEACH else "mix"
            yield "caution" if mild else "stop", case, words_of(mix.chemical), limits["hot_mix"]
    if over(hot, limits["hot_skin"]):
        yield "caution", "scalds", "people", limits["hot_skin"]


_ALONE: Final = 2
"""A run of which fewer things are told is named alone."""

_GASSES: Final = frozenset(one.name for one in CHEMICALS.values() if one.base is not None and one.base.peroxide)
"""Alkalis that give off oxygen, the faster the warmer."""


@check("line.reaction")
def line_reaction(plan: JobPlan) -> Iterator[Finding]:
    """How hard the gun pushes back; half of it is too much on a ladder."""
    access = plan.input.job.access
    on_ladder = access is not None and bool(access.on_ladder)
    limit = plan.input.limits["reaction_on_ladder" if on_ladder else "reaction"]
    for run in plan.runs:
        high = over(run.reaction, limit)
        level: Level = "caution" if high else "ok"
        case = ("on_ladder" if on_ladder else "standing") if high else "ok"
        if run.input.tip.pattern == "surface_cleaner":
            # Its jets push against each other and the ground, not against a person.
            level, case = "none", "none"
        yield Finding(
            code="line.reaction",
            about=run.name,
            level=level,
            case=case,
            values={"reaction": Value(run.reaction, "force"), "limit": Value(limit, "force")},
            where=run.input.where,
        )


# ------------------------------------------------------------ reach
# Whether the jet gets to where the mix has to land.


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
            by_plate = _by_plate(plan, run)
            if by_plate is not None:
                values |= {
                    "by_plate": Value(by_plate, "height"),
                    "plate_band": Value(plan.input.limits["plate_band"], "fraction"),
                }
            values["missing_low"] = Value(max((run.needed or 0.0) - run.reach.low, 0.0), "height")
        level, case = _reach_level(plan, run)
        yield Finding(code="reach.short", about=run.name, level=level, case=case, values=values, where=run.input.where)


def _by_plate(plan: JobPlan, run: RunPlan) -> float | None:
    """The low reach [m] of a pump at the low end of its plate's band; None of one whose curve is written."""
    if run.reach is None:
        return None
    changes = (change for one in plan.sensitivity if one.run == run.name for change in one.changes)
    change = next((change for change in changes if change.kind == "plate"), None)
    return None if change is None else (change.reach or 0.0) * run.reach.low / run.reach.nominal


def _reach_level(plan: JobPlan, run: RunPlan) -> tuple[Level, str]:
    if run.flow <= 0.0:
        return "stop", "no_flow"
    if not _needs_reach(plan, run):
        return "none", "low_target"
    assert run.needed is not None
    if run.reach is None:
        return "stop", "fan" if run.input.tip.pattern != "solid" else "falls_short"
    if not under(run.reach.low, run.needed):
        by_plate = _by_plate(plan, run)
        return ("caution", "plate") if by_plate is not None and under(by_plate, run.needed) else ("ok", "ok")
    return ("stop", "short") if under(run.reach.nominal, run.needed) else ("caution", "low_only")


@check("reach.pattern")
def reach_pattern(plan: JobPlan) -> Iterator[Finding]:
    """A fan tip breaks up at once: it cannot be asked to reach. A surface cleaner turns by its pressure."""
    least = plan.input.limits["cleaner_least"]
    for run in plan.runs:
        turns = run.input.tip.pattern != "surface_cleaner" or run.flow <= 0.0 or not under(run.tip_pressure, least)
        if not turns:
            values: dict[str, Value | str] = {
                "tip": run.input.tip.name, "pressure": Value(run.tip_pressure, "pressure"),
                "limit": Value(least, "pressure"),
            }  # fmt: skip
            yield Finding(
                code="reach.pattern", about=run.name, level="caution", case="weak", values=values, where=run.input.where
            )
            continue
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


# ------------------------------------------------------------ strain
# What wears line and pump: worksheet notes on fast water and water hammer, and how long a pump bears a closed gun.


def _finding(code: str, run: RunPlan, level: Level, case: str, **values: Value | str) -> Finding:
    named = {"pump": run.input.pump.name if run.input.pump is not None else "", **values}
    return Finding(code=code, about=run.name, level=level, case=case, values=named, where=run.input.where)


def _limit_of(speed: HoseSpeed) -> str:
    if speed.side == "suction":
        return "velocity_suction"
    return "velocity_high_pressure" if speed.high_pressure else "velocity"


@check("line.velocity")
def line_velocity(plan: JobPlan) -> Iterator[Finding]:
    """The water in each hose against what that hose is meant for; the hose furthest beyond is named."""
    limits = plan.input.limits
    for run in plan.runs:
        worst = max(run.speeds, key=lambda speed: speed.velocity / limits[_limit_of(speed)], default=None)
        if worst is None:
            yield _finding("line.velocity", run, "none", "none")
            continue
        limit = limits[_limit_of(worst)]
        high = over(worst.velocity, limit)
        yield _finding(
            "line.velocity",
            run,
            "caution" if high else "ok",
            worst.side if high else "ok",
            hose=worst.hose,
            velocity=Value(worst.velocity, "velocity"),
            limit=Value(limit, "velocity"),
        )


@check("line.surge")
def line_surge(plan: JobPlan) -> Iterator[Finding]:
    """The pressure that stands in the line and the blow of a gun that snaps shut, against the lowest rating."""
    most = plan.input.limits["surge_rating"]
    for run in plan.runs:
        blow = run.surge
        if blow is None or run.rating is None:
            yield _finding("line.surge", run, "none", "none" if blow is not None else "no_flow")
            continue
        pressure = max(run.shut_off_pressure or 0.0, run.pump_pressure)
        level: Level = "ok"
        case = "ok"
        if over(pressure + blow.nominal, run.rating * most):
            level, case = "caution", "above"
        elif over(pressure + blow.high, run.rating * most):
            level, case = "caution", "perhaps"
        yield _finding(
            "line.surge",
            run,
            level,
            case,
            surge=Value(blow.nominal, "pressure"),
            low=Value(blow.low, "pressure"),
            high=Value(blow.high, "pressure"),
            pressure=Value(pressure, "pressure"),
            total=Value(pressure + blow.nominal, "pressure"),
            total_high=Value(pressure + blow.high, "pressure"),
            rating=Value(run.rating, "pressure"),
            part=run.weakest or "",
            hose=blow.hose,
        )


@check("pump.shut_off")
def pump_shut_off(plan: JobPlan) -> Iterator[Finding]:
    """How long the pump may run with the gun closed before what stands in it is hot.

    Somebody alone walks from gun to rig before it can be switched off: no longer than that, but for a pump that
    switches itself off or has a bypass to the tank. With two the switch alone is left. Where nobody knows its minutes,
    few are taken.
    """
    limits = plan.input.limits
    for run in plan.runs:
        pump = run.input.pump
        round_and_round = pump is not None and pump.of_kind.relief == "unloader"
        held = run.shut_off
        walk = _to_the_switch(plan, run)
        may = held.seconds if held is not None else limits["shut_off_unknown"]
        if pump is None:
            yield _finding("pump.shut_off", run, "none", "none")
        elif walk is not None and over(walk, may):
            case = "alone" if held is not None else "alone_unknown"
            case = case if _alone(plan) else "switch"
            yield _finding(
                "pump.shut_off", run, "stop", case, walk=Value(walk, "time"), most=Value(max(may, 0.0), "time")
            )
        elif held is None and round_and_round:
            yield _finding(
                "pump.shut_off",
                run,
                "ok" if pump.unloader is not None else "none",
                "bypass" if pump.unloader is not None else "no_unloader",
                relief=pump.of_kind.reliever,
                most=Value(shut_most(limits, pump, None), "time"),
            )
        elif held is None:
            yield _finding("pump.shut_off", run, "none", "switches_off" if pump.cut_off is not None else "unknown")
        else:
            short = under(held.seconds, limits["shut_off_time"])
            case = ("bypass_" if round_and_round else f"{held.known_by}_") + ("soon" if short else "ok")
            if held.seconds <= 0.0:
                case = "hot"
            yield _finding(
                "pump.shut_off",
                run,
                "caution" if short else "ok",
                case,
                time=Value(held.seconds, "time"),
                limit=Value(limits["shut_off_time"], "time"),
                power=Value(held.power, "power"),
                volume=Value(held.volume, "volume"),
                water=Value(held.start, "temperature"),
                hot=Value(held.end, "temperature"),
                most=Value(shut_most(limits, pump, held.seconds), "time"),
            )


def _alone(plan: JobPlan) -> bool:
    """Whether the day's crew is one; a crew nobody wrote counts as two."""
    day = plan.input.day
    return day is not None and day.crew is not None and day.crew.count == 1


def _to_the_switch(plan: JobPlan, run: RunPlan) -> float | None:
    """What it takes to switch the run's pump off [s] while it pushes on; None where there is none to fear.

    A crew of one walks the run's whole hose first. A constant flow without an unloader has worse to fear.
    """
    pump = run.input.pump
    if pump is None or pump.bypass:
        return None
    if pump.cut_off is not None or (pump.of_kind.relief == "unloader" and pump.unloader is None):
        return None
    minutes = plan.input.tables["minutes"]
    walk = run.input.length / float(minutes["walk_pace"]) if _alone(plan) else 0.0
    return walk + float(minutes["power"])


@check("pump.wear")
def pump_wear(plan: JobPlan) -> Iterator[Finding]:
    """What is left of a new pump's head, as throw, gauge and bucket have shown it, a yard job of this day too."""
    told = {worn_run.run.name: worn_run for worn_run in worn_runs(plan)}
    limit = plan.input.limits["pump_condition"]
    for run in plan.runs:
        pump = run.input.pump
        if pump is None:
            yield _finding("pump.wear", run, "none", "none")
            continue
        if run.name in told:
            yield bench_wear.bench_found(told[run.name])
            continue
        if pump.of_kind.wears == "flow":
            # Its wear shows in its flow; a factor on head says nothing of it.
            yield _finding("pump.wear", run, "none", "flow", kind=pump.kind)
            continue
        worn = under(pump.condition, limit)
        measured = "condition" in pump.model_fields_set
        yield _finding(
            "pump.wear",
            run,
            "caution" if worn else "ok",
            "worn" if worn else "ok" if measured else "as_new",
            condition=Value(pump.condition, "fraction"),
            limit=Value(limit, "fraction"),
            inside=pump.of_kind.inside,
        )
    for one in held_back(plan):
        yield bench_wear.bench_line(one)
    yield from bench_wear.wear(plan)
