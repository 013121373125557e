"""A line tried with clean water: filled, its jet held up, a bucket timed, its gauge read, then shut and off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, inf
from typing import Final

from planner.inputs.tables.defaults import default
from planner.physics.hoses import area
from planner.plan.model import Joint
from planner.plan.procedure.acts import Drain, Expect, Read, Shut, Spray
from planner.plan.procedure.book import PAIL, Book, Line, about
from planner.plan.procedure.hands.water import fill

_LITRE: Final = 1e-3
_BUCKETS: Final = (PAIL, PAIL * 2 / 5, PAIL / 5)
_BUCKETS_SI: Final = (10 * _LITRE, 5 * _LITRE)
"""Buckets a flow is timed with [m3]: 5, 2 and 1 gal, or 10 and 5 L (common practice, no source)."""

_LONGEST_BUCKET: Final = 60.0
"""A bucket that takes longer [s] gives way to a smaller one (our choice)."""

_THROW: Final = 5.0
"""How long the jet is held up to see how high it gets [s] (our choice)."""

_NOISE: Final = 1e-9


def try_line(book: Book, line: Line, steps: Sequence[tuple[Spray, Expect | None]], holds: float) -> None:
    """The sprays of a line's test, refilling the pail it draws from; its gauge; power off, the bucket emptied."""
    book.phase = "test"
    left = sum(step.volume for step, _ in steps)
    for step, expect in steps:
        parts = max(ceil(step.volume / _pailful(line) - _NOISE), 1) if holds < inf else 1
        for _ in range(parts):
            if holds - primes(line) < step.volume / parts:
                more = min(left * default("drawn_over") + primes(line), PAIL) - holds
                book.shut(line)
                book.power(line, on=False)
                fill(book, line.feed, more, "rig", run=line.name)
                holds += more
            book.power(line, on=True)
            book.spray(line, step.volume / parts, step.onto, step.use, expect=expect)
            holds -= step.volume / parts
            left -= step.volume / parts
    book.shut(line)
    full = sum(step.volume for step, _ in steps if step.onto == "bucket")
    closed = _gauge(line).closed if line.pump is not None else None
    # Alone the lead walks to the gauge and the switch while the pump stands against the shut gun.
    spare = line.allowed - book.minutes["power"]
    last = [*(("throw",) if _throw(book, line) is not None else ()), *(("bucket_emptied",) if full > 0.0 else ())]
    if book.second is None:
        spare -= line.length / book.minutes["walk_pace"]
        while last and book.minutes[last[0]] <= spare:
            spare -= book.minutes[last[0]]
            _at_the_wall(book, line, last.pop(0), full)
    if closed is not None and book.minutes["gauge"] <= spare:
        reading = about("gauge_closed", "pa", closed)
        book.call(Read(), "rig", book.minutes["gauge"], run=line.name, expect=reading)
    book.power(line, on=False)
    for what in last:
        _at_the_wall(book, line, what, full)
    if any(look.what == "chlorine" and look.place == line.name for look in book.asked.looks):
        book.read(strip(book, "residual_acid"), "wall", book.minutes["strip"], run=line.name)
    if 0.0 < holds < inf:
        book.do(
            Drain(source=line.feed, to="lawn", volume=holds), "grounds", book.minutes["pail_carried"], run=line.name
        )
    line.tested = True


def try_together(book: Book, mine: Line, other: Line) -> None:
    """Two lines of one pump that are sprayed at once, filled with both guns open: the second goes to the other one.

    Nobody is left at the rig while they are open, so that only the closed gauge is read.
    """
    if book.second is None:
        return
    book.phase = "test"
    seconds = max(line.volume / line.flow for line in (mine, other))
    book.power(mine, on=True)
    detail = Spray(run=other.name, seconds=seconds, volume=seconds * other.flow, onto="ground", use="line")
    there = book.do(detail, "wall", seconds, who="second", run=other.name)
    book.wait_until(there.end - seconds)
    book.spray(mine, seconds * mine.flow, "ground", "line")
    book.do(Shut(run=other.name), "wall", book.minutes["shut"], who="second", run=other.name)
    book.shut(mine)
    back = other.length / book.minutes["walk_pace"] + book.minutes["power"]
    closed = _gauge(mine).closed if mine.pump is not None else None
    if closed is not None and back + book.minutes["gauge"] <= mine.allowed:
        expect = about("gauge_closed", "pa", closed)
        book.call(Read(), "rig", book.minutes["gauge"], run=mine.name, expect=expect)
    book.power(mine, on=False)
    mine.tested = other.tested = True


def _gauge(line: Line) -> Joint:
    """Where its gauge sits."""
    return next(joint for joint in line.plan.joints if joint.kind == "gauge")


def _at_the_wall(book: Book, line: Line, what: str, bucket: float) -> None:
    """The throw that was seen, or the bucket [m3] emptied."""
    throw = _throw(book, line)
    if what == "throw" and throw is not None:
        book.read(throw, "wall", book.minutes[what], run=line.name)
    else:
        book.do(Drain(source="bucket", to="lawn", volume=bucket), "wall", book.minutes[what], run=line.name)


def sprays(book: Book, line: Line, feed: str) -> Iterator[tuple[Spray, Expect | None]]:
    """The sprays of a line's first test: its volume, the height of its jet, a bucket, each with what is read by it."""
    reads = _gauge(line).open
    # At a tap without a pump there is no gauge; the bucket says what it gives.
    gauge = about("gauge_open", "pa", reads) if reads > 0.0 and line.pump is not None else None
    yield _spray(line, line.volume, "ground", "line"), gauge if book.second is not None else None
    thrown = 0.0
    if _throw(book, line) is not None:
        thrown = _THROW * line.flow
        yield _spray(line, thrown, "ground", "test"), None
    if line.plan.input.tip.pattern != "surface_cleaner":
        room = _pailful(line) - line.volume - thrown if feed.startswith("pail") else inf
        sizes = [bucket for bucket in _buckets(book) if bucket <= room] or [_buckets(book)[-1]]
        size = next((size for size in sizes if size <= _LONGEST_BUCKET * line.flow * (1.0 + _NOISE)), sizes[-1])
        # What a rig calls its bucket is a tank of its own: a bucket nobody can tell from it is let go where it fills.
        onto = "ground" if any(tank.name == "bucket" for tank in book.job.rig.tanks) else "bucket"
        yield _spray(line, size, onto, "test"), about("bucket", "s", size / line.flow)


def _throw(book: Book, line: Line) -> Expect | None:
    """How high its jet gets at the wall, read once the gun is shut; None where no height is asked of it.

    Of water alone the first wall shows it, and nothing is lost, but where wind may keep it too low.
    """
    plan = line.plan
    if plan.needed is None or plan.needed <= book.job.limits["reach_from"] or plan.reach is None:
        return None
    if not book.asked.mixes and plan.reach.low >= plan.needed * (1.0 - _NOISE):
        return None
    low, high = min(plan.needed, plan.reach.nominal), max(plan.needed, plan.reach.high)
    return Expect(what="throw", unit="m", value=plan.reach.nominal, low=low, high=high)


def _spray(line: Line, volume: float, onto: str, use: str) -> Spray:
    return Spray(run=line.name, seconds=volume / line.flow, volume=volume, onto=onto, use=use)  # type: ignore[arg-type]


def _buckets(book: Book) -> tuple[float, ...]:
    return _BUCKETS_SI if book.job.company.units == "si" else _BUCKETS


def primes(line: Line) -> float:
    """What pump and suction take of a pail before anything is sprayed [m3], at most half of it."""
    pump = line.plan.input.pump
    held = sum(area(hose.bore) * hose.length for hose in line.plan.input.suction)
    return min(held + (pump.wetted_volume if pump is not None else 0.0), PAIL / 2.0)


def _pailful(line: Line) -> float:
    """What can be sprayed out of one pail [m3]."""
    return (PAIL - primes(line)) / default("drawn_over")


def strip(book: Book, limit: str) -> Expect:
    """A chlorine strip: what the tap brings, at most the limit [mg/L, which is g/m3]."""
    most = book.job.limits[limit] * 1e3
    inlet = (book.job.water.chlorine or 0.0) * 1e3
    return Expect(what="strip_chlorine", unit="mg_per_l", value=min(inlet, most), low=0.0, high=most)
