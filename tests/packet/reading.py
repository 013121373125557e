"""Reads a printed packet back the way a strict reader would: where each word stands, and with which glyph."""

from __future__ import annotations

import re
from functools import lru_cache
from importlib.resources import files
from io import BytesIO
from typing import Any

import pdfplumber
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from planner.packet.pages import PAPERS
from planner.packet.style import MEASURE

TOLERANCE = 0.6  # pt
WEIGHTS = ("Regular", "Semibold", "Bold", "Black")


@lru_cache(maxsize=64)
def pages(pdf: bytes) -> tuple[Any, ...]:
    """The pages as pdfplumber sees them."""
    return tuple(pdfplumber.open(BytesIO(pdf)).pages)


def texts(pdf: bytes) -> list[str]:
    """Each page's text, spaces plain."""
    return [" ".join((page.extract_text() or "").replace("\u00a0", " ").split()) for page in pages(pdf)]


def problems(pdf: bytes, paper: str) -> list[str]:
    """Everything about the printed pages that nobody should have to see."""
    found: list[str] = []
    wide, tall, left = PAPERS[paper]  # type: ignore[index]
    for number, page in enumerate(pages(pdf), start=1):
        assert (float(page.width), float(page.height)) == (wide, tall)
        chars = [c for c in page.chars if c["text"].strip()]
        if sum(1 for c in chars if 90 < c["top"] < tall - 48) < 20:
            found.append(f"page {number} is empty")
        found += [f"page {number}: {c['text']!r} in the margin" for c in chars if _outside(c, tall, left)]
        found += [f"page {number}: type of {c['size']:.1f} pt" for c in chars if c["size"] < 9.99]
        found += [f"page {number}: {problem}" for problem in _overlaps(page)]
        found += [f"page {number}: ink in the margin {ink}" for ink in _margin_ink(page, wide, tall, left)]
    return [*found, *missing_glyphs(pdf)]


def _outside(char: Any, tall: float, left: float) -> bool:
    in_measure = left - TOLERANCE <= char["x0"] and char["x1"] <= left + MEASURE + TOLERANCE
    return not in_measure or char["top"] < 30 or char["bottom"] > tall - 24


def _overlaps(page: Any) -> list[str]:
    """Words whose ink would touch, by the height of their letters rather than of their lines."""
    words = page.extract_words(keep_blank_chars=False, extra_attrs=["size"], x_tolerance=1.2)
    boxes = []
    for word in words:
        middle = (word["top"] + word["bottom"]) / 2
        half = 0.30 * word["size"]
        boxes.append((word["x0"] + 0.4, middle - half, word["x1"] - 0.4, middle + half, word["text"]))
    found = []
    boxes.sort(key=lambda box: box[1])
    for n, (a0, b0, a1, b1, one) in enumerate(boxes):
        for c0, d0, c1, d1, other in boxes[n + 1 :]:
            if d0 >= b1:
                break
            if a0 < c1 and c0 < a1 and b0 < d1 and d0 < b1:
                found.append(f"{one!r} lies on {other!r}")
    return found


def _margin_ink(page: Any, wide: float, tall: float, left: float) -> list[str]:
    """Lines and boxes outside the measure that are not the two fold ticks at half height."""
    found = []
    for shape in [*page.lines, *page.rects, *page.curves]:
        inside = shape["x0"] >= left - 1 and shape["x1"] <= left + MEASURE + 1 and shape["bottom"] <= tall - 40
        tick = abs(shape["top"] - tall / 2) < 1 and abs(shape["bottom"] - tall / 2) < 1 and shape["width"] <= 12
        if not inside and not tick:
            found.append(f"{shape['x0']:.0f} {shape['top']:.0f} {shape['x1']:.0f} {shape['bottom']:.0f}")
    return found


def fold_ticks(page: Any) -> int:
    """How many fold ticks a page has."""
    middle = float(page.height) / 2
    return sum(1 for line in page.lines if abs(line["top"] - middle) < 1 and line["width"] <= 12)


@lru_cache(maxsize=1)
def _drawable() -> frozenset[str]:
    """Characters that the typeface's own table of characters holds, read without the planner's help."""
    folder = files("font_source_sans_pro") / "files"
    tables = [
        TTFont(str(folder / f"SourceSansPro-{weight}.ttf"), lazy=True)["cmap"].getBestCmap() for weight in WEIGHTS
    ]
    return frozenset(chr(code) for code in set.intersection(*(set(table) for table in tables)))


def missing_glyphs(pdf: bytes) -> list[str]:
    """Characters on the page that the typeface has no glyph for: a printer shows an empty box there."""
    found: list[str] = []
    for number, page in enumerate(pages(pdf), start=1):
        found += [f"page {number}: no glyph for {c['text']!r}" for c in page.chars if not set(c["text"]) <= _drawable()]
    return found


def faces(pdf: bytes) -> set[str]:
    """Names of the typefaces in the file, without the subset's mark, and `not embedded` where one is not."""
    names: set[str] = set()
    for page in PdfReader(BytesIO(pdf)).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            face = font.get_object()
            embedded = "/FontDescriptor" in face and "/FontFile2" in face["/FontDescriptor"]
            names.add(
                re.sub(r"^/[A-Z]{6}\+", "", face["/BaseFont"]) if embedded else f"not embedded {face['/BaseFont']}"
            )
    return names
