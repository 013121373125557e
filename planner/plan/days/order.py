"""Another order of a day's jobs that would stop less, or flush less between chemistries.

Every order is tried up to seven jobs; of more, two are swapped at a time while that makes it better.  How a job does
after what went before is asked of whoever plans it: here orders are only compared.  Drives are kept with their jobs,
because nobody wrote the roads between them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations, pairwise, permutations
from typing import Final, Generic, TypeVar

from planner.frozen import dataclass

MOST_TRIED: Final = 7
"""Jobs of which every order is tried (our choice): 5,040 of them."""

_GALLON: Final = 231 * 0.0254**3
_MINUTE: Final = 60.0
WORTH: Final = 1.0
"""A change of order that saves less than a gallon and a minute together is not told (our choice)."""

State = TypeVar("State")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Generic[State]):
    """One job done after others: `stops` it is held by, `volume` [m3] and `seconds` [s] flushed before its mixes.

    `after` is the rig as the job leaves it.
    """

    stops: int
    volume: float
    seconds: float
    after: State


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What an order comes to: stops before anything else, then a gallon as much as a minute (our choice)."""

    stops: int
    volume: float
    seconds: float

    @property
    def rank(self) -> tuple[int, float]:
        """What orders are compared by: stops, then gallons and minutes added."""
        return self.stops, self.volume / _GALLON + self.seconds / _MINUTE


@dataclass(frozen=True, slots=True, kw_only=True)
class BetterOrder:
    """An order better than the one written: ids in it, and what it saves. `earlier` before `later` is what changes.

    `stops` fewer, `volume` [m3] and `seconds` [s] less to flush between chemistries; less than 0: more.
    """

    order: tuple[str, ...]
    earlier: str
    later: str
    stops: int
    volume: float
    seconds: float


def cost_of(order: Sequence[str], start: State, step: Callable[[str, State], Step[State]]) -> Cost:
    """What the jobs of these ids come to in this order, from the rig as it stands at the `start` of the day."""
    stops, volume, seconds, state = 0, 0.0, 0.0, start
    for job in order:
        done = step(job, state)
        stops, volume, seconds = stops + done.stops, volume + done.volume, seconds + done.seconds
        state = done.after
    return Cost(stops=stops, volume=volume, seconds=seconds)


def better_order(
    order: Sequence[str], start: State, step: Callable[[str, State], Step[State]], fixed: frozenset[str] = frozenset()
) -> BetterOrder | None:
    """The best other order of the day's jobs, None where the one written is as good. Ids in `fixed` keep their places.

    At a tie the order nearest to the one written, as sorted by its places, is kept.
    """
    written = cost_of(order, start, step)
    if written.rank <= (0, 0.0):
        return None
    best, found = written, tuple(order)
    if sum(job not in fixed for job in order) <= MOST_TRIED:
        for tried in _orders(order, fixed):
            cost = cost_of(tried, start, step)
            if _less(cost, best):
                best, found = cost, tried
    else:
        best, found = _swapped(order, start, step, fixed, written)
    worth = best.stops < written.stops or written.rank[1] - best.rank[1] >= WORTH
    if found == tuple(order) or not worth:
        return None
    earlier, later = _moved(order, found)
    return BetterOrder(
        order=found,
        earlier=earlier,
        later=later,
        stops=written.stops - best.stops,
        volume=written.volume - best.volume,
        seconds=written.seconds - best.seconds,
    )


def _less(cost: Cost, than: Cost) -> bool:
    """Whether a cost is less by more than floating-point noise."""
    return cost.stops < than.stops or (cost.stops == than.stops and cost.rank[1] < than.rank[1] - 1e-6)


def _orders(order: Sequence[str], fixed: frozenset[str]) -> list[tuple[str, ...]]:
    """Every order, with what is fixed in its place, the nearest to the one written first."""
    free = [place for place, job in enumerate(order) if job not in fixed]
    orders = []
    for places in permutations(free):
        tried = list(order)
        for place, of in zip(free, places, strict=True):
            tried[place] = order[of]
        orders.append(tuple(tried))
    return orders


def _swapped(
    order: Sequence[str],
    start: State,
    step: Callable[[str, State], Step[State]],
    fixed: frozenset[str],
    written: Cost,
) -> tuple[Cost, tuple[str, ...]]:
    """The order after swapping two jobs again and again, always the swap that helps most."""
    free = [place for place, job in enumerate(order) if job not in fixed]
    best, found = written, tuple(order)
    while True:
        now = found
        for one, other in combinations(free, 2):
            tried = list(now)
            tried[one], tried[other] = tried[other], tried[one]
            cost = cost_of(tried, start, step)
            if _less(cost, best):
                best, found = cost, tuple(tried)
        if found == now:
            return best, found


def _moved(order: Sequence[str], found: Sequence[str]) -> tuple[str, str]:
    """A job that now comes earlier and the one it then comes just before, which it followed as written."""
    for earlier, later in pairwise(found):
        if order.index(earlier) > order.index(later):
            return earlier, later
    return found[0], found[-1]
