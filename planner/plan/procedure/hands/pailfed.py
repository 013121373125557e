"""Clean water out of a pail, for a suction that stood in acid or gets to no tank of it: topped up, or filled again.

Where the tap keeps up, the second stands at the pail and keeps it full while the gun is open. Else, and for somebody
alone, the gun is shut for every pailful.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, inf
from typing import Final

from planner.plan.procedure.acts import Fill
from planner.plan.procedure.book import PAIL, Book, Line
from planner.plan.procedure.hands.pails import rate, stands_in
from planner.plan.procedure.hands.water import tap_free

_DROP: Final = 1e-9  # m3

_STANDS: Final = 0.8
"""How full a pail stands that a suction is in [-]: four gallons of five (our choice)."""

_LEAST: Final = 0.2
"""At least so full it stays under a suction [-]: a gallon of five (our choice)."""

_NEARLY: Final = 0.9
"""A pail that stands so high, of what it should [-], is not filled for the rest alone (our choice)."""

_PAILFUL: Final = (_STANDS - _LEAST) * PAIL
"""What is sprayed out of a pail before it is filled again [m3]."""

Open = Callable[[float, float], None]
"""The gun opened for so much [m3], over so long [s] or longer."""


def from_pail(book: Book, line: Line, volume: float, lasts: float, opened: Open) -> None:
    """So much [m3] out of a line's own pail, over `lasts` [s] or longer."""
    lasts = max(lasts, volume / line.flow)
    source, pail = book.outside() or book.source(), book.pail_of(line)
    level, parts, tops = _how(book, line, volume, lasts)
    over = stands_in(book, pail) - level
    if tops and _DROP < over < volume - _PAILFUL:
        # What stands too high for the tap to be opened goes first.
        parts = [over, volume - over]
    elif tops and over > _DROP:
        level, parts, tops = _STANDS * PAIL, _parts(volume), False
    for part in parts:
        fill, seconds, topped = None, lasts * part / volume, tops and part == parts[-1]
        ready(book, line, level, level if topped else max(part + _LEAST * PAIL, _NEARLY * level))
        if topped:
            book.off_for(line, book.minutes["fill_hands"])
            _free(book)
        if book.second is not None:
            book.power(line, on=True)
        if topped:
            water = Fill(into=pail, source=source, volume=part)
            fill = book.do(water, "rig", part / rate(book, source), who="second")
        book.power(line, on=True)
        opened(part, seconds)
        if fill is not None:
            end = book.drafts[-1].end
            if book.second is not None:
                # The walk to the wall comes first: what is drawn is filled while it is drawn.
                fill.start = end - seconds
                book.second.now = end
            fill.lasts = end - fill.start


def to_come(book: Book, line: Line, volume: float, lasts: float) -> None:
    """The suction in its pail, filled for what is sprayed next; the gun stays shut."""
    ready(book, line, _how(book, line, volume, max(lasts, volume / line.flow))[0])


def ready(book: Book, line: Line, level: float, least: float = PAIL) -> None:
    """The suction in the line's pail, filled to `level` [m3] where it stands below that and below `least`."""
    pail, source = book.pail_of(line), book.outside() or book.source()
    stands = stands_in(book, pail)
    more = level - stands if stands < least - _DROP else 0.0
    if more <= _DROP and line.feed == pail:
        return
    book.shut(line)
    if line.allowed < inf:
        book.power(line, on=False)
    if more > _DROP:
        _free(book)
        book.call(Fill(into=pail, source=source, volume=more), "rig", more / rate(book, source))
    if line.feed != pail:
        book.draw(line, pail)


def seconds_more(book: Book, line: Line, volume: float, lasts: float) -> float:
    """What it takes longer than out of a tank [s]: the pail filled, the gun shut and the walks for it."""
    source = book.outside() or book.source()
    level, parts, tops = _how(book, line, volume, max(lasts, volume / line.flow))
    minutes = book.minutes
    walks = 0.0 if book.second is not None else 2.0 * line.length / minutes["walk_pace"]
    each = walks + minutes["shut"] + 2.0 * minutes["power"] + minutes["draw_from"]
    if tops:
        return each + minutes["fill_hands"] + level / rate(book, source)
    return sum(each + part / rate(book, source) for part in parts)


def _how(book: Book, line: Line, volume: float, lasts: float) -> tuple[float, list[float], bool]:
    """How high the pail stands before the gun opens [m3], in what parts it is sprayed, whether it is filled then."""
    keeps_up = volume / lasts <= rate(book, book.outside() or book.source()) * (1.0 + 1e-9)
    if volume > _PAILFUL and keeps_up and book.second is not None:
        return _STANDS * PAIL, [volume], True
    return _STANDS * PAIL, _parts(volume), False


def _parts(volume: float) -> list[float]:
    count = max(ceil(volume / _PAILFUL), 1)
    return [volume / count] * count


def _free(book: Book) -> None:
    """The tap free, the second there for it."""
    tap_free(book, "second" if book.second is not None else "lead")
    if book.second is not None:
        book.second.now = max(book.second.now, book.lead.now)
        book.wait_until(book.second.now)
