"""Form fields over the boxes to write in, so that a page can be filled on a tablet as well as by pen.

A field's name is the job's id, a slash and a key path of a record: `2026-06-09/10-boathouse/times.arrived`.  A period
parts the names of a form's levels (ISO 32000-1, 12.7.3.2), so each field hangs under those its name leads through.
The box itself is printed on the page; its field has neither frame nor ground and leaves the paper as it was.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from typing import Any, Final

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFObjectReference, PDFStream, PDFString

from planner.packet.blocks import Section, WriteIn
from planner.packet.fonts import printable

_FONT = "Helv"
_SIZE, _SMALL = 11, 10  # pt
_INSET = 1.6  # pt between the box's rule and the field
_SEVERAL_LINES: Final = 1 << 12  # ISO 32000-1, table 228
_ON_PAPER: Final = 1 << 2  # ISO 32000-1, table 165: what is filled in is printed
_PART = re.compile(r"(?<=[^.])\.(?=[^.])")
_VERSION = (1, 7)


def boxes_of(sections: Iterable[Section]) -> tuple[WriteIn, ...]:
    """The boxes that get a field, in the order they stand in; one that stands in two arrangements once."""
    found: dict[str, WriteIn] = {}
    for section in sections:
        for box in _boxes(section.blocks):
            found.setdefault(box.name, box)
    return tuple(found.values())


def _boxes(part: object) -> Iterator[WriteIn]:
    if isinstance(part, WriteIn):
        if part.name:
            yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from _boxes(one)
    elif is_dataclass(part):
        for field in fields(part):
            yield from _boxes(getattr(part, field.name))


def parts_of(name: str) -> list[str]:
    """The names of a field's levels. A period that parts nothing from nothing stays where it is."""
    return _PART.split(name)


def hint(box: WriteIn) -> str:
    """What a viewer says of a field, and a screen reader reads out."""
    unit = f"so many {box.unit}" if box.lead else f"in {box.unit}"
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

    def add(self, box: WriteIn, wide: float, tall: float) -> None:
        """A field over a box whose lower left corner is where the canvas stands, `wide` by `tall` pt."""
        if not box.name or box.name in self.taken:
            return
        self.taken.add(box.name)
        canvas, document = self.canvas, self.canvas._doc
        if not self.levels:
            self._begin()
        *above, last = parts_of(f"{self.job}/{box.name}")
        left, low = canvas.absolutePosition(_INSET, _INSET)
        wide, tall = round(wide - 2 * _INSET, 2), round(tall - 2 * _INSET, 2)
        field = PDFDictionary(
            {
                "Type": PDFName("Annot"),
                "Subtype": PDFName("Widget"),
                "FT": PDFName("Tx"),
                "T": PDFString(last),
                "TU": PDFString(printable(hint(box))),
                "V": PDFString(""),
                "DV": PDFString(""),
                "DA": PDFString(f"/{_FONT} {_SMALL if box.tall else _SIZE} Tf 0 g"),
                "Ff": _SEVERAL_LINES if box.tall else 0,
                "F": _ON_PAPER,
                "P": document.thisPageRef(),
                "Rect": PDFArray([round(left, 2), round(low, 2), round(left + wide, 2), round(low + tall, 2)]),
                "AP": PDFDictionary({"N": self._ground(wide, tall)}),
            }
        )
        here = document.Reference(field)
        self._in_turn(here, box.name.rpartition(".")[0])
        siblings = self._level(tuple(above), field)
        siblings.sequence.append(here)

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


def draw_field(canvas: Any, box: WriteIn, wide: float, tall: float) -> None:
    """A field over a box that has just been drawn, where the document has a form at all."""
    form: Form | None = getattr(canvas, "form", None)
    if form is not None:
        form.add(box, wide, tall)
