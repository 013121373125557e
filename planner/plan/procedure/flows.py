"""What the acts move: every volume from where, into what, over which seconds, and as which use its water counts.

A spray takes its feed's part of what leaves the dosing, evenly while the gun is open; fills, pours, drains and beds
run evenly over their act.  A walk comes first in its act, as the crew's clock has it (book.py).  What an act sets
holds from its end, so a spray is cut where feed or dosing change under it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from itertools import pairwise
from operator import itemgetter
from typing import Final, Literal

from planner.frozen import dataclass
from planner.plan.procedure.acts import (
    Act,
    Drain,
    Draw,
    DrawFrom,
    Fill,
    Pour,
    Power,
    Procedure,
    SetDosing,
    Spray,
    WaterBed,
)
from planner.plan.procedure.book import named_run

WaterUse = Literal["pre_wet", "line", "test", "mix", "rinse", "clean", "flush", "beds"]

_AT_RIG: Final = frozenset({"desk", "rig", "drums", "reel", "bench"})
_AT_ONCE: Final = 1e-6
"""Moments [s] nearer than this are one: what is done at its start is done before it."""

_PLAIN: Final[Mapping[str, WaterUse]] = {
    "wet": "pre_wet", "mix": "pre_wet", "rinse": "rinse", "clean": "clean", "test": "test", "line": "line",
    "flush": "flush",
}  # fmt: skip
"""Water with the stock shut; what leaves the tip as mix meanwhile is pushed out by water that wets after it."""

_NO_WALKS: Final[Mapping[str, float]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """So much `volume` [m3] from `source` into `into`, evenly over `seconds` from `start` [s].

    `use`: what it counts as among the water of the job; None of what is no water from outside, or fills a clean tank,
    out of which it counts. `instead`: it came out of a vessel whose filling has counted it as that use already. A place
    is empty where no act names one.
    """

    act: Act
    start: float
    seconds: float
    source: str
    into: str
    volume: float
    use: WaterUse | None
    instead: WaterUse | None = None

    @property
    def end(self) -> float:
        """When it stops [s]."""
        return self.start + self.seconds

    @property
    def drained(self) -> bool:
        """It runs out at the bottom: a pump's suction leaves what stands below its outlet."""
        return isinstance(self.act.detail, Drain)


# ---------------------------------------------------------------------------------------------------- the walks


@dataclass(slots=True)
class _Person:
    place: str = "rig"
    away: float = 0.0


def walks_of(procedure: Procedure, lengths: Mapping[str, float], pace: float) -> Mapping[str, float]:
    """The walk [s] that comes first in each act, by its id: `lengths` [m] of each run's hoses, at `pace` [m/s].

    Between rig and wall lies the run's whole hose, the shortest where an act names no run; of two people the longer.
    """
    crew = {"lead": _Person(), "second": _Person()}
    both, shortest = list(crew.values()), min(lengths.values(), default=0.0)
    found = {}
    for act in procedure.acts:
        if act.who == "both":
            found[act.id] = max(_walked(person, act, lengths, shortest, pace) for person in both)
        else:
            found[act.id] = _walked(crew[act.who], act, lengths, shortest, pace)
    return found


def _walked(person: _Person, act: Act, lengths: Mapping[str, float], shortest: float, pace: float) -> float:
    if act.at == "grounds":
        person.away += act.lasts
        return 0.0
    place = "rig" if act.at in _AT_RIG else "wall"
    walk = 0.0
    if place != person.place:
        run = named_run(act.detail, lengths)
        far = lengths[run] if run is not None and run in lengths else shortest
        walk = max(far / pace - person.away, 0.0)
    person.place, person.away = place, 0.0
    return walk


# ---------------------------------------------------------------------------------------------------- the flows


@dataclass(slots=True, kw_only=True)
class _Vessels:
    """Which tanks are `mixed` in, or begin with anything but water: their water counts when they are filled.

    `stocked` are those that hold a chemical now; `paid` is what was filled into each [m3] and has counted, by use.
    """

    tanks: frozenset[str]
    poured: frozenset[str]
    mixed: frozenset[str]
    stocked: set[str]
    paid: dict[str, tuple[WaterUse, float]] = field(default_factory=dict)

    @classmethod
    def of(cls, procedure: Procedure) -> _Vessels:
        """As they stand before the first act."""
        tanks = procedure.begin.tanks
        foul = {name for name, held in tanks.items() if held.stock not in ("water", "air")}
        poured = frozenset(act.detail.into for act in procedure.acts if isinstance(act.detail, Pour))
        stocked = {name for name in foul if tanks[name].stock != "unknown"}
        return cls(tanks=frozenset(tanks), poured=poured, mixed=poured | foul, stocked=stocked)

    def fill(self, act: Act, fill: Fill) -> WaterUse | None:
        """What water into a vessel counts as; None into a clean tank, and out of what counted already."""
        use = self._filled(act, fill.into)
        if use == "flush":
            self.stocked.discard(fill.into)
        if use is None or fill.source in self.mixed:
            return None
        self.paid[fill.into] = (use, self.paid.get(fill.into, (use, 0.0))[1] + fill.volume)
        return use

    def _filled(self, act: Act, into: str) -> WaterUse | None:
        if into.startswith("jug "):
            return "mix"
        if into.startswith("pail "):
            return "test" if act.phase in ("set_up", "test") else "flush"
        if into == "tub" and into not in self.tanks:
            return "mix" if act.phase == "mix" else "rinse"
        if into not in self.mixed:
            return None
        return "mix" if into in self.poured and act.phase not in ("flush_first", "flush") else "flush"

    def take(self, place: str, volume: float) -> tuple[WaterUse | None, float]:
        """As what, and how much of it [m3], water that is drawn out of a vessel has counted."""
        use, paid = self.paid.get(place, (None, 0.0))
        taken = min(paid, volume)
        if use is not None:
            self.paid[place] = (use, paid - taken)
        return (use, taken) if taken > 0.0 else (None, 0.0)


def flows(procedure: Procedure, walks: Mapping[str, float] = _NO_WALKS) -> tuple[Flow, ...]:
    """Everything the acts move, in their order."""
    acts, vessels = procedure.acts, _Vessels.of(procedure)
    lines = _lines(acts)
    found: list[Flow] = []
    for act in acts:
        detail = act.detail
        start, seconds = _running(act, walks)
        if isinstance(detail, Spray):
            found.extend(_sprayed(act, detail, start, seconds, lines.get(detail.run, _Line()), vessels))
            continue
        moved = _moved(act, vessels)
        if moved is not None:
            source, into, volume, use = moved
            flow = Flow(act=act, start=start, seconds=seconds, source=source, into=into, volume=volume, use=use)
            found.append(flow)
    return tuple(found)


def _running(act: Act, walks: Mapping[str, float]) -> tuple[float, float]:
    """From when, and for how long, what an act moves runs: all of it where no walk fits into it."""
    walk = walks.get(act.id, 0.0)
    if walk <= 0.0 or walk >= act.lasts - _AT_ONCE:
        return act.start, act.lasts
    return act.start + walk, act.lasts - walk


def _moved(act: Act, vessels: _Vessels) -> tuple[str, str, float, WaterUse | None] | None:
    """From where, into what, how much, counting as what; None of an act that moves nothing, or only dry stock."""
    match act.detail:
        case Fill() as one:
            return one.source, one.into, one.volume, vessels.fill(act, one)
        case Pour() as one:
            vessels.stocked.add(one.into)
            vessels.paid.pop(one.into, None)
            return None if one.volume is None else (one.lot, one.into, one.volume, None)
        case Drain() as one:
            vessels.take(one.source, one.volume)
            return one.source, one.to, one.volume, None
        case WaterBed() as one:
            return one.source, one.bed, one.volume, None if one.source in vessels.mixed else "beds"
    return None


@dataclass(slots=True)
class _Line:
    """What a run's suction and dosing stand on, each from a moment [s] on."""

    feeds: list[tuple[float, str]] = field(default_factory=list)
    draws: list[tuple[float, tuple[Draw, ...]]] = field(default_factory=list)

    def feed(self, moment: float) -> str:
        """Where its suction is; empty before it was put anywhere."""
        at = _before(self.feeds, moment)
        return self.feeds[at - 1][1] if at else ""

    def drawn(self, moment: float) -> tuple[Draw, ...]:
        """What its dosing draws."""
        at = _before(self.draws, moment)
        return self.draws[at - 1][1] if at else ()

    def changes(self, start: float, end: float) -> set[float]:
        """When either changes between two moments."""
        return {
            since
            for rows in (self.feeds, self.draws)
            for since, _ in rows[_before(rows, start) : bisect_left(rows, end - _AT_ONCE, key=itemgetter(0))]
        }


def _before(rows: Sequence[tuple[float, object]], moment: float) -> int:
    """How many of the rows, in order of time, are from this moment or before it."""
    return bisect_right(rows, moment + _AT_ONCE, key=itemgetter(0))


def _lines(acts: Sequence[Act]) -> Mapping[str, _Line]:
    lines: dict[str, _Line] = {}
    for act in sorted(acts, key=lambda one: one.end):
        match act.detail:
            case DrawFrom(run=run, feed=feed):
                lines.setdefault(run, _Line()).feeds.append((act.end, feed))
            case SetDosing(run=run, draws=draws):
                lines.setdefault(run, _Line()).draws.append((act.end, draws))
    return lines


def _sprayed(
    act: Act, spray: Spray, start: float, seconds: float, line: _Line, vessels: _Vessels
) -> Iterator[Flow]:  # fmt: skip
    """A spray's water, cut where its feed or dosing changes, or where what has counted already is used up."""
    end = start + seconds
    inside = line.changes(start, end)
    edges = [start, *sorted(inside), end]
    for left, right in pairwise(edges):
        draws, feed = line.drawn(left), line.feed(left)
        # Uncut it is the whole of it, to the last digit.
        part = (right - left) / seconds if inside else 1.0
        water = spray.volume * part * (1.0 - sum(draw.share for draw in draws))
        use = None if feed in vessels.stocked else _use(spray, draws)
        fill, counted = vessels.take(feed, water) if use is not None else (None, 0.0)
        middle = left + (right - left) * (counted / water if water > 0.0 else 0.0)
        # Nothing is in a pail or mix tank that did not count when it was filled.
        fresh = None if feed in vessels.mixed or feed.startswith("pail ") else use
        for since, until, volume, counts, instead in (
            (left, middle, counted, use, fill),
            (middle, right, water - counted, fresh, None),
        ):
            if volume > 0.0:
                yield Flow(
                    act=act, start=since, seconds=until - since, source=feed, into="", volume=volume, use=counts,
                    instead=instead,
                )  # fmt: skip


def _use(spray: Spray, draws: tuple[Draw, ...]) -> WaterUse:
    """What a spray's water counts as."""
    if any(not draw.source.startswith("pail ") for draw in draws):
        return "mix"
    return _PLAIN[spray.use]


# ---------------------------------------------------------------------------------------------------- pump and gun


def gun_seconds(procedure: Procedure) -> Mapping[str, Mapping[str, float]]:
    """How long each run's gun is open [s], by what leaves its tip."""
    found: dict[str, dict[str, float]] = {}
    for act in procedure.acts:
        if isinstance(act.detail, Spray):
            run = found.setdefault(act.detail.run, {})
            run[act.detail.use] = run.get(act.detail.use, 0.0) + act.detail.seconds
    return found


def power_seconds(procedure: Procedure) -> Mapping[str, float]:
    """How long each pump that is switched has power [s]."""
    found: dict[str, float] = {}
    since: dict[str, float] = {}
    for act in sorted(procedure.acts, key=lambda one: one.end):
        if not isinstance(act.detail, Power):
            continue
        pump = act.detail.pump
        found.setdefault(pump, 0.0)
        if act.detail.on:
            since.setdefault(pump, act.end)
        elif pump in since:
            found[pump] += act.end - since.pop(pump)
    for pump, moment in since.items():
        found[pump] += procedure.ends - moment
    return found
