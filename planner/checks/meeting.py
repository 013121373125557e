"""What the mix touches: surfaces, trim and metals of the rig that it may not wet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from planner.checks import bench
from planner.checks.gas_values import gas_values
from planner.checks.mix import mix_finding, strength_of
from planner.checks.model import Finding, Level
from planner.checks.registry import check
from planner.chemistry.reactions import ACIDS
from planner.inputs.materials import Effect, Material, spoils, worst_on
from planner.plan.matrix import gas_of
from planner.plan.mix_model import MixPlan
from planner.plan.model import JobPlan, Value
from planner.plan.sites import active
from planner.plan.wetted import borne, strongest, wetted

_NEVER_LEFT: Final = frozenset({*ACIDS, "caustic", "percarbonate"})
"""What is always rinsed off a wall, whatever a roof's bleach may do (common practice, no source)."""


@check("mix.surface")
def mix_surface(plan: JobPlan) -> Iterator[Finding]:
    """What the mix touches that it must not: the surface itself, its trim, the metal of pump and tank."""
    job = plan.input
    within = Value(job.limits["trim_rinse_within"], "time")
    for mix in plan.mixes:
        high = strongest(mix)
        told: list[Finding] = []
        for part in mix.parts:
            for words in wetted(part.surface):
                met = worst_on(mix.chemical, words)
                case = borne(job, mix, met[1], high) if met is not None else ""
                if met is None or not case:
                    continue
                values: dict[str, Value | str] = {
                    "surface": part.surface.name,
                    "strongest": strength_of(mix, high),
                    "limit": strength_of(mix, job.limits["trim_strength"]),
                    **_of(mix, *met),
                }
                level: Level = "stop" if case == "banned" else "caution"
                told.append(mix_finding("mix.surface", mix, level, case, within=within, **values))
        for where, words, holds in _gear(plan, mix, high):
            met = worst_on(mix.chemical, words)
            how = borne(job, mix, met[1], holds) if met is not None else ""
            if met is None or not how:
                continue
            level, of_gear = ("stop", "gear") if how == "banned" else ("caution", "gear_rinse")
            told.append(mix_finding("mix.surface", mix, level, of_gear, surface=where, within=within, **_of(mix, *met)))
        left = [part.surface.name for part in mix.parts if part.surface.rinse == "leave"]
        if left and mix.chemical in _NEVER_LEFT:
            told.append(mix_finding("mix.surface", mix, "stop", "left", surface=", ".join(left)))
        yield from told or [mix_finding("mix.surface", mix, "ok", "ok")]
        unsaid = _unsaid(plan, mix) if spoils(mix.chemical) else []
        if unsaid:
            one = mix_finding("mix.surface", mix, "caution", "gear_unsaid", parts=", ".join(unsaid))
            yield replace(one, about=f"{mix.name}, gear")
    yield from bench.surface(plan)


def _of(mix: MixPlan, material: Material, effect: Effect) -> dict[str, Value | str]:
    """The words of a material and what is done to it, with the hydrogen if all of the mix were spent on it."""
    gas = gas_values(gas_of(mix.chemical, active(mix), material.gas, None)) if material.gas is not None else {}
    return {"material": material.name, "why": effect.why, **gas}


def _unsaid(plan: JobPlan, mix: MixPlan) -> list[str]:
    """The parts a mix goes through whose materials nobody wrote."""
    return list(dict.fromkeys(where for where, words, _ in _touched(plan, mix, 0.0) if not words))


def _gear(plan: JobPlan, mix: MixPlan, strongest: float) -> Iterator[tuple[str, str, float]]:
    """Each material that is wetted on the rig, where, and how strong what wets it is [kg/m3]."""
    for where, words, holds in _touched(plan, mix, strongest):
        yield from ((where, one, holds) for one in words)


def _touched(plan: JobPlan, mix: MixPlan, strongest: float) -> Iterator[tuple[str, tuple[str, ...], float]]:
    """What is wetted on the rig: pump, tank and hoses by the mix, a panel or injector by the stock itself [kg/m3]."""
    pump, tank, device = mix.run.pump, mix.run.feed_tank, mix.run.dosing
    if pump is not None and mix.kind != "injector":
        yield f"pump {pump.name}", pump.wetted, strongest
    if tank is not None and mix.kind == "premix":
        yield f"tank {tank.name}", tank.wetted, strongest
    if device is not None:
        stock = mix.lot.high if mix.lot is not None and mix.lot.high is not None else strongest
        yield device.name, device.wetted, max(stock, strongest)
    for piece in mix.run.hoses:
        yield f"couplings of {piece.name}", piece.couplings, strongest
