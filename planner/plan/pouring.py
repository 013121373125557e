"""How one mix is made: poured in a tank, set on a panel, put in an injector's jug, or weighed as crystals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.chemistry import dilution, dosing
from planner.inputs.models import Tank
from planner.physics import tanks
from planner.plan.mix_model import Addition, BatchPlan, LotToday, MixPlan, StrengthRow, TankHeel
from planner.plan.model import RunPlan

_TESTED_STEPS = (0.7, 0.8, 0.9, 1.0, 1.1)
"""Tested strengths printed in the table of what to do if stock differs, as shares of tonight's (our choice)."""


def premixed(base: MixPlan, lot: LotToday, strength: float, held: TankHeel | None) -> MixPlan:
    """The mix poured in its run's tank, on what the tank still holds."""
    tank = base.run.feed_tank
    assert tank is not None
    # Another chemical's heel is drained and flushed before anything goes in: see mix.reaction, flush.needed.
    heel = as_heel(held) if fits(base, held) else dilution.DRY

    def made(stock_strength: float) -> dilution.Premix:
        return dilution.premix(
            need=base.need,
            target=base.target,
            stock_strength=stock_strength,
            tank_volume=tank.volume,
            dead_volume=tank.dead_volume,
            heel=heel,
            soap_share=base.soap_share,
        )

    plan = made(strength)
    volumes = tank_volumes(tank)
    # A batch that overflows is not to be poured: the heel is drained first, and then it is another batch.
    batches = tuple(_batch(tank.name, volumes, batch, base) for batch in plan.batches if not plan.overflow)
    rows = []
    for share in _TESTED_STEPS:
        tried = made(strength * share)
        first = tried.batches[0] if tried.batches else None
        rows.append(
            StrengthRow(strength=strength * share, stock=first.stock if first else None, dial=None,
                        wall=base.target if first else tried.highest)
        )  # fmt: skip
    return replace(
        base,
        mix=plan.mix if batches else None,
        stock=plan.stock if batches else None,
        water=plan.water if batches else None,
        soap=plan.soap if batches else None,
        heel=heel.volume,
        batches=batches,
        reachable=plan.reachable,
        reachable_low=lot.low is not None and made(lot.low).reachable,
        highest=plan.highest,
        wall=base.target if plan.reachable else plan.highest,
        wall_low=_if_stock_is(plan, lot.low),
        wall_high=_if_stock_is(plan, lot.high),
        overflow=plan.overflow,
        rows=tuple(rows),
    )


def fits(base: MixPlan, held: TankHeel | None) -> bool:
    """Whether a heel may stay under the batch: the same chemical, or water."""
    return held is not None and held.chemical in (base.chemical, "water")


def as_heel(held: TankHeel | None) -> dilution.Heel:
    """What a tank holds, as dilution counts it."""
    if held is None:
        return dilution.DRY
    return dilution.Heel(volume=held.volume, strength=held.strength, soap=held.soap)


def _if_stock_is(plan: dilution.Premix, stock_strength: float | None) -> float | None:
    """Strength of the strongest batch as poured, if the stock is really so strong."""
    if stock_strength is None or not plan.batches:
        return None
    return max(batch.strength_from(stock_strength) for batch in plan.batches)


def tank_volumes(tank: Tank) -> tanks.TankVolumes:
    """A rig's tank as physics knows it."""
    shape = tank.shape
    return tanks.TankVolumes(
        volume=tank.volume,
        dead_volume=tank.dead_volume,
        shape=None
        if shape is None
        else tanks.Shape(
            kind=shape.kind,
            diameter=shape.diameter or 0.0,
            length=shape.length or 0.0,
            width=shape.width or 0.0,
            height=shape.height,
        ),
    )


def _batch(tank: str, volumes: tanks.TankVolumes, batch: dilution.Batch, base: MixPlan) -> BatchPlan:
    poured = [addition for addition in batch.additions if addition.volume > 0.0]
    if batch.overflow:
        marks: tuple[tanks.Dip, ...] = ()
    else:
        marks = tanks.dips(volumes, batch.heel.volume, [addition.volume for addition in poured])
    names = {"water": "water", "stock": base.lot.name if base.lot is not None else base.chemical, "soap": "soap"}
    return BatchPlan(
        tank=tank,
        heel=batch.heel.volume,
        mix=batch.mix,
        water=batch.water,
        stock=batch.stock,
        soap=batch.soap,
        additions=tuple(
            Addition(
                what=names[addition.what],
                volume=addition.volume,
                mass=None,
                contents=addition.contents,
                dip=marks[n].depth if marks and marks[n].by_stick else None,
                by_stick=bool(marks) and marks[n].by_stick,
            )
            for n, addition in enumerate(poured)
        ),
        overflow=batch.overflow,
    )


def metered(base: MixPlan, lot: LotToday, strength: float) -> MixPlan:
    device = base.run.dosing
    assert device is not None
    points = [dosing.DialPoint(setting=point.setting, share=point.share) for point in device.dial or ()]

    def set_for(stock_strength: float) -> dosing.Metered:
        return dosing.metered(
            target=base.target, stock_strength=stock_strength, points=points, soap_share=base.soap_share
        )

    plan = set_for(strength)
    can = plan.reachable and plan.dial.setting is not None
    low = set_for(lot.low) if lot.low else None
    share = plan.stock
    return replace(
        base,
        mix=base.need if can else None,
        stock=base.need * share if can else None,
        water=base.need * plan.water if can else None,
        soap=base.need * plan.soap if can else None,
        reachable=can,
        reachable_low=low is not None and low.reachable and low.dial.setting is not None,
        highest=min(plan.highest, plan.dial_high),
        wall=base.target if can else None,
        wall_low=share * lot.low if can and lot.low is not None else None,
        wall_high=share * lot.high if can and lot.high is not None else None,
        share=share if can else None,
        dial=plan.dial.setting,
        dial_low=plan.dial_low,
        dial_high=plan.dial_high,
        rows=tuple(
            StrengthRow(
                strength=strength * step, stock=None, dial=set_for(strength * step).dial.setting, wall=base.target
            )
            for step in _TESTED_STEPS
        ),
    )


def injected(base: MixPlan, run: RunPlan, lot: LotToday, strength: float) -> MixPlan:
    device = base.run.dosing
    assert device is not None
    assert device.water_to_stock is not None
    ratio = device.water_to_stock
    if dosing.injector_soap(base.soap_share, ratio) >= 1.0 or run.injector_draws is False:
        return replace(base, highest=0.0)
    jug = dosing.injector(target=base.target, stock_strength=strength, water_to_stock=ratio, soap_share=base.soap_share)
    drawn = dosing.drawn_volume(base.need, ratio)
    low = None
    if lot.low:
        low = dosing.injector(
            target=base.target, stock_strength=lot.low, water_to_stock=ratio, soap_share=base.soap_share
        )
    return replace(
        base,
        mix=base.need,
        stock=drawn * jug.stock,
        soap=drawn * jug.soap,
        water=base.need - drawn * (jug.stock + jug.soap),
        reachable=jug.reachable,
        reachable_low=low is not None and low.reachable,
        highest=jug.highest,
        wall=jug.strength,
        wall_low=None if lot.low is None else jug.strength * lot.low / strength,
        wall_high=None if lot.high is None else jug.strength * lot.high / strength,
        share=jug.stock / (1.0 + ratio),
        jug_stock=jug.stock,
        jug_soap=jug.soap,
        rows=tuple(
            StrengthRow(
                strength=strength * step,
                stock=None,
                dial=None,
                wall=dosing.injector(
                    target=base.target,
                    stock_strength=strength * step,
                    water_to_stock=ratio,
                    soap_share=base.soap_share,
                ).strength,
            )
            for step in _TESTED_STEPS
        ),
    )


def weighed(base: MixPlan, held: TankHeel | None) -> MixPlan:
    """Crystals weighed into water: one batch after another in the run's tank; no dial doses a powder."""
    tank = base.run.feed_tank
    if base.kind != "premix" or tank is None or not base.target > 0.0:
        return base
    heel = as_heel(held) if fits(base, held) else dilution.DRY
    count = max(dilution.batch_count(base.need, tank.volume, tank.dead_volume), 1)
    batches = []
    mass = 0.0
    under = heel
    for _ in range(count):
        # A strong heel wants more water than the need.
        whole = max(base.need / count + tank.dead_volume, under.volume, under.volume * under.strength / base.target)
        crystals = base.target * whole - under.volume * under.strength
        mass += crystals
        batches.append(_weighed_batch(base, tank, under, whole, crystals))
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
        wall_low=base.target,
        wall_high=base.target,
    )


def _weighed_batch(base: MixPlan, tank: Tank, under: dilution.Heel, whole: float, crystals: float) -> BatchPlan:
    """One tankful; crystals are taken to add no volume, which is within two percent for what is sprayed."""
    soap = max(base.soap_share * whole - under.soap * under.volume, 0.0)
    water = max(whole - under.volume - soap, 0.0)
    overflow = whole > tank.volume * (1.0 + 1e-9)
    marks = () if overflow else tanks.dips(tank_volumes(tank), under.volume, [water, soap])
    name = base.lot.name if base.lot is not None else base.chemical
    standing = under.volume + water
    additions = [
        Addition(what="water", volume=water, mass=None, contents=standing, dip=_dip(marks, 0), by_stick=_by(marks, 0)),
        Addition(what=name, volume=0.0, mass=crystals, contents=standing, dip=None, by_stick=False),
    ]
    if soap > 0.0:
        additions.append(
            Addition(what="soap", volume=soap, mass=None, contents=whole, dip=_dip(marks, 1), by_stick=_by(marks, 1))
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


def _by(marks: Sequence[tanks.Dip], n: int) -> bool:
    return bool(marks) and marks[n].by_stick


def _dip(marks: Sequence[tanks.Dip], n: int) -> float | None:
    return marks[n].depth if _by(marks, n) else None


def soaped(base: MixPlan, held: TankHeel | None) -> MixPlan:
    """Soap alone: water and soap in the tank, or soap in an injector's jug. A panel's dial is tested with stock."""
    tank, device = base.run.feed_tank, base.run.dosing
    if base.kind == "premix" and tank is not None:
        heel = as_heel(held) if fits(base, held) else dilution.DRY
        count = max(dilution.batch_count(base.need, tank.volume, tank.dead_volume), 1)
        batches = []
        under = heel
        for _ in range(count):
            whole = max(base.need / count + tank.dead_volume, under.volume)
            batches.append(_soap_batch(base, tank, under, whole))
            under = dilution.Heel(volume=tank.dead_volume, strength=0.0, soap=base.soap_share)
        water, soap = sum(batch.water for batch in batches), sum(batch.soap for batch in batches)
        return replace(
            base, mix=heel.volume + water + soap, water=water, soap=soap, stock=0.0, heel=heel.volume,
            batches=tuple(batches), reachable=True, reachable_low=True,
        )  # fmt: skip
    if device is not None and device.kind == "injector" and device.water_to_stock is not None:
        jug = dosing.injector_soap(base.soap_share, device.water_to_stock)
        if jug <= 1.0:
            soap = base.need * base.soap_share
            return replace(
                base, mix=base.need, water=base.need - soap, soap=soap, stock=0.0, jug_stock=0.0, jug_soap=jug,
                reachable=True, reachable_low=True,
            )  # fmt: skip
    return base


def _soap_batch(base: MixPlan, tank: Tank, under: dilution.Heel, whole: float) -> BatchPlan:
    soap = max(base.soap_share * whole - under.soap * under.volume, 0.0)
    water = max(whole - under.volume - soap, 0.0)
    marks = tanks.dips(tank_volumes(tank), under.volume, [water, soap])
    return BatchPlan(
        tank=tank.name,
        heel=under.volume,
        mix=whole,
        water=water,
        stock=0.0,
        soap=soap,
        additions=(
            Addition(what="water", volume=water, mass=None, contents=under.volume + water, dip=_dip(marks, 0),
                     by_stick=_by(marks, 0)),
            Addition(what="soap", volume=soap, mass=None, contents=whole, dip=_dip(marks, 1), by_stick=_by(marks, 1)),
        ),
        overflow=False,
    )  # fmt: skip
