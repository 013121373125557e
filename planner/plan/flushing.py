"""The flush at the job's end: every part the mix went through, down to a residual that may be let go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.chemistry import washout
from planner.inputs.joined import JobInput
from planner.physics.hoses import area
from planner.plan.change_model import ChangeFlush
from planner.plan.mix_model import FlushPlan, MixPlan
from planner.plan.model import RunPlan
from planner.plan.residuals import inlet_of, residual_of


@dataclass(slots=True, kw_only=True)
class _Last:
    """What a part holds when the job is over: since its last flush, what of, the strongest of it, and by which run."""

    run: str
    chemical: str
    part: washout.Part


def plan_flushes(
    job: JobInput, runs: Sequence[RunPlan], mixes: Sequence[MixPlan], changes: Sequence[ChangeFlush] = ()
) -> tuple[FlushPlan, ...]:
    """Every part of every line that carried a mix. Drain first; the parts of one line are washed by one stream.

    A part flushed by one of `changes` between two mixes counts for what came after; one that several runs share is
    washed with the first of them since.
    """
    last = _at_the_end(runs, mixes, changes)
    flushes: list[FlushPlan] = []
    for run in runs:
        own = [one for one in last if one.run == run.name]
        flow = flush_flow(run)
        if not own or run.flow <= 0.0:
            continue
        for one in own:
            target, inlet = residual_of(job, one.chemical), inlet_of(job, one.chemical)
            flushed = washout.flush_line([one.part], target, flow, inlet)
            flushes.append(
                FlushPlan(
                    run=run.name,
                    leaves=one.chemical,
                    part=one.part.name,
                    strength=one.part.strength,
                    target=target,
                    volume=flushed.volume,
                    seconds=flushed.seconds,
                    residual=flushed.parts[0].residual,
                )
            )
    return tuple(flushes)


def _at_the_end(
    runs: Sequence[RunPlan], mixes: Sequence[MixPlan], changes: Sequence[ChangeFlush]
) -> Sequence[_Last]:  # fmt: skip
    """Each part once, in the order it was first come to since it was last flushed."""
    by_name = {run.name: run for run in runs}
    last: dict[str, _Last] = {}
    for mix in mixes:
        run = by_name[mix.run.name]
        for change in changes:
            if change.mix == mix.name:
                for washed in change.line:
                    last.pop(part_key(run, washed.part), None)
        if mix.chemical == "surfactant":
            continue
        for part in parts_of(run, mix):
            key = part_key(run, part.name)
            before = last.get(key)
            if before is None:
                last[key] = _Last(run=run.name, chemical=mix.chemical, part=part)
            elif part.strength > before.part.strength:
                before.part = replace(part, strength=part.strength)
                before.chemical = mix.chemical
    return list(last.values())


def part_key(run: RunPlan, part: str) -> str:
    """What a part is known by over all runs: a hose without a name of its own is another one on every run."""
    return f"{run.name}: {part}" if part.startswith("hose ") else part


def flush_flow(run: RunPlan) -> float:
    """Flow [m3/s] of plain water through a run's line; flushed with the jug off, an injector passes the pump's own."""
    injector = run.input.dosing is not None and run.input.dosing.kind == "injector"
    return run.pump_flow if injector else run.flow


def parts_of(run: RunPlan, mix: MixPlan) -> list[washout.Part]:
    """The parts of a run's line that held the mix; a panel or injector held the stock itself."""
    strength = max(mix.wall_high or 0.0, mix.wall or 0.0, mix.target)
    stock = max(strength, mix.strongest_stock or 0.0)
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
