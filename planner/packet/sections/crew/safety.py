"""The page read aloud before a drum is opened: this job's hazards, what to wear, what never meets, first aid."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeAlias

from planner.inputs.models.gear import Pump
from planner.inputs.models.rig import RigPower
from planner.inputs.models.site import Access
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, short_of
from planner.inputs.tables.defaults import default
from planner.inputs.tables.whole import limit_rows
from planner.packet.blocks import Block, Cell, Section, Signs, Span, State, Table, said
from planner.packet.findings import with_numbers
from planner.packet.sections.crew.walk_round import has_roof
from planner.packet.sections.mixes import lots_in, on_the_wall, today
from planner.packet.sections.reading import Reading, template
from planner.packet.wording import section_from
from planner.plan.line.drift import wind_stop
from planner.plan.mix.lookups import forbidden
from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan, Value
from planner.plan.road.power import on_mains
from planner.plan.sky.weather import met, on_visit
from planner.units import System, show
from planner.words.hazards import first_aid, hazard_of, place_hazards, plain_meetings, statements
from planner.words.measures import gauge
from planner.words.spoken import Words, spoken_name

_LADDER_SLOPE = 4.0
_OF_ONE = 3  # columns of what one chemical must not meet; those of several take the page's width
_EYEWASH = 15 * 60.0  # s


def section(reading: Reading) -> Section | None:
    """The hazards of this job and no others; only the general half where no chemical is used."""
    plan = reading.checked.plan
    if plan.kind != "wash":
        return None
    worn, meetings, chemicals = wear_table(forms_of(plan)), _never(plan, reading.system), aboard(plan)
    places: dict[str, tuple[Block, ...]] = {
        "hazards": (_hazards(reading),),
        "wear": (worn,) if worn is not None else (),
        "never": (meetings,) if meetings is not None else (),
        # Of water alone the first page says all there is.
        "aid": (aid_table(chemicals, reading.system),) if chemicals else (),
    }
    values = {
        "mixed": worn is not None,
        "meets": meetings is not None,
        "wide": meetings is not None and len(meetings.head) > _OF_ONE,
        "bleach": BLEACH in chemicals,
        "handled": bool(chemicals),
    }
    return section_from("safety", template("safety"), values, places)


def aboard(plan: JobPlan) -> list[str]:
    """The chemicals of this job: what is mixed, the soap in it, what stands in a tank, what neutralises it."""
    found = [mix.chemical for mix in plan.mixes]
    found += [use.chemical for use in plan.input.chemicals if use.dose is not None]
    found += [mix.heel_chemical for mix in plan.mixes if mix.heel_chemical not in (None, "water")]
    found += [leftover.agent for leftover in plan.neutralisers]
    return list(dict.fromkeys(found))


def hazard_basis(forms: Iterable[Form]) -> list[Block]:
    """For the owner: what each sign on the safety sheet stands for, and where the row comes from."""
    rows: list[tuple[Cell, ...]] = []
    known = statements()
    for name, chemical, form, strength in forms:
        row = hazard_of(chemical, form, strength)
        if row is not None:
            words = "; ".join(f"{code} {known[code]}" for code in row.says) or "none"
            rows.append((name, words, row.source))
    if not rows:
        return []
    head = ("Hazards of", "Statements", "Source; the lot's own data sheet decides")
    return [Table(head=head, rows=tuple(rows), widths=(2.4, 4.2, 3.4))]


# ---------------------------------------------------------------------------------------------- place and gear


def place_keys(plan: JobPlan) -> dict[str, dict[str, Value | str]]:
    """Which hazards of place and gear this job has, with what it has to say of them, the gravest first."""
    hazards: dict[str, dict[str, Value | str]] = {}
    access, power = plan.input.job.access or Access(), plan.input.rig.power or RigPower()
    if access.power_line is not None:
        hazards["power_line"] = {"distance": Value(access.power_line, "length")}
    else:
        hazards["wires_unknown"] = {}
    if has_roof(plan):
        hazards["roof"] = {}
    if access.ladder is not None or access.on_ladder:
        hazards["ladder"] = {}
    if access.on_ladder:
        hazards["gun_on_ladder"] = {}
    hazards |= _pumps(plan)
    hot = max((run.input.hot or 0.0 for run in plan.runs), default=0.0)
    if hot > plan.input.limits.get("hot_skin", 0.0):
        hazards["scald"] = {"temperature": Value(hot, "temperature")}
    if _live(plan):
        hazards["shock"] = {}
    chemicals = {mix.chemical for mix in plan.mixes}
    present = [chemical for chemical in CHEMICALS.values() if chemical.name in chemicals]
    hazards |= {key: {} for chemical in present if (key := chemical.people.fumes)}
    hazards |= {key: {} for chemical in present if (key := chemical.people.spill)}
    if plan.mixes or has_roof(plan) or access.on_ladder:
        hazards["wind"] = _wind(plan)
    hazards |= weather_keys(plan)
    if access.slope == "steep":
        hazards["slope"] = {}
    if power.generator or any(_engine(run.input.pump) for run in plan.runs):
        hazards["exhaust"] = {}
    if _heavy_drum(plan):
        hazards["drum"] = {}
    if not plan.mixes:
        if any(surface.row.get("family") in ("wall", "trim") for surface in plan.input.surfaces):
            hazards["outlets"] = {}
        hazards["splash"] = {}
    hazards["slips"] = {}
    return hazards


def _strongest(mix: MixPlan) -> float:
    """The strongest a mix may land [kg/m3]; one nobody can make counts as what was asked."""
    return max(mix.wall_high or 0.0, mix.wall or 0.0, mix.target if mix.target < float("inf") else 0.0)


def _wind(plan: JobPlan) -> dict[str, Value | str]:
    """The stop for wind: lower where the mix is strong, or a roof or a ladder is worked from."""
    limits, name = plan.input.limits, wind_stop(plan)
    return {"wind_stop": Value(limits[name], "speed")} if name in limits else {}


def _pumps(plan: JobPlan) -> dict[str, dict[str, Value | str]]:
    """What the pressure can do: through the skin above a thousand psi, else what a hose under pressure does."""
    pumped = [run for run in plan.runs if run.input.pump is not None]
    worst = max((max(run.shut_off_pressure or 0.0, run.pump_pressure) for run in pumped), default=0.0)
    if worst >= default("through_skin") or any(
        run.input.pump.of_kind.pierces for run in plan.runs if run.input.pump is not None
    ):
        return {"injection": {"pressure": Value(worst, "pressure")}}
    return {"pressure": {"pressure": Value(worst, "pressure")}} if worst > default("house_hose") else {}


def _engine(pump: Pump | None) -> bool:
    return pump is not None and pump.driven_by == "engine"


def _live(plan: JobPlan) -> bool:
    """True where mains current or a generator's is about."""
    power = plan.input.rig.power or RigPower()
    if power.generator or power.breaker:
        return True
    pumps = [run.input.pump for run in plan.runs if run.input.pump is not None]
    return any(pump.motor is not None and on_mains(pump.motor.volts) for pump in pumps)


def _heavy_drum(plan: JobPlan) -> bool:
    """Whether a mix is drawn from a container that nobody lifts."""
    used = {name for mix in plan.mixes for name in lots_in(mix)}
    drums = [lot.container for lot in plan.input.lots if lot.name in used and lot.container is not None]
    return max((drum.volume or 0.0 for drum in drums), default=0.0) > default("one_lifts")


def weather_keys(plan: JobPlan) -> dict[str, dict[str, Value | str]]:
    """Heat and cold, where the weather passes their limits: heat of the visit, cold of any hour of the day."""
    limits, found = plan.input.limits, {}
    high, low = on_visit(plan.input).high, met(plan.input, None).low
    if high is not None and high > limits.get("heat_caution", float("inf")):
        found["heat"] = {"temperature": Value(high, "temperature")}
    if low is not None and low < limits.get("freeze_caution", 0.0):
        found["cold"] = {"temperature": Value(low, "temperature")}
    return found  # type: ignore[return-value]


def _limits(plan: JobPlan) -> Mapping[str, Value]:
    rows = limit_rows()
    return {name: Value(plan.input.limits.get(name, row.value), row.dimension) for name, row in rows.items()}


def _hazards(reading: Reading) -> Table:
    """The hazard, and what is done about it, two to a row."""
    plan = reading.checked.plan
    return hazard_table(plan, place_keys(plan), reading.system)


def hazard_table(plan: JobPlan, keys: Mapping[str, dict[str, Value | str]], system: System) -> Table:
    """The rows of these keys, each with what it has to say."""
    known = place_hazards()
    limits: dict[str, Any] = {name: Words(value, system) for name, value in _limits(plan).items()}
    limits["ladder_slope"] = f"{plan.input.limits.get('ladder_slope', _LADDER_SLOPE):g}"
    cells: list[Cell] = []
    for key, values in keys.items():
        shown = {**limits, **{name: Words(value, system) for name, value in values.items()}}
        if key in ("power_line", "injection", "pressure", "heat", "bench_jet"):
            shown |= _safe_side(values, system)
        row = known[key]
        hazard, control = (row[part].format(**shown) for part in ("hazard", "control"))
        cells.append((Span(text=f"{hazard}. ", strong=True), *with_numbers(control)))
    odd = len(cells) % 2
    if odd:
        cells.append("")
    rows = tuple(zip(cells[::2], cells[1::2], strict=True))
    across = frozenset({len(rows) - 1}) if odd else frozenset()
    return Table(head=("Hazards of this job, and what we do", ""), rows=rows, widths=(1, 1), across=across, abreast=2)


def _safe_side(values: Mapping[str, Value | str], system: System) -> dict[str, Any]:
    """A distance is said no longer, a temperature no lower than it is; a pressure as the gauge reads."""
    side = {"length": "down", "temperature": "up"}
    return {
        name: gauge(value.amount, system)  # as every gauge of the job
        if value.dimension == "pressure"
        else show(value.amount, value.dimension, system, toward=side[value.dimension])  # type: ignore[arg-type]
        for name, value in values.items()
        if isinstance(value, Value)
    }


# ---------------------------------------------------------------------------------------------- chemicals


def wear_table(forms: Iterable[Form]) -> Table | None:
    """Signs and what is worn, for each stock as it is and for each mix as it lands: a mix is not a drum.

    Its label's codes are the owner's: they say nothing at a tailgate.
    """
    rows: list[tuple[Cell, ...]] = []
    for name, chemical, form, strength in forms:
        row = hazard_of(chemical, form, strength)
        if row is None:
            rows.append((Signs(names=()), name, "by its own data sheet", ""))
            continue
        rows.append((Signs(names=row.signs, size=26.0), name, row.wear, row.does))
    if not rows:
        return None
    head = ("Sign", "What", "Wear", "It does")
    return Table(head=head, rows=tuple(rows), widths=(1.3, 2.95, 3.0, 3.2))


Form: TypeAlias = tuple[tuple[Span, ...], str, str, float | None]


def forms_of(plan: JobPlan) -> list[Form]:
    """Each stock and each mix of the job: its name, chemical, form and strength [kg/m3]; like ones once.

    A strength of None is one that nobody wrote. What still stands in a tank is a mix, as strong as it is.
    """
    found: dict[tuple[str, str, str], Form] = {}
    heels: list[Form] = []
    strengths: dict[tuple[str, str, str], list[str]] = {}

    def like(chemical: str, form: str, strength: float | None) -> tuple[str, str, str]:
        row = hazard_of(chemical, form, strength)
        return chemical, form, f"{row.least if row else 0:g}"

    def used(chemical: str, form: str, strength: float | None, told: str) -> None:
        """One stock or mix; another of its like adds how strong it is to the same row."""
        key = like(chemical, form, strength)
        known = strengths.setdefault(key, [])
        known += [told] if told and told not in known else []
        name = (Span(text=f"{spoken_name(chemical)} {form}", strong=True), Span(text=f", {' and '.join(known)}"))
        found[key] = (name if known else name[:1], chemical, form, strength)

    for mix in plan.mixes:
        used(mix.chemical, "stock", mix.strongest_stock, today(plan, mix.lot) if mix.lot is not None else "")
        used(mix.chemical, "mix", _strongest(mix), on_the_wall(plan, mix))
        other = mix.heel_chemical
        if other is not None and other not in ("water", mix.chemical) and hazard_of(other, "mix", mix.heel_strength):
            words = (Span(text=spoken_name(other), strong=True), Span(text=" left in a tank"))
            heels.append((words, other, "mix", mix.heel_strength))
    for part in (part for change in plan.changes for part in change.parts if part.kind == "tank"):
        # Flushed before anything is mixed, and somebody has to drain it.
        if part.leaves != "water" and hazard_of(part.leaves, "mix", part.strength):
            words = (Span(text=spoken_name(part.leaves), strong=True), Span(text=" left in a tank"))
            heels.append((words, part.leaves, "mix", part.strength))
    for heel in heels:
        found.setdefault(like(heel[1], "mix", heel[3]), heel)
    for chemical in aboard(plan):
        if chemical not in {one[1] for one in found.values()}:
            agent = (Span(text=spoken_name(chemical), strong=True),)
            found.setdefault((chemical, "stock", ""), (agent, chemical, "stock", None))
    return list(found.values())


def _never(plan: JobPlan, system: System) -> Table | None:
    """What this job's chemicals must not meet: in plain words, then what else is really aboard."""
    chemicals = list(dict.fromkeys(mix.chemical for mix in plan.mixes))
    agents = {leftover.agent for leftover in plan.neutralisers}
    met: list[tuple[str, bool, str, str]] = []  # this, as stock only, never with, what it gives
    said_pairs: set[frozenset[str]] = set()
    for chemical in chemicals:
        for meeting in plain_meetings(chemical, system):
            met.append((_short_name(chemical), False, meeting["meets"], meeting["gives"]))
            said_pairs |= {frozenset({chemical, other}) for other in meeting["covers"]}
    others = aboard(plan)
    for n, first in enumerate(others):
        for second in others[n + 1 :]:
            pair = forbidden(plan, first, second)
            if pair is None or frozenset({first, second}) in said_pairs:
                continue
            # A leftover mix is neutralised with just this; stock boils over with it.
            stock = second in agents and first in chemicals
            met.append((_short_name(first), stock, spoken_name(second), pair.gives))
    if not met:
        return None
    if len({this for this, *_ in met}) == 1:  # all about one chemical: its name goes into the head
        alone = tuple(
            (State(level="stop"), f"{other} onto stock" if stock else other, gives) for _, stock, other, gives in met
        )
        return Table(head=("", f"Never {met[0][0]} with", "It gives"), rows=alone, widths=(0.7, 5.0, 3.0))
    rows = [_meeting(f"{this}{' stock' if stock else ''}", other, gives) for this, stock, other, gives in met]
    return Table(head=("", "This", "Never with", "It gives"), rows=tuple(rows), widths=(0.7, 1.9, 3.8, 2.6))


def _short_name(chemical: str) -> str:
    return short_of(chemical)


def _meeting(first: str, second: str, gives: str) -> tuple[Cell, ...]:
    return (State(level="stop"), (Span(text=first, strong=True),), second, gives)


def aid_table(aboard: Iterable[str], system: System) -> Table:
    """First aid by how it got in."""
    chemicals = set(aboard)
    groups = {group for chemical in chemicals if chemical in CHEMICALS for group in CHEMICALS[chemical].people.aid}
    if chemicals:
        groups |= {"all"} if "alkali" in groups else {"all", "no_alkali"}
    minutes = show(_EYEWASH, "time", system)
    rows = tuple(
        ((Span(text=row["route"], strong=True),), with_numbers(row["do"].format(minutes=minutes)))
        for row in first_aid(frozenset(groups))
    )
    if not rows:
        rows = (((Span(text="Hurt", strong=True),), said("gun down, pump off, call; the address is on page 1.")),)
    return Table(head=("First aid", "At once"), rows=rows, widths=(1.3, 6.7))
