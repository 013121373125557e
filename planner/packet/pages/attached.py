"""Files that a packet carries inside it: the plan's figures as JSON, and what each of its boxes is for."""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from typing import Any

from planner.frozen import dataclass
from planner.packet.blocks import WriteIn

PLAN, BOXES = "plan.json", "boxes.json"
TICKS, NOTES = "ticks", "notes"
UNKEPT = (TICKS, NOTES)
"""How the names of fields begin that no record takes."""
FORMAT = 1
_VERSION = (1, 7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Attached:
    """A file inside the PDF: its name, what it is, its length in bytes, and its bytes as they are packed."""

    name: str
    about: str
    length: int
    packed: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """What goes into the file beside its pages: the job whose boxes become fields, none without one; and files."""

    job: str = ""
    files: tuple[Attached, ...] = ()


def attached(name: str, about: str, text: str) -> Attached:
    """A text as a file to put inside."""
    content = text.encode("utf-8")
    return Attached(name=name, about=about, length=len(content), packed=zlib.compress(content, 6))


def boxes_json(job: str, plan: str, boxes: Sequence[WriteIn]) -> str:
    """What the boxes are for, by the names of their fields without the job's id: label, planned figure, unit."""
    rows = {box.name: {"label": box.label, "planned": box.planned, "unit": box.unit, "lead": box.lead} for box in boxes}
    about = {"format": FORMAT, "job": job, "plan": plan, "boxes": rows}
    return json.dumps(about, ensure_ascii=True, separators=(",", ":"))


def attach(canvas: Any, files: Sequence[Attached]) -> None:
    """Put files into the document that the canvas paints (ISO 32000-1, 7.11.4)."""
    if not files:
        return
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFString

    document = canvas._doc
    document._pdfVersion = max(document._pdfVersion, _VERSION)
    names: list[Any] = []
    for file in sorted(files, key=lambda file: file.name):  # a name tree is kept in order
        kind = PDFDictionary(
            {
                "Type": PDFName("EmbeddedFile"),
                "Subtype": "/application#2Fjson",
                "Filter": PDFName("FlateDecode"),
                "Params": PDFDictionary({"Size": file.length}),
            }
        )
        stream = document.Reference(PDFStream(kind, file.packed))
        place = PDFDictionary(
            {
                "Type": PDFName("Filespec"),
                "F": PDFString(file.name),
                "UF": PDFString(file.name),
                "Desc": PDFString(file.about),
                "EF": PDFDictionary({"F": stream}),
            }
        )
        names += [PDFString(file.name), document.Reference(place)]
    document.Catalog.Names = PDFDictionary({"EmbeddedFiles": PDFDictionary({"Names": PDFArray(names)})})
