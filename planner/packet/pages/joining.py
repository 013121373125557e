"""Sheets flow: one begins below the one before it where that saves a page and a fair share of it fits there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

from reportlab.platypus import ActionFlowable, CondPageBreak, Flowable, PageBreak, Paragraph, Spacer
from reportlab.platypus import Table as EngineTable

from planner.frozen import dataclass
from planner.inputs.reading.letters import printable
from planner.packet.blocks import Section
from planner.packet.pages.boxes import ROUND, StepLine
from planner.packet.pages.columns import Balanced, SideBySide, Vectors, drawings_in
from planner.packet.pages.fonts import width
from planner.packet.pages.style import JOINED, MEASURE, PLACE_JOINED, RULE_TITLE

_TITLE = 22.0
_FAIR = 130.0  # pt of a sheet that must fit below another, where not all of it does
_STANDING = 3  # parts of a sheet that stand with its title
_MUCH = 5_000.0  # pt; more than any page has
_ROW = 34.0  # pt lost where a table breaks between rows, on average
_BREAKS = (EngineTable, SideBySide, Balanced, Paragraph)
_PLIANT = (SideBySide, Vectors)
Cost = tuple[int, int]


class JoinedTitle(Flowable):  # type: ignore[misc]
    """The title of a sheet that joined a page; nothing at all where it got a page of its own."""

    def __init__(self, section: Section, begun: Callable[[Section, Any], None]) -> None:
        super().__init__()
        self.section, self.begun = section, begun
        self.joined = False

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        self.width, self.height = available, _TITLE if self.joined else 0.0
        return available, self.height

    def draw(self) -> None:
        if not self.joined:
            return
        canvas = self.canv
        self.begun(self.section, canvas)
        canvas.setLineWidth(RULE_TITLE)
        canvas.line(0, self.height - 2, self.width, self.height - 2)
        base = self.height - 17
        title = printable(self.section.title)
        canvas.setFont(*JOINED)
        canvas.drawString(0, base, title)
        canvas.setFont(*PLACE_JOINED)
        canvas.drawString(width(title, *JOINED) + 10, base, printable(self.section.place))


class JoinOrTurn(ActionFlowable):  # type: ignore[misc]
    """Joins the page where that was arranged and the least of the sheet fits, else turns the page.

    `back` names the page that fills the back of the sheet before, where this one is another person's and begins on a
    front.
    """

    def __init__(self, key: str, title: JoinedTitle, placed: Sequence[Any], joins: bool, back: str = "") -> None:
        super().__init__()
        self.key, self.title, self.joins, self.back = key, title, joins, back
        self.needed = _TITLE + _start(placed)

    def apply(self, doc: Any) -> None:
        """Called by the engine where it comes to this place."""
        room = doc.frame._y - doc.frame._y1p  # the engine tells it by no other name
        self.title.joined = self.joins and self.needed <= room
        if self.back and doc.page % 2:
            doc.handle_nextPageTemplate(self.back)
            doc.handle_pageBreak()
            doc.clean_hanging()  # the back begins now, else the next page would begin twice
        doc.handle_nextPageTemplate(self.key)
        if not self.title.joined:
            doc.handle_pageBreak()


def _start(placed: Sequence[Any]) -> float:
    """Height in pt of what must stand below a title: its first parts, and all that the first of them asks for."""
    used, asked, seen = 0.0, 0.0, 0
    for part in placed:
        if isinstance(part, PageBreak) or seen == _STANDING:
            break
        if isinstance(part, CondPageBreak):
            asked = max(asked, used + float(part.height))
            continue
        tall = float(part.wrap(MEASURE, 0.0)[1])
        used += min(tall, _first(part)) if isinstance(part, _BREAKS) else tall
        seen += not isinstance(part, Spacer)
    return max(used, asked)


def _first(part: Any) -> float:
    """The least height in pt of a part that may break: what stands beside a drawing stays with it."""
    return part.first() if isinstance(part, SideBySide) else 90.0


def arranged(sheets: Sequence[tuple[bool, Sequence[Any]]], room: float) -> list[bool]:
    """Whether each sheet joins the one before it: fewest pages, then fewest sheets torn that would fit one page.

    A sheet is whether it begins a person's paper, so that it never joins, and its flowables; `room` is a page's height
    for them in pt. Every drawing is told how tall it may be: none costs a page or tears a sheet, and where not all can
    be as tall as they would, each gets its least first and then what is left, those of a lower rank before the others.
    """
    measured = [[_measure(part, room) for part in parts] for _, parts in sheets]
    new = [begins for begins, _ in sheets]
    drawn = [
        (drawing, n, at)
        for n, (_, parts) in enumerate(sheets)
        for at, part in enumerate(parts)
        for drawing in drawings_in(part)
    ]
    drawn.sort(key=lambda one: one[0].block.rank)

    starts = [0.0 if begins else _start(parts) for begins, parts in sheets]

    def take(drawing: Vectors, n: int, at: int, tall: float) -> None:
        drawing.most = tall
        measured[n][at] = _measure(sheets[n][1][at], room)
        starts[n] = 0.0 if new[n] else _start(sheets[n][1])

    large = _best(starts, new, measured, room)
    for drawing, n, at in drawn:
        take(drawing, n, at, drawing.block.heights[-1])
    kept = _best(starts, new, measured, room)
    if large[0] <= kept[0]:
        for drawing, n, at in drawn:
            take(drawing, n, at, drawing.block.heights[0])
        return large[1]
    for leasts in (True, False):
        for drawing, n, at in drawn:
            before = drawing.most
            taller = [tall for tall in drawing.block.heights if tall > before]
            for tall in (taller[-1:] if before == 0.0 else []) if leasts else taller:
                take(drawing, n, at, tall)
                found = _best(starts, new, measured, room)
                if found[0] <= kept[0]:
                    kept = found
                    break
                take(drawing, n, at, before)
    return kept[1]


def _best(
    starts: Sequence[float], new: Sequence[bool], measured: Sequence[Sequence[_Part]], room: float
) -> tuple[Cost, list[bool]]:
    """Pages turned and sheets torn at best, and which sheets join for that."""
    whole = [sum(part.least for part in parts) for parts in measured]
    pieces = [_pieces(parts) for parts in measured]

    @cache
    def best(n: int, left: float) -> tuple[Cost, tuple[bool, ...]]:
        if n == len(measured):
            return (0, 0), ()
        ways = [(False, room, 1)]
        if n and not new[n] and left >= _TITLE + min(whole[n], max(_FAIR, starts[n])):
            ways.insert(0, (True, left - _TITLE, 0))
        found = []
        for joins, space, turned in ways:
            pages, torn, rest = _placed(pieces[n], space, room)
            (more, tears), choices = best(n + 1, round(rest, 1))
            found.append(((turned + pages + more, torn + tears), (joins, *choices)))
        return min(found, key=lambda one: one[0])

    cost, joins = best(0, 0)
    return cost, list(joins)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A part as it is arranged, in pt: the most and the least it takes, and the room it asks for before it.

    `breaks`: it may run on over a page, `first` pt of it at least before that; one in rows of `row` pt has
    `again` pt of it on both.
    """

    most: float = 0.0
    least: float = 0.0
    breaks: bool = False
    first: float = 2 * _ROW
    again: float = 0.0
    row: float = 0.0
    asked: float = 0.0


def _measure(part: Any, room: float) -> _Part:
    if isinstance(part, PageBreak):
        return _Part(asked=_MUCH)
    if isinstance(part, CondPageBreak):
        return _Part(asked=float(part.height))
    least = float(part.wrap(MEASURE, 0.0)[1])
    most = float(part.wrap(MEASURE, room)[1]) if isinstance(part, _PLIANT) else least
    first = part.first() if isinstance(part, (SideBySide, StepLine)) else 2 * _ROW
    breaks = part.breaks() if isinstance(part, StepLine) else isinstance(part, _BREAKS)
    row = ROUND[1] if isinstance(part, StepLine) else 0.0
    return _Part(most=max(most, least), least=least, breaks=breaks, first=first, again=first - row, row=row)


def _placed(pieces: Sequence[Sequence[_Part]], left: float, room: float) -> tuple[int, int, float]:
    """Pages turned while the pieces are set from `left` pt of room on, those torn that fit a page, room left over."""
    pages, torn, fresh = 0, 0, left == room
    for piece in pieces:
        if piece and piece[0].asked == _MUCH and not fresh:
            pages, left = pages + 1, room
        turned = 0
        for part in piece:
            if left < part.asked < _MUCH and not fresh:
                turned, left = turned + 1, room
            tall = part.least
            while tall > left:
                if part.breaks and left > part.first:
                    tall -= (left - part.again) // part.row * part.row if part.row else left - _ROW
                elif left == room:
                    tall = room
                    break
                turned, left = turned + 1, room
            left -= min(max(part.most, tall), left) if tall == part.least else tall
            fresh = fresh and part.most == 0.0
        pages += turned
        torn += bool(turned) and sum(part.least for part in piece) <= room
    return pages, torn, max(left, 0.0)


def _pieces(parts: Sequence[_Part]) -> list[list[_Part]]:
    """What stands between two page breaks that were asked for."""
    pieces: list[list[_Part]] = [[]]
    for part in parts:
        if part.asked == _MUCH:
            pieces.append([])
        pieces[-1].append(part)
    return pieces
