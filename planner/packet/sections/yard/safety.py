"""Safety of work on a pump: this job's hazards, what is worn, what never meets, first aid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.checks.yard.held import spoken
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, foams
from planner.inputs.tables.defaults import default
from planner.packet.blocks import Block, Cell, Signs, Span, State, Table
from planner.packet.sections.crew.safety import Form, aid_table, hazard_table, weather_keys
from planner.packet.sections.mixes import today
from planner.packet.sections.reading import Reading
from planner.plan.model import JobPlan, Value
from planner.plan.road.power import on_mains
from planner.plan.yard.flush import seen_of
from planner.plan.yard.model import BathPlan, YardPlan
from planner.plan.yard.parts import hydrogen_metals
from planner.units import System
from planner.words.figures import bath_name
from planner.words.hazards import hazard_of, plain_meetings
from planner.words.spelling import spelled
from planner.words.spoken import spoken_name

_MOST = 5
_AT_ITS_STEP = (
    "bath_foam", "bath_heat", "bath_hydrogen", "bench_pressure", "bench_power", "bench_throw", "bath_splash",
    "bench_shaft", "shock", "bath_chlorine",
)  # fmt: skip
"""What a stop point asks for or a step's own caution says: of more hazards than are read out, these are said there."""


def safety(reading: Reading, yard: YardPlan) -> dict[str, tuple[Block, ...]]:
    """The hazards of this work and no others, what never meets, first aid; what is worn is a step, and a stop asks."""
    plan, system = reading.checked.plan, reading.system
    keys, meets = hazard_keys(plan, yard), _never(yard, system)
    forms = (*bath_forms(plan), *held_forms(yard))
    rows = [hazard_of(chemical, form, strength) for _, chemical, form, strength in forms]
    signs = tuple(dict.fromkeys(sign for row in rows if row is not None for sign in row.signs))
    # Chlorine is there for whoever the warning of it is for, though nobody opens bleach here.
    chlorine = [BLEACH] if yard.bath is not None else []
    drawn = Table(head=(), rows=((Signs(names=signs, size=24.0),),), widths=(1.0,), tight=True)
    return {
        "hazards": (replace(hazard_table(plan, keys, system), head=()),),
        "never": (meets,) if meets is not None else (),
        "signs": (drawn,) if signs else (),
        "aid": (replace(aid_table([*chemicals_of(yard.bath), *yard.handled, *chlorine], system), head=(), tight=True),),
    }


def lot_today(plan: JobPlan, bath: BathPlan) -> str:
    """How strong its first container is."""
    return today(plan, bath.lot) if bath.lot is not None else ""


def chemicals_of(bath: BathPlan | None) -> list[str]:
    """The bath's own, then what neutralises it."""
    if bath is None:
        return []
    return list(dict.fromkeys([bath.chemical, *(leftover.agent for leftover in bath.neutralise)]))


def held_forms(yard: YardPlan) -> Sequence[Form]:
    """What may run out of pump or tank, each as the mix it was."""
    most = {held.chemical: held.most for held in yard.held}
    return tuple(
        ((Span(text=f"{spoken([chemical])} left", strong=True), Span(text=f" in {yard.pump.name}")),
         chemical, "mix", most.get(chemical))
        for chemical in yard.handled
    )  # fmt: skip


def held_wear(yard: YardPlan) -> str:
    """What is worn where that may run out: the most that any of it asks for; empty where nothing may."""
    rows = [hazard_of(chemical, form, most) for _, chemical, form, most in held_forms(yard)]
    asked = [row.wear.partition(";")[0] for row in rows if row is not None]
    return max(asked, key=lambda wear: ("face shield" in wear, len(wear)), default="")


def bath_forms(plan: JobPlan) -> Sequence[Form]:
    """The stock as it is, the bath as it stands, and what neutralises it; nothing where there is no bath."""
    bath = plan.yard.bath if plan.yard is not None else None
    if bath is None:
        return ()
    name = spoken_name(bath.chemical)
    nominal = bath.lot.nominal if bath.lot is not None else None
    strong = lot_today(plan, bath)
    stock = (Span(text=f"{name} stock", strong=True), Span(text=f", {strong}" if strong else ""))
    mixed = (Span(text="the bath", strong=True), Span(text=f", {bath_name(bath)}"))
    forms: list[Form] = [(stock, bath.chemical, "stock", nominal), (mixed, bath.chemical, "bath", bath.strength)]
    for agent in chemicals_of(bath)[1:]:
        forms.append(((Span(text=spoken_name(agent), strong=True), Span(text=" into the bath")), agent, "foam", None))
    return forms


def wear_words(bath: BathPlan) -> str:
    """What is worn at the tub: that of the stock, before its own remarks, and what the bath asks for beside."""
    row = hazard_of(bath.chemical, "stock", bath.lot.nominal if bath.lot is not None else None)
    dipped = hazard_of(bath.chemical, "bath", bath.strength)
    worn = [
        item
        for chemical_hazard in (row, dipped)
        if chemical_hazard is not None
        for item in chemical_hazard.wear.partition(";")[0].split(", ")
    ]
    return ", ".join(dict.fromkeys(worn)) or "what its data sheet asks for"


def hazards_of(plan: JobPlan, yard: YardPlan) -> dict[str, dict[str, Value | str]]:
    """Which hazards this work has, the gravest first."""
    hazards: dict[str, dict[str, Value | str]] = {}
    if yard.opened:
        hazards |= {"bench_power": {}, "bench_pressure": {}}
    test, pump = yard.test, yard.pump
    worst = max((point.closed or 0.0 for point in (test.before, test.after)), default=0.0) if test is not None else 0.0
    if worst >= default("through_skin") or pump.of_kind.pierces:
        pressure = max(worst, pump.unloader or 0.0)
        hazards["bench_jet"] = {"pressure": Value(pressure, "pressure")} if pressure else {"pressure": "high pressure"}
    # Of bleach in a pump that is to lie in acid its own row speaks.
    if set(yard.handled) - ({BLEACH} if yard.bath is not None else set()):
        hazards["bench_held"] = {"held": spoken(yard.handled)}
    hazards["bench_throw"] = {}
    if yard.bath is not None:
        hazards["bath_splash"] = {}
        of = CHEMICALS[yard.bath.chemical].people
        if of.fumes:
            hazards["bath_fumes"] = {}
        if of.spill:
            hazards[of.spill] = {}
        hazards["bath_chlorine"] = {"chlorine": Value(seen_of(plan.input), "concentration")}
        hazards |= {"bath_hydrogen": {}, _ends_by(yard.bath): {}}
    if yard.opened and pump.of_kind.shaft:
        hazards |= {"bench_shaft": {}, "bench_lift": {}}
    motor = pump.motor
    if motor is not None and on_mains(motor.volts):
        hazards["shock"] = {}
    if pump.driven_by == "engine":
        hazards["exhaust"] = {}
    if yard.bath is not None:
        hazards["wind"] = {"wind_stop": Value(plan.input.limits["wind_stop_strong"], "speed")}
    hazards |= weather_keys(plan)
    return hazards


def left_to_steps(plan: JobPlan, yard: YardPlan) -> tuple[str, ...]:
    """Those of them that are not read out, for there are many: a step or a stop point says them."""
    hazards = hazards_of(plan, yard)
    return tuple(key for key in _AT_ITS_STEP if key in hazards)[: max(len(hazards) - _MOST, 0)]


def hazard_keys(plan: JobPlan, yard: YardPlan) -> dict[str, dict[str, Value | str]]:
    """Which hazards this work's first page reads out."""
    left = left_to_steps(plan, yard)
    return {key: values for key, values in hazards_of(plan, yard).items() if key not in left} | {"bench_first": {}}


def _ends_by(bath: BathPlan) -> str:
    """What is to be feared of what ends the bath: lime gives heat and no gas, all else foams."""
    return "bath_heat" if bath.neutralise and not foams(bath.neutralise[0].agent) else "bath_foam"


def _never(yard: YardPlan, system: System) -> Table | None:
    """What the bath, else what the pump may hold, must not meet, in plain words; None where nothing is known."""
    chemical = yard.bath.chemical if yard.bath is not None else next(iter(yard.handled), None)
    if chemical is None:
        return None
    met = [
        f"{row['meets']} ({row['gives']})"
        for row in plain_meetings(chemical, system)
        # Of metals the bath's own row speaks, by all that gives hydrogen.
        if yard.bath is None or row["gives"] != "hydrogen"
    ]
    if yard.bath is not None:
        met.append(f"{spelled(', '.join(hydrogen_metals()), system)} (hydrogen)")
    told: Cell = (Span(text=f"Never {spoken([chemical])} with", strong=True), Span(text=f" {'; '.join(met)}."))
    return Table(head=(), rows=((State(level="stop"), told),), widths=(1.0, 11.0)) if met else None
