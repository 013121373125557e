"""How strong each lot is on the day of the job."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from planner.chemistry import acids, ageing, hypochlorite
from planner.inputs.models import Lot
from planner.inputs.strengths import Strength
from planner.plan.mix_model import LotToday

_DAY = 86400.0
_SHED = 299.817
"""Where a lot is kept when nobody wrote it: 80 F (common practice, no source)."""

HOT = 299.8
"""Kept at or above this [K], stock is taken for hot: 80 F (common practice, no source)."""


def lot_today(lot: Lot, today: datetime.date | None) -> LotToday:
    """The lot on `today`: hypochlorite aged over its own storage, anything else as written."""
    amount = lot.on_hand
    kept = lot.kept_at or (_SHED,)
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
        known = True
    return LotToday(
        name=lot.name,
        chemical=lot.chemical,
        nominal=nominal,
        low=low,
        high=high,
        age=age,
        tested=lot.tested is not None,
        hot=max(kept) >= HOT,
        known=known,
        extrapolated=extrapolated,
        optimistic=optimistic,
        on_hand=amount.volume if amount is not None else None,
        on_hand_mass=amount.mass if amount is not None else None,
    )


def _aged(
    lot: Lot, kept: tuple[float, ...], start: datetime.date | None, today: datetime.date | None
) -> ageing.Aged | None:
    caustic = lot.excess_caustic
    born = None if lot.strength is None else active(lot.strength, "hypochlorite", caustic)
    if lot.tested is not None:
        tested = active(lot.tested.strength, "hypochlorite", caustic)
        if tested is None:
            return None
        history = list(storage(kept, lot.tested.on, today or lot.tested.on))
        return ageing.strength_since_test(tested, history, born, caustic)
    if born is None:
        return None
    dated = start is not None and today is not None
    history_or_none = list(storage(kept, start, today)) if dated and start and today else None
    return ageing.strength_since_made(born, history_or_none, caustic)


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
    return amount if basis == "g_l" else None
