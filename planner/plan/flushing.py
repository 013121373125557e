"""The flush at the job's end: every part the mix went through, down to a residual that may be let go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.chemistry import washout
from planner.inputs.joined import JobInput
from planner.physics.hoses import area
from planner.plan.mix_model import FlushPlan, MixPlan
from planner.plan.model import RunPlan

LIFE = ("fish_pond", "stream", "rain_barrel", "well")
"""What is near and alive, or drunk from."""


def near_life(job: JobInput) -> bool:
    """Whether water with life in it, or a well, is written among what is near."""
    near = job.job.near
    return near is not None and any(getattr(near, name) is not None for name in LIFE)


def plan_flushes(job: JobInput, runs: Sequence[RunPlan], mixes: Sequence[MixPlan]) -> tuple[FlushPlan, ...]:
    """Every part of every line that carried a mix. Drain first; the parts of one line are washed by one stream."""
    inlet = job.water.chlorine or 0.0
    life = job.limits["residual_with_life"]
    # Tap water carries more chlorine than a pond bears: no rinse reaches that, so it is diverted or dosed instead.
    residual = job.limits["residual"]
    target = life if near_life(job) and inlet < life else residual
    flushes: list[FlushPlan] = []
    washed: set[str] = set()
    held = _strongest(runs, mixes)
    for run in runs:
        own = [mix for mix in mixes if mix.run.name == run.name and mix.chemical != "surfactant"]
        if not own or run.flow <= 0.0:
            continue
        strongest = max(own, key=lambda mix: mix.wall or mix.target)
        parts = [
            replace(part, strength=max(part.strength, held.get(part.name, 0.0)))
            for part in parts_of(run, strongest)
            if part.name not in washed
        ]
        washed.update(part.name for part in parts if not part.name.startswith("hose "))
        # Flushed with the jug off, an injector passes the pump's own flow.
        flow = run.pump_flow if run.input.dosing is not None and run.input.dosing.kind == "injector" else run.flow
        bleach = strongest.chemical == "hypochlorite"
        # The tap's own chlorine counts against a chlorine target only; of anything else it brings none.
        flushed = washout.flush_line(parts, target if bleach else residual, flow, inlet if bleach else 0.0)
        for part, one in zip(parts, flushed.parts, strict=True):
            flushes.append(
                FlushPlan(
                    run=run.name,
                    leaves=strongest.chemical,
                    part=part.name,
                    strength=part.strength,
                    target=target if bleach else residual,
                    volume=one.volume,
                    seconds=None if one.volume is None else one.volume / flow,
                    residual=one.residual,
                )
            )
    return tuple(flushes)


def _strongest(runs: Sequence[RunPlan], mixes: Sequence[MixPlan]) -> dict[str, float]:
    """The strongest liquid each named part held, over all runs that share it [kg/m3]."""
    held: dict[str, float] = {}
    for run in runs:
        for mix in mixes:
            if mix.run.name != run.name or mix.chemical == "surfactant":
                continue
            for part in parts_of(run, mix):
                if not part.name.startswith("hose "):
                    held[part.name] = max(held.get(part.name, 0.0), part.strength)
    return held


def parts_of(run: RunPlan, mix: MixPlan) -> list[washout.Part]:
    """The parts of a run's line that held the mix; a panel or injector held the stock itself."""
    strength = max(mix.wall_high or 0.0, mix.wall or 0.0, mix.target)
    stock = strength
    if mix.lot is not None and mix.lot.high is not None:
        stock = max(strength, mix.lot.high)
    parts = []
    pump, device = run.input.pump, run.input.dosing
    injector = device is not None and device.kind == "injector"
    if pump is not None and not injector:
        parts.append(washout.Part(name=pump.name, volume=pump.wetted_volume, strength=strength, mixing="stirred"))
    if device is not None and device.wetted_volume > 0.0:
        parts.append(washout.Part(name=device.name, volume=device.wetted_volume, strength=stock, mixing="stirred"))
    for hose in run.input.hoses:
        volume = area(hose.bore) * hose.length
        parts.append(washout.Part(name=hose.name, volume=volume, strength=strength, mixing="hose"))
    return parts
