"""What is found of a pump's bath and test in the yard, each under the code of the check that asks the same of a job."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf

from planner.checks.meeting import gas_values
from planner.checks.model import Finding, Level, over, under
from planner.checks.yard.held import held_flush, held_reaction
from planner.chemistry.solutions import NEAR_SATURATION
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS
from planner.inputs.tables.defaults import default
from planner.plan.between.matrix import gas_of, meets
from planner.plan.model import JobPlan, Value
from planner.plan.yard.flush import seen_of
from planner.plan.yard.model import BathPlan, YardPlan

BATH, TUB = "bath", "tub"
"""What findings of a bath are about."""


def _above(chemical: str) -> str:
    """How a bath too strong is told of: what an acid spoils and what it takes off are its own."""
    row = CHEMICALS[chemical].bath
    assert row is not None, f"no bath is made of {chemical}"
    return row.above


def _seen(plan: JobPlan) -> Value:
    """What a strip may read of chlorine before the pump is opened."""
    return Value(seen_of(plan.input), "concentration")


def _yard_bath(plan: JobPlan) -> tuple[YardPlan, BathPlan] | None:
    yard = plan.yard
    return (yard, yard.bath) if yard is not None and yard.bath is not None else None


def _finding(plan: JobPlan, code: str, about: str, level: Level, case: str, **values: Value | str) -> Finding:
    yard = plan.yard
    bath = yard.bath if yard is not None else None
    named: dict[str, Value | str] = {
        "pump": yard.pump.name if yard is not None else "",
        "chemical": bath.chemical if bath is not None else "",
        **values,
    }
    place = plan.input.places
    key = "soak" if values.get("soak") else {BATH: "bath", TUB: "tub"}.get(about, "pump")
    where = place.get(key, plan.where)
    return Finding(code=code, about=about, level=level, case=case, values=named, where=where)


# ------------------------------------------------------------------------------------------ what must not meet


def reaction(plan: JobPlan) -> Iterator[Finding]:
    """mix.reaction: what the pump carried and what it is made of, against the bath; a bath that seals the lime."""
    yield from held_reaction(plan)
    found = _yard_bath(plan)
    if found is None:
        return
    yield from _carried(plan, *found)
    yield from _metal(plan, *found)
    if found[1].capacity is None:
        yield _finding(plan, "mix.reaction", BATH, "caution", "bath_seals")


def _carried(plan: JobPlan, yard: YardPlan, bath: BathPlan) -> Iterator[Finding]:
    """What the pump carried: a hold point, and a stop where no flush took it out."""
    rig, name = plan.found, yard.pump.name
    last = rig.parts.get(name)
    soaked = BLEACH if name in rig.bleach_pumps else None
    first = [of for pending in rig.pending for of, part in pending.gear if part == name]
    known = [one for one in (last, soaked, *first) if one is not None]
    carried = next((one for one in known if meets(one, bath.chemical).stops), None)
    if carried is None:
        return
    open_still = carried == last and name in rig.unflushed
    yield _finding(
        plan,
        "mix.reaction",
        name,
        "stop" if open_still else "caution",
        "bath_unflushed" if open_still else "bath",
        other=carried.replace("_", " "),
        chlorine=_seen(plan),
        gives=meets(carried, bath.chemical).gives,
    )


def _metal(plan: JobPlan, yard: YardPlan, bath: BathPlan) -> Iterator[Finding]:
    """Materials that give hydrogen: a stop, or a caution and a hold point where they are written as staying out."""
    told = [(part, "stop", "bath_metal") for part in yard.parts.hydrogen]
    told += [(part, "caution", "bath_apart") for part in yard.parts.out if part.material in yard.parts.apart]
    for part, level, case in told:
        metal = part.gas if case == "bath_metal" and bath.active > 0.0 else None
        gas = gas_of(bath.chemical, bath.active, metal, None) if metal is not None else None
        yield _finding(
            plan, "mix.reaction", f"{yard.pump.name}, {part.material}", level, case,  # type: ignore[arg-type]
            material=part.material, **gas_values(gas),
        )  # fmt: skip


def surface(plan: JobPlan) -> Iterator[Finding]:
    """mix.surface: what of the pump may not lie in the bath: it is wiped and rinsed, or left out; and a long soak."""
    yard = plan.yard
    if yard is None:
        return
    if yard.no_bath:
        yield _finding(
            plan, "mix.surface", yard.pump.name, "stop", "bath_nothing", chemical=yard.acid or "", **_listed(yard)
        )
        return
    if yard.bath is None:
        return
    yield from _soaked(plan, yard.bath)
    yield from _spoiled(plan, yard, yard.bath)


def _listed(yard: YardPlan) -> dict[str, Value | str]:
    out = " and ".join(part.material for part in yard.parts.out)
    named: dict[str, Value | str] = {"materials": out or ("seals alone" if yard.parts.seals else "nothing known")}
    if yard.parts.unknown:
        named["unlisted"] = ", ".join(yard.parts.unknown)
    if yard.parts.seals and yard.parts.out:
        named["seals"] = " and ".join(part.material for part in yard.parts.seals)
    return named


def _soaked(plan: JobPlan, bath: BathPlan) -> Iterator[Finding]:
    most = plan.input.limits["bath_soak_most"]
    if over(bath.soak, most):
        yield _finding(
            plan, "mix.surface", BATH, "caution", "bath_long",
            soak=Value(bath.soak, "time"), most=Value(most, "time"), usual=Value(_usual_soak(plan), "time"),
        )  # fmt: skip


def _usual_soak(plan: JobPlan) -> float:
    return float(plan.input.tables["defaults"]["bath_soak"])


def _spoiled(plan: JobPlan, yard: YardPlan, bath: BathPlan) -> Iterator[Finding]:
    """Each material that may not lie in it, what nobody knows of; well only where every name is known and harmless."""
    name, parts = yard.pump.name, yard.parts
    most = plan.input.tables["defaults"]["bath_wipe"][1]
    wiped = bath.wipe is not None
    for part in parts.out:
        if part.fate == "hydrogen":
            continue
        case = {"eaten": "bath_eaten", "pits": "bath" if wiped else "bath_out"}.get(part.fate, "bath_out")
        yield _finding(
            plan, "mix.surface", name, "caution", case,
            material=part.material, why=part.why, within=Value(most, "time"), rinse=bath.rinse_with.replace("_", " "),
        )  # fmt: skip
    if parts.unknown or not parts.written:
        named: dict[str, Value | str] = {"unlisted": ", ".join(parts.unknown)} if parts.unknown else {"unwritten": name}
        yield _finding(plan, "mix.surface", name, "caution", "bath_unknown", **named)
    elif parts.nothing_inside and bath.volume > default("bath_rag"):
        yield _finding(plan, "mix.surface", name, "caution", "bath_rag", **_listed(yard))
    elif parts.out and all(part.fate == "hydrogen" for part in parts.out):
        yield _finding(plan, "mix.surface", name, "none", "bath_reaction")
    elif not parts.out:
        yield _finding(plan, "mix.surface", name, "ok", "bath_ok")


def flush(plan: JobPlan) -> Iterator[Finding]:
    """flush.needed: a strip before anything lies in acid, a hold point on paper; mix.reaction says how bad it is."""
    yield from held_flush(plan)
    found = _yard_bath(plan)
    if found is None:
        return
    yard, bath = found
    cases = {"today": "bath", "unflushed": "bath", "pending": "bath_pending", "maybe": "bath_maybe"}
    case = cases.get(bath.bleached, "bath_never")
    # Left in a pump that is only opened it is a caution already; acid on it is worse.
    level: Level = "ok" if case == "bath_never" else "caution"
    yield _finding(plan, "flush.needed", yard.pump.name, level, case, chlorine=_seen(plan))


# ------------------------------------------------------------------------------------------ how strong, how much


def strength(plan: JobPlan) -> Iterator[Finding]:
    """mix.strength: a bath stronger than the trade makes it, or so weak that a point slipped.

    It goes by what the bath really holds: a share by volume says nothing until the stock is known.
    """
    found = _yard_bath(plan)
    if found is None:
        return
    bath = found[1]
    limits = plan.input.limits
    most, least = limits[f"bath_{bath.chemical}"], limits[f"bath_{bath.chemical}_least"]
    highest = limits.get(f"bath_{bath.chemical}_most", inf)
    level: Level = "ok"
    case = "bath_ok"
    if over(bath.strength, highest):
        level, case = "stop", "bath_too_strong"
    elif over(bath.strength, most):
        level, case = "caution", _above(bath.chemical)
    elif under(bath.strength, least):
        level, case = "stop", "bath_weak"
    values = {"target": bath.strength, "most": most, "least": least, "highest": min(highest, 1e3)}
    yield _finding(
        plan, "mix.strength", BATH, level, case, **{name: Value(one, "grams") for name, one in values.items()}
    )


def reach(plan: JobPlan) -> Iterator[Finding]:
    """mix.reach: whether the stock, or the water, gets to that strength."""
    found = _yard_bath(plan)
    if found is None:
        return
    bath = found[1]
    lots = [lot for lot in plan.shelf if lot.chemical == bath.chemical]
    values: dict[str, Value | str] = {
        "lot": " then ".join(share.lot.name for share in bath.pours) or ", ".join(lot.name for lot in lots) or "none",
        "target": Value(bath.strength, "grams"),
        "highest": Value(max((lot.nominal or 0.0 for lot in lots), default=0.0), "grams"),
        "water": Value(plan.input.water.temperature, "temperature"),
    }
    level: Level = "ok"
    case = "ok"
    if bath.dissolves is not None:
        values["highest"] = Value(bath.dissolves, "grams")
        if over(bath.strength, bath.dissolves):
            level, case = "stop", "wont_dissolve"
        elif over(bath.strength, NEAR_SATURATION * bath.dissolves):
            level, case = "caution", "slow_to_dissolve"
    elif not bath.reachable:
        level, case = "stop", "too_weak"
    if case == "ok" and not bath.pours:
        level, case = "none", "no_lot"
    yield _finding(plan, "mix.reach", BATH, level, case, **values)


def heel(plan: JobPlan) -> Iterator[Finding]:
    """mix.heel: whether the tub holds the bath with the parts in it, and its foam."""
    found = _yard_bath(plan)
    if found is None:
        return
    bath = found[1]
    if bath.free is None or bath.height is None or bath.top is None:
        yield _finding(plan, "mix.heel", TUB, "none", "tub_unknown", least=Value(bath.tub_least, "volume"))
        return
    level: Level = "ok"
    case = "tub_ok"
    if under(bath.free, 0.0):
        level, case = "stop", "tub_over"
    elif under(bath.free, bath.freeboard):
        level, case = "caution", "tub_close"
    yield _finding(
        plan, "mix.heel", TUB, level, case,
        height=Value(bath.height, "dip"), top=Value(bath.top, "dip"), free=Value(max(bath.free, 0.0), "dip"),
        freeboard=Value(bath.freeboard, "dip"),
    )  # fmt: skip


def acids_of(plan: JobPlan) -> Sequence[str]:
    """What a yard job handles."""
    found = _yard_bath(plan)
    return (found[1].chemical,) if found is not None else ()


def handled_of(plan: JobPlan) -> Sequence[str]:
    """What may come over a hand in a yard job: the acid of its bath, and what pump and tank may hold."""
    return (*acids_of(plan), *(plan.yard.handled if plan.yard is not None else ()))
