"""Premix: tankfuls of stock, water and soap on top of what is left in the tank, from one lot or several.

Hypochlorite strengths are mass per volume, so they dilute by volume (parts shrink by at most 0.27 %), and
soap counts as diluent.  One tankful of V at strength Ct from stock Cs, over a heel h at Ch:
stock = (V Ct - h Ch) / Cs, soap = s V, water = V - h - stock - soap.  V is the need plus what the pump leaves,
raised where a strong heel needs more water (h Ch / Ct) or a weak one more stock
(h (Cs - Ch) / (Cs (1 - s) - Ct)), so that neither stock nor water is ever negative.
Source: mass balance of the active; the batch rules are this program's own convention.

One mix from several lots: the oldest is emptied first, the next gives what is still missing.

Lots of one chemical differ in strength, so what each gives is counted in active: v = min(what it holds, missing / C).
A tankful poured from several behaves as one from stock of the blend's strength, active over volume, so the rules of
`dilution` hold as they are; the tankful's size and its blend are found together.
Source: mass balance of the active.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, inf, isclose
from typing import Final, Literal

from fluids.numerics import brenth

from planner.chemistry.constants import MARGIN
from planner.frozen import dataclass

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


# ------------------------------------------------------------ several lots

_ROUNDS: Final = 12
"""The blend and the tankful's size mostly settle in two or three rounds; what takes more is bracketed."""

_SETTLED: Final = 1e-14
"""Share by which the blend may still move."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One lot to pour from: `strength` [kg/m3], `volume` [m3] it holds; infinite where nobody counted."""

    strength: float
    volume: float = inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What each source gives [m3], in order; `short` [m3 of the last one] is beyond what they hold together."""

    volumes: tuple[float, ...]
    short: float

    @property
    def volume(self) -> float:
        """All of it [m3], what is short included."""
        return sum(self.volumes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blended:
    """Tankfuls poured from several lots: `premix` as it comes out, and what each source gives to each batch [m3].

    `short` [m3 of the last source] is more than the sources hold; the batches are whole all the same.
    """

    premix: Premix
    pours: tuple[tuple[float, ...], ...]
    short: float


def take(sources: Sequence[Source], active: float) -> Taken:
    """What each of `sources` gives, in order, for `active` [kg]; the last one is asked for whatever is then missing.

    Source: the module. Raises ValueError for no source, a strength not above 0, or an active below 0.
    """
    if not sources or not active >= 0.0 or any(not source.strength > 0.0 for source in sources):
        raise ValueError(f"{active} kg from {len(sources)} sources")
    volumes = []
    missing = active
    for source in sources:
        volume = min(max(source.volume, 0.0), missing / source.strength)
        if isclose(volume * source.strength, missing, rel_tol=1e-12):
            # A float's breadth is not worth opening another drum.
            volumes.append(missing / source.strength)
            missing = 0.0
            continue
        volumes.append(volume)
        missing = max(missing - volume * source.strength, 0.0)
    short = missing / sources[-1].strength
    volumes[-1] += short
    return Taken(volumes=tuple(volumes), short=short)


def blended(
    *,
    need: float,
    target: float,
    sources: Sequence[Source],
    tank_volume: float,
    dead_volume: float,
    heel: Heel = DRY,
    soap_share: float = 0.0,
) -> Blended:
    """The batches of `dilution.premix`, poured from `sources` in order: `need` [m3], `target` [kg/m3].

    `tank_volume`, `dead_volume` [m3], `soap_share` [m3 per m3 of mix]; `heel` as there.
    Source, equations and errors: dilution.premix and the module. Where a batch can't be made there are none, as there.
    """
    if not sources:
        raise ValueError("no stock to mix from")
    count = batch_count(need, tank_volume, dead_volume)
    each = need / count + dead_volume if count else 0.0
    carried = Heel(volume=dead_volume, strength=target, soap=soap_share)
    left = list(sources)
    made: list[Batch] = []
    pours: list[tuple[float, ...]] = []
    short = 0.0
    for number in range(count):
        under = carried if number else heel
        one = _blended_tankful(each, target, left, soap_share, under, tank_volume)
        if one is None:
            made, pours, short = [], [], 0.0
            break
        batch, taken = one
        made.append(batch)
        pours.append(taken.volumes)
        short += taken.short
        left = [
            Source(strength=source.strength, volume=max(source.volume - volume, 0.0))
            for source, volume in zip(left, taken.volumes, strict=True)
        ]
    volume = sum(sum(poured) for poured in pours)
    active = sum(given * source.strength for poured in pours for given, source in zip(poured, sources, strict=True))
    blend = active / volume if volume > 0.0 else sources[0].strength
    highest = highest_strength(blend, soap_share)
    return Blended(
        premix=Premix(
            need=need,
            target=target,
            highest=highest,
            reachable=len(made) == count and (count > 0 or target <= highest * (1.0 + MARGIN)),
            batches=tuple(made),
        ),
        pours=tuple(pours),
        short=short,
    )


def _blended_tankful(
    wanted: float, target: float, left: Sequence[Source], soap_share: float, heel: Heel, tank_volume: float
) -> tuple[Batch, Taken] | None:
    """One tankful and what each source gives to it: its blend makes its size, and its size the blend."""

    def at(blend: float) -> tuple[Batch, Taken, float] | None:
        """The tankful of stock of this strength, what the sources give to it, and the strength of that."""
        batch = tankful(wanted, target, blend, soap_share, heel, tank_volume)
        if batch is None:
            return None
        taken = take(left, batch.stock * blend)
        return batch, taken, batch.stock * blend / taken.volume if taken.volume > 0.0 else blend

    blend = next((source for source in left if source.volume > 0.0), left[-1]).strength
    for _ in range(_ROUNDS):
        found = at(blend)
        if found is None:
            return None
        if isclose(found[2], blend, rel_tol=_SETTLED):
            return found[:2]
        blend = found[2]
    # A weak heel makes the tankful large, and its blend then closes in slowly or not at all: it lies between the ends.
    ends = min(source.strength for source in left), max(source.strength for source in left)
    if any(at(end) is None for end in ends):
        return None

    def off(blend: float) -> float:
        found = at(blend)
        return found[2] - blend if found is not None else 0.0

    blend = ends[0] if off(ends[0]) <= 0.0 else ends[1]
    if off(ends[0]) > 0.0 > off(ends[1]):
        blend = float(brenth(off, *ends, xtol=_SETTLED * ends[0], rtol=_SETTLED))
    found = at(blend)
    # What does not add up is no batch.
    return found[:2] if found is not None and isclose(found[0].stock, found[1].volume, rel_tol=MARGIN) else None
