"""What is done again and again, told once: acts in order with each stretch that repeats itself as one."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence

from planner.frozen import dataclass
from planner.plan.procedure.acts import Act

_LONGEST = 24  # acts in what is repeated


@dataclass(frozen=True, slots=True, kw_only=True)
class Fold:
    """Acts done `times` times one after another: of each act in it all its repeats."""

    times: int
    acts: tuple[tuple[Act, ...], ...]


def folded(
    acts: Sequence[Act], same: Callable[[Act], Hashable], starts: Callable[[Act], bool] = lambda _: False, *,
    within: bool = False,
) -> list[Fold]:  # fmt: skip
    """Acts in order, what repeats itself as one: the shortest stretch that covers the most.

    `same` is equal for two acts that paper says alike; sections must go up one by one, or stay the same where what is
    done `within` one may be folded. A stretch that can as well begin
    a little later does so where that act `starts` something.
    """
    said = [same(act) for act in acts]
    made: list[Fold] = []
    at = 0
    while at < len(acts):
        long, times = _best(acts, said, at, within)
        if times > 1 and not starts(acts[at]):
            later = next((n for n in range(at + 1, at + long) if starts(acts[n])), None)
            if later is not None and _best(acts, said, later, within) == (long, times):
                made += [Fold(times=1, acts=((act,),)) for act in acts[at:later]]
                at = later
        rows = tuple(tuple(acts[at + n + turn * long] for turn in range(times)) for n in range(long))
        made.append(Fold(times=times, acts=rows))
        at += long * times
    return made


def _best(acts: Sequence[Act], said: Sequence[Hashable], at: int, within: bool) -> tuple[int, int]:
    """Length and number of the repeats that begin here; 1, 1 where nothing is repeated."""
    best = (1, 1)
    for long in range(1, min(_LONGEST, (len(acts) - at) // 2) + 1):
        times = 1
        while said[at + times * long : at + (times + 1) * long] == said[at : at + long]:
            times += 1
        if times > 1 and _evenly(acts[at : at + long * times], long, within) and long * times > best[0] * best[1]:
            best = (long, times)
    return best


def _evenly(acts: Sequence[Act], long: int, within: bool) -> bool:
    """Whether the sections go up by one from turn to turn, or stay the same `within` one."""
    steps = [
        after.section.number - before.section.number
        for before, after in zip(acts, acts[long:], strict=False)
        if before.section is not None and after.section is not None
    ]
    return set(steps) <= {1} or (within and set(steps) == {0})
