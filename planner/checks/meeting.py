"""What the mix meets: surfaces and metals it may not touch, and chemicals it may not meet."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from planner.checks.mix import mix_finding, strength_of, tank_of
from planner.checks.model import Finding, Level
from planner.checks.registry import check, over
from planner.chemistry.reactions import ACIDS
from planner.inputs.chemicals import chemical_named
from planner.plan.lookups import ban_on, forbidden
from planner.plan.mix_model import MixPlan
from planner.plan.mixing import SOAP
from planner.plan.model import JobPlan, Value


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
                    "strongest": strength_of(mix, strongest),
                    "within": within,
                    "limit": strength_of(mix, weak),
                }
                mild = ban.weak_mixes == "rinse" and not over(strongest, weak)
                yield mix_finding(
                    "mix.surface", mix, "caution" if mild else "stop", "rinse" if mild else "banned", **values
                )
        for where, material, holds in _gear(mix, strongest):
            ban = ban_on(plan, mix.chemical, material)
            if ban is None:
                continue
            found = True
            told: dict[str, Value | str] = {
                "surface": where,
                "material": ban.material.replace("_", " "),
                "why": ban.why,
                "within": within,
            }
            mild = ban.weak_mixes == "rinse" and not over(holds, weak)
            level: Level = "caution" if mild else "stop"
            yield mix_finding("mix.surface", mix, level, "gear_rinse" if mild else "gear", **told)
        if not found:
            yield mix_finding("mix.surface", mix, "ok", "ok")


def _gear(mix: MixPlan, strongest: float) -> Iterator[tuple[str, str, float]]:
    """What is wetted on the rig: pump and tank by the mix, a panel or injector by the stock itself [kg/m3]."""
    pump, tank, device = mix.run.pump, mix.run.feed_tank, mix.run.dosing
    if pump is not None and mix.kind != "injector":
        yield from ((f"pump {pump.name}", material, strongest) for material in pump.wetted)
    if tank is not None and mix.kind == "premix":
        yield from ((f"tank {tank.name}", material, strongest) for material in tank.wetted)
    if device is not None:
        stock = mix.lot.high if mix.lot is not None and mix.lot.high is not None else strongest
        yield from ((device.name, material, max(stock, strongest)) for material in device.wetted)


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
                "tank": tank_of(mix),
            }
            yield mix_finding("mix.reaction", mix, "stop", "heel", **values)
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
    for finding in (*_pumps(plan), *_soaps(plan)):
        quiet = quiet and finding.level not in ("stop", "caution")
        yield finding
    if quiet:
        level: Level = "ok" if plan.mixes else "none"
        yield Finding(code="mix.reaction", about="job", level=level, case=level, values={}, where=plan.where)


def _shared_gear(one: MixPlan, other: MixPlan) -> bool:
    """Whether two mixes go through one pump, one tank or one hose."""
    pumps = one.run.pump is not None and other.run.pump is not None and one.run.pump.name == other.run.pump.name
    tanks = one.run.premix and other.run.premix and tank_of(one) == tank_of(other)
    hoses = {hose.name for hose in one.run.hoses} & {hose.name for hose in other.run.hoses}
    return pumps or tanks or bool(hoses)


def _pumps(plan: JobPlan) -> Iterator[Finding]:
    """Pumps kept for one chemical, and acid through a pump that carried bleach earlier today."""
    for mix in plan.mixes:
        pump = mix.run.pump
        if pump is None or mix.kind == "injector":
            continue
        kept = chemical_named(pump.dedicated) if pump.dedicated else None
        kept_for = kept.name if kept is not None else pump.dedicated
        earlier = plan.found.parts.get(pump.name)
        values: dict[str, Value | str] = {"pump": pump.name, "other": kept_for or earlier or ""}
        if kept_for is not None and kept_for != mix.chemical:
            yield mix_finding("mix.reaction", mix, "stop", "dedicated", **values)
        elif kept_for is None and mix.chemical in ACIDS and earlier == "hypochlorite":
            yield mix_finding("mix.reaction", mix, "stop", "bleach_pump", **values)


def _soaps(plan: JobPlan) -> Iterator[Finding]:
    """Soap in bleach that nobody, or worse somebody, said anything about."""
    for mix in plan.mixes:
        if mix.chemical != "hypochlorite" or mix.soap_share <= 0.0:
            continue
        for use in plan.input.chemicals:
            if use.chemical != SOAP or not set(use.surfaces) & set(mix.surfaces):
                continue
            stable = [lot.bleach_stable for lot in use.lots] or [None]
            if all(stable):
                continue
            level: Level = "stop" if False in stable else "caution"
            case = "soap" if level == "stop" else "soap_unknown"
            yield mix_finding("mix.reaction", mix, level, case, soap=use.stock)
