"""What the rig weighs on each leg of the day: stock by its real density, water as the plan leaves it, heels, tare.

The crew and anything not listed are not counted.  A tank of plain water is full when the rig leaves the yard unless
the day says what stands in it; later on it holds what the job before left.  A container rides all day, empty or not.

Each leg is weighed: to each job, and home. A job held for something else rides with nobody; one held by its load alone
counts among what rides, and the jobs after it are planned as if it were done. What is pulled is weighed, not the drum
it stands in; the drum's own weight rides all day. Bleach is weighed at the strength it was made with: lost strength is
no lost weight.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from planner.chemistry import transport
from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.models import Lot, Tank
from planner.inputs.tables.chemicals import ACIDS, BLEACH, CHEMICALS, SOAP
from planner.inputs.tables.transport import tares
from planner.physics.liquids import water_density
from planner.plan.between.matrix import meets
from planner.plan.mix.density import density_of
from planner.plan.mix.lots import active
from planner.plan.mix.model import Carried, LotToday
from planner.plan.model import JobPlan
from planner.plan.road.model import HOME, ROAD, YARD, Beside, Leg, LoadItem, LoadPlan
from planner.plan.water.plain_water import kept_for

_HEAT = frozenset({"H"})
"""The codes of a pair that only gets hot; gas, fire or what nobody knows is worse."""


def load_of(plan: JobPlan) -> LoadPlan | None:
    """The load of a job that is alone on its day; None for work in the yard."""
    return loads_of_day([plan])[0]


def loads_of_day(plans: Sequence[JobPlan]) -> tuple[LoadPlan | None, ...]:
    """The loads of jobs done one after another, in working order; None for work in the yard."""
    washes = [plan for plan in plans if plan.kind == "wash"]
    legs = _legs(washes)
    loads: list[LoadPlan | None] = []
    place = -1
    for plan in plans:
        if plan.kind != "wash":
            loads.append(None)
            continue
        place += 1
        own = legs[place : place + 1] if place < len(washes) - 1 else legs[place:]
        weights = plan.input.rig.weights
        loads.append(
            LoadPlan(
                legs=tuple(own),
                rated=weights.rated if weights is not None else None,
                own=frozenset(taken.what for taken in _taken(plan)),
                beside=tuple(_beside(plan, legs[place])),
            )
        )
    return tuple(loads)


def load_of_day(plans: Sequence[JobPlan]) -> LoadPlan | None:
    """All legs of a day in one; None where no job of it leaves the yard."""
    loads = [load for load in loads_of_day(plans) if load is not None]
    if not loads:
        return None
    return LoadPlan(
        legs=tuple(leg for load in loads for leg in load.legs),
        rated=loads[0].rated,
        own=frozenset().union(*(load.own for load in loads)),
        beside=tuple(
            {frozenset({beside.first, beside.second}): beside for load in loads for beside in load.beside}.values()
        ),
    )


# ------------------------------------------------------------------------------------------------------- legs


def _legs(plans: Sequence[JobPlan]) -> list[Leg]:
    """The way to each job, and the way home."""
    legs = []
    for place, plan in enumerate(plans):
        legs.append(_leg(plan, plan.found, _stock(plans, place), YARD if place == 0 else ROAD, plan.title, plans))
    if plans:
        legs.append(_leg(plans[-1], plans[-1].left, _stock(plans, len(plans)), HOME, "", plans))
    return legs


def _leg(plan: JobPlan, stands: Carried, stock: list[LoadItem], moment: str, to: str, plans: Sequence[JobPlan]) -> Leg:
    job, rig = plan.input, plan.input.rig
    per_water = water_density(job.water.temperature)
    items = []
    if rig.weights is not None:
        items.append(LoadItem(what="rig, empty", kind="rig", mass=rig.weights.empty))
    mixed = {run.feed_tank.name for one in plans for run in one.input.runs if run.premix and run.feed_tank is not None}
    items += [item for tank in rig.tanks for item in _in_tank(job, tank, stands, mixed, per_water)]
    items += stock
    items += _agents(plans)
    if rig.carried is not None and rig.carried.eyewash:
        volume = rig.carried.eyewash
        items.append(LoadItem(what="eyewash", kind="eyewash", mass=volume * per_water, volume=volume))
    return Leg(moment=moment, to=to, items=tuple(items), weighed=rig.weights is not None, water_density=per_water)


def _in_tank(job: JobInput, tank: Tank, stands: Carried, mixed: set[str], per_water: float) -> Iterator[LoadItem]:
    """What a tank holds on the road: a heel, the night's too, plain water, or nothing.

    A tank for water that the day's file says nothing of was filled on what the night before left in it.
    """
    of_day, night = stands.tanks.get(tank.name), stands.overnight.get(tank.name)
    heel = of_day or night
    chemical = heel is not None and heel.chemical != "water"
    if heel is not None and chemical:
        dense = density_of(heel.chemical, heel.strength, 0.0) or per_water
        yield _known(
            LoadItem(
                what=f"{tank.name}: {heel.chemical}",
                kind="heel",
                mass=heel.volume * dense,
                chemical=heel.chemical,
                volume=heel.volume,
                strength=heel.strength,
                holds=tank.volume,
                tank=tank.name,
                apart=_kept_apart(job, heel.chemical) and kept_for(job, tank) == heel.chemical,
            ),
            heel.strength,
        )
        if of_day is not None:
            return
    under = heel.volume if heel is not None and chemical else 0.0
    if tank.holds == "water" or (tank.holds is None and tank.name not in mixed):
        volume = min(stands.water.get(tank.name, tank.volume), tank.volume) - under
    else:
        volume = heel.volume - under if heel is not None else 0.0
    if volume > 0.0:
        yield LoadItem(
            what=f"{tank.name}: water", kind="water", mass=volume * per_water, volume=volume, holds=tank.volume,
            tank=tank.name,
        )  # fmt: skip


def _kept_apart(job: JobInput, chemical: str) -> bool:
    carried = job.rig.carried
    return carried is not None and chemical in carried.apart


def _known(item: LoadItem, strength: float | None) -> LoadItem:
    """The item with what the road's rules make of it; a strength nobody knows is taken as strong."""
    of = CHEMICALS.get(item.chemical or "")
    row = of.listed if of is not None else None
    if row is None:
        return item
    listed = strength is None or strength >= row.least
    # Of a dry chemical, or one of unknown strength, all of it counts.
    pure = item.mass - item.tare if strength is None else item.volume * strength
    return replace(item, regulated=listed, counted=row.times * pure if listed else 0.0)


# ------------------------------------------------------------------------------------------------------ stock


@dataclass(frozen=True, slots=True, kw_only=True)
class _Taken:
    """So much of a lot loaded for a job, and so much of that used there: `volume` [m3], or `mass` [kg] of crystals."""

    what: str
    chemical: str
    lot: LotToday | None
    volume: float = 0.0
    used: float = 0.0
    mass: float = 0.0
    used_mass: float = 0.0


def _taken(plan: JobPlan) -> Iterator[_Taken]:
    """What each mix takes along: stock as the load-out list has it, and soap with its spare."""
    for mix in plan.mixes:
        if not mix.reachable:
            continue
        for share in mix.pours:
            if share.pull + share.pull_mass <= 0.0:
                # A heel that gives all of the batch: nothing of the lot rides.
                continue
            yield _Taken(
                what=share.lot.name,
                chemical=mix.chemical,
                lot=share.lot,
                volume=share.pull,
                used=min(share.stock, share.pull),
                mass=share.pull_mass,
                used_mass=share.mass,
            )
        if mix.stock_mass and not mix.pours:
            mass = mix.stock_mass
            yield _Taken(what=mix.chemical, chemical=mix.chemical, lot=None, mass=mass, used_mass=mass)
        for share in mix.soaps:
            yield _Taken(what=share.lot.name, chemical=SOAP, lot=None, volume=share.pull, used=share.stock)
        if mix.soap and not mix.soaps:
            loaded = mix.soap * (1.0 if mix.kind == "premix" else 1.0 + mix.spare_loaded)
            yield _Taken(what="soap", chemical=SOAP, lot=None, volume=loaded, used=mix.soap)


def _stock(plans: Sequence[JobPlan], before: int) -> list[LoadItem]:
    """Stock aboard when `before` jobs are done: all of what the rest takes, and what the others did not use."""
    lots = {lot.name: (plan.input, lot) for plan in plans for lot in plan.input.lots}
    loads: dict[tuple[str, str], list[tuple[_Taken, bool]]] = {}
    for place, plan in enumerate(plans):
        for taken in _taken(plan):
            loads.setdefault((taken.chemical, taken.what), []).append((taken, place < before))
    items = []
    for (_, what), all_of_it in loads.items():
        volume = sum(draw.volume - (draw.used if done else 0.0) for draw, done in all_of_it)
        mass = sum(draw.mass - (draw.used_mass if done else 0.0) for draw, done in all_of_it)
        loaded = sum(draw.volume for draw, _ in all_of_it)
        job, lot = lots.get(what, (plans[0].input, None))
        items.append(_of_lot(job, all_of_it[0][0], lot, max(volume, 0.0), max(mass, 0.0), loaded))
    return items


def _of_lot(job: JobInput, taken: _Taken, lot: Lot | None, volume: float, mass: float, loaded: float) -> LoadItem:
    """A lot as it rides: `volume` [m3] or `mass` [kg] of it left of the `loaded`, in containers that all ride on."""
    amounts = [lot.container, lot.on_hand] if lot is not None else []
    holds = next((amount.volume for amount in amounts if amount is not None and amount.volume), loaded or None)
    packages = transport.containers(loaded, holds) if loaded and holds else 1
    empty = packages * transport.tare(holds, tares()) if loaded and holds else 0.0
    strength = taken.lot.high if taken.lot is not None else None
    gross = volume * _lot_density(job, taken, lot) + mass + empty
    item = LoadItem(
        what=taken.what,
        kind="soap" if taken.chemical == SOAP else "stock",
        mass=gross,
        chemical=taken.chemical,
        volume=volume,
        tare=empty,
        strength=strength,
        holds=holds,
        packages=packages,
        apart=_kept_apart(job, taken.chemical),
    )
    return _known(item, strength if loaded else None)


def _lot_density(job: JobInput, taken: _Taken, lot: Lot | None) -> float:
    """Density [kg/m3] of a lot. What bleach loses in strength it does not lose in weight: its birth strength counts."""
    per_water = water_density(job.water.temperature)
    strength = taken.lot.high if taken.lot is not None else None
    caustic = lot.excess_caustic if lot is not None else 0.0
    if lot is not None and lot.strength is not None:
        born = active(lot.strength, taken.chemical, caustic)
        strength = max(born or 0.0, strength or 0.0) or None
    known = None if strength is None else density_of(taken.chemical, strength, caustic)
    of = CHEMICALS.get(taken.chemical)
    return known or (of.solution.heaviest if of is not None else None) or per_water


def _agents(plans: Sequence[JobPlan]) -> list[LoadItem]:
    """Dry neutralisers for leftovers, aboard all day."""
    carry: dict[str, float] = {}
    for plan in plans:
        for leftover in plan.neutralisers:
            carry[leftover.agent] = carry.get(leftover.agent, 0.0) + leftover.carry
    job = plans[0].input if plans else None
    return [
        LoadItem(
            what=agent, kind="neutraliser", mass=mass, chemical=agent,
            apart=job is not None and _kept_apart(job, agent),
        )
        for agent, mass in carry.items()
    ]  # fmt: skip


# ---------------------------------------------------------------------------------------------- what rides beside


def _beside(plan: JobPlan, leg: Leg) -> Iterator[Beside]:
    """Pairs that must not meet: this job's own chemicals, and what stands in tanks, with all that rides along.

    Each pair once.
    """
    own = {taken.what for taken in _taken(plan)}
    aboard = [item for item in leg.items if item.chemical is not None]
    found: dict[frozenset[str], list[tuple[LoadItem, LoadItem]]] = {}
    for first in aboard:
        if first.kind != "heel" and (first.kind != "stock" or first.what not in own):
            continue
        for second in aboard:
            if first.kind == "heel" and second.kind not in ("heel", "neutraliser"):
                # Stock beside a heel is this job's matter where the stock is its own: told with the stock first.
                continue
            if meets(str(first.chemical), str(second.chemical)).stops:
                found.setdefault(frozenset({str(first.chemical), str(second.chemical)}), []).append((first, second))
    for pairs in found.values():
        # The worst of them speaks: one that nothing keeps apart, and stock before a dry neutraliser.
        first, second = min(
            pairs, key=lambda pair: (_separate(*pair), pair[1].kind == "neutraliser", bool(pair[1].tank))
        )
        answer = meets(str(first.chemical), str(second.chemical))
        yield Beside(
            first=str(first.chemical),
            second=str(second.chemical),
            gives=answer.gives,
            heat_only=bool(answer.codes) and _HEAT.issuperset(answer.codes),
            agent=second.kind == "neutraliser",
            apart=_separate(first, second),
            tank=second.tank or "",
            other_tank=first.tank or "",
            cage=_cage(str(first.chemical), str(second.chemical)),
        )


def _cage(first: str, second: str) -> str:
    """Which of two gets the box: the acid, else what is no bleach, of which there is most."""
    acids = [one for one in (first, second) if one in ACIDS]
    return acids[0] if acids else first if second == BLEACH else second


def _separate(first: LoadItem, second: LoadItem) -> bool:
    """Whether either is written as riding apart."""
    return first.apart or second.apart
