"""What the rig carries from job to job: what each tank still holds, and what last went through each part."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from planner.chemistry import ageing
from planner.inputs.chemicals import chemical_named
from planner.inputs.defaults import default
from planner.inputs.joined import JobInput
from planner.inputs.models import Heel, Tank
from planner.plan.apparatus import available_chlorine
from planner.plan.mix_model import Carried, MixPlan, TankHeel
from planner.plan.residuals import washable
from planner.plan.shelf import active, lot_today

FILM: Final = 1e-4
"""Liquid that clings to the walls of a drained tank [m], a tenth of a millimetre: common practice, no source. The
walls are taken as those of a cube of the tank's volume."""


def tonight(job: JobInput) -> Carried:
    """The rig before the day's first job: the day's heels; a mix tank without an entry is dry, its lines are flushed.

    A water tank without an entry is full: the fill is left open the night before (common practice, no source).
    """
    heels = job.day.heels if job.day is not None else {}
    tanks = {}
    for name, written in heels.items():
        if written.volume <= 0.0:
            continue
        known = chemical_named(written.stock)
        lots = [lot for lot in job.lots if lot.name == written.stock]
        chemical = lots[0].chemical if lots else known.name if known is not None else written.stock
        tanks[name] = TankHeel(
            volume=written.volume,
            strength=_strength(job, name, chemical),
            soap=_soap(written, chemical),
            chemical=chemical,
        )
    water = {name: written.volume for name, written in heels.items() if written.stock == "water"}
    return Carried(tanks=MappingProxyType(tanks), water=MappingProxyType(water))


def _soap(written: Heel, chemical: str) -> float:
    """Soap's share [-] of a heel of soap and water, where it is written as one."""
    strength = written.strength
    shared = strength is not None and strength.basis == "vol" and chemical == "surfactant"
    return strength.amount / 100.0 if strength is not None and shared else 0.0


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


def left_in(tank: Tank) -> float:
    """What a drained tank keeps [m3]: what stays below its outlet, at least what clings to its walls."""
    film: float = FILM * 6.0 * tank.volume ** (2.0 / 3.0)
    return max(tank.dead_volume, min(film, 0.5 * tank.volume))


def standing_in(rig: Carried, tank: str, chemical: str) -> TankHeel | None:
    """What stands in a tank when `chemical` comes in; None: nothing.

    What the day before left, where the day's file says nothing of it, counts only against another chemical: a mix tank
    that is not named is dry, but nobody is to pour acid on yesterday's bleach for want of a line in a file.
    """
    held = rig.tanks.get(tank)
    if held is not None:
        return held
    kept = rig.overnight.get(tank)
    return kept if kept is not None and kept.chemical not in (chemical, "water") else None


def next_morning(job: JobInput, left: Carried) -> Carried:
    """The rig before a day's first job, when the jobs of an earlier day `left` it so.

    Tanks are as the day's file says; lines were flushed but for those no flush went through, and a pump that bleach has
    soaked stays one.
    """
    written = job.day.heels if job.day is not None else {}
    kept = {name: held for name, held in {**left.overnight, **left.tanks}.items() if name not in written}
    return replace(
        tonight(job),
        overnight=MappingProxyType({name: held for name, held in kept.items() if held.chemical != "water"}),
        parts=MappingProxyType({part: left.parts[part] for part in left.unflushed if part in left.parts}),
        unflushed=left.unflushed,
        bleach_pumps=left.bleach_pumps,
    )


def foreign_heel(job: JobInput, tank: Tank | None, chemical: str, rig: Carried) -> TankHeel | None:
    """What a tank holds that has to go before `chemical` comes in, where this job's water can flush it out."""
    held = standing_in(rig, tank.name, chemical) if tank is not None else None
    if held is None or held.chemical in (chemical, "water"):
        return None
    return held if washable(job, held.chemical) else None


def ready_for(job: JobInput, tank: Tank | None, chemical: str, rig: Carried) -> Carried:
    """The rig with a mix tank flushed for `chemical`: rinse water stands in it where another chemical's heel stood."""
    if tank is None or foreign_heel(job, tank, chemical, rig) is None:
        return rig
    tanks = {name: held for name, held in rig.tanks.items() if name != tank.name}
    if tank.dead_volume > 0.0:
        tanks[tank.name] = TankHeel(volume=tank.dead_volume, strength=0.0, soap=0.0, chemical="water")
    return replace(rig, tanks=MappingProxyType(tanks), overnight=_without(rig.overnight, {tank.name}))


def _without(overnight: Mapping[str, TankHeel], names: Set[str]) -> Mapping[str, TankHeel]:
    return MappingProxyType({name: held for name, held in overnight.items() if name not in names})


def foreign_feeds(job: JobInput, rig: Carried) -> tuple[tuple[Tank, TankHeel], ...]:
    """Tanks this job draws plain water from, and mixes nothing in, that hold something else than its one chemical."""
    mixed = {run.feed_tank.name for run in job.runs if run.premix and run.feed_tank is not None}
    put = {surface.chemical for surface in job.surfaces if surface.chemical is not None}
    feeds = {run.feed_tank.name: run.feed_tank for run in job.runs if run.feed_tank is not None and not run.premix}
    found = []
    for name, tank in feeds.items():
        held = foreign_heel(job, tank, "water", rig)
        if held is not None and name not in mixed and put != {held.chemical}:
            found.append((tank, held))
    return tuple(found)


def with_clean_feeds(job: JobInput, rig: Carried) -> Carried:
    """The rig with those tanks flushed: what stays in them of the rinse is water, and no more than that."""
    feeds = foreign_feeds(job, rig)
    if not feeds:
        return rig
    names = {tank.name for tank, _ in feeds}
    tanks = {name: held for name, held in rig.tanks.items() if name not in names}
    water = {**rig.water, **{tank.name: tank.dead_volume for tank, _ in feeds}}
    return replace(
        rig,
        tanks=MappingProxyType(tanks),
        water=MappingProxyType(water),
        overnight=_without(rig.overnight, names),
    )


def keeps(mix: MixPlan) -> bool:
    """Whether a mix may stand longer than a day: bleach that its lye keeps at the pH it is stable at, any other mix."""
    lot = mix.lot
    if lot is None or lot.lye_ph is None or not lot.nominal or not mix.target > 0.0:
        return True
    ph = ageing.ph_of_dilution(lot.lye_ph, min(mix.target / lot.nominal, 1.0), default("tap_alkalinity"))
    return ph >= ageing.STABLE_PH


def after_mix(before: Carried, mix: MixPlan) -> Carried:
    """The rig after a mix was made and sprayed: its tank holds what the pump leaves, its line has seen it."""
    tanks, parts, overnight = dict(before.tanks), dict(before.parts), before.overnight
    tank = mix.run.feed_tank
    if mix.kind == "premix" and tank is not None and mix.batches:
        # A tank that its pump empties still has walls wet with the mix.
        tanks[tank.name] = TankHeel(
            volume=tank.dead_volume, strength=mix.target, soap=mix.soap_share, chemical=mix.chemical
        )
        overnight = _without(overnight, {tank.name})
    if mix.run.pump is not None and mix.kind != "injector":
        parts[mix.run.pump.name] = mix.chemical
    if mix.run.dosing is not None:
        parts[mix.run.dosing.name] = mix.chemical
    for hose in mix.run.hoses:
        parts[hose.name] = mix.chemical
    return replace(before, tanks=MappingProxyType(tanks), parts=MappingProxyType(parts), overnight=overnight)
