"""The page itself: paper and margins, running head, title, foot line and fold ticks."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Callable, Sequence
from dataclasses import field
from functools import partial
from io import BytesIO
from typing import Any, Literal, TypeAlias

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, NextPageTemplate, PageTemplate, Spacer

from planner.frozen import dataclass
from planner.inputs.reading.letters import printable
from planner.packet.blocks import DoNotStart, Role, Section
from planner.packet.fields import Form
from planner.packet.pages.attached import Inside, attach
from planner.packet.pages.flowables import flowables
from planner.packet.pages.fonts import BOLD, REGULAR, SEMIBOLD, fitted, register, width
from planner.packet.pages.joining import JoinedTitle, JoinOrTurn, arranged
from planner.packet.pages.style import (
    FOOT,
    MEASURE,
    PAGE_NUMBER,
    PLACE,
    RULE_GRID,
    RUNNING_JOB,
    RUNNING_LINE,
    TITLE,
)

Paper: TypeAlias = Literal["letter", "a4"]
PAPERS: dict[Paper, tuple[float, float, float]] = {"letter": (612.0, 792.0, 52.0), "a4": (595.0, 842.0, 44.0)}
TOP, HEAD, TITLE_HEIGHT, BODY_BOTTOM, FOOT_LINE = 26.0, 36.0, 31.0, 31.0, 19.0
HEAD_RULE = 1.8
_NUMBER_ROOM = 96.0
_TAB = (92.0, 34.0)
_ROLES = {"both": "Both", "lead": "Lead", "second": "Second", "owner": "Owner"}
_THEN = {"both": "Then each takes their own sheet.", "lead": "Last page of the lead's sheet."}
_NOTES = "notes"
_LINE = 24.0  # pt between lines to write on
NOTHING_INSIDE = Inside()


@dataclass(frozen=True, slots=True, kw_only=True)
class Masthead:
    """What every page says at its head: job, a line of date, rig and place in the day, and the plan's number.

    Without a plan's number the page is no sheet of a packet, and carries no page number either.
    """

    job: str
    line: str
    plan: str
    program: str
    date: datetime.date | None


@dataclass(slots=True, kw_only=True)
class Bound:
    """Where things came to stand: each section's first page, and how many pages in all.

    `tops` are the sections that begin at the top of a page rather than below another, `backs` the pages that hold
    nothing but lines to write on. `steps` is the number of the step that prints an act, by the act's id.
    """

    total: int = 0
    starts: dict[str, int] = field(default_factory=dict)
    tops: set[str] = field(default_factory=set)
    backs: set[int] = field(default_factory=set)
    steps: dict[str, int] = field(default_factory=dict)

    def page(self, key: str) -> int:
        """First page of a section, 0 before it is known."""
        return self.starts.get(key, 0)


_ROOM_OF_JOB = MEASURE - _NUMBER_ROOM - _TAB[0] - 12


def in_head(job: str) -> bool:
    """True where a job's name stands in full, at its full size, at every page's head."""
    return fitted(job, RUNNING_JOB[0], _ROOM_OF_JOB, RUNNING_JOB[1], RUNNING_JOB[1]) == (job, RUNNING_JOB[1])


def in_running_line(line: str) -> bool:
    """True where a second line of the head stands in full at every page's head."""
    return fitted(line, RUNNING_LINE[0], _ROOM_OF_JOB, RUNNING_LINE[1])[0] == line


class _Unpainted(Frame):  # type: ignore[misc]
    """A frame where things find their place and leave no mark; a title still says where its sheet begins."""

    def add(self, flowable: Any, canv: Any, trySplit: int = 0) -> int:
        if not isinstance(flowable, JoinedTitle):
            flowable.drawOn = _no_mark
        placed: int = super()._add(flowable, canv, trySplit)
        return placed


def _no_mark(_canvas: Any, _x: float, _y: float, **_: float) -> None:
    """In place of what paints a flowable."""


class _Book(BaseDocTemplate):  # type: ignore[misc]
    """The engine's document with this packet's furniture on each page; without `before` nothing is painted."""

    def __init__(
        self, file: BytesIO, paper: Paper, masthead: Masthead, sections: Sequence[Section], before: Bound | None
    ) -> None:
        self.paper_width, self.paper_height, self.left = PAPERS[paper]
        super().__init__(
            file, pagesize=(self.paper_width, self.paper_height), title=printable(masthead.job), lang="en-US",
            author="", creator=f"Wash day {masthead.program}", subject=f"plan {masthead.plan}", invariant=1,
            allowSplitting=1, pageCompression=1,
        )  # fmt: skip
        self.masthead, self.sections, self.now = masthead, list(sections), Bound()
        self.painted, self.before = before is not None, before or Bound()
        top = self.paper_height - TOP - HEAD - TITLE_HEIGHT
        self.room = top - BODY_BOTTOM - 2
        frame = partial(
            Frame if self.painted else _Unpainted, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0
        )
        self.addPageTemplates(
            [
                PageTemplate(
                    id=section.key,
                    frames=[frame(self.left, BODY_BOTTOM + 2, MEASURE, self.room)],
                    onPage=self._furniture(section),
                )
                for section in sections
            ]
        )
        self.addPageTemplates(
            [
                PageTemplate(
                    id=f"{_NOTES} {role}",
                    frames=[frame(self.left, BODY_BOTTOM + 2, MEASURE, self.room)],
                    onPage=self._notes(role),
                )
                for role in dict.fromkeys(section.role for section in sections)
            ]
        )

    def _notes(self, role: Role) -> Any:
        """The back of a sheet that has nothing on it but lines to write on."""

        def draw(canvas: Any, _document: Any) -> None:
            self.now.backs.add(canvas.getPageNumber())
            self.now.total = canvas.getPageNumber()
            if not self.painted:
                return
            canvas.saveState()
            canvas.translate(self.left, 0)
            self._head(canvas, canvas.getPageNumber(), role)
            canvas.setFont(*TITLE)
            canvas.drawString(0, self.paper_height - TOP - HEAD - 24, "Notes")
            canvas.setLineWidth(RULE_GRID)
            for n in range(int(self.room // _LINE)):
                canvas.line(0, BODY_BOTTOM + 8 + n * _LINE, MEASURE, BODY_BOTTOM + 8 + n * _LINE)
            canvas.restoreState()
            self._folds(canvas)

        return draw

    def _furniture(self, section: Section) -> Any:
        def draw(canvas: Any, _document: Any) -> None:
            page = canvas.getPageNumber()
            first = section.key not in self.now.starts
            if first:
                self.begun(section, canvas)
                self.now.tops.add(section.key)
            self.now.total = page
            if not self.painted:
                return
            canvas.saveState()
            canvas.translate(self.left, 0)
            canvas.setFillGray(0)
            canvas.setStrokeGray(0)
            self._head(canvas, page, section.role)
            self._title(canvas, section, first)
            self._foot(canvas, section, page)
            canvas.restoreState()
            self._folds(canvas)

        return draw

    def begun(self, section: Section, canvas: Any) -> None:
        """Take note of where a section begins."""
        self.now.starts[section.key] = canvas.getPageNumber()
        canvas.bookmarkPage(section.key)
        canvas.addOutlineEntry(section.title, section.key, 0)

    def _head(self, canvas: Any, page: int, role: Role) -> None:
        top = self.paper_height - TOP
        self._sheet(canvas, page, role, top)
        job, size = fitted(self.masthead.job, RUNNING_JOB[0], self._job_room(), RUNNING_JOB[1])
        canvas.setFont(RUNNING_JOB[0], size)
        canvas.drawString(0, top - 12, job)
        line, size = fitted(self.masthead.line, RUNNING_LINE[0], self._job_room(), RUNNING_LINE[1])
        canvas.setFont(RUNNING_LINE[0], size)
        canvas.drawString(0, top - 26, line)
        if self.masthead.plan:
            of = f" of {max(self.before.total, page)}"
            canvas.setFont(*RUNNING_LINE)
            canvas.drawRightString(MEASURE, top - 26, f"plan {printable(self.masthead.plan)}")
            canvas.drawRightString(MEASURE, top - 12, of)
            canvas.setFont(*PAGE_NUMBER)
            canvas.drawRightString(MEASURE - width(of, *RUNNING_LINE), top - 12, str(page))
        canvas.setLineWidth(HEAD_RULE)
        canvas.line(0, top - HEAD, MEASURE, top - HEAD)

    def _job_room(self) -> float:
        return _ROOM_OF_JOB if self.masthead.plan else MEASURE

    def _sheet(self, canvas: Any, page: int, role: Role, top: float) -> None:
        """Whose sheet it is, told by the shape of its tab before a word is read, and which side of which sheet."""
        if not self.masthead.plan:
            return
        wide, tall = _TAB
        x, y = MEASURE - _NUMBER_ROOM - wide, top - tall + 2
        canvas.setLineWidth({"lead": 2.4, "second": 1.8}.get(role, 1.0))
        if role == "second":
            canvas.roundRect(x, y, wide, tall, tall / 2)
        else:
            canvas.rect(x, y, wide, tall)
        if role == "both":
            canvas.setLineWidth(2.4)
            canvas.rect(x - 3, y - 3, wide + 6, tall + 6)
        canvas.setFont(BOLD, 14)
        canvas.drawCentredString(x + wide / 2, y + 19, _ROLES[role])
        canvas.setFont(SEMIBOLD, 10)
        canvas.drawCentredString(x + wide / 2, y + 7, self._side(page, role))

    def _side(self, page: int, role: Role) -> str:
        if role == "owner":
            return "not for the crew"
        if max(self.before.total, page) == 1:
            return "one sheet"
        return f"sheet {(page + 1) // 2}, {'front' if page % 2 else 'back'}"

    def _title(self, canvas: Any, section: Section, first: bool) -> None:
        if section.blocks and isinstance(section.blocks[0], DoNotStart):
            return  # its black tile says it larger
        base = self.paper_height - TOP - HEAD - 24.0
        title = printable(section.title)
        place = printable(section.place) if first else f"{printable(section.place)}, continued".lstrip(", ")
        canvas.setFont(*TITLE)
        canvas.drawString(0, base, title)
        canvas.setFont(*PLACE)
        canvas.drawString(width(title, *TITLE) + 12, base, place)

    def _foot(self, canvas: Any, section: Section, page: int) -> None:
        canvas.setFont(*FOOT)
        if section.owner:
            canvas.drawRightString(MEASURE, FOOT_LINE, "for the owner, not for the crew")
        canvas.drawString(0, FOOT_LINE, section.foot or self._next(section, page))

    def _next(self, section: Section, page: int) -> str:
        """Where to go on: over the page, to the next sheet of the same person, or that there is none."""
        if section.owner:
            return ""
        before = self.before
        own = [one for one in self.sections if one.role == section.role]
        following = [one for one in self.sections if before.page(one.key) > page and one.role != section.role]
        last = min((before.page(one.key) for one in following), default=before.total + 1) - 1
        last -= last in before.backs
        if page < last:
            way = "Turn over" if page % 2 else f"Next: page {page + 1}"
            after = next((one for one in own if before.page(one.key) == page + 1 and one.key in before.tops), None)
            if after is not None:
                return f"{way}: {after.title}, {after.place}".rstrip(", ")
            begun = [one for one in own if 0 < before.page(one.key) <= page] or [section]
            return f"{way}: {begun[-1].title}, continued"
        if not any(one.role != "owner" for one in following):
            return "Last page for the crew."
        return _THEN.get(section.role, "")

    def _folds(self, canvas: Any) -> None:
        canvas.setLineWidth(0.6)
        canvas.setStrokeGray(0)
        middle = self.paper_height / 2
        canvas.line(6, middle, 16, middle)
        canvas.line(self.paper_width - 16, middle, self.paper_width - 6, middle)


def found(sections: Sequence[Section], masthead: Masthead, paper: Paper) -> Bound:
    """Where the sections come to stand, found without painting a page."""
    book = _Book(BytesIO(), paper, masthead, sections, None)
    book.build(_story(book, sections), canvasmaker=_unsaved)
    return book.now


def _unsaved(*args: Any, **keys: Any) -> Any:
    canvas = Canvas(*args, **{**keys, "initialFontName": REGULAR})
    canvas.save = lambda: None
    return canvas


def bind(
    sections: Sequence[Section], masthead: Masthead, paper: Paper, before: Bound, inside: Inside = NOTHING_INSIDE
) -> tuple[Callable[[], bytes], Bound]:
    """Paint the sections once. `before` is what was found last: paint them until the two agree, then ask for the
    file's bytes, once.

    `inside` is what the file carries beside its pages: a form over its boxes to write in, and attached files.
    """
    file = BytesIO()
    book = _Book(file, paper, masthead, sections, before)
    saves: list[Callable[[], None]] = []

    def canvas(*args: Any, **keys: Any) -> Any:
        made = _dated(_unsaved(*args, **keys), masthead.date)
        if inside.job:
            made.form = Form(made, inside.job)
        attach(made, inside.files)
        saves.append(partial(Canvas.save, made))  # a file is made of the last layout alone
        return made

    def written() -> bytes:
        for save in saves:
            save()
        return file.getvalue()

    book.build(_story(book, sections), canvasmaker=canvas)
    return written, book.now


def _story(book: _Book, sections: Sequence[Section]) -> list[Any]:
    """What the engine places: each section's parts below the last one's, or on a page of their own."""
    register()
    story: list[Any] = []
    placed = [flowables(section.blocks) for section in sections]
    for parts in placed:
        while parts and isinstance(parts[-1], Spacer):
            parts.pop()  # white after the last word may turn an empty page
    new = [n == 0 or one.role != sections[n - 1].role for n, one in enumerate(sections)]
    joined = arranged(list(zip(new, placed, strict=True)), book.room)
    for n, (section, parts, joins) in enumerate(zip(sections, placed, joined, strict=True)):
        if n:
            title = JoinedTitle(section, book.begun)
            turned = new[n] and section.role != "owner"
            front = f"{_NOTES} {sections[n - 1].role}" if turned else ""
            story += [JoinOrTurn(section.key, title, parts, joins, front), title]
        else:
            story.append(NextPageTemplate(section.key))
        story.extend(parts)
    return story


def _dated(canvas: Any, date: datetime.date | None) -> Any:
    """The plan's date in place of the clock's, so the same plan gives the same bytes."""
    # The engine seeds the file's mark of identity with the clock it was made by, SOURCE_DATE_EPOCH included.
    canvas._doc.signature = hashlib.md5(usedforsecurity=False)
    stamp = canvas._doc._timeStamp
    day = date or datetime.date(2000, 1, 1)
    stamp.YMDhms = (day.year, day.month, day.day, 0, 0, 0)
    stamp.dhh = stamp.dmm = 0
    return canvas
