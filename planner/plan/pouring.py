"""How one mix is made: poured in a tank, set on a panel, put in an injector's jug, or weighed as crystals."""

from __future__ import annotations

from dataclasses import replace

from planner.chemistry import dilution, dosing
from planner.inputs.chemicals import chemical_named
from planner.inputs.joined import JobInput, RunInput
from planner.inputs.models import Tank
from planner.inputs.strengths import Strength
from planner.physics import tanks
from planner.plan.apparatus import available_chlorine
from planner.plan.mix_model import Addition, BatchPlan, LotToday, MixPlan, StrengthRow
from planner.plan.model import RunPlan
from planner.plan.shelf import active

_TESTED_STEPS = (0.7, 0.8, 0.9, 1.0, 1.1)
"""Tested strengths printed in the table of what to do if stock differs, as shares of tonight's (our choice)."""


def heel_of(job: JobInput, run: RunInput) -> tuple[dilution.Heel, str | None]:
    """What tonight's tank still holds, and of which chemical; no entry: a mix tank is dry."""
    tank = run.feed_tank
    written = job.day.heels.get(tank.name) if job.day is not None and tank is not None else None
    if written is None or written.volume <= 0.0:
        return dilution.DRY, None
    known = chemical_named(written.stock)
    lots = [lot for lot in job.lots if lot.name == written.stock]
    chemical = lots[0].chemical if lots else known.name if known is not None else written.stock
    if written.strength is None or chemical == "water":
        return dilution.Heel(volume=written.volume, strength=0.0), chemical
    strength = written.strength
    if chemical == "hypochlorite":
        amount = available_chlorine(strength if strength.basis != "bare" else _in_percent(job, strength))
    else:
        amount = active(strength, chemical) or 0.0
    return dilution.Heel(volume=written.volume, strength=amount), chemical


def _in_percent(job: JobInput, strength: Strength) -> Strength:
    return replace(strength, basis=job.company.percent)


def premixed(base: MixPlan, job: JobInput, lot: LotToday, strength: float) -> MixPlan:
    tank = base.run.feed_tank
    assert tank is not None
    heel, chemical = heel_of(job, base.run)
    if chemical is not None and chemical != base.chemical:
        # Another chemical's heel is drained and flushed before anything goes in: see mix.reaction, flush.needed.
        heel = dilution.DRY

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
    batches = tuple(_batch(tank.name, volumes, batch, base) for batch in plan.batches)
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
        mix=plan.mix if plan.batches else None,
        stock=plan.stock if plan.batches else None,
        water=plan.water if plan.batches else None,
        soap=plan.soap if plan.batches else None,
        heel=heel.volume,
        heel_strength=heel.strength,
        heel_chemical=chemical,
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
        mix=base.need,
        stock=base.need * share,
        water=base.need * plan.water,
        soap=base.need * plan.soap,
        reachable=can,
        reachable_low=low is not None and low.reachable and low.dial.setting is not None,
        highest=min(plan.highest, plan.dial_high),
        wall=base.target if can else None,
        wall_low=None if lot.low is None else share * lot.low,
        wall_high=None if lot.high is None else share * lot.high,
        share=share,
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


def weighed(base: MixPlan, job: JobInput) -> MixPlan:
    """Crystals weighed into water: one batch after another in the run's tank; no dial doses a powder."""
    tank = base.run.feed_tank
    if base.kind != "premix" or tank is None or not base.target > 0.0:
        return base
    heel, chemical = heel_of(job, base.run)
    count = max(dilution.batch_count(base.need, tank.volume, tank.dead_volume), 1)
    each = base.need / count + tank.dead_volume
    volumes = tank_volumes(tank)
    batches = []
    for number in range(count):
        over = tank.dead_volume if number else 0.0
        fresh = each - over
        soap = base.soap_share * fresh
        water = fresh - soap
        mass = base.target * fresh
        dips = tanks.dips(volumes, over, [water])
        name = base.lot.name if base.lot is not None else base.chemical
        additions = [
            Addition(what="water", volume=water, mass=None, contents=over + water, dip=dips[0].depth,
                     by_stick=dips[0].by_stick),
            Addition(what=name, volume=0.0, mass=mass, contents=over + water, dip=None, by_stick=False),
        ]  # fmt: skip
        if soap > 0.0:
            additions.append(Addition(what="soap", volume=soap, mass=None, contents=each, dip=None, by_stick=False))
        batches.append(
            BatchPlan(
                tank=tank.name, heel=over, mix=each, water=water, stock=0.0, soap=soap, additions=tuple(additions),
                overflow=False,
            )
        )  # fmt: skip
    made = sum(batch.water + batch.soap for batch in batches)
    return replace(
        base,
        mix=made,
        stock=0.0,
        stock_mass=base.target * made,
        water=sum(batch.water for batch in batches),
        soap=sum(batch.soap for batch in batches),
        heel_chemical=chemical,
        heel_strength=heel.strength,
        batches=tuple(batches),
        reachable=True,
        reachable_low=True,
        wall=base.target,
        wall_low=base.target,
        wall_high=base.target,
    )
