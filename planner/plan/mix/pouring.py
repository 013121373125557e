"""A mix poured in a tank: batch by batch, each lot an addition of its own, on what the tank still holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from planner.chemistry import dilution
from planner.inputs.models import Shape, Tank
from planner.inputs.tables.defaults import default
from planner.physics import tanks
from planner.plan.mix.lots import Offer, pulls, shared
from planner.plan.mix.model import Addition, BatchPlan, MixPlan, StrengthRow, TankHeel

TESTED_STEPS = (0.7, 0.8, 0.9, 1.0, 1.1)
"""Tested strengths printed in the table of what to do if stock differs, as shares of tonight's (our choice)."""


def tankfuls(base: MixPlan, sources: Sequence[dilution.Source], held: TankHeel | None) -> dilution.Blended:
    """The batches of a mix from so much of each source, on what its tank still holds."""
    tank = base.run.feed_tank
    assert tank is not None
    return dilution.blended(
        need=base.need,
        target=base.target,
        sources=sources,
        tank_volume=tank.volume,
        dead_volume=tank.dead_volume,
        # Another chemical's heel is drained and flushed before anything goes in: see mix.reaction, flush.needed.
        heel=as_heel(held) if fits(base, held) else dilution.DRY,
        soap_share=base.soap_share,
    )


def premixed(base: MixPlan, chosen: Sequence[Offer], held: TankHeel | None) -> MixPlan:
    """The mix poured in its run's tank from the lots `chosen`, in their order, on what the tank still holds."""
    tank = base.run.feed_tank
    assert tank is not None

    def made(strengths: Sequence[float]) -> dilution.Blended:
        pairs = zip(chosen, strengths, strict=True)
        sources = [dilution.Source(strength=strength, volume=offer.to_pour) for offer, strength in pairs]
        return tankfuls(base, sources, held)

    nominal = [offer.lot.nominal or 0.0 for offer in chosen]
    blended = made(nominal)
    plan = blended.premix
    # A batch that overflows is not to be poured: the heel is drained first, and then it is another batch.
    poured = not plan.overflow and bool(plan.batches)
    names = [offer.lot.name for offer in chosen]
    batches = tuple(
        _batch(tank, base.stick_least, batch, list(zip(names, pour, strict=True)))
        for batch, pour in zip(plan.batches, blended.pours, strict=True)
        if poured
    )
    given = [sum(pour[n] for pour in blended.pours) for n in range(len(chosen))]
    heel = as_heel(held) if fits(base, held) else dilution.DRY
    active = sum(stock * strength for stock, strength in zip(given, nominal, strict=True))
    # A heel weaker than it is said to be is made up for with stock.
    active += heel.volume * heel.strength * default("heel_off") if active > 0.0 else 0.0
    loaded = pulls(chosen, active)
    one = sum(stock > 0.0 for stock in given) <= 1
    lows = [offer.lot.low for offer in chosen]
    return replace(
        base,
        mix=plan.mix if poured else None,
        stock=plan.stock if poured else None,
        water=plan.water if poured else None,
        soap=plan.soap if poured else None,
        heel=heel.volume,
        batches=batches,
        reachable=plan.reachable,
        reachable_low=all(lows) and made([low or 0.0 for low in lows]).premix.reachable,
        highest=plan.highest,
        wall=base.target if plan.reachable else plan.highest,
        wall_low=_if_stock_is(blended, lows, min, 1.0 - default("heel_off")),
        wall_high=_if_stock_is(blended, [offer.lot.high for offer in chosen], max, 1.0 + default("heel_off")),
        overflow=plan.overflow,
        pours=shared(chosen, given, loaded.volumes) if poured else (),
        short=blended.short if poured else 0.0,
        short_pull=loaded.short if poured else 0.0,
        # A batch of two lots can't be looked up by one strength.
        rows=tuple(_tested_row(base, strength, share, held) for strength in nominal[:1] for share in TESTED_STEPS)
        if one
        else (),
    )


def _tested_row(base: MixPlan, strength: float, share: float, held: TankHeel | None) -> StrengthRow:
    """What goes into the first batch if the stock tests at a share of tonight's strength."""
    tried = tankfuls(base, [dilution.Source(strength=strength * share)], held).premix
    first = tried.batches[0] if tried.batches else None
    return StrengthRow(
        strength=strength * share, stock=first.stock if first else None, dial=None,
        wall=base.target if first else tried.highest,
    )  # fmt: skip


def fits(base: MixPlan, held: TankHeel | None) -> bool:
    """Whether a heel may stay under the batch: the same chemical, or water."""
    return held is not None and held.chemical in (base.chemical, "water")


def as_heel(held: TankHeel | None) -> dilution.Heel:
    """What a tank holds, as dilution counts it."""
    if held is None:
        return dilution.DRY
    return dilution.Heel(volume=held.volume, strength=held.strength, soap=held.soap)


def _if_stock_is(
    blended: dilution.Blended,
    strengths: Sequence[float | None],
    worst: Callable[[Sequence[float]], float],
    heel: float,
) -> float | None:
    """Strength of the `worst` batch as poured, if the lots are really so strong and each heel `heel` [-] of its own."""
    batches = blended.premix.batches
    if not batches or any(strength is None for strength in strengths):
        return None
    return worst(
        [
            (
                sum(stock * (strength or 0.0) for stock, strength in zip(pour, strengths, strict=True))
                + batch.heel.volume * batch.heel.strength * heel
            )
            / batch.mix
            for batch, pour in zip(batches, blended.pours, strict=True)
        ]
    )


def tank_volumes(tank: Tank) -> tanks.TankVolumes:
    """A rig's tank as physics knows it."""
    return tanks.TankVolumes(volume=tank.volume, dead_volume=tank.dead_volume, shape=shape_of(tank.shape))


def shape_of(shape: Shape | None) -> tanks.Shape | None:
    """A written shape as physics knows it."""
    if shape is None:
        return None
    return tanks.Shape(
        kind=shape.kind,
        diameter=shape.diameter or 0.0,
        length=shape.length or 0.0,
        width=shape.width or 0.0,
        height=shape.height,
    )


def _batch(tank: Tank, stick_least: float, batch: dilution.Batch, pour: Sequence[tuple[str, float]]) -> BatchPlan:
    """One tankful, each lot an addition of its own: water, then the lots in order, soap last."""
    steps = [("water", batch.water), *pour, ("soap", batch.soap)]
    poured = [(what, volume) for what, volume in steps if volume > 0.0]
    marks = tanks.dips(tank_volumes(tank), batch.heel.volume, [volume for _, volume in poured], stick_least)
    contents = [batch.heel.volume + sum(volume for _, volume in poured[: n + 1]) for n in range(len(poured))]
    return BatchPlan(
        tank=tank.name,
        heel=batch.heel.volume,
        mix=batch.mix,
        water=batch.water,
        stock=batch.stock,
        soap=batch.soap,
        additions=tuple(
            Addition(
                what=what,
                volume=volume,
                mass=None,
                contents=batch.mix if n == len(poured) - 1 else contents[n],
                dip=dip(marks, n),
                by_stick=by_stick(marks, n),
            )
            for n, (what, volume) in enumerate(poured)
        ),
        overflow=batch.overflow,
    )


def by_stick(marks: Sequence[tanks.Dip], n: int) -> bool:
    """Whether the rise of an addition can be read on the stick."""
    return bool(marks) and marks[n].by_stick


def dip(marks: Sequence[tanks.Dip], n: int) -> float | None:
    """Where the contents stand on the stick after an addition [m]; None where it can't be read."""
    return marks[n].depth if by_stick(marks, n) else None
