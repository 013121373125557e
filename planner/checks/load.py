"""What rides on the rig: its weight on the road, what the road's rules make of it, what must not ride side by side.

What stands in tanks rides: of the day's file, and what the night left; two heels may not meet either.
"""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level, check, over
from planner.chemistry.transport import water_less
from planner.inputs.tables.chemicals import words_of
from planner.inputs.tables.transport import listed, not_arranged
from planner.plan.model import JobPlan, Value
from planner.plan.road.model import HOME, YARD, Beside, Leg, LoadItem, LoadPlan


def moment_words(leg: Leg) -> str:
    """A leg in a sentence."""
    if leg.moment == YARD:
        return "leaving the yard"
    return "on the way home" if leg.moment == HOME else f"on the way to {leg.to}"


@check("load.weight")
def load_weight(plan: JobPlan) -> Iterator[Finding]:
    """What the rig weighs where it weighs most on the road, against what it may."""
    load, limits = plan.load, plan.input.limits
    leg = load.heaviest if load is not None else None
    if load is None or leg is None or leg.total is None or not load.rated:
        yield Finding(code="load.weight", about="rig", level="none", case="none", values={}, where=plan.where)
        return
    total, rated = leg.total, load.rated
    least, most = limits["weight_caution"] * rated, limits["weight_stop"] * rated
    level: Level = "stop" if over(total, most) else "caution" if over(total, least) else "ok"
    limit = most if level == "stop" else least
    case = "ok"
    if level != "ok":
        dry = over(total - limit, leg.water)
        case = f"{'over' if level == 'stop' else 'near'}{'_dry' if dry else '' if leg.moment == YARD else '_road'}"
    values: dict[str, Value | str] = {
        "total": Value(total, "mass"),
        "rated": Value(rated, "mass"),
        "share": Value(total / rated, "fraction"),
        "moment": moment_words(leg),
        "less": Value(water_less(total - limit, leg.water_density), "volume"),
        "easy": Value(water_less(total - least, leg.water_density), "volume"),
        "too_much": Value(max(total - limit, 0.0), "mass"),
        "water": Value(leg.water, "mass"),
    }
    yield Finding(code="load.weight", about="rig", level=level, case=case, values=values, where=plan.where)


@check("load.transport")
def load_transport(plan: JobPlan) -> Iterator[Finding]:
    """Each container and tank of hazardous material against the small quantities, then all of it together."""
    load = plan.load
    riding = [item for item in load.out.items if item.regulated] if load is not None else []
    if load is None or not riding:
        yield Finding(code="load.transport", about="load", level="none", case="none", values={}, where=plan.where)
        return
    for item in riding:
        if item.tank is not None or item.what in load.own:
            yield _package(plan, item)
    yield _together(plan, load.out)
    for chemical in dict.fromkeys(str(item.chemical) for item in riding):
        limit = plan.input.limits.get(f"reportable_{chemical}")
        if limit is not None:
            yield _reportable(plan, load, chemical, limit)


def _words(item: LoadItem) -> dict[str, Value | str]:
    row = listed(str(item.chemical))
    return {"what": item.what, "un": f"UN {row.un}" if row.un else "no UN number given", "wording": row.wording}


def _package(plan: JobPlan, item: LoadItem) -> Finding:
    """One lot by the size of its container, or a tank of the rig by its own."""
    limits = plan.input.limits
    size, mass = item.holds or 0.0, item.package_mass
    tank = item.tank is not None
    large = over(size, limits["package_volume"])
    if over(size, limits["bulk_volume"]):
        case = "bulk"
    elif large or (not tank and over(mass, limits["package_mass"])):
        case = "tank" if tank else "package" if large else "heavy"
    elif item.volume > 0.0:
        case = "small" if item.packages == 1 else "many_small"
    else:
        case = "dry_small"
    values = _words(item) | {
        "count": str(item.packages),
        "size": Value(size, "volume"),
        "mass": Value(mass, "mass"),
        "volume": Value(item.volume, "volume"),
        "limit": Value(limits["package_volume"], "volume"),
        "heavy": Value(limits["package_mass"], "mass"),
        "bulk": Value(limits["bulk_volume"], "volume"),
    }
    return _finding(plan, item.tank or item.what, case, values, usual=("package", "heavy", "tank"))


def _together(plan: JobPlan, leg: Leg) -> Finding:
    """All hazardous material aboard, gross: truck and trailer count as one."""
    limits, total = plan.input.limits, leg.hazardous
    case = "small"
    if over(total, limits["placard_mass"]):
        case = "placard"
    elif over(total, limits["hazmat_total"]):
        case = "total"
    values: dict[str, Value | str] = {
        "total": Value(total, "mass"),
        "limit": Value(limits["hazmat_total"], "mass"),
        "placard": Value(limits["placard_mass"], "mass"),
        "moment": moment_words(leg),
    }
    return _finding(plan, "load", f"all_{case}", values, usual=("all_total",))


def _reportable(plan: JobPlan, load: LoadPlan, chemical: str, limit: float) -> Finding:
    """The pure substance aboard against what has to be reported when it is spilled."""
    mass = load.out.counted(chemical)
    values: dict[str, Value | str] = {
        "mass": Value(mass, "mass"),
        "limit": Value(limit, "mass"),
        "counts": listed(chemical).reported or words_of(chemical),
    }
    return _finding(plan, chemical, "reportable" if over(mass, limit) else "under_reportable", values, usual=())


def _finding(
    plan: JobPlan, about: str, case: str, values: dict[str, Value | str], *, usual: tuple[str, ...]
) -> Finding:
    """The finding; what the company's standing arrangement covers is in order."""
    arranged = plan.input.company.transport
    level: Level = "ok" if case.endswith(("small", "under_reportable")) else "caution"
    lacks = not_arranged(arranged) if arranged is not None else ()
    if case in usual and lacks:
        values = {**values, "unsaid": " and ".join(lacks)}
    elif case in usual and arranged is not None:
        level, case, values = "ok", "arranged", {**values, "about": about, "arranged": arranged}
    return Finding(code="load.transport", about=about, level=level, case=case, values=values, where=plan.where)


@check("load.apart")
def load_apart(plan: JobPlan) -> Iterator[Finding]:
    """What must not meet, riding side by side: a gas in a tunnel or a queue reaches everybody; heat bursts a drum."""
    load = plan.load
    pairs = load.beside if load is not None else ()
    if not pairs:
        level: Level = "ok" if plan.mixes else "none"
        told = "bench" if plan.yard is not None else level
        yield Finding(code="load.apart", about="load", level=level, case=told, values={}, where=plan.where)
    for pair in pairs:
        level, case = _apart(pair)
        values: dict[str, Value | str] = {
            "first": pair.first.replace("_", " "),
            "second": pair.second.replace("_", " "),
            "gives": pair.gives,
            "tank": pair.tank,
            "other_tank": pair.other_tank,
            "cage": pair.cage,
            "caged": pair.cage.replace("_", " "),
        }
        about = " and ".join(sorted((str(values["first"]), str(values["second"]))))
        yield Finding(code="load.apart", about=about, level=level, case=case, values=values, where=plan.where)


def _apart(pair: Beside) -> tuple[Level, str]:
    """A pair that gives gas stops, one that only gets hot is a caution; a few pounds of a dry neutraliser in its own
    closed pail are one step less, for it is carried to be used with just this."""
    if pair.apart:
        return "ok", "apart"
    if pair.agent:
        return ("ok", "agent") if pair.heat_only else ("caution", "agent_gas")
    if pair.heat_only:
        return "caution", "heat"
    return "stop", "tanks" if pair.tank and pair.other_tank else "tank" if pair.tank else "beside"
