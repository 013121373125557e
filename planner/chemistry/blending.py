"""One mix from several lots: the oldest is emptied first, the next gives what is still missing.

Lots of one chemical differ in strength, so what each gives is counted in active: v = min(what it holds, missing / C).
A tankful poured from several behaves as one from stock of the blend's strength, active over volume, so the rules of
`dilution` hold as they are; the tankful's size and its blend are found together.
Source: mass balance of the active.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isclose
from typing import Final

from fluids.numerics import brenth

from planner.chemistry.constants import MARGIN
from planner.chemistry.dilution import DRY, Batch, Heel, Premix, batch_count, highest_strength, tankful

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


def premix(
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
        one = _tankful(each, target, left, soap_share, under, tank_volume)
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


def _tankful(
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
