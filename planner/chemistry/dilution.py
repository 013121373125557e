"""Premix: one tankful or several, made from stock, water and soap on top of what is left in the tank.

Hypochlorite strengths are mass per volume, so they dilute by volume (parts shrink by at most 0.27 %), and
soap counts as diluent.  One tankful of V at strength Ct from stock Cs, over a heel h at Ch:
stock = (V Ct - h Ch) / Cs, soap = s V, water = V - h - stock - soap.  V is the need plus what the pump leaves,
raised where a strong heel needs more water (h Ch / Ct) or a weak one more stock
(h (Cs - Ch) / (Cs (1 - s) - Ct)), so that neither stock nor water is ever negative.
Source: mass balance of the active; the batch rules are this program's own convention.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf
from typing import Final, Literal

from planner.chemistry.constants import MARGIN

SPARE: Final = 0.15
"""Share mixed beyond the need: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Covered:
    """A surface to wet: `area` [m2], `coverage` [m2 per m3 of mix]."""

    area: float
    coverage: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Heel:
    """What is in the tank before filling: `volume` [m3] of `strength` [kg/m3], `soap` [m3 of soap per m3]."""

    volume: float
    strength: float
    soap: float = 0.0


DRY: Final = Heel(volume=0.0, strength=0.0)
"""A tank with nothing in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition:
    """One thing to pour: `volume` [m3]; `contents` [m3] is what the tank holds after it."""

    what: Literal["water", "stock", "soap"]
    volume: float
    contents: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One tankful: `mix` = heel + `water` + `stock` + `soap`, all in m3. `overflow`: more than the tank holds."""

    heel: Heel
    mix: float
    water: float
    stock: float
    soap: float
    overflow: bool

    @property
    def additions(self) -> tuple[Addition, ...]:
        """What to pour, in order: water first, the chemical into the water, soap last. Nothing is left out."""
        after_water = self.heel.volume + self.water
        after_stock = after_water + self.stock
        return (
            Addition(what="water", volume=self.water, contents=after_water),
            Addition(what="stock", volume=self.stock, contents=after_stock),
            Addition(what="soap", volume=self.soap, contents=self.mix),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Premix:
    """All tankfuls of one mix. Volumes in m3, strengths in kg/m3.

    `batches` is empty where nothing is needed or where it is not `reachable`. `highest` is the most the stock
    gives once its soap is in.
    """

    need: float
    target: float
    highest: float
    reachable: bool
    batches: tuple[Batch, ...]

    @property
    def overflow(self) -> bool:
        """Some batch is more than the tank holds: drain the heel first."""
        return any(batch.overflow for batch in self.batches)

    @property
    def heel(self) -> float:
        """Liquid [m3] in the tank before the first batch; later heels are mix already counted."""
        return self.batches[0].heel.volume if self.batches else 0.0

    @property
    def stock(self) -> float:
        """Stock [m3] over all batches."""
        return sum(batch.stock for batch in self.batches)

    @property
    def water(self) -> float:
        """Water [m3] over all batches."""
        return sum(batch.water for batch in self.batches)

    @property
    def soap(self) -> float:
        """Soap [m3] over all batches."""
        return sum(batch.soap for batch in self.batches)

    @property
    def mix(self) -> float:
        """Mix made [m3], each drop counted once: heel + stock + water + soap."""
        return sum(batch.mix for batch in self.batches) - sum(batch.heel.volume for batch in self.batches[1:])


def need(surfaces: Sequence[Covered], spare: float = SPARE) -> float:
    """Mix needed [m3] for `surfaces`, with `spare` [-] on top: sum of area / coverage times (1 + spare).

    Source: definition. Raises ValueError for a coverage that is not above 0.
    """
    for surface in surfaces:
        if not surface.coverage > 0.0:
            raise ValueError(f"coverage of {surface.coverage} m2/m3")
    return sum(surface.area / surface.coverage for surface in surfaces) * (1.0 + spare)


def highest_strength(stock_strength: float, soap_share: float = 0.0) -> float:
    """Highest strength [kg/m3] of a mix from `stock_strength` [kg/m3] with `soap_share` [m3 soap per m3 mix].

    Cs (1 - s), no water at all. Source: mass balance. Share from 0 to 1.
    """
    return stock_strength * (1.0 - soap_share)


def batch_count(need: float, tank_volume: float, dead_volume: float) -> int:
    """Number of equal tankfuls [-] for `need` [m3] from a tank of `tank_volume` that leaves `dead_volume` [m3].

    ceil(need / (volume - dead_volume)); a need of exactly n tankfuls is n. Source: the module's batch rules.
    Raises ValueError where the pump leaves all the tank holds.
    """
    usable = tank_volume - dead_volume
    if not usable > 0.0 or dead_volume < 0.0:
        raise ValueError(f"a tank of {tank_volume} m3 with {dead_volume} m3 out of reach gives nothing")
    return max(ceil(need / usable * (1.0 - MARGIN)), 0)


def premix(
    *,
    need: float,
    target: float,
    stock_strength: float,
    tank_volume: float,
    dead_volume: float,
    heel: Heel = DRY,
    soap_share: float = 0.0,
) -> Premix:
    """The batches that give `need` [m3, spare included] of `target` [kg/m3] from `stock_strength` [kg/m3].

    `tank_volume`, `dead_volume` [m3]; `heel` is in the tank before the first batch, afterwards dead_volume of
    mix is. `soap_share` [m3 soap per m3 finished mix]; soap a heel holds is not dosed twice.
    Source, equations: see the module. Raises ValueError for a target not above 0, a soap share outside 0 to 1
    or a tank that gives nothing.
    """
    if not target > 0.0 or not 0.0 <= soap_share < 1.0 or stock_strength < 0.0 or need < 0.0:
        raise ValueError(f"no mix of {target} kg/m3 from {stock_strength} with soap {soap_share}, {need} m3")
    count = batch_count(need, tank_volume, dead_volume)
    each = need / count + dead_volume if count else 0.0
    carried = Heel(volume=dead_volume, strength=target, soap=soap_share)
    made: list[Batch] = []
    for number in range(count):
        batch = tankful(each, target, stock_strength, soap_share, carried if number else heel, tank_volume)
        if batch is None:
            made = []
            break
        made.append(batch)
    highest = highest_strength(stock_strength, soap_share)
    return Premix(
        need=need,
        target=target,
        highest=highest,
        reachable=len(made) == count and (count > 0 or target <= highest * (1.0 + MARGIN)),
        batches=tuple(made),
    )


def soap_for(share: float, mix: float, heel: Heel = DRY) -> float:
    """Soap [m3] to pour for a `share` [m3 per m3 of mix] of `mix` [m3]; what the `heel` holds is not dosed twice.

    Source: mass balance.
    """
    return max(share * mix - heel.volume * heel.soap, 0.0)


def tankful(
    wanted: float, target: float, stock_strength: float, soap_share: float, heel: Heel, tank_volume: float
) -> Batch | None:
    """One tankful of at least `wanted` [m3] over a `heel`, or None where no amount of stock makes it.

    `target`, `stock_strength` [kg/m3], `soap_share` [m3 per m3 of mix], `tank_volume` [m3]. Source: the module.
    """
    if not stock_strength > 0.0:
        return None
    least = max(wanted, heel.volume * heel.strength / target, heel.volume)
    if soap_share > 0.0:
        least = max(least, heel.volume * heel.soap / soap_share)
    # Water is not negative where  V room >= lack.
    room = stock_strength * (1.0 - soap_share) - target
    lack = heel.volume * (stock_strength * (1.0 - heel.soap) - heel.strength)
    if abs(room) <= MARGIN * target:
        room = 0.0
    most = inf
    if room > 0.0:
        least = max(least, lack / room)
    elif room < 0.0:
        most = lack / room
    elif lack > MARGIN * stock_strength * wanted:
        return None
    if least > most * (1.0 + MARGIN):
        return None
    stock = max((least * target - heel.volume * heel.strength) / stock_strength, 0.0)
    soap = soap_for(soap_share, least, heel)
    water = max(least - heel.volume - stock - soap, 0.0)
    return Batch(
        heel=heel, mix=least, water=water, stock=stock, soap=soap,
        overflow=least > tank_volume * (1.0 + MARGIN),
    )  # fmt: skip
