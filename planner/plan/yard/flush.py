"""The flush of a pump that may hold something, before anything else is done with it.

A pump on the bench that may hold anything is flushed into pails by people dressed, before its first test, flushed since
or not; its strip is the tap's chlorine and what a strip shows more (`seen_of`), one figure on paper and in the acts.
"""

from __future__ import annotations

from collections.abc import Iterator

from planner.chemistry import washout
from planner.inputs.joined import JobInput
from planner.inputs.tables.chemicals import BLEACH, SOAP
from planner.inputs.tables.defaults import default
from planner.physics.hoses import area
from planner.plan.between.changes import strongest_of
from planner.plan.between.flushing import inlet_of, residual_of
from planner.plan.mix.model import Carried, FlushPlan
from planner.plan.model import RunPlan
from planner.plan.yard.model import PumpHeld, YardPlan


def seen_of(job: JobInput) -> float:
    """Chlorine up to which a strip tells nothing of a pump [kg/m3]: the tap's own comes out of a clean one too."""
    return inlet_of(job, BLEACH) + default("strip_shows")


def dirty_of(yard: YardPlan, found: Carried) -> list[PumpHeld]:
    """What may be in the pump, or in a hose of its line that nothing was run through since.

    What a flush is said to have taken out counts too: nobody has read a strip of it here.
    """
    known = {held.chemical: held for held in yard.held}
    for hose in (hose for run in yard.runs[:1] for hose in run.input.hoses):
        chemical = found.parts.get(hose.name) if hose.name in found.unflushed else None
        if chemical is not None and chemical not in ("water", SOAP):
            known.setdefault(chemical, PumpHeld(chemical=chemical, why="unflushed", most=None))
    return list(known.values())


def strength_of(job: JobInput, held: PumpHeld) -> float:
    """As strong as it may be [kg/m3]: as is known, else as the strongest lot of it."""
    return held.most or strongest_of(job, held.chemical)


def bench_flush(job: JobInput, yard: YardPlan, found: Carried) -> tuple[FlushPlan, ...]:
    """The water that takes all of it out of the pump, through the line it is tested on, and out of its hoses where they
    were not flushed since; one stream, told by what asks for most of it. None where there is nothing to flush."""
    dirty = dirty_of(yard, found)
    if not yard.runs or not dirty:
        return ()
    run = yard.runs[0]
    rows = []
    for pump_held in yard.held:
        inlet = inlet_of(job, pump_held.chemical)
        target = seen_of(job) if pump_held.chemical == BLEACH else residual_of(job, pump_held.chemical)
        flushed = washout.flush_line(list(_parts(run, strength_of(job, pump_held))), target, run.flow, inlet)
        rows.append((flushed.volume or 0.0, pump_held, target, flushed.residual))
    if not rows:
        rows.append((0.0, dirty[0], residual_of(job, dirty[0].chemical), None))
    most, held, target, residual = max(rows, key=lambda row: row[0])
    line = sum(area(hose.bore) * hose.length for hose in run.input.hoses)
    volume = max(most, washout.LEAST_VOLUMES * line)
    return (
        FlushPlan(
            run=run.name, leaves=held.chemical, part=yard.pump.name, strength=strength_of(job, held), target=target,
            volume=volume, seconds=volume / run.flow, residual=residual,
        ),
    )  # fmt: skip


def _parts(plan: RunPlan, strength: float) -> Iterator[washout.Part]:
    pump, device = plan.input.pump, plan.input.dosing
    assert pump is not None
    yield washout.Part(name=pump.name, volume=pump.wetted_volume, strength=strength, mixing="stirred")
    if device is not None and device.wetted_volume > 0.0:
        yield washout.Part(name=device.name, volume=device.wetted_volume, strength=strength, mixing="stirred")
    for hose in plan.input.hoses:
        yield washout.Part(name=hose.name, volume=area(hose.bore) * hose.length, strength=strength, mixing="hose")
