"""A mix of crystals weighed into water, and one of soap alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.chemistry import dilution, dosing
from planner.inputs.models import Tank
from planner.inputs.tables.defaults import default
from planner.physics import tanks
from planner.plan.mix.lots import Offer
from planner.plan.mix.model import Addition, BatchPlan, LotShare, MixPlan, TankHeel
from planner.plan.mix.pouring import as_heel, by_stick, dip, fits, tank_volumes
from planner.plan.model import RunPlan


def weighed(base: MixPlan, held: TankHeel | None, chosen: Sequence[Offer]) -> MixPlan:
    """Crystals weighed into water: one batch after another in the run's tank; no dial doses a powder."""
    tank = base.run.feed_tank
    if base.kind != "premix" or tank is None or not base.target > 0.0:
        return base
    if base.dissolves is not None and base.target > base.dissolves * (1.0 + 1e-9):
        return replace(base, highest=base.dissolves)
    heel = as_heel(held) if fits(base, held) else dilution.DRY
    count = max(dilution.batch_count(base.need, tank.volume, tank.dead_volume), 1)
    batches = []
    mass = 0.0
    under = heel
    left = [dilution.Source(strength=1.0, volume=offer.to_pour) for offer in chosen]
    names = [offer.lot.name for offer in chosen]
    given = [0.0] * len(chosen)
    short = 0.0
    for _ in range(count):
        # A strong heel wants more water than the need.
        whole = max(base.need / count + tank.dead_volume, under.volume, under.volume * under.strength / base.target)
        crystals = max(base.target * whole - under.volume * under.strength, 0.0)
        mass += crystals
        amounts = [(base.chemical, crystals)]
        if left:
            taken = dilution.take(left, crystals)
            short += taken.short
            given = [sum(pair) for pair in zip(given, taken.volumes, strict=True)]
            left = [
                replace(source, volume=max(source.volume - a, 0.0))
                for source, a in zip(left, taken.volumes, strict=True)
            ]
            amounts = list(zip(names, taken.volumes, strict=True))
        batches.append(_batch(base, tank, under, whole, amounts))
        under = dilution.Heel(volume=tank.dead_volume, strength=base.target, soap=base.soap_share)
    overflow = any(batch.overflow for batch in batches)
    if overflow:
        return replace(base, heel=heel.volume, overflow=True, reachable=True, reachable_low=True)
    water, soap = sum(batch.water for batch in batches), sum(batch.soap for batch in batches)
    return replace(
        base,
        mix=heel.volume + water + soap,
        stock_mass=mass,
        water=water,
        soap=soap,
        heel=heel.volume,
        batches=tuple(batches),
        reachable=True,
        reachable_low=True,
        wall=base.target,
        wall_low=base.target * (1.0 - default("scale_off")),
        wall_high=base.target * (1.0 + default("scale_off")),
        short=short,
        short_pull=short,
        pours=tuple(
            LotShare(lot=offer.lot, mass=amount, pull_mass=amount)
            for offer, amount in zip(chosen, given, strict=True)
            if amount > 0.0
        ),
    )


def _batch(
    base: MixPlan, tank: Tank, under: dilution.Heel, whole: float, amounts: Sequence[tuple[str, float]] = ()
) -> BatchPlan:
    """One tankful, of soap alone where no crystals go in; they are taken to add no volume, which is within two percent
    for what is sprayed."""
    soap = dilution.soap_for(base.soap_share, whole, under)
    water = max(whole - under.volume - soap, 0.0)
    overflow = whole > tank.volume * (1.0 + 1e-9)
    marks = () if overflow else tanks.dips(tank_volumes(tank), under.volume, [water, soap], base.stick_least)
    standing = under.volume + water
    additions = [
        Addition(
            what="water", volume=water, mass=None, contents=standing, dip=dip(marks, 0), by_stick=by_stick(marks, 0)
        ),
        *(
            Addition(what=name, volume=0.0, mass=crystals, contents=standing, dip=None, by_stick=False)
            for name, crystals in amounts
            if crystals > 0.0 or len(amounts) == 1
        ),
    ]
    if soap > 0.0 or not amounts:
        additions.append(
            Addition(
                what="soap", volume=soap, mass=None, contents=whole, dip=dip(marks, 1), by_stick=by_stick(marks, 1)
            )
        )
    return BatchPlan(
        tank=tank.name,
        heel=under.volume,
        mix=whole,
        water=water,
        stock=0.0,
        soap=soap,
        additions=tuple(additions),
        overflow=overflow,
    )


def soaped(base: MixPlan, run: RunPlan, held: TankHeel | None) -> MixPlan:
    """Soap alone: water and soap in the tank, or soap in an injector's jug. A panel's dial is tested with stock."""
    tank, device = base.run.feed_tank, base.run.dosing
    if base.kind == "premix" and tank is not None:
        heel = as_heel(held) if fits(base, held) else dilution.DRY
        count = max(dilution.batch_count(base.need, tank.volume, tank.dead_volume), 1)
        batches = []
        under = heel
        for _ in range(count):
            whole = max(base.need / count + tank.dead_volume, under.volume)
            batches.append(_batch(base, tank, under, whole))
            under = dilution.Heel(volume=tank.dead_volume, strength=0.0, soap=base.soap_share)
        water, soap = sum(batch.water for batch in batches), sum(batch.soap for batch in batches)
        return replace(
            base, mix=heel.volume + water + soap, water=water, soap=soap, stock=0.0, heel=heel.volume,
            batches=tuple(batches), reachable=True, reachable_low=True,
        )  # fmt: skip
    if run.injector_draws is False:
        return replace(base, highest=0.0)
    if device is not None and device.kind == "injector" and device.water_to_stock is not None:
        jug = dosing.injector_soap(base.soap_share, device.water_to_stock)
        if jug <= 1.0:
            whole = base.need
            soap = dilution.soap_for(base.soap_share, whole * default("jug_over"))
            return replace(
                base, mix=whole, water=whole - soap, soap=soap, stock=0.0, jug_stock=0.0, jug_soap=jug,
                reachable=True, reachable_low=True,
            )  # fmt: skip
    return base
