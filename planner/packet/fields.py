"""Form fields over the boxes to write in and to tick, so that a page can be filled on a tablet as well as by pen.

A field's name is the job's id, a slash and a key path of a record: `2026-06-09/10-boathouse/times.arrived`.  A period
parts the names of a form's levels (ISO 32000-1, 12.7.3.2), so each field hangs under those its name leads through.
The box itself is printed on the page; its field has neither frame nor ground and leaves the paper as it was.

What no record takes has its field too, so that no box is dead: `ticks.lead.12` the box of step 12 on the lead's sheets,
`ticks.second.17_825` a round at 8:25, `ticks.rows.4.2` the second box of the fourth row of the walls, and
`notes.near.1` what is written about the place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any, Final

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFObjectReference, PDFStream, PDFString

from planner.inputs.reading.letters import printable
from planner.packet.blocks import (
    Block,
    Columns,
    Fields,
    Hold,
    Section,
    Step,
    Table,
    Ticks,
    Two,
    WriteIn,
    renewed,
    walked,
)
from planner.packet.pages.attached import NOTES, TICKS

_FONT = "Helv"
_SIZE, _SMALL = 11, 10  # pt
_INSET = 1.6  # pt between the box's rule and the field
_SEVERAL_LINES: Final = 1 << 12  # ISO 32000-1, table 228
_ON_PAPER: Final = 1 << 2  # ISO 32000-1, table 165: what is filled in is printed
_PART = re.compile(r"(?<=[^.])\.(?=[^.])")
_VERSION = (1, 7)
_MARK = "0 0 1 RG 1.6 w 2.5 7 m 5.5 3 l 11.5 11.5 l S"  # in a box of 14 pt
_MARKED = 14.0
_IN_ORDER = (TICKS, "initials")  # fields that the tab key takes as they stand on the page
_LONGEST = 40  # letters of what a field says of itself


def boxes_of(sections: Iterable[Section]) -> tuple[WriteIn, ...]:
    """The boxes that get a field, in the order they stand in; one that stands in two arrangements once."""
    boxes: dict[str, WriteIn] = {}
    for section in sections:
        for block in walked(section.blocks):
            for box in _boxes(block):
                if box.name:
                    boxes.setdefault(box.name, box)
    return tuple(boxes.values())


def initials_of(hold: Hold) -> tuple[WriteIn, ...]:
    """The boxes for the initials of a stop point, in the order of who gives them."""
    about = f"Stop point {hold.number}, {hold.title}: initials"
    return tuple(WriteIn(name=f"initials.{hold.number}.{who}", label=f"{about}, {who}") for who in hold.who)


class _Names:
    """Names for boxes that have none of their own, each given once, counted within their section or sheet."""

    def __init__(self) -> None:
        self.counts: dict[str, int] = {}
        self.given: set[str] = set()

    def next(self, of: str) -> str:
        self.counts[of] = self.counts.get(of, 0) + 1
        return f"{of}.{self.counts[of]}"

    def step(self, one: Step, section: Section) -> Step:
        name = f"{TICKS}.{section.role}.{one.number}" if one.number else self.next(f"{TICKS}.{section.key}")
        while name in self.given:  # a person's second sheet counts from 1 again
            name += "_2"
        self.given.add(name)
        return replace(one, tick=name)

    def over(self, part: Any, section: Section) -> Any:
        """A block, a cell, or several of them, with all names given."""
        if isinstance(part, tuple):
            return tuple(self.over(one, section) for one in part)
        match part:
            case Step():
                return self.step(part, section)
            case Hold() | Two() | Columns():
                return renewed(part, lambda blocks: self.over(blocks, section))
            case Ticks():
                return replace(part, tick=self.next(f"{TICKS}.rows"))
            case WriteIn(name=""):
                name = self.next(f"{NOTES}.{section.key}")
                return replace(part, name=name, label=part.label or f"{section.title}, box {name.rpartition('.')[2]}")
            case Table(rows=rows) | Fields(rows=rows):
                return replace(part, rows=self.over(rows, section))
        return part


def named(sections: Sequence[Section]) -> list[Section]:
    """The sections with a field's name for every box, numbered already."""
    names = _Names()
    return [replace(section, blocks=names.over(section.blocks, section)) for section in sections]


def _boxes(block: Block) -> Iterator[WriteIn]:
    """The boxes of one block, without those of blocks inside it."""
    match block:
        case Hold():
            yield from initials_of(block)
        case Step(write=WriteIn() as box):
            yield box
        case Table(rows=rows) | Fields(rows=rows):
            yield from (cell for row in rows for cell in row if isinstance(cell, WriteIn))


def parts_of(name: str) -> list[str]:
    """The names of a field's levels. A period that parts nothing from nothing stays where it is."""
    return _PART.split(name)


def hint(box: WriteIn) -> str:
    """What a viewer says of a field, and a screen reader reads out."""
    unit = f"how many {box.unit}" if box.lead else f"in {box.unit}"
    words = ", ".join(part for part in (box.label, unit if box.unit else "") if part)
    return f"{words}; planned {box.planned}" if box.planned else words


class Form:
    """The fields of one document, put together while its pages are painted."""

    def __init__(self, canvas: Any, job: str) -> None:
        self.canvas, self.job = canvas, job
        self.roots = PDFArray([])
        self.levels: dict[tuple[str, ...], PDFDictionary] = {}
        self.on_page: tuple[int, list[str]] = (0, [])
        self.taken: set[str] = set()
        self.marks: PDFObjectReference | None = None

    def add(self, box: WriteIn, wide: float, tall: float) -> None:
        """A field over a box whose lower left corner is where the canvas stands, `wide` by `tall` pt."""
        wide, tall = round(wide - 2 * _INSET, 2), round(tall - 2 * _INSET, 2)
        own = {
            "FT": PDFName("Tx"),
            "V": PDFString(""),
            "DV": PDFString(""),
            "DA": PDFString(f"/{_FONT} {_SMALL if box.tall else _SIZE} Tf 0 g"),
            "Ff": _SEVERAL_LINES if box.tall else 0,
        }
        at = (_INSET, _INSET, wide, tall)
        self._put(box.name, hint(box), at, own, lambda: PDFDictionary({"N": self._ground(wide, tall)}))

    def tick(self, name: str, about: str, at: tuple[float, float, float, float]) -> None:
        """A field over a box to tick: `at` is its lower left corner, width and height in pt."""
        own = {"FT": PDFName("Btn"), "V": PDFName("Off"), "AS": PDFName("Off")}
        self._put(name, about if len(about) <= _LONGEST else f"{about[: _LONGEST - 1].rstrip()}…", at, own, self._marks)

    def _put(
        self, name: str, about: str, at: tuple[float, float, float, float], own: dict[str, Any],
        looks: Callable[[], Any],
    ) -> None:  # fmt: skip
        if not name or name in self.taken:
            return
        self.taken.add(name)
        canvas, document = self.canvas, self.canvas._doc
        if not self.levels:
            self._begin()
        *above, last = parts_of(f"{self.job}/{name}")
        left, low = canvas.absolutePosition(at[0], at[1])
        field = PDFDictionary(
            {
                "Type": PDFName("Annot"),
                "Subtype": PDFName("Widget"),
                "T": PDFString(last),
                "TU": PDFString(printable(about)),
                **own,
                "F": _ON_PAPER,
                "P": document.thisPageRef(),
                "Rect": PDFArray([round(left, 2), round(low, 2), round(left + at[2], 2), round(low + at[3], 2)]),
                "AP": looks(),
            }
        )
        here = document.Reference(field)
        self._in_turn(here, name if name.startswith(_IN_ORDER) else name.rpartition(".")[0])
        siblings = self._level(tuple(above), field)
        siblings.sequence.append(here)

    def _marks(self) -> PDFObjectReference:
        """How every box to tick is painted, ticked and not: one for all, as no program writes over it."""
        if self.marks is None:
            box = PDFArray([0, 0, _MARKED, _MARKED])
            kind = {"Type": PDFName("XObject"), "Subtype": PDFName("Form"), "BBox": box, "Resources": PDFDictionary({})}
            on, off = (
                self.canvas._doc.Reference(PDFStream(PDFDictionary(dict(kind)), f"{painted}\n"))
                for painted in (f"q {_MARK} Q", "q Q")
            )
            looks = PDFDictionary({"N": PDFDictionary({"Yes": on, "Off": off})})
            self.marks = self.canvas._doc.Reference(looks)
        return self.marks

    def _begin(self) -> None:
        """The form itself, in Helvetica, which every viewer has."""
        document = self.canvas._doc
        face = PDFDictionary(
            {
                "Type": PDFName("Font"),
                "Subtype": PDFName("Type1"),
                "BaseFont": PDFName("Helvetica"),
                "Encoding": PDFName("WinAnsiEncoding"),
            }
        )
        fonts = PDFDictionary({_FONT: document.Reference(face)})
        document._pdfVersion = max(document._pdfVersion, _VERSION)
        document.Catalog.AcroForm = PDFDictionary(
            {
                "Fields": self.roots,
                "DA": PDFString(f"/{_FONT} {_SIZE} Tf 0 g"),
                "DR": PDFDictionary({"Font": fonts}),
            }
        )

    def _level(self, above: tuple[str, ...], below: PDFDictionary) -> PDFArray:
        """Where a field or level hangs: the kids of what its name leads through, made where there is none yet."""
        if not above:
            return self.roots
        document = self.canvas._doc
        if above not in self.levels:
            level = PDFDictionary({"T": PDFString(above[-1]), "Kids": PDFArray([])})
            self.levels[above] = level
            here = document.Reference(level)
            self._level(above[:-1], level).sequence.append(here)
        below["Parent"] = document.Reference(self.levels[above])
        kids: PDFArray = self.levels[above]["Kids"]
        return kids

    def _ground(self, wide: float, tall: float) -> PDFObjectReference:
        """An empty field as it is painted: nothing. Each its own, as programs that fill one write over it."""
        kind = {
            "Type": PDFName("XObject"),
            "Subtype": PDFName("Form"),
            "BBox": PDFArray([0, 0, wide, tall]),
            "Resources": PDFDictionary({}),
        }
        return self.canvas._doc.Reference(PDFStream(PDFDictionary(kind), "/Tx BMC EMC\n"))

    def _in_turn(self, field: PDFObjectReference, group: str) -> None:
        """Fields of one group follow each other when somebody goes on by the tab key, though groups stand abreast."""
        page = self.canvas.getPageNumber()
        if self.on_page[0] != page:
            self.on_page = (page, [])
        groups = self.on_page[1]
        at = max((n for n, other in enumerate(groups, start=1) if other == group), default=len(groups))
        groups.insert(at, group)
        self.canvas._annotationrefs.insert(at, field)


def draw_tick(canvas: Any, name: str, about: str, left: float, low: float, size: float) -> None:
    """A field over a box to tick that has just been drawn, where the document has a form at all."""
    form: Form | None = getattr(canvas, "form", None)
    if form is not None and name:
        form.tick(name, about, (left, low, size, size))


def draw_field(canvas: Any, box: WriteIn, wide: float, tall: float) -> None:
    """A field over a box that has just been drawn, where the document has a form at all."""
    form: Form | None = getattr(canvas, "form", None)
    if form is not None:
        form.add(box, wide, tall)
