"""Whether the mix can be made, is right for the wall, and meets nothing it must not."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from planner.checks.model import Finding, Level
from planner.checks.registry import check, over, under
from planner.plan.lookups import ban_on, forbidden, table_range
from planner.plan.mix_model import MixPlan
from planner.plan.model import JobPlan, Value


def _finding(code: str, mix: MixPlan, level: Level, case: str, **values: Value | str) -> Finding:
    named: dict[str, Value | str] = {"chemical": mix.chemical.replace("_", " "), "run": mix.run.name, **values}
    return Finding(code=code, about=mix.name, level=level, case=case, values=named, where=mix.where)


def _strength(mix: MixPlan, amount: float | None) -> Value:
    return Value(amount or 0.0, "trade" if mix.chemical == "hypochlorite" else "grams")


@check("mix.reach")
def mix_reach(plan: JobPlan) -> Iterator[Finding]:
    """Whether tonight's stock, through this run's dosing, gets to the strength wanted."""
    for mix in plan.mixes:
        values: dict[str, Value | str] = {
            "target": _strength(mix, mix.target),
            "highest": _strength(mix, mix.highest),
            "lot": _lot(mix),
        }
        if mix.lot is None or (mix.lot.nominal is None and mix.stock_mass is None):
            yield _finding("mix.reach", mix, "none", "no_lot", **values)
        elif mix.reachable:
            level: Level = "ok" if mix.reachable_low else "caution"
            yield _finding("mix.reach", mix, level, "ok" if mix.reachable_low else "low_only", **values)
        else:
            yield _finding("mix.reach", mix, "stop", _why_not(mix), **values)


def _why_not(mix: MixPlan) -> str:
    if mix.kind == "injector" and not mix.highest:
        return "draws_nothing"
    if mix.kind == "metered" and mix.dial_low is not None and under(mix.target, mix.dial_low):
        return "below_dial"
    if mix.kind == "metered" and mix.stock is not None:
        return "above_dial"
    return "too_weak"


def _lot(mix: MixPlan) -> str:
    return mix.lot.name if mix.lot is not None else "none"


@check("mix.strength")
def mix_strength(plan: JobPlan) -> Iterator[Finding]:
    """The strength on each wall against the table's range for it; the upper end with stock at its strongest."""
    reason_above = plan.input.limits["strength_needs_reason"]
    for mix in plan.mixes:
        for part in mix.parts:
            low, high = part.surface.row["strength"] or (None, None)
            if mix.chemical != part.surface.row["chemical"] or low is None or high is None:
                yield _finding("mix.strength", mix, "none", "no_row", surface=part.surface.name)
                continue
            least, most = table_range(part.surface, mix.lot)
            strongest = mix.wall_high if mix.wall_high is not None else mix.target
            values: dict[str, Value | str] = {
                "surface": part.surface.name,
                "target": _strength(mix, mix.target),
                "strongest": _strength(mix, strongest),
                "least": _strength(mix, least),
                "most": _strength(mix, most),
                "limit": _strength(mix, reason_above),
            }
            level: Level = "caution"
            hypochlorite = mix.chemical == "hypochlorite"
            if hypochlorite and over(mix.target, reason_above) and (mix.use is None or not mix.use.reason):
                case = "no_reason"
            elif over(strongest, most):
                case = "above" if over(mix.target, most) else "above_if_strong"
            elif under(mix.target, least):
                case = "below"
            else:
                level, case = "ok", "ok"
            yield _finding("mix.strength", mix, level, case, **values)


@check("mix.surface")
def mix_surface(plan: JobPlan) -> Iterator[Finding]:
    """What the mix touches that it must not: the surface itself, its trim, the metal of pump and tank."""
    weak = plan.input.limits["trim_strength"]
    within = Value(plan.input.limits["trim_rinse_within"], "time")
    for mix in plan.mixes:
        strongest = mix.wall_high if mix.wall_high is not None else mix.target
        found = False
        for part in mix.parts:
            for material in (part.surface.kind, *part.surface.trim):
                ban = ban_on(plan, mix.chemical, material)
                if ban is None:
                    continue
                found = True
                values: dict[str, Value | str] = {
                    "surface": part.surface.name,
                    "material": ban.material.replace("_", " "),
                    "why": ban.why,
                    "strongest": _strength(mix, strongest),
                    "within": within,
                    "limit": _strength(mix, weak),
                }
                mild = ban.weak_mixes == "rinse" and not over(strongest, weak)
                yield _finding(
                    "mix.surface", mix, "caution" if mild else "stop", "rinse" if mild else "banned", **values
                )
        if not found:
            yield _finding("mix.surface", mix, "ok", "ok")


@check("mix.reaction")
def mix_reaction(plan: JobPlan) -> Iterator[Finding]:
    """Any two things of this job that must not meet: in a tank, on a wall, in a line, in the runoff."""
    quiet = True
    for mix in plan.mixes:
        pair = forbidden(plan, mix.chemical, mix.heel_chemical) if mix.heel_chemical else None
        if pair is not None:
            quiet = False
            values: dict[str, Value | str] = {
                "other": mix.heel_chemical or "",
                "gives": pair.gives,
                "tank": _tank(mix),
            }
            yield _finding("mix.reaction", mix, "stop", "heel", **values)
    for one, other in combinations(plan.mixes, 2):
        pair = forbidden(plan, one.chemical, other.chemical)
        if pair is None:
            continue
        quiet = False
        wall = sorted(set(one.surfaces) & set(other.surfaces))
        same_line = one.run.name == other.run.name or _shared_gear(one, other)
        case = "wall" if wall else "line" if same_line else "runoff"
        named: dict[str, Value | str] = {
            "other": other.chemical.replace("_", " "),
            "gives": pair.gives,
            "surface": ", ".join(wall),
            "run": one.run.name,
            "other_run": other.run.name,
        }
        yield Finding(
            code="mix.reaction",
            about=f"{one.chemical} and {other.chemical}",
            level="stop",
            case=case,
            values={"chemical": one.chemical.replace("_", " "), **named},
            where=other.where,
        )
    if quiet:
        level: Level = "ok" if plan.mixes else "none"
        yield Finding(code="mix.reaction", about="job", level=level, case=level, values={}, where=plan.where)


def _tank(mix: MixPlan) -> str:
    return mix.run.feed_tank.name if mix.run.feed_tank is not None else ""


def _shared_gear(one: MixPlan, other: MixPlan) -> bool:
    """Whether two mixes go through one pump, one tank or one hose."""
    pumps = one.run.pump is not None and other.run.pump is not None and one.run.pump.name == other.run.pump.name
    tanks = one.run.premix and other.run.premix and _tank(one) == _tank(other)
    hoses = {hose.name for hose in one.run.hoses} & {hose.name for hose in other.run.hoses}
    return pumps or tanks or bool(hoses)


@check("mix.heel")
def mix_heel(plan: JobPlan) -> Iterator[Finding]:
    """Whether what the tank still holds leaves room for the batch, and fits it."""
    for mix in plan.mixes:
        if mix.kind != "premix":
            yield _finding("mix.heel", mix, "none", "none")
            continue
        values: dict[str, Value | str] = {
            "heel": Value(mix.heel, "volume"),
            "strength": _strength(mix, mix.heel_strength),
            "target": _strength(mix, mix.target),
            "tank": _tank(mix),
            "other": mix.heel_chemical or "",
        }
        if mix.overflow:
            yield _finding("mix.heel", mix, "stop", "overflow", **values)
        elif mix.heel_chemical is not None and mix.heel_chemical not in (mix.chemical, "water"):
            yield _finding("mix.heel", mix, "stop", "other", **values)
        else:
            yield _finding("mix.heel", mix, "ok", "heel" if mix.heel > 0.0 else "dry", **values)


@check("mix.stock")
def mix_stock(plan: JobPlan) -> Iterator[Finding]:
    """Whether the shelf holds what the day's mixes of one chemical take, at nominal and at low strength."""
    by_chemical: dict[str, list[MixPlan]] = {}
    for mix in plan.mixes:
        by_chemical.setdefault(mix.chemical, []).append(mix)
    for chemical, mixes in by_chemical.items():
        need = sum(mix.stock or 0.0 for mix in mixes)
        pull = sum(mix.pull or 0.0 for mix in mixes)
        mass = sum(mix.stock_mass or 0.0 for mix in mixes)
        lots = [lot for lot in plan.shelf if lot.chemical == chemical]
        values: dict[str, Value | str] = {
            "chemical": chemical.replace("_", " "),
            "need": Value(mass, "mass") if mass else Value(need, "volume"),
            "pull": Value(mass, "mass") if mass else Value(pull, "volume"),
        }
        if mass:
            known = [lot.on_hand_mass for lot in lots if lot.on_hand_mass is not None]
            need = pull = mass
        else:
            known = [lot.on_hand for lot in lots if lot.on_hand is not None]
        values["have"] = Value(sum(known), "mass" if mass else "volume")
        level: Level = "ok"
        case = "ok"
        if not lots:
            level, case = "stop", "no_lot"
        elif not known:
            level, case = "none", "not_counted"
        elif over(need, sum(known)):
            level, case = "stop", "short"
        elif over(pull, sum(known)):
            level, case = "caution", "short_if_weak"
        yield Finding(code="mix.stock", about=chemical, level=level, case=case, values=values, where=mixes[0].where)
