"""What is flushed before a mix of another chemistry: the tank drained and rinsed, the line washed, a strip read."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from planner.inputs.models import Tank
from planner.inputs.tables.chemicals import ACIDS, ALKALIS, BLEACH
from planner.inputs.tables.defaults import default
from planner.plan.between.changes import purpose_of
from planner.plan.between.flushing import inlet_of, residual_of
from planner.plan.between.model import ChangeFlush, ChangePart
from planner.plan.procedure.acts import Drain, Expect, Fill, Stir
from planner.plan.procedure.book import Book, Line
from planner.plan.procedure.hands.pails import Left, empty, fill, rate
from planner.plan.procedure.hands.water import tap_free
from planner.plan.procedure.stages.closing import acidity, chlorine, read_strips, spray_out, wash

_DROP = 1e-9  # m3


def flush_first(book: Book, line: Line, change: ChangeFlush, set_up: Callable[[Line], None]) -> None:
    """All of one flush before its mix; `set_up` joins and primes the line and has its power's stop point passed."""
    before, book.phase = book.phase, "flush_first"
    tank = change.tank
    if tank is not None:
        _tank(book, line, change, tank, set_up)
    own = [part for part in change.line if part.through is None]
    volume = sum(part.volume or 0.0 for part in own)
    if volume > 0.0:
        set_up(line)
        strongest = max(own, key=lambda part: part.strength * part.holds)
        mean = sum(part.strength * part.holds for part in own) / volume
        caught = wash(book, line, volume, _onto(change), [part.leaves for part in own], strongest.leaves, mean)
        _off(book, line)
        _treat(book, change, caught)
    strips = list(_strips(book, change))
    if change.line:
        read_strips(book, line, strips)
    else:
        for expect in strips:
            book.read(expect, "rig", book.minutes["strip"])
    outside = book.outside()
    if tank is not None and not change.mix and outside is not None:
        _filled(book, tank.part, outside)
    book.phase = before


def _filled(book: Book, name: str, source: str) -> None:
    """A tank for plain water filled again: it takes hands to open the tap, which runs by itself."""
    tank = next(tank for tank in book.job.rig.tanks if tank.name == name)
    volume, hands = tank.volume - tank.dead_volume, book.minutes["fill_hands"]
    tap_free(book, "lead")
    seconds = volume / rate(book, source)
    book.do(Fill(into=name, source=source, volume=volume), "rig", seconds, hands=min(hands, seconds))


def _tank(book: Book, line: Line, change: ChangeFlush, part: ChangePart, set_up: Callable[[Line], None]) -> None:
    """Drained, then rinsed as often as it takes; together, the last rinse goes out through the line."""
    tank = next(tank for tank in book.job.rig.tanks if tank.name == part.part)
    purpose = purpose_of(change, part.leaves)
    # What was drained is always caught: it is the mix itself.
    empty(book, Left(place=tank.name, stock=part.leaves, volume=part.drained, strength=part.strength), "lead", purpose)
    if part.rinses is None:
        return
    count = part.rinses - (1 if change.together else 0)
    strength = part.strength
    for number in range(count):
        strength = _swilled(book, tank, part, strength, part.each)
        over = _film(book, tank, part) if number == count - 1 and not change.together else 0.0
        _let_out(book, change, Left(place=tank.name, stock=part.leaves, volume=part.each + over, strength=strength))
    if change.together:
        strength = _swilled(book, tank, part, strength, part.last)
        for expect in _strips(book, change):
            # Only what a strip calls clean goes through the line.
            book.read(expect, "drums", book.minutes["strip"])
        set_up(line)
        if line.feed != tank.name:
            book.draw(line, tank.name)
        book.power(line, on=True)
        _through(book, line, change, part, strength)
        over = _film(book, tank, part)
        if over > _DROP:
            _let_out(book, change, Left(place=tank.name, stock=part.leaves, volume=over, strength=strength))


def _film(book: Book, tank: Tank, part: ChangePart) -> float:
    """What drips down the walls once rinsing is over [m3]: the mix that comes counts with the dead volume alone.

    Of a tank that was emptied before it is in no figure.
    """
    held = book.asked.found.tanks.get(tank.name)
    if any(draft.phase == "mix" and draft.detail == Stir(tank=tank.name, seconds=draft.lasts) for draft in book.drafts):
        held = None  # what stood on its walls in the morning went with the flush before that mix
    return max(min(part.holds, held.volume if held is not None else 0.0) - tank.dead_volume, 0.0)


def _swilled(book: Book, tank: Tank, part: ChangePart, strength: float, volume: float) -> float:
    """One rinse in and round; its strength [kg/m3]."""
    own = book.source() == tank.name
    fill(book, tank.name, volume, "lead", source=book.outside() or ("tap" if own else book.source()))
    book.do(Stir(tank=tank.name, seconds=default("swill")), "drums", default("swill"))
    brings = inlet_of(book.job, part.leaves)
    return (part.holds * strength + volume * brings) / (part.holds + volume)


def _let_out(book: Book, change: ChangeFlush, rinse: Left) -> None:
    """One rinse out by the tank's valve, as fast as the tap fills it (our choice), where it may go.

    Where all of it may go to the lawn, one that is too strong by itself is caught all the same; the last, as clean as
    was asked, goes there even where the others are caught.
    """
    strong = change.drains_to == "lawn" and rinse.strength > book.job.limits["lawn_strength"]
    clean = rinse.strength <= residual_of(book.job, rinse.stock)
    if strong or (change.drains_to == "caught" and not clean):
        empty(book, rinse, "lead", purpose_of(change, rinse.stock))
        return
    to = "lawn" if clean else change.drains_to
    seconds = rinse.volume / rate(book, book.outside() or book.source())
    book.do(Drain(source=rinse.place, to=to, volume=rinse.volume), "drums", seconds)


def _through(book: Book, line: Line, change: ChangeFlush, part: ChangePart, strength: float) -> None:
    """The last rinse out of the tank through the line, what stood in the line with it."""
    mean = strength + sum(change_part.strength * change_part.holds for change_part in change.line) / part.last
    caught = spray_out(book, line, part.last, _onto(change), part.leaves, mean)
    _off(book, line)
    _treat(book, change, caught)


def _onto(change: ChangeFlush) -> str:
    return "pail" if change.drains_to == "caught" else change.drains_to


def _off(book: Book, line: Line) -> None:
    book.shut(line)
    book.power(line, on=False)


def _treat(book: Book, change: ChangeFlush, caught: Iterable[Left]) -> None:
    for left in caught:
        empty(book, left, "lead", purpose_of(change, left.stock))


def _strips(book: Book, change: ChangeFlush) -> Iterator[Expect]:
    """A chlorine strip where bleach is gone, a pH strip where acid or alkali is."""
    bleach = [part.target for part in change.parts if part.leaves == BLEACH]
    if bleach:
        yield chlorine(min(bleach))
    if {*ACIDS, *ALKALIS} & set(change.leaves):
        yield acidity(book)
