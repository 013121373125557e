"""What a pump that is opened or tested may still hold, and whether the tank it is tested from gives plain water.

What is known of it comes from the day's jobs, from those that come first and may be done all the same, from the one
chemical the pump is kept for, and from the setups of the rig: a pump is opened on Wednesday that had bleach on Monday.

The test draws from any clean tank its suction gets to; where there is none, or its suction stood in acid, its own is
emptied into pails and rinsed first. A mix tank gets its own back after the test; a water tank then holds water.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType
from typing import Literal

from planner.inputs.joined import JobInput
from planner.inputs.models import Setup, Tank
from planner.inputs.tables.chemicals import ACIDS, BLEACH, SOAP, chemical_named
from planner.plan.mix.model import Carried, LotToday, TankHeel
from planner.plan.procedure.acts import State
from planner.plan.water.plain_water import kept_for
from planner.plan.yard.model import FoulTank, HeldWhy, PumpHeld, YardPlan

_WATER = "water"


def held_in(job: JobInput, pump: str, found: Carried, shelf: tuple[LotToday, ...]) -> tuple[PumpHeld, ...]:
    """Each chemical the pump may hold, once, by the gravest reason. `found` is the rig as the jobs before leave it."""
    kept: dict[str, PumpHeld] = {}
    for chemical, why, most in _known(job, pump, found, shelf):
        if chemical in (_WATER, SOAP):
            continue
        before = kept.get(chemical)
        if before is None:
            kept[chemical] = PumpHeld(chemical=chemical, why=why, most=most)
        else:
            # Strongest counts, and so does a reason that says nothing of how strong.
            worst = None if before.most is None or most is None else max(before.most, most)
            kept[chemical] = replace(before, most=worst)
    return tuple(kept.values())


def _known(
    job: JobInput, pump: str, found: Carried, shelf: tuple[LotToday, ...]
) -> Iterator[tuple[str, HeldWhy, float | None]]:
    gear = next(one for one in job.rig.pumps if one.name == pump)
    last = found.parts.get(pump)
    setups = list(by_setup(job, pump, found, shelf))
    most = dict(setups)
    if last is not None and pump in found.unflushed:
        yield last, "unflushed", most.get(last)
    kept = chemical_named(gear.dedicated) if gear.dedicated else None
    if kept is not None:
        yield kept.name, "dedicated", None
    for pending in found.pending:
        for chemical in dict.fromkeys(of for of, part in pending.gear if part == pump):
            yield chemical, "pending", most.get(chemical)
    if last is not None:
        yield last, "today", most.get(last)
    if pump in found.bleach_pumps:
        yield BLEACH, "today", most.get(BLEACH)
    if kept is None:
        for chemical, strength in setups:
            yield chemical, "setup", strength


def by_setup(
    job: JobInput, pump: str, found: Carried, shelf: tuple[LotToday, ...]
) -> Iterator[tuple[str, float | None]]:
    """What setups of the rig send through it, and the strongest that can be [kg/m3]; None: nobody knows.

    An injector sits behind its pump, which sees water. A panel draws the stock itself, at most so much of it.
    """
    panels = {dosing.name: dosing for dosing in job.rig.dosing if dosing.kind == "metered"}
    for setup in job.rig.setups:
        if setup.pump != pump:
            continue
        panel = panels.get(setup.dosing) if isinstance(setup.dosing, str) else None
        if panel is not None:
            share = max((point.share for point in panel.dial or ()), default=1.0)
            lots = [lot.high for lot in shelf if lot.chemical == BLEACH]
            known = [high for high in lots if high is not None]
            yield BLEACH, share * max(known) if known and len(known) == len(lots) else None
        elif setup.dosing == "premix":
            yield _mixed_for(job, setup, found)[0], None


def _mixed_for(job: JobInput, setup: Setup, found: Carried) -> tuple[str, TankHeel | None]:
    """What is mixed in a setup's tank: what stands there, what it is kept for, else bleach, as most is."""
    heel = _standing(setup.feed, found)
    if heel is not None:
        return heel.chemical, heel
    tank = next((tank for tank in job.rig.tanks if tank.name == setup.feed), None)
    return (kept_for(job, tank) if tank is not None else "") or BLEACH, None


def _standing(tank: str, found: Carried) -> TankHeel | None:
    heel = found.tanks.get(tank) or found.overnight.get(tank)
    return heel if heel is not None and heel.chemical != _WATER and heel.volume > 0.0 else None


def test_feed(job: JobInput, found: Carried) -> tuple[str, FoulTank | None]:
    """What a test draws from; and what is known of that tank, where no plain water stands in any its suction gets to.

    Its setup's own feed, where that gives plain water, else the rig's first tank that does; a suction that stood in
    acid goes into no tank but its own.
    """
    run = job.yard_run
    if run is None:
        return "", None
    if run.feed_tank is None or run.pump is None:
        return ("hydrant" if job.water.source == "hydrant" else run.feed), None
    foul = _foul(job, run.feed_tank, found)
    if foul is None:
        return run.feed_tank.name, None
    kept = chemical_named(run.pump.dedicated) if run.pump.dedicated else None
    last = found.parts.get(run.pump.name) if run.pump.name in found.unflushed else None
    acid = last in ACIDS or (kept is not None and kept.name in ACIDS)
    draws = () if acid else run.pump.draws
    reached = [tank for tank in job.rig.tanks if draws is None or tank.name in draws]
    clean = next((tank.name for tank in reached if _foul(job, tank, found) is None), None)
    return (clean, None) if clean is not None else (foul.tank, foul)


def _foul(job: JobInput, tank: Tank, found: Carried) -> FoulTank | None:
    """What a tank holds or held that is no plain water; None where it gives plain water."""
    heel = _standing(tank.name, found)
    mixed = any(setup.dosing == "premix" and setup.feed == tank.name for setup in job.rig.setups)
    if heel is not None:
        water = tank.holds == _WATER or (tank.holds is None and not mixed)
        why: Literal["stands", "water"] = "water" if water else "stands"
        return FoulTank(tank=tank.name, holds=heel.chemical, why=why)
    kept = kept_for(job, tank)
    if kept and kept != _WATER:
        return FoulTank(tank=tank.name, holds=kept, why="kept")
    if tank.holds != _WATER and (mixed or tank.holds == "mix"):
        return FoulTank(tank=tank.name, holds=BLEACH, why="mixed")
    return None


def after_test(left: Carried, yard: YardPlan | None, end: State) -> Carried:
    """The rig after the test: pump and hoses had water last, and what was drained of a mix tank is back in it.

    A tank for water holds what is left of its water, `end` being the rig as the last act leaves it.
    """
    if yard is None or yard.test is None:
        return left
    flushed = {yard.pump.name, *(hose.name for hose in yard.test.run.hoses)}
    left = replace(left, unflushed=left.unflushed - flushed)
    stands = end.tanks.get(yard.feed)
    if stands is None or (yard.tank is not None and yard.tank.why != "water"):
        return left
    return replace(
        left,
        tanks=MappingProxyType({name: held for name, held in left.tanks.items() if name != yard.feed}),
        overnight=MappingProxyType({name: held for name, held in left.overnight.items() if name != yard.feed}),
        water=MappingProxyType({**left.water, yard.feed: stands.volume or 0.0}),
    )
