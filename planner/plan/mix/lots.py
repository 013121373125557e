"""Which lots a mix is poured from: oldest first, the next where one runs short, each with what it still holds.

What is poured is counted at the likely strength, what is loaded at the low end of its band; so a lot may have to ride
along that is only opened if another proves weak.

A mix takes what the oldest lot able to make it holds, then the next. Loading is split the same way at the low
strengths, so a lot may ride along that is only opened if another is weak (a pull and no stock). What is short stands
with the last lot and in `short`. A strength is never exact: `reading_off` widens a lot by its test (`by`) or its label,
and an undated drum's low end has stood `undated_age`.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from math import inf, isclose

from planner.chemistry import acids, dilution, hypochlorite, solutions
from planner.frozen import dataclass
from planner.inputs.joined import ChemicalInput, JobInput, Surface
from planner.inputs.models import Lot
from planner.inputs.reading.strengths import Strength
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS
from planner.inputs.tables.defaults import default, default_list
from planner.inputs.tables.whole import limit_rows
from planner.plan.mix.model import LotShare, LotToday, MixPlan


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
            (full if offer.to_pour >= default("lot_dregs") * need(lot) else dregs).append(offer)
    return [*full, *dregs] or [Offer(lot=lot, to_pour=0.0, to_pull=0.0) for lot in lots[:1]]


def pulls(chosen: Sequence[Offer], active: float) -> dilution.Taken:
    """What to load of each [m3] so that `active` [kg] is there even if each lot is as weak as its band allows."""
    sources = [
        dilution.Source(strength=offer.lot.low or offer.lot.nominal or 1.0, volume=offer.to_pull) for offer in chosen
    ]
    return dilution.take(sources, active)


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
    poured = dilution.take([dilution.Source(strength=1.0, volume=offer.to_pour) for offer in chosen], mix.soap)
    pulled = dilution.take([dilution.Source(strength=1.0, volume=offer.to_pull) for offer in chosen], load)
    return shared(chosen, poured.volumes, pulled.volumes)


def first_lot(mix: MixPlan) -> MixPlan:
    """The mix with `lot` the first it is poured from."""
    poured = next((share for share in mix.pours if share.stock > 0.0 or share.mass > 0.0), None)
    return mix if poured is None else replace(mix, lot=poured.lot)


# ------------------------------------------------------------ shelf
# How strong each lot is on the day of the job.


_DAY = 86400.0
_NOTHING = 1e-9
"""A lot left with less than this share of what it held is empty."""


@lru_cache(maxsize=1)
def hot_storage() -> float:
    """Kept at or above this [K], stock is taken for hot, unless the company says less: data/limits.yaml."""
    return limit_rows()["hot_storage"].value


def shelf_today(job: JobInput, taken: Mapping[str, float]) -> tuple[LotToday, ...]:
    """Every lot on the job's day, less what the jobs before `taken` of it [m3, or kg of what is dry]."""
    return tuple(lot_of(job, lot, taken) for lot in job.lots)


def lot_of(job: JobInput, lot: Lot, taken: Mapping[str, float]) -> LotToday:
    """One lot on the job's day, as the jobs before leave it."""
    return lot_today(lot, job.date, taken.get(lot.name, 0.0), job.limits.get("hot_storage"))


def lot_today(lot: Lot, today: datetime.date | None, taken: float = 0.0, hot: float | None = None) -> LotToday:
    """The lot on `today`: hypochlorite aged over its own storage, anything else as written.

    `taken` [m3 or kg] is what earlier jobs pulled of it; `hot` [K] what counts as hot, left out the table's own.
    """
    amount = lot.on_hand
    kept = lot.kept_at or (default("kept_shed"),)
    known, extrapolated, optimistic = False, False, False
    nominal = low = high = None
    start = lot.tested.on if lot.tested is not None else lot.made
    age = None
    if today is not None and start is not None:
        age = max((today - start).days, 0) * _DAY
    if lot.chemical == BLEACH:
        aged = _aged(lot, kept, start, today)
        if aged is not None:
            nominal, low, high = aged.nominal, aged.low, aged.high
            known, extrapolated, optimistic = aged.known, aged.extrapolated, aged.optimistic
    else:
        written = lot.tested.strength if lot.tested is not None else lot.strength
        nominal = low = high = None if written is None else active(written, lot.chemical)
        if nominal is not None:
            below, above = reading_off(lot)
            low, high = nominal * (1.0 - below), nominal * (1.0 + above)
        known = True
    return LotToday(
        name=lot.name,
        chemical=lot.chemical,
        nominal=nominal,
        low=low,
        high=high,
        age=age,
        tested=lot.tested is not None,
        hot=_warmest(kept, start, today) >= (hot if hot is not None else hot_storage()) * (1.0 - 1e-9),
        known=known,
        extrapolated=extrapolated,
        optimistic=optimistic,
        on_hand=_left(amount.volume, taken) if amount is not None else None,
        on_hand_mass=_left(amount.mass, taken) if amount is not None else None,
        not_yet=today is not None and start is not None and start > today,
        lye_ph=hypochlorite.ph_of_lye(nominal, lot.excess_caustic) if lot.chemical == BLEACH and nominal else None,
    )


def reading_off(lot: Lot) -> tuple[float, float]:
    """How far below and above its reading a lot may be [-]: its test's own error, or its label's. Never nothing."""
    if lot.tested is not None:
        off = default(f"test_{lot.tested.by}")
        return off, off
    below, above = default_list("label_bleach" if lot.chemical == BLEACH else "label_other")
    return below, above


def _left(held: float | None, taken: float) -> float | None:
    if held is None:
        return None
    return 0.0 if isclose(held, taken, rel_tol=_NOTHING) else max(held - taken, 0.0)


def _warmest(kept: tuple[float, ...], start: datetime.date | None, today: datetime.date | None) -> float:
    """The warmest it stood at since `start` [K]; where its days are not known, the warmest of the year."""
    if len(kept) == 1 or start is None or today is None:
        return max(kept)
    return max((stretch.temperature for stretch in storage(kept, start, today)), default=kept[today.month - 1])


def _aged(
    lot: Lot, kept: tuple[float, ...], start: datetime.date | None, today: datetime.date | None
) -> hypochlorite.Aged | None:
    caustic, error = lot.excess_caustic, reading_off(lot)
    born = None if lot.strength is None else active(lot.strength, BLEACH, caustic)
    if lot.tested is not None:
        tested = active(lot.tested.strength, BLEACH, caustic)
        if tested is None:
            return None
        history = list(storage(kept, lot.tested.on, today or lot.tested.on))
        return hypochlorite.strength_since_test(tested, history, born, caustic, error=error)
    if born is None:
        return None
    if start is not None and today is not None:
        return hypochlorite.strength_since_made(born, list(storage(kept, start, today)), caustic, error=error)
    # As written, for nothing says how old it is; its low end is that of a drum which has stood a while.
    stood = [hypochlorite.Stored(temperature=max(kept), seconds=default("undated_age"))]
    low = hypochlorite.strength_since_made(born, stood, caustic, error=error).low
    return replace(hypochlorite.strength_since_made(born, None, caustic, error=error), low=low)


def storage(kept: tuple[float, ...], start: datetime.date, today: datetime.date) -> Iterator[hypochlorite.Stored]:
    """The lot's days as stretches of one temperature: one for all, or one for each month it saw."""
    if len(kept) == 1:
        yield hypochlorite.Stored(temperature=kept[0], seconds=max((today - start).days, 0) * _DAY)
        return
    day = start
    while day < today:
        following = (day.replace(day=1) + datetime.timedelta(days=32)).replace(day=1)
        end = min(following, today)
        yield hypochlorite.Stored(temperature=kept[day.month - 1], seconds=(end - day).days * _DAY)
        day = end


def active(strength: Strength, chemical: str, excess_caustic: float = hypochlorite.USUAL_CAUSTIC) -> float | None:
    """Active [kg/m3] of a strength as written, by its chemical; None where its label says nothing of it."""
    basis, amount = strength.basis, strength.amount
    if chemical == BLEACH:
        if basis in ("trade", "g_l_cl2", "wt_cl2", "wt_naocl"):
            return hypochlorite.from_label(amount, basis, excess_caustic)
        return None
    row = CHEMICALS.get(chemical)
    if row is None:
        return amount if basis == "g_l" else None
    if row.solution.by == "hydrochloric":
        return acids.from_label(amount, basis) if basis in ("wt", "degbe", "normal", "g_l") else None
    if amount > row.label.most.get(basis, inf):
        return None
    equivalent = row.equivalent if "normal" in row.label.bases else None
    return solutions.from_label(row.solution.rows, row.solution.water_free, equivalent, amount, basis)
