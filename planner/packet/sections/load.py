"""The load-out list: what must be on the rig for the day's jobs, by totals, to tick as it goes on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.inputs.models.rig import Carried, RigPower
from planner.inputs.models.site import Access
from planner.inputs.tables.chemicals import ACIDS, ALKALIS, BLEACH, SOAP
from planner.packet.blocks import Block, Span, Step, Text, said
from planner.packet.sections.crew.safety import aboard
from planner.packet.sections.owner.weights import ridden, with_drum
from planner.plan.days.day import DayPlan
from planner.plan.model import JobPlan
from planner.units import System, show
from planner.words.hazards import hazard_of
from planner.words.measures import drawn, poured, weighed
from planner.words.spoken import spoken_name


def load_steps(day: DayPlan, going: Sequence[JobPlan], system: System) -> list[Block]:
    """Stock by lot with whose it is, soap, neutralisers, gear and what keeps people whole, for the jobs that go."""
    if not going:
        return [Text(spans=said("Every job is held: load nothing."))]
    return [
        *_stock(day, system),
        *_neutralisers(going, system),
        *_gear(going, system),
        *_people(going, system),
    ]


def _step(amount: str, words: str) -> Step:
    return Step(spans=(Span(text=amount, strong=True), Span(text=words)) if amount else (Span(text=words),))


def _stock(day: DayPlan, system: System) -> Iterator[Step]:
    for pull in day.pulls:
        if pull.chemical == SOAP:
            yield _step(poured(pull.volume, system, "up"), f" of {pull.lot}, soap")
            continue
        if not pull.rides:
            # It stays in the yard: the yard job's own page has it.
            continue
        volume, mass = (pull.volume - pull.bench, 0.0) if pull.volume else (0.0, pull.mass - pull.bench)
        amount = poured(volume, system, "up") if volume else weighed(mass, system, "up")
        names = ", ".join(pull.road_jobs)
        heavy = with_drum(ridden(day.load).get(pull.lot), system)
        yield _step(amount, f" of {pull.lot}, {spoken_name(pull.chemical)}: {names}{heavy}")


def _neutralisers(going: Sequence[JobPlan], system: System) -> Iterator[Step]:
    carry: dict[str, float] = {}
    for plan in going:
        for leftover in plan.neutralisers if plan.yard is None else ():
            carry[leftover.agent] = carry.get(leftover.agent, 0.0) + leftover.carry
    for agent, mass in carry.items():
        yield _step(weighed(mass, system, "up"), f" of {spoken_name(agent)}, for leftovers")


def _gear(going: Sequence[JobPlan], system: System) -> Iterator[Step]:
    runs = [run.input for plan in going for run in plan.runs]
    tanks = {run.feed_tank.name: run.feed_tank for run in runs if run.feed_tank is not None}
    for tank in tanks.values():
        if tank.holds in (None, "water"):
            yield _step(drawn(tank.volume, system, "down"), f" of water: {tank.name} tank full")
    pumps = dict.fromkeys(run.pump.name for run in runs if run.pump is not None)
    dosing = dict.fromkeys(run.dosing.name for run in runs if run.dosing is not None)
    for words, names in (
        ("Pumps and dosing", [*pumps, *dosing]),
        ("Hoses", [*dict.fromkeys(hose.name for run in runs for hose in (*run.hoses, *run.put_on))]),
        ("Tips", [*dict.fromkeys(one.input.tip.name for plan in going for run in plan.runs for one in run.every)]),
    ):
        if names:
            yield _step("", f"{words}: {', '.join(names)}")
    rig = going[0].input.rig
    supply, power = rig.supply_hose, rig.power or RigPower()
    if supply is not None and any(plan.input.water.source in ("tap", "hydrant") for plan in going):
        guard = f", {supply.backflow.replace('_', ' ')}" if supply.backflow not in (None, "none") else ""
        yield _step("", f"Tap hose, {show(supply.length, 'length', system)}{guard}; bucket and watch")
    fed = [plan.input.water for plan in going if any(run.feed == "tap" for run in plan.input.runs)]
    for device in dict.fromkeys(water.backflow for water in fed if water.backflow and not water.backflow_on_hose):
        yield _step("", f"For the faucet: {device.replace('_', ' ').replace('rpz', 'RPZ')}")
    motors = {motor.pump: motor for plan in going if plan.power is not None for motor in plan.power.motors}
    for motor in motors.values():
        if motor.cord is not None and not motor.direct:
            yield _step("", f"Cord for {motor.pump}, {show(motor.cord.length, 'length', system)}; GFCI")
    if power.battery is not None and any(motor.direct for motor in motors.values()):
        yield _step("", f"Battery, {show(power.battery, 'charge', system)}, charged")
    if power.generator is not None:
        yield _step("", f"Generator, {show(power.generator, 'power', system)}, fueled")


def _people(going: Sequence[JobPlan], system: System) -> Iterator[Step]:
    plans = going
    chemicals = list(dict.fromkeys(chemical for plan in plans for chemical in aboard(plan)))
    rig = plans[0].input.rig
    carried = rig.carried or Carried()
    if any(plan.mixes for plan in plans):
        have = carried.eyewash
        need = max(plan.input.limits.get("eyewash_volume", 0.0) for plan in plans)
        least = f"Eyewash, at least {drawn(need, system, 'up')}"
        size = f"Eyewash, {drawn(have, system, 'down')}" if have is not None else least
        yield _step("", f"{size}, clean, within reach")
        kit = "" if carried.spill_kit else " (none listed)"
        yield _step("", f"Spill kit, berms, drain covers{kit}")
    wear: list[str] = []
    for chemical in chemicals:
        row = hazard_of(chemical, "stock")
        wear += [one.strip() for one in row.wear.partition(";")[0].split(",")] if row is not None else []
    if wear:
        yield _step("", f"Wear, each of the crew: {', '.join(dict.fromkeys(wear))}")
    by_ph = {*ACIDS, *ALKALIS}
    strips = [name for name, there in (("Chlorine strips", BLEACH in chemicals),
                                       ("pH strips", bool(set(chemicals) & by_ph))) if there]  # fmt: skip
    if strips:
        yield _step("", f"{' and '.join(strips)}, jug, stick, scale")
    if carried.ladder is not None:
        yield _step("", f"Ladder, {show(carried.ladder, 'length', system)}")
    if any((plan.input.job.access or Access()).roof_work is not None for plan in plans):
        yield _step("", "Harness, rope, anchor")
