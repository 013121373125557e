"""The flush at the job's end: every part the mix went through, down to a residual that may be let go.

Flush water near a pond is brought to 4 mg/L where the tap itself carries more than the pond bears; the finding then
says to catch or dose it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from planner.chemistry import washout
from planner.inputs.joined import JobInput
from planner.inputs.tables.chemicals import ACIDS, BLEACH, SOAP, chemical_named
from planner.inputs.tables.controls import Control, controls
from planner.physics.hoses import area
from planner.plan.between.model import ChangeFlush
from planner.plan.mix.model import FlushPlan, MixPlan
from planner.plan.model import JobPlan, RunPlan


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
        if mix.chemical == SOAP:
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


# ------------------------------------------------------------ residuals
# How clean a flush has to leave a part, and what the water that does it brings along itself.


LIFE = ("fish_pond", "stream", "rain_barrel", "well")
"""What is near and alive, or drunk from."""


def near_life(job: JobInput) -> bool:
    """Whether water with life in it, or a well, is written among what is near."""
    near = job.job.near
    return near is not None and any(name in near.distances for name in LIFE)


def controls_of(job: JobInput) -> tuple[Control, ...]:
    """The kinds of control that are written for this job's runoff."""
    near = job.job.near
    return tuple(controls()[kind] for kind in (near.control if near is not None else None) or ())


def kept_out(job: JobInput, place: str, waters: Iterable[str]) -> tuple[Control, ...]:
    """The written kinds that keep all of such waters from a place of `near`; none where any of them gets there."""
    fit = {water: [control for control in controls_of(job) if control.holds(place, water)] for water in waters}
    if not all(fit.values()):
        return ()
    return tuple(control for control in controls_of(job) if any(control in found for found in fit.values()))


def waters_of(plan: JobPlan) -> set[str]:
    """What may run off a job: each chemical by its name, and what flatwork or plain water carries."""
    flat = {surface.name for surface in plan.input.surfaces if surface.row["family"] == "flat"}
    washed = flat & {name for run in plan.runs for name in run.input.surfaces}
    return {mix.chemical for mix in plan.mixes} | ({"flatwork"} if washed else set()) or {"water"}


def kept_from(plan: JobPlan, control: Control) -> tuple[str, ...]:
    """The places near this job that a kind of control keeps its water from."""
    away = plan.input.job.near.distances if plan.input.job.near is not None else {}
    return tuple(
        place for place in control.keeps if place in away and control in kept_out(plan.input, place, waters_of(plan))
    )


def inlet_of(job: JobInput, chemical: str) -> float:
    """What the water brings of a chemical [kg/m3]: its own chlorine, and of anything else nothing."""
    return (job.water.chlorine or 0.0) if chemical == BLEACH else 0.0


def residual_of(job: JobInput, chemical: str) -> float:
    """What may be left of a chemical [kg/m3] in a part that is flushed."""
    if chemical == BLEACH:
        # Tap water carries more chlorine than a pond bears: no rinse reaches that, so it is diverted or dosed instead.
        life = job.limits["residual_with_life"]
        return life if near_life(job) and inlet_of(job, chemical) < life else job.limits["residual"]
    if chemical in ACIDS:
        return job.limits["residual_acid"]
    if chemical == SOAP:
        return job.limits["residual_soap"]
    return job.limits["residual"]


def washable(job: JobInput, chemical: str) -> bool:
    """Whether this job's water gets a chemical out of a tank; of one nobody knows, nobody can say."""
    return chemical_named(chemical) is not None and inlet_of(job, chemical) < residual_of(job, chemical)
