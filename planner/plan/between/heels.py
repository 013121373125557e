"""What the rig carries from job to job: what each tank still holds, and what last went through each part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from planner.chemistry import hypochlorite
from planner.inputs.joined import JobInput, RunInput
from planner.inputs.models import Heel, Tank
from planner.inputs.tables.chemicals import ACIDS, BLEACH, SOAP, chemical_named
from planner.inputs.tables.defaults import default
from planner.plan.between.flushing import washable
from planner.plan.between.matrix import meets
from planner.plan.days.pending import parts_of_run
from planner.plan.line.apparatus import available_chlorine
from planner.plan.mix.lots import active, lot_today
from planner.plan.mix.model import Carried, Look, MixPlan, NextMix, TankHeel
from planner.plan.procedure.acts import State
from planner.plan.water.tap import water_tank

_DROP: Final = 1e-9  # m3

_STRONGEST: Final = 1000.0
"""What a heel of unknown strength counts as [kg/m3] where no lot says better: more than any mix, so it is drained."""


def tonight(job: JobInput) -> Carried:
    """The rig before the day's first job: the day's heels; a mix tank without an entry is dry, its lines are flushed.

    A water tank without an entry is full: the fill is left open the night before (common practice, no source).
    """
    heels = job.day.heels if job.day is not None else {}
    tanks = {}
    kept = {tank.name: left_in(tank) for tank in job.rig.tanks}
    for name, written in heels.items():
        if written.volume <= 0.0 and written.stock == "water":
            continue
        chemical = _chemical_of(job, written)
        tanks[name] = TankHeel(
            # Drained is not rinsed: what stays below the outlet and on the walls is still of that chemical.
            volume=written.volume if written.volume > 0.0 else kept.get(name, 0.0),
            strength=_strength(job, name, chemical),
            soap=_soap(written, chemical),
            chemical=chemical,
        )
    water = {name: written.volume for name, written in heels.items() if written.stock == "water"}
    return Carried(tanks=MappingProxyType(tanks), water=MappingProxyType(water))


def _chemical_of(job: JobInput, heel: Heel) -> str:
    known = chemical_named(heel.stock)
    lots = [lot for lot in job.lots if lot.name == heel.stock]
    return lots[0].chemical if lots else known.name if known is not None else heel.stock


def drew_bleach(job: JobInput) -> frozenset[str]:
    """Pumps that drew the bleach the day's page says is in a tank: those of every setup and run mixed in that tank.

    A pump that is kept for something else did not.
    """
    heels = job.day.heels if job.day is not None else {}
    held = {tank for tank, heel in heels.items() if _chemical_of(job, heel) == BLEACH}
    drawn = {setup.pump for setup in job.rig.setups if setup.dosing == "premix" and setup.feed in held}
    drawn |= {
        run.pump.name
        for run in job.runs
        if run.premix and run.pump is not None and run.feed_tank is not None and run.feed_tank.name in held
    }
    kept = {pump.name: chemical_named(pump.dedicated) for pump in job.rig.pumps if pump.dedicated}
    others = {pump for pump, known in kept.items() if known is None or known.name != BLEACH}
    return frozenset(pump for pump in drawn if pump is not None and pump not in others)


def _soap(written: Heel, chemical: str) -> float:
    """Soap's share [-] of a heel of soap and water, where it is written as one."""
    strength = written.strength
    shared = strength is not None and strength.basis == "vol" and chemical == SOAP
    return strength.amount / 100.0 if strength is not None and shared else 0.0


def _strength(job: JobInput, tank: str, chemical: str) -> float:
    """How strong a heel is [kg/m3]: what does not say it is a fault before it gets here, and is never nothing."""
    assert job.day is not None
    written = job.day.heels[tank].strength
    if chemical in ("water", SOAP):
        # Soap is counted by its share of the heel, not by a strength.
        return 0.0
    lots = [lot_today(lot, job.date) for lot in job.lots if lot.chemical == chemical]
    stock = max((lot.high or lot.nominal or 0.0 for lot in lots), default=0.0)
    if written is not None and written.basis == "vol":
        # A share of stock is taken of the strongest lot there is: too strong a heel is the safe reading.
        found = written.amount / 100.0 * stock
    elif written is not None and written.basis == "bare" and chemical == BLEACH:
        found = available_chlorine(replace(written, basis=job.company.percent))
    elif written is not None:
        found = (available_chlorine(written) if chemical == BLEACH else active(written, chemical)) or 0.0
    else:
        found = 0.0
    return found or stock or _STRONGEST


def left_in(tank: Tank) -> float:
    """What a drained tank keeps [m3]: what stays below its outlet, at least what clings to its walls."""
    film: float = default("film") * 6.0 * tank.volume ** (2.0 / 3.0)  # walls as those of a cube
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
    """The rig before a day's first job, when the jobs of the days before `left` it so.

    Tanks are as the day's file says, else as they were left. Lines keep what they carried: a flush that was planned is
    asked for by its tick, as between two jobs of one day. A pump that bleach has soaked stays one.
    """
    written = job.day.heels if job.day is not None else {}
    stood = {**left.gainsaid, **left.overnight, **left.tanks}
    kept = {name: held for name, held in stood.items() if name not in written}
    # A page that gainsays what was left is asked about until the tank is mixed in again, or is on record.
    other = dict(left.gainsaid) | {
        name: held
        for name, held in stood.items()
        if name in written and held.chemical not in ("water", _chemical_of(job, written[name]))
    }
    return replace(
        tonight(job),
        overnight=MappingProxyType({name: held for name, held in kept.items() if held.chemical != "water"}),
        gainsaid=MappingProxyType(other),
        parts=left.parts,
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


def water_of(job: JobInput, run: RunInput) -> Tank | None:
    """The tank a run's plain water comes out of; None of a tap. One that sprays a tankful wets, rinses and mixes with
    the rig's own.
    """
    return water_tank(job) if run.premix else run.feed_tank


def foreign_feeds(job: JobInput, rig: Carried) -> tuple[tuple[Tank, TankHeel], ...]:
    """Tanks this job draws plain water from, and mixes nothing in, that hold something else."""
    mixed = {run.feed_tank.name for run in job.runs if run.premix and run.feed_tank is not None}
    feeds = {tank.name: tank for run in job.runs if (tank := water_of(job, run)) is not None}
    found = []
    for name, tank in feeds.items():
        held = foreign_heel(job, tank, "water", rig)
        if held is not None and name not in mixed:
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
    ph = hypochlorite.ph_of_dilution(lot.lye_ph, min(mix.target / lot.nominal, 1.0), default("tap_alkalinity"))
    return ph >= hypochlorite.STABLE_PH


def may_stay(mix: MixPlan, after: NextMix) -> bool:
    """Whether what is left over of a mix may stand in its tank until the day's next job mixes on it.

    Bleach under bleach alone, at a pH it is stable at: 4 trade % at 40 C loses 0.3 % in twelve hours by
    `hypochlorite.left_after`, far inside a heel's band (`heel_off`). Acids, alkalis and peroxides are made harmless.
    Soap goes only where soap goes.
    """
    if mix.kind != "premix" or not mix.batches or mix.chemical != BLEACH:
        return False
    return after.chemical == mix.chemical and (after.soap or mix.soap_share <= 0.0) and keeps(mix)


def as_left(job: JobInput, mixes: Sequence[MixPlan], left: Carried, end: State) -> tuple[tuple[MixPlan, ...], Carried]:
    """The mixes and the rig with what the acts leave in tanks for the next job."""
    found, tanks = [], dict(left.tanks)
    for mix in mixes:
        tank = mix.run.feed_tank
        if not mix.stays_for or tank is None:
            found.append(mix)
            continue
        held = end.tanks.get(tank.name)
        volume = held.volume or 0.0 if held is not None else 0.0
        stays = volume - tank.dead_volume
        if stays <= _DROP:
            found.append(replace(mix, stays_for=""))
            continue
        found.append(replace(mix, stays=stays))
        tanks[tank.name] = replace(tanks[tank.name], volume=volume, of=job.title)
    return tuple(found), replace(left, tanks=MappingProxyType(tanks), next_in=MappingProxyType({}))


def after_mix(before: Carried, mix: MixPlan) -> Carried:
    """The rig after a mix was made and sprayed: its tank holds what the pump leaves, its line has seen it."""
    tanks, parts, overnight = dict(before.tanks), dict(before.parts), before.overnight
    gainsaid, water = before.gainsaid, dict(before.water)
    tank = mix.run.feed_tank
    if mix.kind == "premix" and tank is not None and mix.batches:
        # A tank that its pump empties still has walls wet with the mix.
        tanks[tank.name] = TankHeel(
            volume=tank.dead_volume, strength=mix.target, soap=mix.soap_share, chemical=mix.chemical
        )
        overnight, gainsaid = _without(overnight, {tank.name}), _without(gainsaid, {tank.name})
        water.pop(tank.name, None)  # whatever the day's page says stood there before
    if mix.run.pump is not None and mix.kind != "injector":
        parts[mix.run.pump.name] = mix.chemical
    if mix.run.dosing is not None:
        parts[mix.run.dosing.name] = mix.chemical
    for hose in mix.run.hoses:
        parts[hose.name] = mix.chemical
    return replace(
        before,
        tanks=MappingProxyType(tanks),
        parts=MappingProxyType(parts),
        overnight=overnight,
        gainsaid=gainsaid,
        water=MappingProxyType(water),
    )


def _perhaps_bleached(job: JobInput, mixes: Sequence[MixPlan], found: Carried) -> list[RunInput]:
    """Lines of plain water beside acid that a setup of the rig sends bleach through, and nobody says when last."""
    if not any(mix.chemical in ACIDS for mix in mixes):
        return []
    panels = {dosing.name for dosing in job.rig.dosing if dosing.kind == "metered"}
    bleached: set[str] = set()
    for setup in job.rig.setups:
        if setup.dosing in panels:
            bleached |= {setup.pump or "", *(hose for hose in setup.hoses if isinstance(hose, str))}
    plain = [run for run in job.runs if not run.premix and run.dosing is None]
    parts = {
        run.name: {hose.name for hose in (*run.hoses, *run.put_on)} | ({run.pump.name} if run.pump else set())
        for run in plain
    }
    return [run for run in plain if (parts[run.name] & bleached) - set(found.parts)]


def looks_of(job: JobInput, mixes: Sequence[MixPlan], found: Carried) -> tuple[Look, ...]:
    """What has to be looked at before this job is set up."""
    told: dict[str, Look] = {}
    written = job.day.heels if job.day is not None else {}
    for mix in mixes:
        tank = mix.run.feed_tank
        if mix.kind != "premix" or tank is None or tank.name in told or tank.name in (*written, *found.tanks):
            continue
        left = found.overnight.get(tank.name)
        if left is None:
            told[tank.name] = Look(what="dry", place=tank.name)
        elif standing_in(found, tank.name, mix.chemical) is None:
            told[tank.name] = Look(what="stick", place=tank.name, chemical=left.chemical, volume=left.volume)
    for mix in mixes:
        for tank in (mix.run.feed_tank, water_of(job, mix.run)):
            held = found.gainsaid.get(tank.name) if tank is not None else None
            if tank is not None and held is not None and meets(held.chemical, mix.chemical).stops:
                told[tank.name] = Look(what="gainsaid", place=tank.name, chemical=held.chemical)
    told |= {run.name: Look(what="chlorine", place=run.name) for run in _perhaps_bleached(job, mixes, found)}
    if mixes and job.date is None:
        told[""] = Look(what="undated", place="")
    names = {part for mix in mixes for part in (*parts_of_run(mix.run), *(hose.name for hose in mix.run.put_on))}
    strips = [
        pending for pending in found.pending if pending.why == "unread" or names & {part for _, part in pending.gear}
    ]
    return (*told.values(), *(Look(what="strip", place=pending.called) for pending in strips))
