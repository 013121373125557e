"""What diluted muriatic acid comes to: its weight percent, density and normality, and how warm pouring it gets."""

from __future__ import annotations

from planner.chemistry import acid_heat, acids
from planner.plan.mix_model import AcidMix, MixPlan


def acid_of(mix: MixPlan) -> AcidMix | None:
    """The mix's figures at 20 C, by mass from what is poured; None for anything but muriatic that can be mixed.

    The warming is of the strongest pour, with no heat lost: a whole batch from one lot, or an injector's jug.
    """
    if mix.chemical != "muriatic" or not mix.reachable or not mix.pours or not mix.stock or not mix.mix:
        return None
    strengths = [share.lot.nominal for share in mix.pours if share.stock > 0.0 and share.lot.nominal]
    if not strengths:
        return None
    try:
        stock = acids.mass_fraction_of_strength(max(strengths))
        poured = [batch.stock / batch.mix for batch in mix.batches] or [mix.share or 0.0]
        # In a jug or a tank alike it is the thickest mixture that gets warmest.
        rise = acid_heat.temperature_rise(stock, mix.jug_stock if mix.jug_stock is not None else max(poured))
        if mix.heel > 0.0 or mix.soap_share > 0.0:
            fraction = acids.mass_fraction_of_strength(mix.target)
            density, strength = acids.density(fraction), mix.target
        else:
            diluted = acids.diluted(stock, poured[0])
            fraction, density, strength = diluted.mass_fraction, diluted.density, diluted.strength
    except ValueError:
        # Stronger than any acid that stays in solution: the lot's own strength is what is wrong.
        return None
    return AcidMix(
        mass_fraction=fraction,
        density=density,
        normality=acids.normality(strength),
        rise=rise.nominal,
        rise_high=rise.high,
    )
