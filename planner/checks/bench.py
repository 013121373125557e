"""What is found of a pump's bath and test in the yard, each under the code of the check that asks the same of a job."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.checks.gas_values import gas_values
from planner.checks.model import Finding, Level
from planner.checks.registry import over, under
from planner.chemistry.solubility import NEAR_SATURATION
from planner.plan.matrix import gas_of, meets
from planner.plan.model import JobPlan, Value
from planner.plan.yard_model import BathPlan, ThrowTest, YardPlan

BATH, TUB, THROW = "bath", "tub", "throw"
"""What findings of a bath or of a throw that was paced out are about."""

_RAG = 2 * 0.000946352946
"""Bath [m3] above which there is more than a rag wants, two quarts (common practice, no source)."""

_ABOVE = {"muriatic": "bath_above", "citric": "bath_above_mild", "oxalic": "bath_above_rust"}
"""How a bath too strong is told of: what an acid spoils and what it takes off are its own."""


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
    key = "soak" if values.get("soak") else {BATH: "bath", TUB: "tub", THROW: "throw"}.get(about, "pump")
    where = place.get(key, plan.where)
    return Finding(code=code, about=about, level=level, case=case, values=named, where=where)


# ------------------------------------------------------------------------------------------ what must not meet


def reaction(plan: JobPlan) -> Iterator[Finding]:
    """mix.reaction: what the pump carried and what it is made of, against the bath; a bath that seals the lime."""
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
    soaked = "hypochlorite" if name in rig.bleach_pumps else None
    first = [of for one in rig.pending for of, part in one.gear if part == name]
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
            plan, "mix.surface", yard.pump.name, "caution", "bath_nothing", chemical=yard.acid or "", **_listed(yard)
        )
        return
    if yard.bath is None:
        return
    yield from _soaked(plan, yard.bath)
    yield from _spoiled(plan, yard, yard.bath)


def _listed(yard: YardPlan) -> dict[str, Value | str]:
    return {"materials": " and ".join(part.material for part in yard.parts.out)}


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
    elif parts.nothing_inside and bath.volume > _RAG:
        yield _finding(plan, "mix.surface", name, "caution", "bath_rag", **_listed(yard))
    elif parts.out and all(part.fate == "hydrogen" for part in parts.out):
        yield _finding(plan, "mix.surface", name, "none", "bath_reaction")
    elif not parts.out:
        yield _finding(plan, "mix.surface", name, "ok", "bath_ok")


def flush(plan: JobPlan) -> Iterator[Finding]:
    """flush.needed: a strip before anything lies in acid, a hold point on paper; mix.reaction says how bad it is."""
    found = _yard_bath(plan)
    if found is None:
        return
    yard, bath = found
    case = {"today": "bath", "unflushed": "bath", "pending": "bath_pending", "maybe": "bath_maybe"}
    yield _finding(plan, "flush.needed", yard.pump.name, "ok", case.get(bath.bleached, "bath_never"))


# ------------------------------------------------------------------------------------------ how strong, how much


def strength(plan: JobPlan) -> Iterator[Finding]:
    """mix.strength: a bath stronger than the trade makes it."""
    found = _yard_bath(plan)
    if found is None:
        return
    bath = found[1]
    most = plan.input.limits[f"bath_{bath.chemical}"]
    strong = over(bath.strength, most)
    yield _finding(
        plan, "mix.strength", BATH, "caution" if strong else "ok",
        _ABOVE[bath.chemical] if strong else "bath_ok",
        target=Value(bath.strength, "grams"), most=Value(most, "grams"),
    )  # fmt: skip


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


# ------------------------------------------------------------------------------------------ the pump itself


def wear(plan: JobPlan) -> Iterator[Finding]:
    """pump.wear: what is left of the pump, by the throw somebody paced out, else as the rig or records have it."""
    yard = plan.yard
    if yard is None:
        return
    limit = plan.input.limits["pump_condition"]
    name = yard.pump.name
    test = yard.test
    if test is not None and test.written is not None and test.after.ground is not None:
        yield _thrown(plan, name, test, test.written, test.after.ground)
        return
    if test is not None and test.written is not None:
        yield _finding(plan, "pump.wear", THROW, "none", "throw_no_jet", throw=Value(test.written, "length"))
    if yard.pump.kind == "piston":
        yield _finding(plan, "pump.wear", name, "none", "piston")
        return
    worn = under(yard.pump.condition, limit)
    measured = "condition" in yard.pump.model_fields_set
    yield _finding(
        plan, "pump.wear", name, "caution" if worn else "ok", "worn" if worn else "ok" if measured else "as_new",
        condition=Value(yard.pump.condition, "fraction"), limit=Value(limit, "fraction"),
    )  # fmt: skip


def _thrown(plan: JobPlan, name: str, test: ThrowTest, throw: float, sound: float) -> Finding:
    share = test.written_share
    values: dict[str, Value | str] = {
        "throw": Value(throw, "length"),
        "sound": Value(sound, "length"),
        "limit": Value(test.limit, "fraction"),
    }
    if share is None:
        level: Level = "caution"
        return _finding(plan, "pump.wear", name, level, "throw_short" if throw < sound else "throw_far", **values)
    worn = under(share, test.limit)
    return _finding(
        plan, "pump.wear", name, "caution" if worn else "ok", "throw_worn" if worn else "throw_ok",
        share=Value(min(share, 1.0), "fraction"), **values,
    )  # fmt: skip


def acids_of(plan: JobPlan) -> Sequence[str]:
    """What a yard job handles."""
    found = _yard_bath(plan)
    return (found[1].chemical,) if found is not None else ()
