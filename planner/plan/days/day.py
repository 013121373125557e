"""A day's jobs together: when each begins, what is pulled from the shelf or bought, what stays in the tanks.

What a job pulls leaves the shelf for the jobs after it, of later days in one call too (`Carried.taken`); a held job
takes nothing. A job held for want of stock alone counts in what is to buy. A drive that is missing stops the clock of
its job and of all behind it (`Carried.lost`), as a file that cannot be read does; the way home left out counts as long
as the day's longest drive.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import SOAP
from planner.plan.days.order import BetterOrder
from planner.plan.mix.model import Carried, LotToday
from planner.plan.model import JobPlan
from planner.plan.road.loading import load_of_day
from planner.plan.road.model import LoadPlan
from planner.plan.water.timing import end_of, home_after


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """So much of a lot taken off the shelf for the day: `volume` [m3] or `mass` [kg]; `for_jobs` names who takes it.

    `bench` [m3 or kg] of it stays in the yard, for the pump's bath of `bench_jobs`; the rest is loaded.
    """

    lot: str
    chemical: str
    volume: float
    mass: float
    for_jobs: tuple[str, ...]
    bench: float = 0.0
    bench_jobs: tuple[str, ...] = ()

    @property
    def rides(self) -> bool:
        """Whether any of it is loaded."""
        return self.volume + self.mass > self.bench * (1.0 + 1e-9)

    @property
    def road_jobs(self) -> tuple[str, ...]:
        """Who takes what is loaded."""
        return tuple(name for name in self.for_jobs if name not in self.bench_jobs)


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
class LotOutlook:
    """A lot on one day: `lot` as it stands that morning, what is `pulled` and `left` of it [m3, or kg of what is dry].

    `runs_out`: the day of this call that empties it, None where none does. `too_weak`: the first day its low strength
    no longer gets to the strongest mix booked, None within a year. `left` is None where nobody counted.
    """

    lot: LotToday
    pulled: float
    left: float | None
    runs_out: datetime.date | None
    too_weak: datetime.date | None

    @property
    def reorder_on(self) -> datetime.date | None:
        """The first of the two days."""
        return min((day for day in (self.runs_out, self.too_weak) if day is not None), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reorder:
    """A chemical is to be ordered so that it is there by the evening of `by`; `ends` is the day it no longer does.

    `why`: the days booked take more than there is, or the last `lot` of it gets too weak for the strongest booked.
    """

    chemical: str
    by: datetime.date
    ends: datetime.date
    why: Literal["runs_out", "too_weak"]
    lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan:
    """One day: its jobs in working order with their clock, and the totals of the load-out list.

    `home` [s]: the drive back behind the last job, None where nobody knows; `ends` is when the rig is back then.
    `lined` are the ids of all its jobs in working order, also of those that cannot be planned.
    """

    date: datetime.date
    rig: str
    jobs: tuple[JobPlan, ...]
    pulls: tuple[Pull, ...]
    buys: tuple[Buy, ...]
    heels: tuple[HeelAfter, ...]
    water: float
    ends: float | None
    home: float | None = None
    load: LoadPlan | None = None
    better: BetterOrder | None = None
    outlook: tuple[LotOutlook, ...] = ()
    reorders: tuple[Reorder, ...] = ()
    lined: tuple[str, ...] = ()

    @property
    def waits(self) -> tuple[str, ...]:
        """The ids of its jobs that cannot be planned: what comes after them has no times."""
        planned = {plan.id for plan in self.jobs}
        return tuple(name for name in self.lined if name not in planned)

    @property
    def rows(self) -> Iterator[tuple[int, str, int | None]]:
        """Each job's number in the day, its id, and where it is among `jobs`; None of one that cannot be planned."""
        places = {plan.id: place for place, plan in enumerate(self.jobs)}
        for number, name in enumerate(self.lined or tuple(places), start=1):
            yield number, name, places.get(name)

    @property
    def name(self) -> str:
        """Its folder's: the date, or the date and the rig where several are out."""
        return self.jobs[0].input.day_name or self.date.isoformat()


def on_the_clock(plans: Sequence[JobPlan]) -> tuple[JobPlan, ...]:
    """The day's jobs one after another: each begins where the one before it ends."""
    moved = []
    now: float | None = None
    for plan in plans:
        spans = []
        for span in plan.time:
            # Of a job that nobody knows the drive to, nobody knows when it begins: its acts count from arrival.
            start = span.start if now is None or span.start is None else now
            spans.append(replace(span, start=start))
            now = None if start is None else start + span.seconds
        moved.append(replace(plan, time=tuple(spans)))
    return tuple(moved)


def plan_day(
    plans: Sequence[JobPlan],
    held: frozenset[str] = frozenset(),
    left_behind: frozenset[str] | None = None,
    short: frozenset[str] = frozenset(),
    lined: Sequence[str] = (),
) -> DayPlan:
    """The day of these jobs, in working order. Raises ValueError for no job or one without a date.

    Jobs whose ids are in `held` keep their place on the clock but load nothing and leave nothing. `left_behind` are
    those among them that would not ride even if the load were put right; left out, all of them. `short` are those
    held only because the shelf lacks stock: what is to buy counts them. `lined`: the ids of all jobs of the day, where
    some are not among these: then nobody knows when it ends.
    """
    if not plans or plans[0].input.date is None:
        raise ValueError("a day has a date and at least one job")
    jobs = on_the_clock(plans)
    home = home_after(jobs[-1])
    ends = end_of(jobs[-1].time)
    if ends is not None and home is not None:
        ends += home
    if set(lined) - {plan.id for plan in plans}:
        ends = None
    going = [plan for plan in jobs if plan.id not in held]
    pulls = _pulls(going)
    return DayPlan(
        date=plans[0].input.date,
        rig=plans[0].input.rig.name,
        jobs=jobs,
        pulls=pulls,
        buys=_buys([plan for plan in jobs if plan.id not in held or plan.id in short], jobs[0].shelf),
        heels=_heels(going[-1].left if going else jobs[0].found),
        water=sum(plan.water.most for plan in going),
        ends=ends,
        home=home,
        load=load_of_day([plan for plan in jobs if plan.id not in (held if left_behind is None else left_behind)]),
        lined=tuple(lined),
    )


def _pulls(jobs: Sequence[JobPlan]) -> tuple[Pull, ...]:
    """Stock and soap by lot, each lot once, in the order they are first taken; what no lot is there for by its name."""
    found: dict[tuple[str, str], Pull] = {}
    for plan in jobs:
        for mix in plan.mixes:
            if not mix.reachable:
                continue
            taken = [(mix.chemical, share.lot.name, share.pull, share.pull_mass) for share in mix.pours]
            if mix.stock_mass and not mix.pours:
                taken.append((mix.chemical, mix.chemical, 0.0, mix.stock_mass))
            taken += [(SOAP, share.lot.name, share.pull, 0.0) for share in mix.soaps]
            if mix.soap and not mix.soaps:
                load = mix.soap * (1.0 if mix.kind == "premix" else 1.0 + mix.spare_loaded)
                taken.append((SOAP, "soap", load, 0.0))
            for chemical, lot, volume, mass in taken:
                if volume + mass <= 0.0:
                    continue
                before = found.get((chemical, lot))
                if before is None:
                    before = Pull(lot=lot, chemical=chemical, volume=0.0, mass=0.0, for_jobs=())
                jobs_now = before.for_jobs if plan.title in before.for_jobs else (*before.for_jobs, plan.title)
                found[chemical, lot] = replace(
                    before, volume=before.volume + volume, mass=before.mass + mass, for_jobs=jobs_now
                )
        for chemical, lot, volume, mass in _bench(plan):
            before = found.get((chemical, lot)) or Pull(lot=lot, chemical=chemical, volume=0.0, mass=0.0, for_jobs=())
            found[chemical, lot] = replace(
                before,
                volume=before.volume + volume,
                mass=before.mass + mass,
                for_jobs=(*before.for_jobs, plan.title),
                bench=before.bench + volume + mass,
                bench_jobs=(*before.bench_jobs, plan.title),
            )
    return tuple(found.values())


def _bench(plan: JobPlan) -> Iterator[tuple[str, str, float, float]]:
    """Chemical, lot, volume [m3] and mass [kg] of what a pump's bath takes."""
    bath = plan.yard.bath if plan.yard is not None else None
    if bath is None or not bath.reachable:
        return
    for share in bath.pours:
        yield bath.chemical, share.lot.name, share.stock, share.mass
    if not bath.pours:
        yield bath.chemical, bath.chemical, bath.stock, bath.stock_mass or 0.0


def _buys(wanted: Sequence[JobPlan], shelf: Sequence[LotToday]) -> tuple[Buy, ...]:
    """What the lots that could make the mixes lack, for the jobs that go or would if the shelf held enough."""
    pulls = _pulls(wanted)
    able = {lot.name for plan in wanted for mix in plan.mixes for lot in mix.able}
    able |= {share.lot.name for plan in wanted for mix in plan.mixes for share in mix.soaps}
    able |= {lot.name for plan in wanted if plan.yard is not None and plan.yard.bath for lot in plan.yard.bath.able}
    buys = []
    for chemical in dict.fromkeys(pull.chemical for pull in pulls):
        lots = [lot for lot in shelf if lot.chemical == chemical and lot.name in able]
        volume = sum(pull.volume for pull in pulls if pull.chemical == chemical)
        mass = sum(pull.mass for pull in pulls if pull.chemical == chemical)
        if any(lot.on_hand is None and lot.on_hand_mass is None for lot in lots):
            continue
        short_volume = volume - sum(lot.on_hand or 0.0 for lot in lots)
        short_mass = mass - sum(lot.on_hand_mass or 0.0 for lot in lots)
        if short_volume > 1e-9 * volume or short_mass > 1e-9 * mass:
            buys.append(
                Buy(chemical=chemical, volume=max(short_volume, 0.0) if volume else 0.0,
                    mass=max(short_mass, 0.0) if mass else 0.0)
            )  # fmt: skip
    return (*buys, *_agents(wanted))


def _agents(wanted: Sequence[JobPlan]) -> Iterator[Buy]:
    """What makes the baths and rinses of the yard harmless and is not on the shelf; a wash has its own page."""
    needs = [need for plan in wanted if plan.yard is not None for need in plan.agents]
    for agent in dict.fromkeys(need.agent for need in needs):
        same = [need for need in needs if need.agent == agent]
        counted = same[0].on_hand
        lacking = sum(need.carry for need in same) - counted if counted is not None else 0.0
        if lacking > 1e-9:
            yield Buy(chemical=agent, volume=0.0, mass=lacking)


def _heels(rig: Carried) -> tuple[HeelAfter, ...]:
    """What stands in the tanks but water, what was there in the morning and nobody touched too."""
    return tuple(
        HeelAfter(tank=tank, chemical=held.chemical, strength=held.strength, volume=held.volume)
        for tank, held in rig.tanks.items()
        if held.chemical != "water" and held.volume > 0.0
    )
