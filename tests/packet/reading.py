"""Reads a printed packet back the way a strict reader would: where each word stands, and with which glyph."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from io import BytesIO
from itertools import pairwise
from typing import Any

import pdfplumber
import pypdfium2.raw as raw
from fontTools.ttLib import TTFont
from pypdf import PdfReader
from pypdfium2 import PdfDocument

from planner.packet.pages.pages import PAPERS
from planner.packet.pages.style import FACES, MEASURE, TITLE

TOLERANCE = 0.6  # pt
EDGE = 22.0  # pt from the paper's edge that a desk printer may not reach
HEADS = (TITLE[1], FACES["head"].size)  # pt; nothing else on a page is set in these
WEIGHTS = ("Regular", "Semibold", "Bold", "Black")


@dataclass(frozen=True, slots=True)
class Word:
    """Letters that stand together, with their box in pt from the top left corner of the page."""

    text: str
    x0: float
    top: float
    x1: float
    bottom: float
    size: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page as the quick reader finds it: its size, its words in the order they are set, the boxes of its ink."""

    wide: float
    tall: float
    words: tuple[Word, ...]
    ink: tuple[tuple[float, float, float, float], ...]


@lru_cache(maxsize=256)
def sheets(pdf: bytes) -> tuple[Sheet, ...]:
    """The pages read by the library a browser paints with: some ten times as quick as `pages`."""
    with PdfDocument(pdf) as document:
        return tuple(_sheet(page) for page in document)


def _sheet(page: Any) -> Sheet:
    wide, tall = page.get_size()
    text = page.get_textpage()
    words: list[Word] = []
    letters: list[Any] = []
    for n in range(text.count_chars()):
        letter = chr(raw.FPDFText_GetUnicode(text, n))
        if not letter.strip():
            words += _joined(letters)
            letters = []
            continue
        x0, low, x1, high = text.get_charbox(n, loose=True)
        size = raw.FPDFText_GetFontSize(text, n)
        if letters and not (
            letters[-1][3] - 0.5 <= x0 <= letters[-1][3] + 1.2 and abs(tall - high - letters[-1][2]) < 6
        ):
            words += _joined(letters)
            letters = []
        letters.append((letter, x0, tall - high, x1, tall - low, size))
    words += _joined(letters)
    ink = []
    for shape in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        x0, low, x1, high = shape.get_bounds()
        ink.append((x0, tall - high, x1, tall - low))
    return Sheet(wide=wide, tall=tall, words=tuple(words), ink=tuple(ink))


def _joined(letters: list[Any]) -> list[Word]:
    if not letters:
        return []
    size = max(letter[5] for letter in letters)
    return [
        Word(
            "".join(letter[0] for letter in letters), letters[0][1], min(letter[2] for letter in letters),
            max(letter[3] for letter in letters), max(letter[4] for letter in letters), size,
        )
    ]  # fmt: skip


def texts(pdf: bytes) -> list[str]:
    """Each page's text line by line from the top, columns read across."""
    return [_across(sheet) for sheet in sheets(pdf)]


def _across(sheet: Sheet) -> str:
    lines: list[list[Word]] = []
    for word in sorted(sheet.words, key=lambda word: (word.top, word.x0)):
        if lines and word.top - lines[-1][-1].top < 3:
            lines[-1].append(word)
        else:
            lines.append([word])
    return " ".join(" ".join(word.text for word in sorted(line, key=lambda word: word.x0)) for line in lines)


@lru_cache(maxsize=64)
def pages(pdf: bytes) -> tuple[Any, ...]:
    """The pages as pdfplumber sees them, for what is asked of rectangles and lines; slow."""
    return tuple(pdfplumber.open(BytesIO(pdf)).pages)


def problems(pdf: bytes, paper: str) -> list[str]:
    """Everything about the printed pages that nobody should have to see."""
    found: list[str] = []
    wide, tall, left = PAPERS[paper]
    for number, sheet in enumerate(sheets(pdf), start=1):
        assert (sheet.wide, sheet.tall) == (wide, tall)
        bare = sum(len(word.text) for word in sheet.words if 84 < word.top < tall - 32) < 20
        if bare and not (number % 2 == 0 and is_for_notes(sheet)):
            found.append(f"page {number} is empty")
        found += [f"page {number}: {word.text!r} in the margin" for word in sheet.words if _outside(word, tall, left)]
        found += [f"page {number}: {word.text!r} of {word.size:.1f} pt" for word in sheet.words if word.size < 9.99]
        found += [f"page {number}: {problem}" for problem in _overlaps(sheet)]
        found += [f"page {number}: {word.text!r} heads nothing" for word in _widows(sheet)]
        found += [f"page {number}: ink in the margin {ink}" for ink in _margin_ink(sheet, left)]
        found += [
            f"page {number}: no glyph for {word.text!r}" for word in sheet.words if not set(word.text) <= _drawable()
        ]
    return found


def is_for_notes(sheet: Sheet) -> bool:
    """A page with nothing but `Notes` over lines to write on, all across and a pen's line apart, to the foot."""
    body = [word for word in sheet.words if word.top > 60]
    lines = sorted(top for x0, top, x1, bottom in sheet.ink if x1 - x0 > MEASURE - 2 and bottom - top < 2 and top > 80)
    apart = [after - before for before, after in pairwise(lines)]
    return (
        [(word.text, round(word.size)) for word in body] == [("Notes", round(TITLE[1]))]
        and len(lines) >= 20
        and max(apart) - min(apart) < 1
        and lines[-1] > sheet.tall - 60
    )


def _outside(word: Word, tall: float, left: float) -> bool:
    in_measure = left - TOLERANCE <= word.x0 and word.x1 <= left + MEASURE + TOLERANCE
    ink = word.top + 0.28 * word.size  # a letter's box is higher than its ink
    return not in_measure or ink < EDGE or word.bottom > tall - EDGE + 6


def _overlaps(sheet: Sheet) -> list[str]:
    """Words whose ink would touch, by the height of their letters rather than of their lines."""
    boxes = []
    for word in sheet.words:
        middle, half = (word.top + word.bottom) / 2, 0.30 * word.size
        boxes.append((word.x0 + 0.4, middle - half, word.x1 - 0.4, middle + half, word.text))
    found = []
    boxes.sort(key=lambda box: box[1])
    for n, (a0, b0, a1, b1, one) in enumerate(boxes):
        for c0, d0, c1, d1, other in boxes[n + 1 :]:
            if d0 >= b1:
                break
            if a0 < c1 and c0 < a1 and b0 < d1 and d0 < b1:
                found.append(f"{one!r} lies on {other!r}")
    return found


def _widows(sheet: Sheet) -> list[Word]:
    """Heads with nothing close below them in their own column: no word and no line of a drawing."""
    below = [(word.x0, word.top, word.x1, word.bottom) for word in sheet.words] + list(sheet.ink)
    below = [box for box in below if box[3] < sheet.tall - 31]

    def follows(head: Word, box: tuple[float, float, float, float]) -> bool:
        x0, top, x1, bottom = box
        near = head.bottom - 4 < top < head.bottom + 60 and bottom > head.bottom + 4
        wide = MEASURE if head.size == TITLE[1] else 220.0  # a title heads the whole page
        return near and x1 > head.x0 - 30 and x0 < head.x1 + wide

    heads: list[Word] = []
    for before, word in pairwise((None, *sheet.words)):
        is_head = word.top > 60 and any(abs(word.size - size) < 0.05 for size in HEADS)
        if word is not None and is_head and (before is None or (before.top, before.size) != (word.top, word.size)):
            heads.append(word)
    return [head for head in heads if not any(follows(head, box) for box in below)]


def _margin_ink(sheet: Sheet, left: float) -> list[str]:
    """Lines and boxes outside the measure that are not the two fold ticks at half height."""
    found = []
    for x0, top, x1, bottom in sheet.ink:  # the bounds take in a line's weight on all sides
        inside = x0 >= left - 2.4 and x1 <= left + MEASURE + 2.4 and bottom <= sheet.tall - 31
        tick = abs((top + bottom) / 2 - sheet.tall / 2) < 1 and bottom - top < 2.6 and x1 - x0 <= 13
        if not inside and not tick:
            found.append(f"{x0:.0f} {top:.0f} {x1:.0f} {bottom:.0f}")
    return found


def fold_ticks(page: Any) -> int:
    """How many fold ticks a page has."""
    middle, wide = float(page.height) / 2, float(page.width)
    edge = [line for line in page.lines if min(line["x0"], wide - line["x1"]) < 30]
    return sum(1 for line in edge if abs(line["top"] - middle) < 1 and line["width"] <= 12)


@lru_cache(maxsize=1)
def _drawable() -> frozenset[str]:
    """Characters that the typeface's own table of characters holds, read without the planner's help."""
    folder = files("font_source_sans_pro") / "files"
    tables = [
        TTFont(str(folder / f"SourceSansPro-{weight}.ttf"), lazy=True)["cmap"].getBestCmap() for weight in WEIGHTS
    ]
    return frozenset(chr(code) for code in set.intersection(*(set(table) for table in tables)))


def faces(pdf: bytes) -> set[str]:
    """Names of the typefaces in the file, without the subset's mark, and `not embedded` where one is not."""
    names: set[str] = set()
    for page in PdfReader(BytesIO(pdf)).pages:
        for font in page["/Resources"]["/Font"].values():
            face = font.get_object()
            embedded = "/FontDescriptor" in face and "/FontFile2" in face["/FontDescriptor"]
            names.add(
                re.sub(r"^/[A-Z]{6}\+", "", face["/BaseFont"]) if embedded else f"not embedded {face['/BaseFont']}"
            )
    return names
