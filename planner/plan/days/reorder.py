"""When the shelf will no longer do: which lot runs out or gets too weak, and by when a chemical is to be ordered.

Two things end a lot: the days booked in this call empty it, or its low strength no longer gets to the strongest mix
booked, through the dosing of that mix.  A lot is too weak from that day on whatever is left of it.

A lot is too weak from the day its low strength no longer gets to the strongest mix booked in the call, through that
mix's dosing; a chemical is ordered for the last of its lots, or for the eve of the first day that lacks some.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from planner.inputs.models import Lot
from planner.inputs.tables.chemicals import BLEACH
from planner.plan.days.day import DayPlan, LotOutlook, Reorder
from planner.plan.mix.dosed import needed_strength
from planner.plan.mix.lots import lot_today
from planner.plan.model import JobPlan

HORIZON: Final = 365
"""So many days are looked ahead: nobody books a season further (our choice)."""

_DAY: Final = datetime.timedelta(days=1)


def with_outlook(days: Sequence[DayPlan], wanted: Mapping[datetime.date, Sequence[JobPlan]]) -> list[DayPlan]:
    """The days of one call, in time order, each with the outlook of the lots it pulls and what to order.

    `wanted` are each day's jobs that go, or would if only the shelf held enough.
    """
    needed = _strongest([plan for plans in wanted.values() for plan in plans])
    return [_day(day, [day_plan for day_plan in days if day_plan.date >= day.date], needed) for day in days]


def _strongest(plans: Sequence[JobPlan]) -> dict[str, float]:
    """The strength [kg/m3] stock must have for every mix booked, by chemical."""
    needed: dict[str, float] = {}
    for plan in plans:
        for mix in plan.mixes:
            strength = needed_strength(mix) if mix.reachable else None
            if strength is not None:
                needed[mix.chemical] = max(needed.get(mix.chemical, 0.0), strength)
    return needed


def _day(day: DayPlan, following: Sequence[DayPlan], needed: Mapping[str, float]) -> DayPlan:
    first = day.jobs[0]
    written = {lot.name: lot for lot in first.input.lots}
    outlooks = []
    for lot in first.shelf:
        pulled = sum(pull.volume + pull.mass for pull in day.pulls if pull.lot == lot.name)
        held = lot.on_hand if lot.on_hand is not None else lot.on_hand_mass
        outlooks.append(
            LotOutlook(
                lot=lot,
                pulled=pulled,
                left=None if held is None else max(held - pulled, 0.0),
                runs_out=_runs_out(lot.name, held, following),
                too_weak=_too_weak(written.get(lot.name), day.date, needed.get(lot.chemical)),
            )
        )
    booked = dict.fromkeys(pull.chemical for day_plan in following for pull in day_plan.pulls)
    booked |= dict.fromkeys(buy.chemical for day_plan in following for buy in day_plan.buys)
    orders = [_order(chemical, day, following, outlooks) for chemical in booked]
    return replace(day, outlook=tuple(outlooks), reorders=tuple(reorder for reorder in orders if reorder is not None))


def _runs_out(name: str, held: float | None, following: Sequence[DayPlan]) -> datetime.date | None:
    """The day whose pulls empty the lot."""
    if held is None:
        return None
    left = held
    for day in following:
        taken = sum(pull.volume + pull.mass for pull in day.pulls if pull.lot == name)
        left -= taken
        if taken > 0.0 and left <= 1e-9 * held:
            return day.date
    return None


def _too_weak(lot: Lot | None, today: datetime.date, needed: float | None) -> datetime.date | None:
    """The first day its low strength is under what is needed; today where it is so already."""
    if lot is None or needed is None or lot.chemical != BLEACH:
        return None

    def weak(days: int) -> bool:
        low = lot_today(lot, today + days * _DAY).low
        return low is not None and low < needed * (1.0 - 1e-9)

    if not weak(HORIZON):
        return None
    # Nothing gets stronger with time, so the day is between two that are known.
    strong, over = -1, HORIZON
    while over - strong > 1:
        middle = (strong + over) // 2
        strong, over = (strong, middle) if weak(middle) else (middle, over)
    return today + over * _DAY


def _order(chemical: str, day: DayPlan, following: Sequence[DayPlan], outlooks: Sequence[LotOutlook]) -> Reorder | None:
    """By when it is to be there; a shortage of this very day is what the day's own buying is about."""
    short = next(
        (day_plan.date for day_plan in following if any(buy.chemical == chemical for buy in day_plan.buys)), None
    )
    if short is not None:
        return (
            None
            if short == day.date
            else Reorder(chemical=chemical, by=max(short - _DAY, day.date), ends=short, why="runs_out", lot="")
        )
    lots = [
        outlook
        for outlook in outlooks
        if outlook.lot.chemical == chemical and (outlook.left is None or outlook.left > 0.0)
    ]
    last = max(lots, key=lambda one: one.too_weak or datetime.date.max, default=None)
    if last is None:
        ends = max(
            (outlook.runs_out for outlook in outlooks if outlook.lot.chemical == chemical and outlook.runs_out),
            default=None,
        )
        return None if ends is None else Reorder(chemical=chemical, by=ends, ends=ends + _DAY, why="runs_out", lot="")
    if last.too_weak is None:
        return None
    return Reorder(
        chemical=chemical, by=max(last.too_weak - _DAY, day.date), ends=last.too_weak, why="too_weak", lot=last.lot.name
    )
