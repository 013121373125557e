"""A mix made on the run: set on a panel, or drawn by an injector from a thinned jug, one lot after another."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from planner.chemistry import dilution, dosing
from planner.inputs.tables.defaults import default
from planner.plan.mix.lots import Offer, pulls, shared
from planner.plan.mix.model import LotShare, LotToday, MixPlan, StrengthRow, TankHeel
from planner.plan.mix.pouring import TESTED_STEPS, tankfuls
from planner.plan.model import RunPlan


def draws_between(base: MixPlan) -> tuple[float, float]:
    """How little and how much stock a panel or injector may draw, as parts of what it is set or said to draw [-].

    A panel as far off as its bucket test lets pass; an injector by its ratio, farther where no test is dated.
    """
    device = base.run.dosing
    if device is None or device.kind == "metered" or device.water_to_stock is None:
        off = default("panel_share_off")
        least, most = _by_level(base)
        return least * (1.0 - off), most * (1.0 + off)
    return dosing.share_band(device.water_to_stock, *base.ratio_band)


def _by_level(base: MixPlan) -> tuple[float, float]:
    """What levels make of a panel's share although its dial is moved by the card, as parts of it [-]: of every lot."""
    lots = {share.lot.name: share.lot for share in base.pours if share.stock > 0.0}
    lots = lots or ({base.lot.name: base.lot} if base.lot is not None else {})
    moved = [
        panel.moved(base.target / lot.nominal)
        for name, lot in lots.items()
        if (panel := base.panels.get(name)) is not None and panel.untold is None and lot.nominal and base.target > 0.0
    ]
    return min((low for low, _ in moved), default=1.0), max((high for _, high in moved), default=1.0)


def over_as_tested(mix: MixPlan) -> float:
    """How much stronger than asked a mix may be [-] although a strip read its stock and a bucket its dosing.

    A surface's range and what trim can take are the trade's figures, of hands who test so: only what may be stronger
    still is held against them.
    """
    over = 1.0 + default("test_strip")
    return over * (1.0 + default("panel_share_off")) if mix.run.dosing is not None else over


def can_pour(base: MixPlan, run: RunPlan, lot: LotToday, held: TankHeel | None) -> bool:
    """Whether this lot alone, at its likely strength, gets to the target through the run's dosing."""
    strength = lot.nominal
    if not strength or not base.target > 0.0:
        return False
    if base.kind == "premix":
        return tankfuls(base, [dilution.Source(strength=strength)], held).premix.reachable
    if base.kind == "metered":
        return _settable(_panel(base, strength, lot.name))
    ratio = _ratio(base)
    if ratio is None or not _draws(base, run, ratio):
        return False
    return _jug(base, strength, ratio).reachable


def _panel(base: MixPlan, strength: float, lot: str) -> dosing.Metered:
    device = base.run.dosing
    assert device is not None
    points = [dosing.DialPoint(setting=point.setting, share=point.share) for point in device.dial or ()]
    panel = base.panels.get(lot)
    if panel is not None and panel.untold is None:
        points = list(panel.marks[0])
    return dosing.metered(target=base.target, stock_strength=strength, points=points, soap_share=base.soap_share)


def _settable(plan: dosing.Metered) -> bool:
    return plan.reachable and plan.dial.setting is not None


def metered(base: MixPlan, chosen: Sequence[Offer]) -> MixPlan:
    """The mix drawn through a panel: one drum after another, the dial set anew at each change of drum."""
    strength, first_lot = chosen[0].lot.nominal or 0.0, chosen[0].lot.name
    plan = _panel(base, strength, first_lot)
    rows = tuple(
        StrengthRow(strength=strength * step, stock=None, dial=_panel(base, strength * step, first_lot).dial.setting,
                    wall=base.target)
        for step in TESTED_STEPS
    )  # fmt: skip
    base = replace(
        base, highest=min(plan.highest, plan.dial_high), dial=plan.dial.setting, dial_low=plan.dial_low,
        dial_high=plan.dial_high, rows=rows,
    )  # fmt: skip
    if not _settable(plan):
        return base
    drawn = _in_turn(base, chosen)
    settings = [_panel(base, share.lot.nominal or 0.0, share.lot.name) for share in drawn.pours]
    pours = tuple(
        replace(share, share=setting.stock, dial=setting.dial.setting)
        for share, setting in zip(drawn.pours, settings, strict=True)
    )
    first = next((share for share in pours if share.stock > 0.0), pours[0])
    whole = base.need
    soap = dilution.soap_for(base.soap_share, whole)
    least, most = draws_between(drawn)
    return replace(
        drawn,
        mix=whole,
        water=whole - (drawn.stock or 0.0) - soap,
        soap=soap,
        reachable=True,
        reachable_low=all(
            bool(share.lot.low) and _settable(_panel(base, (share.lot.low or 0.0) * least, share.lot.name))
            for share in pours
        ),
        wall=base.target,
        wall_low=_on_wall(pours, [share.lot.low for share in pours], min, least),
        wall_high=_on_wall(pours, [share.lot.high for share in pours], max, most),
        share=first.share,
        dial=first.dial,
        pours=pours,
    )


def _in_turn(base: MixPlan, chosen: Sequence[Offer], over: float = 1.0) -> MixPlan:
    """Stock from one lot after another, each for as much of the mix as it lasts; `over` [-] goes into a jug."""
    sources = [dilution.Source(strength=offer.lot.nominal or 0.0, volume=offer.to_pour) for offer in chosen]
    taken = dilution.take(sources, base.need * over * base.target)
    base = replace(base, draws_over=draws_between(base)[1] - 1.0)
    loaded = pulls(chosen, (base.need * over + base.need * base.spare_loaded) * base.target)
    pours = tuple(
        replace(share, mix=share.stock * (share.lot.nominal or 0.0) / base.target)
        for share in shared(chosen, taken.volumes, loaded.volumes)
    )
    return replace(base, stock=taken.volume, pours=pours, short=taken.short, short_pull=loaded.short)


def _on_wall(
    pours: Sequence[LotShare],
    strengths: Sequence[float | None],
    worst: Callable[[Sequence[float]], float],
    draws: float,
) -> float | None:
    """What lands if each lot is really so strong, and everything set for nominal `draws` [-] so much of its share.

    The `worst` of those poured.
    """
    drawn = [
        (share.share or 0.0) * draws * strength
        for share, strength in zip(pours, strengths, strict=True)
        if share.stock > 0.0 and strength is not None
    ]
    return worst(drawn) if drawn else None


def _ratio(base: MixPlan) -> float | None:
    return base.run.dosing.water_to_stock if base.run.dosing is not None else None


def _draws(base: MixPlan, run: RunPlan, ratio: float) -> bool:
    return dosing.injector_soap(base.soap_share, ratio) < 1.0 and run.injector_draws is not False


def _jug(base: MixPlan, strength: float, ratio: float) -> dosing.Jug:
    return dosing.injector(
        target=base.target, stock_strength=strength, water_to_stock=ratio, soap_share=base.soap_share
    )


def injected(base: MixPlan, run: RunPlan, chosen: Sequence[Offer]) -> MixPlan:
    """The mix an injector makes: a jug thinned for each lot in turn; where none gets there, the strongest jug."""
    ratio = _ratio(base)
    assert ratio is not None
    if not _draws(base, run, ratio):
        return replace(base, highest=0.0)
    strength = chosen[0].lot.nominal or 0.0
    jug = _jug(base, strength, ratio)
    lands = replace(base, target=jug.strength) if not jug.reachable else base
    drawn = _in_turn(lands, chosen, default("jug_over"))
    pours = tuple(
        replace(share, jug_stock=thinned.stock, share=thinned.stock / (1.0 + ratio))
        for share in drawn.pours
        for thinned in [_jug(base, share.lot.nominal or 0.0, ratio)]
    )
    first = next((share for share in pours if share.stock > 0.0), pours[0])
    whole = base.need
    soap = dilution.soap_for(base.soap_share, whole * default("jug_over"))
    least, most = draws_between(base)
    return replace(
        drawn,
        target=base.target,
        mix=whole,
        soap=soap,
        water=whole - (drawn.stock or 0.0) - soap,
        reachable=jug.reachable,
        reachable_low=all(
            bool(share.lot.low) and _jug(base, (share.lot.low or 0.0) * least, ratio).reachable for share in pours
        ),
        highest=jug.highest,
        wall=jug.strength,
        wall_low=_on_wall(pours, [share.lot.low for share in pours], min, least),
        wall_high=_on_wall(pours, [share.lot.high for share in pours], max, most),
        share=first.share,
        jug_stock=first.jug_stock,
        jug_soap=jug.soap,
        pours=pours,
        rows=tuple(
            StrengthRow(strength=strength * step, stock=None, dial=None,
                        wall=_jug(base, strength * step, ratio).strength)
            for step in TESTED_STEPS
        ),
    )  # fmt: skip


def needed_strength(mix: MixPlan) -> float | None:
    """The weakest stock [kg/m3] that makes the mix although its dosing draws little; None where it has no strength."""
    if not mix.target > 0.0 or mix.lot is None or mix.lot.nominal is None:
        return None
    if mix.kind == "premix":
        return mix.target / (1.0 - mix.soap_share)
    if mix.kind == "metered" and mix.run.dosing is not None:
        known = mix.panel.marks[0] if mix.panel is not None and mix.panel.marks else mix.run.dosing.dial or ()
        most = max((point.share for point in known), default=0.0)
        return mix.target / min(most, 1.0 - mix.soap_share) / draws_between(mix)[0] if most > 0.0 else None
    ratio = _ratio(mix)
    if ratio is None:
        return None
    return _jug(mix, mix.lot.nominal, ratio).stock_strength_needed / draws_between(mix)[0]
