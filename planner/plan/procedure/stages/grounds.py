"""What the second does between the calls: beds, jugs, tank fills, each laid into the time that is free.

Fills and beds share the tap, so that one of them runs at a time, and none while a run draws the tap itself.  A tank
that fills holds nobody: it takes hands to open, and runs until the tap is wanted or the tank is full.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterable, Sequence
from itertools import islice
from math import inf
from operator import itemgetter
from typing import Final

from planner.plan.procedure.acts import Act, At, Fill, Procedure, Spray, State, WaterBed
from planner.plan.procedure.book import Book, Draft
from planner.plan.procedure.flows import Flow, flows, walks_of
from planner.plan.procedure.hands.fills import LEAST_FILL, ROOM
from planner.plan.procedure.stages.wash import Wash
from planner.plan.procedure.totals import standings, together
from planner.plan.water.tap import filler_of, usual_flow, water_tank

_BACK: Final = 15.0
"""Beds are done so long [s] before somebody is wanted at the rig (our choice)."""

_LEAST: Final = 20.0
"""A shorter while [s] is left alone (our choice)."""

_BREATH: Final = 1.0
"""Once too little is owed, it is looked at again so long [s] after it is enough (our choice)."""

_EARLY: Final = 0.6
_LATE: Final = 0.9
"""Beds are watered between these shares of the longest they may wait (our choice)."""

Times = list[tuple[float, float]]


def lay_in(book: Book, wash: Wash, begin: State) -> None:
    """The beds' water while mix is out, and what else waits, into the second's free time until now."""
    if book.second is None:
        return
    now = book.lead.now
    busy = _busy(book)
    for chore in wash.chores:
        window = next((one for one in without([(chore.after, now)], busy) if one[1] - one[0] >= chore.seconds), None)
        start = window[0] if window is not None else now
        book.drafts.append(
            Draft(
                phase="grounds", who="second", at=chore.at, detail=chore.detail, start=start, lasts=chore.seconds
            )
        )  # fmt: skip
        busy.append((start, start + chore.seconds))
        now = max(now, start + chore.seconds)
    if book.asked.beds is not None:
        # While two guns are sprayed at once the beds get theirs as acts of that.
        _beds(book, begin, [*busy, *wash.paired])
    book.second.now = max(book.second.now, now)


def fill_tank(book: Book, begin: State) -> None:
    """The water tank filled whenever there is room, the tap is free and somebody has hands to open it."""
    tank = water_tank(book.job)
    filler = filler_of(book.job, tank)
    if tank is None or filler is None or book.second is None or not filler.flow() > 0.0:
        return
    _, moved = _moved(book, begin)
    held = begin.tanks.get(tank.name)
    level = min(held.volume, tank.volume) if held is not None and held.volume is not None else tank.volume
    rate, hands = filler.flow(), book.minutes["fill_hands"]
    free = min(max(ROOM * tank.volume, LEAST_FILL * rate), tank.volume)
    end = max(draft.end for draft in book.drafts)
    tap_busy = _tap_times(moved)
    standing = _Level(tank.name, level, [flow for flow in moved if tank.name in (flow.source, flow.into)])
    source = book.outside() or "tap"
    arrived = next((draft.start for draft in book.drafts if draft.phase in ("set_up", "flush_first", "wash")), end)
    # Nothing runs into it while it is rinsed.
    arrived = max((draft.end for draft in book.drafts if _washes_out(draft, tank.name)), default=arrived)
    stood = sorted(
        ((draft.start, draft.at) for draft in book.drafts if draft.who != "lead" and draft.at != "grounds"),
        key=itemgetter(0),
    )
    for start, until in without([(arrived, end)], _busy(book)):
        if _away(stood, start):
            continue
        at = start
        while until - at >= hands:
            coming = bisect_left(tap_busy, at - 1e-6, key=itemgetter(0))
            stop = tap_busy[coming][0] if coming < len(tap_busy) else end
            begun = bisect_right(tap_busy, at, key=itemgetter(0))
            inside = next((to for _, to in tap_busy[begun - 1 :: -1] if at < to), None) if begun else None
            if inside is not None:
                at = inside
                continue
            if tank.volume - standing.at(at) < free and not standing.falls(at, rate):
                later = standing.when_below(at, until - hands, tank.volume - free)
                if later is None:
                    break
                at = later + 1.0
                continue
            seconds = standing.room(at, stop, rate, tank.volume)
            if seconds < LEAST_FILL - 1e-6:
                at = max(at + LEAST_FILL, stop)
                continue
            volume = seconds * rate
            book.drafts.append(
                Draft(
                    phase="grounds", who="second", at="rig", start=at, lasts=seconds, hands=min(hands, seconds),
                    detail=Fill(into=tank.name, source=source, volume=volume),
                )
            )  # fmt: skip
            tap_busy = sorted([*tap_busy, (at, at + seconds)])
            standing.add(at, at + seconds, rate)
            at += max(seconds, hands)


def _washes_out(draft: Draft, tank: str) -> bool:
    """Whether it fills, swills or drains a tank that is flushed before the work."""
    places = (getattr(draft.detail, key, None) for key in ("into", "source", "tank"))
    return draft.phase == "flush_first" and tank in places


def _beds(book: Book, begin: State, busy: Times) -> None:
    beds = book.asked.beds
    assert beds is not None
    acts, moved = _moved(book, begin)
    shut = [*busy, *(_tap_times(moved) if book.outside() is not None else [])]
    # What nobody rinses stays on its wall, and drips, until the work is over.
    rinsed = {act.section.surface for act in acts.acts if act.section is not None and _rinses(act)}
    times = [
        (standing.start, standing.off if standing.surface in rinsed else max(standing.off, book.lead.now))
        for standing in standings(acts, moved)
    ]
    had = [draft for draft in book.drafts if isinstance(draft.detail, WaterBed)]
    given = [draft.end for draft in had]
    for out, off in together(times):
        # The second is back before the next call.
        free = [(start, until if until >= off else until - _BACK) for start, until in without([(out, off)], shut)]
        windows = [one for one in free if one[1] - one[0] >= _LEAST]
        done = len(had)
        _water(book, windows, out, off, given, had, beds_soon=False)
        if _between(had, out, off) < beds.each * ((off - out) / beds.every - 1.0):
            # Whiles too short for all they are owed: each that is free is taken.
            del had[done:]
            _water(book, windows, out, off, given, had, beds_soon=True)
        book.drafts += had[done:]


def _water(
    book: Book, windows: Times, out: float, off: float, given: Sequence[float], had: list[Draft], *, beds_soon: bool
) -> None:
    """The beds watered in the second's free `windows` while mix is out, behind what they `had`.

    `beds_soon`: in each of them, whatever is owed.
    """
    beds, tap = book.asked.beds, book.outside()
    assert beds is not None
    last, flow = out, book.tap or usual_flow(book.job)
    for number, (start, until) in enumerate(windows):
        follows = windows[number + 1][0] if number + 1 < len(windows) else off
        last = max([last, *(one for one in given if one <= start)])
        at = start
        while until - at >= _LEAST:
            due, whole = last + _EARLY * beds.every, beds.each / flow
            if beds_soon:
                # Once in each while that is free, as late as it allows: more is owed then, and it is one walk.
                due = at = max(at, min(until - whole, due))
            if at < due and due + whole <= until:
                at = due
            elif at < due and follows - last <= _LATE * beds.every:
                break
            elif at < due:
                at = max(at, until - whole)
            # Never more than their rate since mix went out; what a short while left of it comes with the next.
            owed, least = beds.each * (at - out) / beds.every - _between(had, out, at), 0.1 * beds.each
            if owed < least and at < last + _EARLY * beds.every:
                # Nothing much is owed yet; who has waited gets a little all the same.
                at = min(at + (least - owed) * beds.every / beds.each, last + _EARLY * beds.every) + _BREATH
                continue
            volume = min(beds.each, max(owed, least), (until - at) * flow)
            if volume < least:
                break
            bed = WaterBed(bed="flower_beds", source=tap or book.source(), volume=volume)
            had.append(Draft(phase="grounds", who="second", at="grounds", detail=bed, start=at, lasts=volume / flow))
            last = at
            at += volume / flow


def _between(waterings: Iterable[Draft], since: float, until: float) -> float:
    """What the beds were given [m3] by waterings that began between two moments [s]."""
    return sum(
        draft.detail.volume
        for draft in waterings
        if isinstance(draft.detail, WaterBed) and since <= draft.start < until
    )


def _rinses(act: Act) -> bool:
    return isinstance(act.detail, Spray) and act.detail.use == "rinse"


def _moved(book: Book, begin: State) -> tuple[Procedure, tuple[Flow, ...]]:
    """The acts so far, and what they move."""
    procedure = Procedure(acts=book.acts(), begin=begin, end=begin)
    lengths = {line.name: line.length for line in book.lines.values()}
    return procedure, flows(procedure, walks_of(procedure, lengths, book.minutes["walk_pace"]))


def _away(stood: Sequence[tuple[float, At]], moment: float) -> bool:
    """Whether the second stands at a wall then, and would have to walk; `stood`: from when he was where."""
    before = bisect_left(stood, moment, key=itemgetter(0))
    return before > 0 and stood[before - 1][1] == "wall"


def _busy(book: Book) -> Times:
    """When the second has no hands free."""
    return [
        (draft.start, draft.start + (draft.lasts if draft.hands is None else draft.hands))
        for draft in book.drafts
        if draft.who != "lead"
    ]


def _tap_times(moved: Iterable[Flow]) -> Times:
    """When water runs out of the tap; a gun that draws it has all of it from its act's start to its end."""
    times = [
        (flow.act.start, flow.act.end) if isinstance(flow.act.detail, Spray) else (flow.start, flow.end)
        for flow in moved
        if flow.source in ("tap", "hydrant")
    ]
    return sorted(times)


def without(times: Sequence[tuple[float, float]], busy: Sequence[tuple[float, float]]) -> Times:
    """What of `times` is not `busy`, in order."""
    free: Times = []
    taken = sorted(busy)
    for since, until in times:
        at = since
        for start, end in taken:
            if end <= at:
                continue
            if start >= until:
                break
            if start > at:
                free.append((at, start))
            at = end
        if at < until:
            free.append((at, until))
    return free


class _Level:
    """What stands in a tank over time, as the acts draw on it [s, m3]."""

    def __init__(self, tank: str, level: float, moved: Sequence[Flow]) -> None:
        self._changes: list[tuple[float, float]] = []
        self._level = level
        self._known: list[tuple[float, float, float, float]] = []
        for flow in moved:
            if flow.seconds > 0.0:
                sign = 1.0 if flow.into == tank else -1.0
                rate = sign * flow.volume / flow.seconds
                self._changes += [(flow.start, rate), (flow.end, -rate)]
        self._changes.sort()

    def add(self, start: float, end: float, rate: float) -> None:
        """Something more that runs in [m3/s], or out below 0."""
        # What is known of the time before it stays as it is.
        del self._known[bisect_left(self._changes, (start, rate)) :]
        insort(self._changes, (start, rate))
        insort(self._changes, (end, -rate))

    def _pieces(self, since: float) -> Iterable[tuple[float, float, float, float]]:
        """From, to, the level then, its slope, for all that ends after `since` [s]."""
        while not self._known or self._known[-1][1] <= since:
            self._known.append(self._next())
        place = bisect_right(self._known, since, key=itemgetter(1))
        while place < len(self._known) or self._known[-1][1] < inf:
            if place == len(self._known):
                self._known.append(self._next())
            yield self._known[place]
            place += 1

    def _next(self) -> tuple[float, float, float, float]:
        """The piece behind those that are known."""
        number = len(self._known)
        until = self._changes[number][0] if number < len(self._changes) else inf
        if not self._known:
            return -inf, until, self._level, 0.0
        since, moment, level, rate = self._known[-1]
        level += rate * (moment - since) if since > -inf else 0.0
        return moment, until, level, rate + self._changes[number - 1][1]

    def at(self, moment: float) -> float:
        """What stands in it."""
        for start, _, level, rate in self._pieces(moment):
            return level if start == -inf else level + rate * (moment - start)
        return self._level

    def falls(self, moment: float, rate: float) -> bool:
        """Whether more is drawn than `rate` [m3/s] brings."""
        return any(start <= moment and slope < -rate for start, _, _, slope in islice(self._pieces(moment), 1))

    def when_below(self, since: float, until: float, level: float) -> float | None:
        """When it stands below `level` first; None if not by `until`."""
        for start, end, stands, rate in self._pieces(since):
            if start > until:
                break
            at = max(start, since)
            here = stands if start == -inf else stands + rate * (at - start)
            if here <= level:
                return at if at <= until else None
            if rate < 0.0 and here + rate * (end - at) < level:
                found = at + (level - here) / rate
                return found if found <= until else None
        return None

    def room(self, since: float, until: float, rate: float, brim: float) -> float:
        """How long `rate` [m3/s] can run from `since` before it stands at the `brim`, at most to `until` [s]."""
        for start, end, stands, slope in self._pieces(since):
            at = max(start, since)
            if at >= until:
                break
            here = stands if start == -inf else stands + slope * (at - start)
            here += rate * (at - since)
            net = slope + rate
            last = min(end, until)
            if net > 0.0 and here + net * (last - at) > brim:
                return max(at + (brim - here) / net - since, 0.0)
        return until - since
