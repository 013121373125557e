"""The rig card, one page to laminate: what holds on every job of a rig, and so is on no job's own card."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Any

from planner.inputs.tables.chemicals import ACIDS, BLEACH, DRY, kind_of, of_kind, short_of
from planner.inputs.tables.defaults import default
from planner.packet.blocks import Block, Cell, Fields, Section, Span, Spans, Table, WriteIn, said
from planner.packet.sections.crew.safety import aid_table
from planner.packet.sections.reading import spoken, template
from planner.packet.wording import section_from
from planner.plan.between.matrix import forbidden_pairs
from planner.plan.model import JobPlan
from planner.plan.road.power import on_mains
from planner.plan.road.rig_rules import PumpRule, pump_rules
from planner.units import System, show
from planner.words.hazards import plain_meetings
from planner.words.measures import drawn, gauge, minutes
from planner.words.spoken import spoken_name

_ASK = "read it on the hose first"
_QUARTER = 15.0  # s
_REDUCERS = of_kind("reducer")  # end a leftover of bleach; on its stock they boil over


def section(plan: JobPlan, system: System) -> Section:
    """The card of the rig that a job's plan was made for; of the job itself nothing but the rig."""
    rig, rules = plan.input.rig, pump_rules(plan.input)
    chemicals = _chemicals(plan)
    meetings = _never(chemicals, system)
    places: dict[str, tuple[Block, ...]] = {
        "pumps": (_pumps(rules, system),) if rules else (),
        "hoses": (_hoses(plan, system),) if rig.hoses or rig.supply_hose else (),
        "tanks": (_tanks(plan, system),),
        "dosing": (_dosing(plan, system),) if rig.dosing else (),
        "never": meetings,
        "aid": (aid_table(chemicals, system),),
        "phones": (_phones(plan),),
    }
    motors = [rule.pump.motor for rule in rules if rule.pump.motor is not None]
    mains = [motor for motor in motors if on_mains(motor.volts)]
    power, carried = rig.power, rig.carried
    backflow = rig.supply_hose.backflow if rig.supply_hose is not None else None
    values: dict[str, Any] = {
        "rig": rig.rig,
        "pumps": bool(rules),
        "never_shut": " and ".join(rule.pump.name for rule in rules if rule.shut == "never"),
        "skin": any((rule.highest or inf) >= default("through_skin") for rule in rules),
        "mains": bool(mains or (power is not None and power.generator is not None)),
        "cords": any(motor.cord is not None for motor in motors),
        "gfci": "" if power is None or power.gfci is None else power.gfci,
        "battery": any(motor not in mains for motor in motors),
        "engine": bool(any(rule.engine for rule in rules) or (power and power.generator is not None)),
        "suction": bool(rules),
        "switched": " and ".join(rule.pump.name for rule in rules if rule.shut == "itself"),
        "backflow": (backflow or "").replace("_", " "),
        "chemicals": bool(chemicals),
        "bleach": BLEACH in chemicals,
        "acid": any(kind_of(chemical) == "acid" and chemical not in DRY for chemical in chemicals),
        "eyewash": drawn(carried.eyewash, system, "down") if carried and carried.eyewash else "",
        "spill_kit": bool(carried is not None and carried.spill_kit),
        "apart": " and ".join(spoken_name(one) for one in carried.apart) if carried is not None else "",
        "meets": bool(meetings),
        "dosing": bool(rig.dosing),
    }
    foot = "Where a job's own page asks for less, or for more care, that page counts."
    return section_from("rig_card", template("rig_card"), values, places, foot=foot)


def _strong(text: str) -> Spans:
    return (Span(text=text, strong=True),)


def _pumps(rules: list[PumpRule], system: System) -> Table:
    """How long each may run with its gun shut, the most it presses, and what its motor hangs on."""
    said_of = {"never": "never", "off_first": "switch off first"}
    rows: list[tuple[Cell, ...]] = []
    for rule in rules:
        motor = rule.pump.motor
        cord = motor.cord if motor is not None else None
        wire = "engine" if rule.engine else "not known"
        if cord is not None:
            wire = f"{show(cord.gauge, 'gauge', system)}, {show(cord.length, 'length', system)}"
        shut = said_of.get(rule.shut) or ("stops itself" if rule.shut == "itself" else _at_most(rule.seconds))
        highest = gauge(rule.highest, system) if rule.highest is not None else "no limit"
        only = f", {rule.pump.dedicated} only" if rule.pump.dedicated else ""
        name = (Span(text=rule.pump.name, strong=True), Span(text=only))
        rows.append((name, _strong(shut), highest, wire))
    head = ("Pump", "Gun shut, pump on", "Highest", "Cord")
    return Table(head=head, rows=tuple(rows), widths=(3.2, 2.4, 1.6, 2.6))


def _at_most(seconds: float) -> str:
    """Whole minutes; between them quarters of one, in seconds, down."""
    if seconds >= 60.0 and seconds % 60.0 == 0.0:
        return f"{minutes(seconds, 'down')} min at most"
    return f"{int(seconds // _QUARTER * _QUARTER) or int(seconds)} s at most"


def _hoses(plan: JobPlan, system: System) -> Table:
    """The hoses by what is printed on them, the strongest first; where nobody read it, to read it."""
    rig = plan.input.rig
    known = [(hose.rated, hose.name) for hose in rig.hoses]
    if rig.supply_hose is not None:
        known.append((rig.supply_hose.rated, "the one to the faucet"))
    rows: list[tuple[Cell, ...]] = []
    for rated in sorted({rated for rated, _ in known}, key=lambda one: (one is None, -(one or 0.0))):
        names = ", ".join(name for own, name in known if own == rated)
        rows.append((names, _strong(gauge(rated, system)) if rated is not None else said(_ASK)))
    return Table(head=("Hoses", "Rated"), rows=tuple(rows), widths=(5.6, 2.4))


def _tanks(plan: JobPlan, system: System) -> Table:
    rows = tuple(
        (
            tank.name,
            _strong(drawn(tank.volume, system, "down")),
            spoken_name(tank.holds) if tank.holds else "not known: look, and read a strip",
        )
        for tank in plan.input.rig.tanks
    )
    return Table(head=("Tank", "Full", "Kept for"), rows=rows, widths=(2.4, 1.8, 3.0))


def _dosing(plan: JobPlan, system: System) -> Table:
    """A panel's marks as they were tested with a bucket, an injector's parts of water."""
    rows: list[tuple[Cell, ...]] = []
    for device in plan.input.rig.dosing:
        if device.dial is not None:
            text = ", ".join(
                f"{dial_point.setting:g}: {show(dial_point.share, 'fraction', system)}" for dial_point in device.dial
            )
            rows.append((device.name, f"mark and share of stock {text}"))
        else:
            tested = "" if device.tested is not None else "; never tested"
            rows.append((device.name, f"{device.water_to_stock:g} parts of water to 1 of stock{tested}"))
    return Table(head=("Panel", "It draws"), rows=tuple(rows), widths=(1.6, 6.0))


def _chemicals(plan: JobPlan) -> list[str]:
    """What the shelf and the rig's tanks and pumps may bring to a job, each once."""
    rig = plan.input.rig
    lots = {lot.name: lot.chemical for lot in plan.input.lots}
    found = [lot.chemical for lot in plan.input.lots]
    kept = [tank.holds for tank in rig.tanks] + [pump.dedicated for pump in rig.pumps]
    known = {*lots.values(), BLEACH, *(one for one in ACIDS if one not in DRY)}
    found += [lots.get(one, one) for one in kept if one and lots.get(one, one) in known]
    # Bleach and acids first: what ends a leftover is named under what it must not meet.
    return sorted(set(found), key=lambda one: (one in _REDUCERS, one))


def _never(chemicals: list[str], system: System) -> tuple[Table, ...]:
    """What each must never meet: what people may bring to it, and what else is on the shelf. A table a chemical."""
    told: dict[str, list[tuple[Cell, ...]]] = {}
    covered: set[frozenset[str]] = set()
    for chemical in chemicals:
        for plain_meeting in plain_meetings(chemical, system):
            covered |= {frozenset({chemical, other}) for other in plain_meeting["covers"]}
            told.setdefault(_short(chemical), []).append((plain_meeting["meets"], plain_meeting["gives"]))
    for first, second, gives in _others(chemicals, covered):
        other = f"{_short(second)}, on its stock" if (first, second in _REDUCERS) == (BLEACH, True) else ""
        told.setdefault(_short(first), []).append((other or _short(second), gives))
    return tuple(
        Table(head=(f"{name.capitalize()}, never with", "It gives"), rows=tuple(rows), widths=(5.4, 3.0))
        for name, rows in told.items()
    )


def _others(chemicals: list[str], covered: set[frozenset[str]]) -> Iterator[tuple[str, str, str]]:
    for pair in forbidden_pairs(chemicals):
        if frozenset({pair.first, pair.second}) not in covered:
            first, second = sorted((pair.first, pair.second), key=chemicals.index)
            yield first, second, pair.gives


def _short(chemical: str) -> str:
    return short_of(chemical)


def _phones(plan: JobPlan) -> Fields:
    given = [(str(key), spoken(number)) for key, number in plan.input.company.phones.items() if spoken(number)]
    rows: list[tuple[str, Spans | WriteIn]] = [
        (key.replace("_", " ").capitalize(), _strong(number)) for key, number in given
    ]
    return Fields(rows=tuple(rows or [("Poison line", WriteIn(width=110, height=18))]), label=86.0)
