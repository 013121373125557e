"""What the rig carries from job to job: what each tank still holds, and what last went through each part."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from planner.inputs.chemicals import chemical_named
from planner.inputs.joined import JobInput
from planner.plan.apparatus import available_chlorine
from planner.plan.mix_model import Carried, MixPlan, TankHeel
from planner.plan.shelf import active, lot_today


def tonight(job: JobInput) -> Carried:
    """The rig before the day's first job: the day's heels; a tank without an entry is dry, its lines are flushed."""
    heels = job.day.heels if job.day is not None else {}
    tanks = {}
    for name, written in heels.items():
        if written.volume <= 0.0:
            continue
        known = chemical_named(written.stock)
        lots = [lot for lot in job.lots if lot.name == written.stock]
        chemical = lots[0].chemical if lots else known.name if known is not None else written.stock
        tanks[name] = TankHeel(
            volume=written.volume, strength=_strength(job, name, chemical), soap=0.0, chemical=chemical
        )
    return Carried(tanks=MappingProxyType(tanks))


def _strength(job: JobInput, tank: str, chemical: str) -> float:
    assert job.day is not None
    written = job.day.heels[tank].strength
    if written is None or chemical == "water":
        return 0.0
    if written.basis == "bare":
        written = replace(written, basis=job.company.percent)
    if written.basis == "vol":
        # A share of stock is taken of the strongest lot there is: too strong a heel is the safe reading.
        lots = [lot_today(lot, job.date) for lot in job.lots if lot.chemical == chemical]
        return written.amount / 100.0 * max((lot.high or 0.0 for lot in lots), default=0.0)
    if chemical == "hypochlorite":
        return available_chlorine(written)
    return active(written, chemical) or 0.0


def after_mix(before: Carried, mix: MixPlan) -> Carried:
    """The rig after a mix was made and sprayed: its tank holds what the pump leaves, its line has seen it."""
    tanks, parts = dict(before.tanks), dict(before.parts)
    tank = mix.run.feed_tank
    if mix.kind == "premix" and tank is not None and mix.batches:
        if tank.dead_volume > 0.0:
            tanks[tank.name] = TankHeel(
                volume=tank.dead_volume, strength=mix.target, soap=mix.soap_share, chemical=mix.chemical
            )
        else:
            tanks.pop(tank.name, None)
    if mix.run.pump is not None and mix.kind != "injector":
        parts[mix.run.pump.name] = mix.chemical
    if mix.run.dosing is not None:
        parts[mix.run.dosing.name] = mix.chemical
    for hose in mix.run.hoses:
        parts[hose.name] = mix.chemical
    return Carried(tanks=MappingProxyType(tanks), parts=MappingProxyType(parts))
