"""A day's jobs together: when each begins, what is pulled from the shelf or bought, what stays in the tanks."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.plan.mix_model import LotToday
from planner.plan.model import JobPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """So much of a lot to load for the day: `volume` [m3] or `mass` [kg]; `for_jobs` names who takes it."""

    lot: str
    chemical: str
    volume: float
    mass: float
    for_jobs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Buy:
    """What the shelf lacks of a chemical for the day: `volume` [m3] or `mass` [kg]."""

    chemical: str
    volume: float
    mass: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeelAfter:
    """What stays in a tank tonight: `volume` [m3] of `chemical` at `strength` [kg/m3]."""

    tank: str
    chemical: str
    strength: float
    volume: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan:
    """One day: its jobs in working order with their clock, and the totals of the load-out list."""

    date: datetime.date
    rig: str
    jobs: tuple[JobPlan, ...]
    pulls: tuple[Pull, ...]
    buys: tuple[Buy, ...]
    heels: tuple[HeelAfter, ...]
    water: float
    ends: float | None


def on_the_clock(plans: Sequence[JobPlan]) -> tuple[JobPlan, ...]:
    """The day's jobs one after another: each begins where the one before it ends."""
    moved = []
    now: float | None = None
    for plan in plans:
        spans = []
        for span in plan.time:
            start = span.start if now is None else now
            spans.append(replace(span, start=start))
            now = None if start is None else start + span.seconds
        moved.append(replace(plan, time=tuple(spans)))
    return tuple(moved)


def plan_day(plans: Sequence[JobPlan], held: frozenset[str] = frozenset()) -> DayPlan:
    """The day of these jobs, in working order. Raises ValueError for no job or one without a date.

    Jobs whose ids are in `held` keep their place on the clock but load nothing and leave nothing.
    """
    if not plans or plans[0].input.date is None:
        raise ValueError("a day has a date and at least one job")
    jobs = on_the_clock(plans)
    last = [span for plan in jobs for span in plan.time][-1:]
    ends = last[0].start + last[0].seconds if last and last[0].start is not None else None
    going = [plan for plan in jobs if plan.id not in held]
    pulls = _pulls(going)
    return DayPlan(
        date=plans[0].input.date,
        rig=plans[0].input.rig.name,
        jobs=jobs,
        pulls=pulls,
        buys=_buys(pulls, jobs[0].shelf),
        heels=_heels(going),
        water=sum(plan.water.need for plan in going),
        ends=ends,
    )


def _pulls(jobs: Sequence[JobPlan]) -> tuple[Pull, ...]:
    found: dict[tuple[str, str], Pull] = {}
    for plan in jobs:
        for mix in plan.mixes:
            volume, mass = mix.pull or 0.0, mix.stock_mass or 0.0
            if not mix.reachable or volume + mass <= 0.0:
                continue
            lot = mix.lot.name if mix.lot is not None else mix.chemical
            before = found.get((mix.chemical, lot))
            if before is None:
                before = Pull(lot=lot, chemical=mix.chemical, volume=0.0, mass=0.0, for_jobs=())
            jobs_now = before.for_jobs if plan.title in before.for_jobs else (*before.for_jobs, plan.title)
            found[mix.chemical, lot] = replace(
                before, volume=before.volume + volume, mass=before.mass + mass, for_jobs=jobs_now
            )
    return tuple(found.values())


def _buys(pulls: Sequence[Pull], shelf: Sequence[LotToday]) -> tuple[Buy, ...]:
    buys = []
    for chemical in dict.fromkeys(pull.chemical for pull in pulls):
        lots = [lot for lot in shelf if lot.chemical == chemical]
        volume = sum(pull.volume for pull in pulls if pull.chemical == chemical)
        mass = sum(pull.mass for pull in pulls if pull.chemical == chemical)
        if all(lot.on_hand is None and lot.on_hand_mass is None for lot in lots) and lots:
            continue
        short_volume = volume - sum(lot.on_hand or 0.0 for lot in lots)
        short_mass = mass - sum(lot.on_hand_mass or 0.0 for lot in lots)
        if (volume and short_volume > 0.0) or (mass and short_mass > 0.0):
            buys.append(
                Buy(chemical=chemical, volume=max(short_volume, 0.0) if volume else 0.0,
                    mass=max(short_mass, 0.0) if mass else 0.0)
            )  # fmt: skip
    return tuple(buys)


def _heels(jobs: Sequence[JobPlan]) -> tuple[HeelAfter, ...]:
    heels: dict[str, HeelAfter] = {}
    for plan in jobs:
        for mix in plan.mixes:
            tank = mix.run.feed_tank
            if mix.kind == "premix" and tank is not None and mix.batches and tank.dead_volume > 0.0:
                heels[tank.name] = HeelAfter(
                    tank=tank.name, chemical=mix.chemical, strength=mix.target, volume=tank.dead_volume
                )
    return tuple(heels.values())
