"""What the mix touches: surfaces, trim and metals of the rig that it may not wet."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks import bench
from planner.checks.gas_values import gas_values
from planner.checks.mix import mix_finding, strength_of
from planner.checks.model import Finding, Level
from planner.checks.registry import check, over
from planner.plan.dosed import over_as_tested
from planner.plan.lookups import ban_on
from planner.plan.matrix import gas_of
from planner.plan.mix_model import MixPlan
from planner.plan.model import JobPlan, Value
from planner.plan.sites import active


@check("mix.surface")
def mix_surface(plan: JobPlan) -> Iterator[Finding]:
    """What the mix touches that it must not: the surface itself, its trim, the metal of pump and tank."""
    weak = plan.input.limits["trim_strength"]
    within = Value(plan.input.limits["trim_rinse_within"], "time")
    for mix in plan.mixes:
        strongest = mix.wall_high if mix.wall_high is not None else mix.target
        # What is asked for against the limit; as strong as it may be against the limit and a tested mix's own error.
        most = weak * over_as_tested(mix)
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
                    **_hydrogen(mix, ban.material),
                }
                mild = ban.weak_mixes == "rinse" and not (over(mix.target, weak) or over(strongest, most))
                yield mix_finding(
                    "mix.surface", mix, "caution" if mild else "stop", "rinse" if mild else "banned", **values
                )
        for where, material, holds in _gear(plan, mix, strongest):
            ban = ban_on(plan, mix.chemical, material)
            if ban is None:
                continue
            found = True
            told: dict[str, Value | str] = {
                "surface": where,
                "material": ban.material.replace("_", " "),
                "why": ban.why,
                "within": within,
                **_hydrogen(mix, ban.material),
            }
            mild = ban.weak_mixes == "rinse" and not (over(mix.target, weak) or over(holds, most))
            level: Level = "caution" if mild else "stop"
            yield mix_finding("mix.surface", mix, level, "gear_rinse" if mild else "gear", **told)
        if not found:
            yield mix_finding("mix.surface", mix, "ok", "ok")
    yield from bench.surface(plan)


_METAL = {"galvanised_steel": "zinc"}
"""What a material is to acid and caustic: galvanised steel meets them with its zinc."""


def _hydrogen(mix: MixPlan, material: str) -> dict[str, Value | str]:
    """The hydrogen if all of the mix were spent on a metal; nothing where it gives none."""
    return gas_values(gas_of(mix.chemical, active(mix), _METAL.get(material, material), None))


def _gear(plan: JobPlan, mix: MixPlan, strongest: float) -> Iterator[tuple[str, str, float]]:
    """What is wetted on the rig: pump, tank and hoses by the mix, a panel or injector by the stock itself [kg/m3]."""
    pump, tank, device = mix.run.pump, mix.run.feed_tank, mix.run.dosing
    if pump is not None and mix.kind != "injector":
        yield from ((f"pump {pump.name}", material, strongest) for material in pump.wetted)
    if tank is not None and mix.kind == "premix":
        yield from ((f"tank {tank.name}", material, strongest) for material in tank.wetted)
    if device is not None:
        stock = mix.lot.high if mix.lot is not None and mix.lot.high is not None else strongest
        yield from ((device.name, material, max(stock, strongest)) for material in device.wetted)
    couplings = {hose.name: hose.couplings for hose in plan.input.rig.hoses}
    for piece in mix.run.hoses:
        yield from ((f"couplings of {piece.name}", material, strongest) for material in couplings.get(piece.name, ()))
