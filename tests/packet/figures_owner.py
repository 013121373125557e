"""What the owner's pages say of water over time, electricity, wear and single changes, where the JSON has no row."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from planner.packet.drawings.level import stages
from planner.plan.model import JobPlan
from planner.units import System, read
from tests.packet.figures_given import bored, road_spans, some
from tests.packet.figures_known import Known


def supplied(plan: JobPlan) -> Iterator[Known]:
    """A tank's level by stage: no fuller than it stands, no less than it gives; fills on the clock."""
    supply = plan.supply
    if supply is None:
        return
    arrived = next((span.start for span in plan.time[road_spans(plan) :]), None)
    start = None if arrived is None else arrived + supply.begins
    # Without a clock times run from the start of the work, to the minute.
    family = "time" if start is None else "clock"
    how = "plain" if start is None else "minute"
    yield from some("supply.begins", start, "clock", "up", how="minute")
    yield from some("supply.tap", plan.input.water.test_flow, "flow")
    hose = plan.input.rig.supply_hose
    if hose is not None:
        yield from some("supply.hose.length", hose.length, "length")
        yield from bored("supply.hose.bore", hose.bore)
    for tank in supply.tanks:
        name = f"supply[{tank.name}]"
        for key in ("start", "supplied", "lowest", "fill_flow"):
            yield from some(f"{name}.{key}", getattr(tank, key), "flow" if key == "fill_flow" else "volume", "down")
        yield from some(f"{name}.wanted", tank.wanted, "volume", "up")
        yield from some(f"{name}.dead", tank.dead_volume, "volume", "up")
        yield from some(f"{name}.alone", tank.alone, "time", "down")
        if tank.dry is not None:
            yield from some(f"{name}.short", tank.dry.short, "volume", "up")
            yield from some(f"{name}.dry_at", tank.dry.at, "time", "down")
            yield from some(f"{name}.wait", tank.dry.wait, "time", "up")
        yield from some(f"{name}.trips", tank.trips, "count", how="exact")
        if tank.alone is not None and start is not None:
            yield from some(f"{name}.alone", start + tank.alone, "clock", "down", how="minute")
        for opened, shut in tank.fills:
            yield from some(f"{name}.opened", (start or 0.0) + opened, family, "up", how=how)
            yield from some(f"{name}.shut", (start or 0.0) + shut, family, "up", "near", how=how)
        for stage in stages(supply.phases):
            stand = _at(tank.points, stage.end)
            low = min([stand, *(held for at, held in tank.points if stage.start <= at <= stage.end)])
            yield from some(f"{name}[{stage.name}].from", (start or 0.0) + stage.start, family)
            yield from some(f"{name}[{stage.name}].lasts", stage.end - stage.start, "time", "up")
            takes = sum(phase.draws.get(tank.name, 0.0) for phase in stage.phases)
            yield from some(f"{name}[{stage.name}].takes", takes, "volume", "up")
            yield from some(f"{name}[{stage.name}].lowest", low, "volume", "down")
            yield from some(f"{name}[{stage.name}].after", stand, "volume", "down")


def _at(points: tuple[tuple[float, float], ...], seconds: float) -> float:
    for (before, low), (after, high) in pairwise(points):
        if seconds <= after:
            return low + (high - low) * (seconds - before) / (after - before) if after > before else high
    return points[-1][1]


def powered(plan: JobPlan) -> Iterator[Known]:
    """Motors' plates and cords as written, and the temperatures copper is reckoned at."""
    power = plan.power
    if power is None:
        return
    for motor in power.motors:
        yield from some(f"power[{motor.pump}].power", motor.power, "power")
        if motor.power is not None:
            yield from some(f"power[{motor.pump}].hp", motor.power / read("1 hp", "power"), "count")
        if motor.cord is not None:
            yield from some(f"power[{motor.pump}].copper", motor.cord.copper, "temperature", "up")
            yield from some(f"power[{motor.pump}].air", motor.cord.air, "temperature", "up")
    yield from some("power.others", power.others, "power", "up")
    # The wire table's: the wording of the cord's row.
    yield Known(name="wording.copper", value=293.15, family="temperature", how="exact")


def weighed(plan: JobPlan) -> Iterator[Known]:
    """What rides on the rig: weights up, what it may weigh down, densities to the gram in a litre."""
    load = plan.load
    if load is None:
        return
    yield from some("load.rated", load.rated, "mass", "down")
    for leg in load.legs:
        yield from some("load.hazardous", leg.hazardous, "mass", "up")
        yield from some("load.hazardous", leg.hazardous, "mass", "up", how="scale")
        for item in leg.items:
            name = f"load[{item.what}]"
            for key, mass in (("mass", item.mass), ("tare", item.tare), ("counted", leg.counted(item.chemical or ""))):
                yield from some(f"{name}.{key}", mass, "mass", "up", how="scale")
            yield from some(f"{name}.volume", item.volume, "volume", "up")
            yield from some(f"{name}.packages", item.packages, "count", how="exact")
            if item.volume > 0.0:
                yield from some(f"{name}.density", (item.mass - item.tare) / item.volume, "density")


def changed(plan: JobPlan, system: System) -> Iterator[Known]:
    """One change at a time, and what it does to the reach as a reader subtracts it; a worn pump's signs."""
    bucket = read("5 gal" if system == "us" else "20 L", "volume")
    one = read("1 ft" if system == "us" else "0.1 m", "length")
    planned = {run.name: run.reach.nominal for run in plan.runs if run.reach is not None}
    for found in plan.sensitivity:
        for change in found.changes:
            name = f"change[{found.run}][{change.kind}]"
            yield from some(f"{name}.flow", change.flow, "flow")
            yield from some(f"{name}.tip", change.tip_pressure, "pressure")
            yield from some(f"{name}.reach", change.reach, "length", "down")
            family = {"tap": "pressure", "wear": "fraction"}.get(change.kind, "length")
            yield from some(f"{name}.step", change.step, family)
            if change.kind in ("wider", "narrower"):
                yield from bored(f"{name}.step", change.step)
            if change.reach is not None and found.run in planned:
                steps = (math.floor(height / one + 1e-9) for height in (change.reach, planned[found.run]))
                now, before = steps
                yield from some(f"{name}.against", abs(now - before) * one, "length", how="exact")
                yield from some(f"{name}.against", -abs(now - before) * one, "length", how="exact")
    for table in plan.differs:
        if table.worn is not None:
            # Toward calling the pump worn: throw and gauge up, seconds down.
            yield from some("table.worn.condition", table.worn.condition, "fraction")
            yield from some("table.worn.throw", table.worn.throw, "length", "up", "down")
            yield from some("table.worn.closed", table.worn.closed, "pressure", "up")
            if table.worn.flow > 0:
                yield from some("table.worn.bucket_s", bucket / table.worn.flow, "time", "down")
    for run in plan.runs:
        for key in ("low", "nominal", "high"):
            yield from some(f"strain[{run.name}].{key}", getattr(run.surge, key, None), "pressure", how="digits")
