"""Another order of a job's sides, where mix on one would dry too soon in the sun of the hour it has as written.

Only sides that may change places do (`sides_of` of hands/sections.py). Orders are compared by how long a film stays
wet on each side in the hours it would have; the best few are planned whole, and one is taken where by the plan itself
drying is less trouble and nothing else is more: clock, lines and tips to change, walls that stand too long, water.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from itertools import combinations, groupby, permutations
from math import ceil, inf
from typing import Final

from planner.inputs.joined import JobInput, Worked
from planner.inputs.tables.defaults import default
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import ChangeTip, Join
from planner.plan.sky.daylight import daylight
from planner.plan.sky.model import MovedSides
from planner.plan.water.drying import case_of, dries_in, sunless
from planner.plan.water.timing import Span

_MOST_SIDES: Final = 6
"""Sides of which every order is compared (our choice): 720; of more, each swap of two."""
_MOST_TRIED: Final = 3
"""Orders that are planned whole before the one that is so far the best is kept (our choice)."""
_RANKS: Final = {"at_once": 0, "fast": 1, "dries": 2, "keep_wet": 3, "supposed": 3, "supposed_heat": 3, "misted": 4}
"""Cases of drying that are trouble, the worst first."""
_HOUR: Final = 3600.0
_NOISE: Final = 1e-6  # s


_Cost = tuple[int, int, float]


def in_shade(written: JobPlan, planned: Callable[[JobInput], JobPlan]) -> JobPlan:
    """The plan with its sides in the order that dries the least, as `planned` makes it; as written if that is it."""
    best = written
    if daylight(written.input) is None or written.input.job.order == "written":
        return best
    tries = 0
    while tries < _MOST_TRIED:
        found = None
        for job in _orders(best)[: _MOST_TRIED - tries]:
            tries += 1
            tried = planned(job)
            if _lessens(tried, found or best):
                found = tried
        if found is None:
            break
        best = found
    return best if best is written else replace(best, moved=_moved(best, written))


def _orders(plan: JobPlan) -> list[JobInput]:
    """The job in orders that are likely to dry less, the best first, at a tie the one nearest to the plan's."""
    ranks = _ranks(plan)
    spans = [span for span in plan.time if span.start is not None and not span.road]
    # A wall that is come back to has no one hour to be moved from.
    names = [span.what for span in spans]
    begins = {span.what: span for span in spans if names.count(span.what) == 1}
    found: list[tuple[_Cost, tuple[str, ...], Worked | None]] = []
    for sides in plan.sides:
        if not any(name in ranks for name in sides) or not all(name in begins for name in sides):
            continue
        lasts, start = _lasts([begins[name] for name in sides])
        blocks = _blocks(plan, sides)
        kept = tuple(name for name in plan.input.sides or () if name not in sides)
        cost = _cost_of(plan, lasts, start)
        now = cost(sides)
        for tried in _arranged(blocks):
            order = tuple(name for block in tried for name in block)
            costs = cost(order) if _upper_first(plan, order, sides) else now
            if costs[:2] < now[:2]:
                found.append((costs, (*kept, *order), _worked(plan, _hours(order, lasts, start))))
    best = sorted(found, key=lambda one: one[0])[:_MOST_TRIED]
    return [replace(plan.input, sides=order, worked=worked) for _, order, worked in best]


def _arranged(blocks: Sequence[tuple[str, ...]]) -> Iterator[Sequence[tuple[str, ...]]]:
    if len(blocks) <= _MOST_SIDES:
        yield from permutations(blocks)
        return
    for one, other in combinations(range(len(blocks)), 2):
        tried = list(blocks)
        tried[one], tried[other] = tried[other], tried[one]
        yield tried


def _blocks(plan: JobPlan, sides: Sequence[str]) -> list[tuple[str, ...]]:
    """Walls by the side they are on, where one follows the other."""
    faces = {surface.name: surface.faces for surface in plan.input.surfaces}
    return [tuple(of) for _, of in groupby(sides, key=lambda name: faces[name])]


def _upper_first(plan: JobPlan, order: Sequence[str], sides: Sequence[str]) -> bool:
    """Whether walls on one side follow each other as they did: what is above is rinsed before what is below."""
    faces = {surface.name: surface.faces for surface in plan.input.surfaces}
    return all(
        order.index(one) < order.index(other) for one, other in combinations(sides, 2) if faces[one] == faces[other]
    )


def _lasts(spans: Sequence[Span]) -> tuple[dict[str, float], float]:
    """How long each of these walls takes until the next is begun [s], and when the first is."""
    starts = [span.start or 0.0 for span in spans]
    ends = [*starts[1:], starts[-1] + spans[-1].seconds]
    return {span.what: end - start for span, start, end in zip(spans, starts, ends, strict=True)}, starts[0]


def _hours(order: Sequence[str], lasts: Mapping[str, float], begins: float) -> Iterator[tuple[str, range]]:
    """The hours each wall would be worked in, one after another."""
    for name in order:
        until = begins + lasts[name]
        yield name, range(int(begins // _HOUR), ceil(until / _HOUR))
        begins = until


def _worked(plan: JobPlan, walls: Iterable[tuple[str, range]]) -> Worked | None:
    """The plan's hours, with those of these walls in another order."""
    worked, hours = plan.input.worked, {name: frozenset(of) for name, of in walls}
    return replace(worked, walls={**worked.walls, **hours}) if worked is not None else None


def _cost_of(plan: JobPlan, lasts: Mapping[str, float], begins: float) -> Callable[[Sequence[str]], _Cost]:
    """What an order comes to: walls nobody keeps wet, walls to be wetted again, and less for staying wet longer."""
    job = plan.input
    work = {row.surface.name: row for row in plan.work if row.apply > 0.0}

    @cache
    def wet(name: str, hour: int) -> float:
        """How long a film stays wet on a wall in an hour [s], as far as that matters."""
        surface = work[name].surface
        films = [dries_in(job, mix, surface, [hour]) for mix in plan.mixes if name in mix.surfaces]
        return min((one.low for one in films if one is not None), default=inf)

    def cost(order: Sequence[str]) -> _Cost:
        fast, short, stays = 0, 0, 0.0
        for name, hours in _hours(order, lasts, begins):
            row = work.get(name)
            if row is not None and row.surface.rinse == "now":
                low = min(wet(name, hour) for hour in hours)
                fast += low < job.limits["dries_stop"]
                short += low < row.surface.row["dwell"][0] + default("mist_least")
                stays += min(low, row.surface.row["dwell_bound"])
        return fast, short, -stays

    return cost


def _ranks(plan: JobPlan) -> dict[str, int]:
    """How much trouble the drying of each wall is, 0 the most; none where it is none."""
    found: dict[str, int] = {}
    for work in plan.work:
        rank = _RANKS.get(case_of(plan.input, work, plan.mixes)) if work.apply > 0.0 else None
        if rank is not None:
            found[work.surface.name] = min(rank, found.get(work.surface.name, rank))
    return found


def _lessens(plan: JobPlan, than: JobPlan) -> bool:
    """Whether drying is less trouble in a plan, and nothing is more.

    Of an order in which mix on more walls is dry at once, which nobody may wash in, the clock is no measure.
    """
    after, before = _trouble(plan), _trouble(than)
    costs = list(zip(_costs(plan), _costs(than), strict=True))
    timely = after[0] < before[0] or _seconds(plan) <= _seconds(than) + _NOISE
    return after < before and timely and all(now <= was for now, was in costs)


def _trouble(plan: JobPlan) -> tuple[int, ...]:
    """How many walls are in each trouble with drying, the worst first."""
    ranks = list(_ranks(plan).values())
    return tuple(ranks.count(rank) for rank in range(max(_RANKS.values()) + 1))


def _seconds(plan: JobPlan) -> float:
    return sum(span.seconds for span in plan.time)


def _costs(plan: JobPlan) -> tuple[int, int, int]:
    """Walls on which mix stands too long, tanks that run dry, lines and tips to join and change."""
    acts = plan.procedure.acts if plan.procedure is not None else ()
    tanks = plan.supply.tanks if plan.supply is not None else ()
    return (
        len(plan.procedure_misfits),
        sum(tank.dry is not None for tank in tanks),
        sum(isinstance(act.detail, Join | ChangeTip) for act in acts),
    )


def _moved(plan: JobPlan, written: JobPlan) -> MovedSides:
    """What is told of the move: the wall it helps most."""
    order = tuple(name for sides in plan.sides for name in sides)
    before, after = _ranks(written), _ranks(plan)
    none = len(_RANKS)
    wall = max(order, key=lambda name: after.get(name, none) - before.get(name, none))
    was = [name for sides in written.sides for name in sides]
    lows = [
        min((row.dries.low for row in one.work if row.surface.name == wall and row.dries is not None), default=inf)
        for one in (plan, written)
    ]
    span = next(span for span in plan.time if span.what == wall and not span.road)
    surface, begins = next(one for one in plan.input.surfaces if one.name == wall), span.start or 0.0
    return MovedSides(
        order=next(sides for sides in plan.sides if wall in sides), wall=wall, low=lows[0], written=lows[1],
        sooner=order.index(wall) < was.index(wall), shade=sunless(plan.input, surface, begins, begins + span.seconds),
    )  # fmt: skip
