"""What a yard job's packet may say beside its JSON: its bath in parts, its lines, the bucket on paper's own size."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planner.packet.sections.yard.bench import rows_of
from planner.plan.model import JobPlan
from planner.plan.yard.model import BathPlan, ThrowTest
from planner.units import System, read
from tests.packet.figures.given import bored, some
from tests.packet.figures.known import Known

_FAMILIES = {"vol": "vol %", "wt": "wt %", "g_l": "g/L"}
_MOST_PAGES = 12


def benched(plan: JobPlan, system: System) -> Iterator[Known]:
    """Of yard work alone."""
    yard = plan.yard
    if yard is None:
        return
    for page in range(1, _MOST_PAGES):  # the bench sheet names the pages of bath and test
        yield from some("count.page", page, "count", how="exact")
    for line in range(1, rows_of(yard) + 1):
        yield from some("count.stage", line, "count", how="exact")
    yield from some("yard.stages", yard.stages, "count", how="exact")
    yield from some("yard.replace", len(yard.replace), "count", how="exact")
    for key in ("unloader", "cut_off"):
        yield from some(f"input.pump.{key}", getattr(yard.pump, key), "pressure", "near", "up")
    if yard.bath is not None:
        yield from _bath(yard.bath, system)
    if yard.test is not None:
        yield from _test(yard.test, system)
        yield from _timed(plan, yard.test, system)


def _timed(plan: JobPlan, test: ThrowTest, system: System) -> Iterator[Known]:
    """The bucket of the paper's own units with its seconds: in liters that of a company that measures in gallons too."""
    liters = round(1e3 * test.bucket, 6)
    size = read("5 gal" if system == "us" else f"{liters:g} L" if liters.is_integer() else "20 L", "volume")
    yield from some("derived.yard.bucket", size, "volume", how="exact")
    for act in plan.procedure.acts if plan.procedure is not None else ():
        if act.expect is not None and act.expect.what == "bucket":
            value, low, high = (end * size / test.bucket for end in (act.expect.value, act.expect.low, act.expect.high))
            yield from some("derived.yard.bucket.value", value, "time")
            # A watch is read to its second: the next one is in order too.
            yield from some("derived.yard.bucket.low", min(low, round(value) - 1.0), "time", "up")
            yield from some("derived.yard.bucket.high", max(high, round(value) + 1.0), "time", "down")


def _bath(bath: BathPlan, system: System) -> Iterator[Known]:
    yield from some("derived.bath.amount", bath.amount, _FAMILIES.get(bath.basis, "force"))
    if bath.basis == "vol":
        yield from some("derived.bath.parts", 100.0 / bath.amount - 1.0, "count")
        yield from some("derived.bath.part", 1.0, "count", how="exact")
    if bath.ratio:
        yield from some("derived.bath.ratio", round(100.0 / bath.amount - 1.0, 6), "ratio", how="exact")
    yield from some("derived.bath.strength", bath.strength, "g/L")
    yield from some("derived.bath.passes", bath.passes, "count", how="exact")
    yield from some("derived.bath.spent_ph", bath.spent_ph, "count", how="exact")
    yield from some("derived.bath.gas", bath.carbon_dioxide, "air", "up", how="digits")
    if bath.capacity and bath.spent:
        yield from some("derived.bath.spent_share", bath.spent / bath.capacity, "fraction")
    hand = {one.agent: sum(row.carry for row in bath.neutralise if row.agent == one.agent) for one in bath.neutralise}
    nought = read("0 F" if system == "us" else "0 C", "temperature")
    for one in bath.neutralise:
        if one.rise is not None and one.rise > 0.0:
            yield from some("derived.bath.ends_warmer", nought + one.rise, "temperature", "up")
    for agent, mass in hand.items():
        yield from some(f"derived.bath.hand[{agent}]", mass, "mass", "up", how="scale")
    if bath.acid is not None:
        yield from some("derived.bath.percent", 100.0 * bath.acid.mass_fraction, "wt %")
        yield from some("derived.bath.density", bath.acid.density, "density")
        yield from some("derived.bath.normality", bath.acid.normality, "force")
        yield from some("derived.bath.warmer", nought + bath.acid.rise_high, "temperature", "up")
        yield from some("derived.bath.at", 293.15, "temperature", how="exact")
    yield from some("derived.bath.dissolves", bath.dissolves, "g/L", "down")


def _test(test: ThrowTest, system: System) -> Iterator[Known]:
    yield from bored("yard.test.tip", getattr(test.run.tip, "orifice", None))
    bucket = read("5 gal" if system == "us" else "20 L", "volume")
    yield from some("derived.yard.length", sum(hose.length for hose in test.run.hoses), "length")
    for key, point in (("before", test.before), ("after", test.after)):
        seconds = point.bucket(bucket)
        yield from some(f"derived.yard.throw.{key}.bucket_s", seconds, "time")
        if point.angle is not None:
            yield from some(f"derived.yard.throw.{key}.degrees", math.degrees(point.angle), "count")
