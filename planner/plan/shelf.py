"""How strong each lot is on the day of the job."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from math import isclose

from planner.chemistry import acids, ageing, caustic, hypochlorite, weak_acids
from planner.inputs.defaults import default, default_list
from planner.inputs.joined import JobInput
from planner.inputs.models import Lot
from planner.inputs.strengths import Strength
from planner.inputs.tables import limit_rows
from planner.plan.mix_model import LotToday

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
    if lot.chemical == "hypochlorite":
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
        lye_ph=ageing.ph_of_lye(nominal, lot.excess_caustic) if lot.chemical == "hypochlorite" and nominal else None,
    )


def reading_off(lot: Lot) -> tuple[float, float]:
    """How far below and above its reading a lot may be [-]: its test's own error, or its label's. Never nothing."""
    if lot.tested is not None:
        off = default(f"test_{lot.tested.by}")
        return off, off
    below, above = default_list("label_bleach" if lot.chemical == "hypochlorite" else "label_other")
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
) -> ageing.Aged | None:
    caustic, error = lot.excess_caustic, reading_off(lot)
    born = None if lot.strength is None else active(lot.strength, "hypochlorite", caustic)
    if lot.tested is not None:
        tested = active(lot.tested.strength, "hypochlorite", caustic)
        if tested is None:
            return None
        history = list(storage(kept, lot.tested.on, today or lot.tested.on))
        return ageing.strength_since_test(tested, history, born, caustic, error=error)
    if born is None:
        return None
    if start is not None and today is not None:
        return ageing.strength_since_made(born, list(storage(kept, start, today)), caustic, error=error)
    # As written, for nothing says how old it is; its low end is that of a drum which has stood a while.
    stood = [ageing.Stored(temperature=max(kept), seconds=default("undated_age"))]
    low = ageing.strength_since_made(born, stood, caustic, error=error).low
    return replace(ageing.strength_since_made(born, None, caustic, error=error), low=low)


def storage(kept: tuple[float, ...], start: datetime.date, today: datetime.date) -> Iterator[ageing.Stored]:
    """The lot's days as stretches of one temperature: one for all, or one for each month it saw."""
    if len(kept) == 1:
        yield ageing.Stored(temperature=kept[0], seconds=max((today - start).days, 0) * _DAY)
        return
    day = start
    while day < today:
        following = (day.replace(day=1) + datetime.timedelta(days=32)).replace(day=1)
        end = min(following, today)
        yield ageing.Stored(temperature=kept[day.month - 1], seconds=(end - day).days * _DAY)
        day = end


def active(strength: Strength, chemical: str, excess_caustic: float = hypochlorite.USUAL_CAUSTIC) -> float | None:
    """Active [kg/m3] of a strength as written, by its chemical; None where its label says nothing of it."""
    basis, amount = strength.basis, strength.amount
    if chemical == "hypochlorite":
        if basis in ("trade", "g_l_cl2", "wt_cl2", "wt_naocl"):
            return hypochlorite.from_label(amount, basis, excess_caustic)
        return None
    if chemical == "muriatic":
        return acids.from_label(amount, basis) if basis in ("wt", "degbe", "normal", "g_l") else None
    if chemical == "caustic":
        return caustic.from_label(amount, basis)
    if chemical in weak_acids.DENSITY_BY_FRACTION:
        return weak_acids.from_label(chemical, amount, basis)
    return amount if basis == "g_l" else None
