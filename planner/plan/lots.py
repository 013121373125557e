"""Which lots a mix is poured from: oldest first, the next where one runs short, each with what it still holds.

What is poured is counted at the likely strength, what is loaded at the low end of its band; so a lot may have to ride
along that is only opened if another proves weak.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Final

from planner.chemistry import blending
from planner.inputs.joined import ChemicalInput, JobInput, Surface
from planner.plan.mix_model import LotShare, LotToday, MixPlan
from planner.plan.shelf import lot_of

DREGS: Final = 0.05
"""A lot that holds less than this share of what a mix takes is opened last: nobody swaps drums for it (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What this job's mixes so far, and the jobs before, have `pulled` and `poured` of each lot [m3, or kg]."""

    pulled: Mapping[str, float]
    poured: Mapping[str, float]

    def after(self, mix: MixPlan) -> Shelf:
        """The shelf once a mix has taken its share; one that is not made takes nothing."""
        if mix.mix is None:
            return self
        pulled, poured = dict(self.pulled), dict(self.poured)
        for share in (*mix.pours, *mix.soaps):
            name = share.lot.name
            pulled[name] = pulled.get(name, 0.0) + share.pull + share.pull_mass
            poured[name] = poured.get(name, 0.0) + share.stock + share.mass
        return Shelf(pulled=pulled, poured=poured)


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A lot with what a mix may still pour and load of it [m3, or kg of a dry chemical]; infinite: nobody counted."""

    lot: LotToday
    to_pour: float
    to_pull: float


def use_on(job: JobInput, surface: Surface) -> ChemicalInput | None:
    """What is written of the chemical that goes on the surface."""
    for use in job.chemicals:
        if use.dose is None and use.chemical == surface.chemical and surface.name in use.surfaces:
            return use
    return None


def lots_of(job: JobInput, use: ChemicalInput | None, taken: Mapping[str, float]) -> list[LotToday]:
    """The lots meant, oldest first, as they stand on the day."""
    return [lot_of(job, lot, taken) for lot in use.lots] if use is not None else []


def offers(
    lots: Sequence[LotToday], shelf: Shelf, found: Mapping[str, float], need: Callable[[LotToday], float]
) -> list[Offer]:
    """The lots in the order they are opened: oldest first, what is nearly empty last, what is empty not at all.

    `found` is what the jobs before took, which a lot's amount on hand leaves out already; `need` [m3 or kg] is what
    the whole mix would take of one lot.
    """
    full: list[Offer] = []
    dregs: list[Offer] = []
    for lot in lots:
        held = lot.on_hand if lot.on_hand is not None else lot.on_hand_mass
        if held is None:
            full.append(Offer(lot=lot, to_pour=inf, to_pull=inf))
            continue
        before = found.get(lot.name, 0.0)
        left = [max(held - (of.get(lot.name, 0.0) - before), 0.0) for of in (shelf.poured, shelf.pulled)]
        offer = Offer(lot=lot, to_pour=left[0], to_pull=left[1])
        if offer.to_pour > 0.0:
            (full if offer.to_pour >= DREGS * need(lot) else dregs).append(offer)
    return [*full, *dregs] or [Offer(lot=lot, to_pour=0.0, to_pull=0.0) for lot in lots[:1]]


def pulls(chosen: Sequence[Offer], active: float) -> blending.Taken:
    """What to load of each [m3] so that `active` [kg] is there even if each lot is as weak as its band allows."""
    sources = [
        blending.Source(strength=offer.lot.low or offer.lot.nominal or 1.0, volume=offer.to_pull) for offer in chosen
    ]
    return blending.take(sources, active)


def shared(chosen: Sequence[Offer], poured: Sequence[float], loaded: Sequence[float]) -> tuple[LotShare, ...]:
    """A share for each lot that is poured from or rides along; the first one stands even where nothing is taken."""
    shares = [
        LotShare(lot=offer.lot, stock=stock, pull=pull)
        for offer, stock, pull in zip(chosen, poured, loaded, strict=True)
    ]
    return tuple(share for share in shares if share.stock > 0.0 or share.pull > 0.0) or tuple(shares[:1])


def soaps_for(job: JobInput, mix: MixPlan, shelf: Shelf, found: Mapping[str, float]) -> tuple[LotShare, ...]:
    """The lots of soap a mix takes, oldest first; what they lack together stands with the last one."""
    names = set(mix.surfaces)
    uses = [use for use in job.chemicals if use.dose is not None and use.lots and names & set(use.surfaces)]
    if not mix.soap or not uses:
        return ()
    load = mix.soap * (1.0 if mix.kind == "premix" else 1.0 + mix.spare_loaded)
    strongest = max(uses, key=lambda use: use.dose or 0.0)
    chosen = offers(lots_of(job, strongest, found), shelf, found, lambda _: load)
    poured = blending.take([blending.Source(strength=1.0, volume=offer.to_pour) for offer in chosen], mix.soap)
    pulled = blending.take([blending.Source(strength=1.0, volume=offer.to_pull) for offer in chosen], load)
    return shared(chosen, poured.volumes, pulled.volumes)


def first_lot(mix: MixPlan) -> MixPlan:
    """The mix with `lot` the first it is poured from."""
    poured = next((share for share in mix.pours if share.stock > 0.0 or share.mass > 0.0), None)
    return mix if poured is None else replace(mix, lot=poured.lot)
