"""What the owner's pages say of water over time, electricity, wear and single changes, where the JSON has no row."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import yaml

from planner.checks.model import CheckedJob
from planner.locate import data_file
from planner.packet.drawings.level import stages
from planner.packet.sections.owner.closest import near
from planner.plan.model import JobPlan, Value
from planner.units import System, read
from tests.packet.figures.given import bored, get, road_spans, some
from tests.packet.figures.known import SCALELESS, Known, families_of, number_of, scale_of


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


def _timed(plan: JobPlan, name: str, usual: float) -> float:
    """The bucket a run's flow is timed with [m3], the `usual` one where it is not."""
    for act in plan.procedure.acts if plan.procedure is not None else ():
        if act.expect is not None and act.expect.what == "bucket" and getattr(act.detail, "run", "") == name:
            return float(act.detail.volume)  # type: ignore[arg-type]
    return usual


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
                yield from some(
                    "table.worn.bucket_s", _timed(plan, table.run, bucket) / table.worn.flow, "time", "down"
                )
    for run in plan.runs:
        for key in ("low", "nominal", "high"):
            yield from some(f"strain[{run.name}].{key}", getattr(run.surge, key, None), "pressure", how="digits")


def summed(plan: JobPlan, system: System) -> Iterator[Known]:
    """The summary's sums: a use of water is off by less than a step, so that all of them add up; the crew's hours."""
    steps = {"us": ("1 gal", "0.1 gal"), "si": ("1 L", "0.1 L")}[system]
    for key in ("pre_wet", "line", "test", "mix", "rinse", "clean", "flush", "beds"):
        amount = getattr(plan.water, key)
        for step in (read(text, "volume") for text in steps):
            for whole in (math.floor(amount / step + 1e-9), math.ceil(amount / step - 1e-9)):
                yield from some(f"sum.water.{key}", whole * step, "volume", how="exact")
    shares = [one for mix in plan.mixes for one in (*mix.pours, *mix.soaps)]
    for lot in {one.lot.name: one.lot for one in shares}.values():
        taken = [one for one in shares if one.lot.name == lot.name]
        if lot.on_hand is not None:
            yield from some(
                f"sum.left[{lot.name}]", lot.on_hand - sum(one.stock for one in taken), "volume", "down", how="jug"
            )
        if lot.on_hand_mass is not None:
            left = lot.on_hand_mass - sum(one.mass for one in taken)
            yield from some(f"sum.left[{lot.name}]", left, "mass", "down", how="scale")
    bath = plan.yard.bath if plan.yard is not None else None
    for agent in {one.agent for one in bath.neutralise} if bath is not None else ():
        mass = math.fsum(one.carry for one in bath.neutralise if one.agent == agent)
        yield from some(f"sum.agent[{agent}]", mass, "mass", "up", how="scale")
    for key, amount in (("price", get(plan.input.job, "price")), ("pay", get(plan.input.company, "pay"))):
        yield from some(f"input.{key}", amount, "count", how="exact")
    yield from some("sum.gun_open", sum(plan.water.seconds.values()), "time", "up")
    road = sum(span.seconds for span in plan.time if span.road)
    yield from some("sum.drive", road, "time", "up")
    crew = plan.input.day.crew if plan.input.day is not None else None
    if crew is None or not plan.time:
        return
    stay = sum(span.seconds for span in plan.time if not span.road)
    starts = [span.start for span in plan.time if not span.road]
    if starts and starts[0] is not None:  # between two times of day as they are printed
        ends = (300.0 * math.ceil(at / 300.0 - 1e-6) for at in (starts[0], starts[0] + stay))
        stay = -(next(ends) - next(ends))
    yield from some("sum.crew", crew.count, "count", how="exact")
    yield from some("sum.worked", crew.count * (stay + road), "time", "up")
    yield from _money(plan, shares, crew.count * (stay + road))
    area = sum({one.surface.name: one.surface.area for one in plan.work}.values())
    per = read({"us": "1000 ft2", "si": "100 m2"}[system], "area")
    yield from some("sum.per", per, "area", how="exact")
    if area > 0.0:
        yield from some("sum.worked_per", crew.count * (stay + road) * per / area, "time", "up")


def _money(plan: JobPlan, shares: list[Any], worked: float) -> Iterator[Known]:
    """Pay and stock, each up to whole money, and what they leave of the price; a lot's cost read off by hand."""
    price, by_hour = get(plan.input.job, "price"), get(plan.input.company, "pay")
    pay = math.ceil(worked / 3600.0 * by_hour - 1e-6) if by_hour is not None else None
    yield from some("sum.pay", pay, "count", how="exact")
    costs = {lot.name: lot.cost for lot in plan.input.lots}
    if not all((costs.get(one.lot.name) or "").endswith(" a gal") for one in shares):
        return
    gallon = read("1 gal", "volume")
    cost = math.ceil(sum(float(costs[one.lot.name].split()[0]) * one.stock / gallon for one in shares) - 1e-6)
    yield from some("sum.cost", cost, "count", how="exact")
    if price is not None and pay is not None:
        yield from some("sum.after", price - pay - cost, "count", how="exact")


def nearing(checked: CheckedJob, system: System) -> Iterator[Known]:
    """A check's figure and its limit, each on its safe side, and what a reader who subtracts them is left with."""
    rows = yaml.safe_load(data_file("closest.yaml").read_text(encoding="utf-8"))
    families = {"head": "length", "height": "length", "dip": "length", "velocity": "speed", "days": "time"}
    for finding in checked.findings:
        write = finding.values.get("write")  # the figure to write, as it is written
        yield from some(
            f"near[{finding.code}].write", float(write) if isinstance(write, str) else None, "count", how="exact"
        )
        for pair in rows.get(finding.code, ()):
            below = pair.get("safe", "below") == "below"
            for key, side in (("figure", "up" if below else "down"), ("limit", "down" if below else "up")):
                value = finding.values.get(pair.get(key, ""))
                if isinstance(value, Value):
                    name = f"near[{finding.code}].{key}"
                    if value.dimension in ("trade", "grams"):
                        family, amount = (
                            ("trade %", value.amount / 10.0) if value.dimension == "trade" else ("g/L", value.amount)
                        )
                        for how in ("strength", "plain"):
                            yield from some(name, amount, family, side, "near", how=how)  # type: ignore[arg-type]
                    else:
                        family = families.get(value.dimension, value.dimension)
                        yield from some(name, value.amount, family, side, "near")  # type: ignore[arg-type]
        close = near(finding, system)
        if close is not None and close.spare[:1].isdigit():
            yield from spare_of(finding.code, close.spare.rsplit(" to spare")[0].rsplit(" over")[0].rsplit(" short")[0])


def spare_of(code: str, text: str) -> Iterator[Known]:
    """`188 W`: test_summary.py holds it to the two figures before it."""
    number, unit = re.fullmatch(r"([\d,.]+(?: \d+/\d+)?) (.+)", text).groups()
    for family in families_of(unit):
        if family != "temperature":  # of which a difference is a warming
            value = float(number_of(number))
            one = 1.0 if family in SCALELESS else scale_of(unit, family)
            yield Known(name=f"near[{code}].spare", value=value * one, family=family, how="exact")
