"""A yard job on the terminal: its bath in a line or two, what the test should show, how long it takes."""

from __future__ import annotations

from collections.abc import Iterator

from planner.packet.figures import bench_bucket
from planner.packet.measures import gauge, minutes, poured, weighed
from planner.packet.sections.yard_safety import bath_name
from planner.packet.words import spoken_name
from planner.plan.model import JobPlan
from planner.plan.yard_model import BathPlan, BenchPoint, ThrowTest
from planner.units import System, show


def yard_lines(plan: JobPlan, system: System, *, held: bool = False) -> Iterator[str]:
    """The lines of a yard job; none of a wash. Of a `held` one nothing to pour by."""
    yard = plan.yard
    if yard is None:
        return
    if yard.bath is not None:
        yield from _held(yard.bath, system) if held else _bath(yard.bath, system)
    elif yard.no_bath:
        yield f"no bath: nothing of {yard.pump.name} may lie in {spoken_name(yard.acid or '')}"
    if yard.test is not None:
        yield _test(yard.test, system)
    else:
        yield f"test: no setup of the rig sprays with {yard.pump.name}, so nothing is expected of it"
    yield f"takes {minutes(sum(span.seconds for span in plan.time if span.what != 'drive'))} min"


def _named(bath: BathPlan, system: System) -> str:
    return f"{show(bath.volume, 'volume', system)} of {bath_name(bath)}"


def _held(bath: BathPlan, system: System) -> Iterator[str]:
    yield f"bath {_named(bath, system)}: held, mix nothing{'' if bath.reachable else '; it cannot be made'}"


def _bath(bath: BathPlan, system: System) -> Iterator[str]:
    stock = weighed(bath.stock_mass, system) if bath.stock_mass is not None else poured(bath.stock, system)
    lots = " then ".join(one.lot.name for one in bath.pours) or spoken_name(bath.chemical)
    wipe = f", wipe {bath.passes} times {minutes(bath.wipe[1], 'down')} min at most" if bath.wipe is not None else ""
    yield (
        f"bath {_named(bath, system)}, in a tub that holds {poured(bath.tub_least, system, 'up')} or more: "
        f"{poured(bath.water, system)} of water, then {stock} of {lots}; "
        f"soak {minutes(bath.soak, 'down')} min{wipe}"
    )
    spent = f"spent at {show(bath.spent, 'mass', system, toward='down')} of scale; " if bath.spent else ""
    carry: dict[str, float] = {}
    for one in bath.neutralise:
        carry[one.agent] = carry.get(one.agent, 0.0) + one.carry
    agents = ", ".join(f"{weighed(mass, system, 'up')} of {spoken_name(agent)}" for agent, mass in carry.items())
    yield f"     {spent}{agents}, spare included, makes it harmless"


def _test(test: ThrowTest, system: System) -> str:
    sound, now = (_shown(point, test.bucket, system) for point in (test.after, test.before))
    return f"test on {test.run.name}: sound {sound}; now {now}"


def _shown(point: BenchPoint, bucket: float, system: System) -> str:
    told = []
    if point.ground is not None:
        told.append(f"throws {show(point.ground, 'length', system, toward='down')}")
    if point.closed is not None:
        told.append(f"gauge {gauge(point.closed, system)} shut")
    size, name = bench_bucket(bucket, system)
    seconds = point.bucket(size)
    if seconds is not None:
        told.append(f"{name} in {seconds:.0f} s")
    return ", ".join(told) or "nothing leaves the tip"
