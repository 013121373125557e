"""What is left of a crew page after three generations of copying: its labels, its figures, its lines of 1 pt.

The copier is a worst case that is made up: it shifts and scales a little, blurs, adds noise and has its contrast turned
up, so that thin strokes fade and light grey turns white. What it does to type is held by a page of type in known sizes.
"""

from __future__ import annotations

import ctypes
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from itertools import pairwise
from typing import Any

import numpy as np
import pypdfium2.raw as raw
import pytest
from PIL import Image, ImageFilter
from pypdfium2 import PdfDocument
from reportlab.pdfgen.canvas import Canvas

from planner.packet.pages.fonts import BOLD, REGULAR, SEMIBOLD, register
from tests.packet.figures.jobs import DEMO, packet_of
from tests.packet.reading import pages, sheets

DPI = 200.0
PX = DPI / 72
MOVES = ((1.002, 0.4, -0.3), (0.997, -0.6, 0.5), (1.001, 0.3, 0.2))
"""Each generation's scale, and its shift in pixels."""
BLUR, NOISE = 0.9, 6.0
WHITE, BLACK = 170.0, 60.0  # what is lighter turns white, what is darker turns black
LEGIBLE = 0.75  # likeness of a word to what it was: a label of 10 pt semibold has more, one of 10 pt regular less
READABLE = 0.55  # the same of running text, which is read by its context: 11 pt regular has more, 8 pt less
FIRST = [("2026-06-09/10-millrace", "letter", 3)]
"""The page that is copied each time: a wash, its sections and its drawings."""


def printed(name: str, paper: str) -> bytes:
    """The crew's pages of a job of the demo, A4 with the other units."""
    return packet_of(name, "us" if paper == "letter" else "si").pdfs[0]


# ------------------------------------------------------------------------------------------------ the copier


def moved(image: Image.Image, scale: float, x: float, y: float) -> Image.Image:
    wide, tall = image.size[0] / 2, image.size[1] / 2
    way = (scale, 0.0, wide - scale * wide + x, 0.0, scale, tall - scale * tall + y)
    return image.transform(image.size, Image.Transform.AFFINE, way, resample=Image.Resampling.BICUBIC, fillcolor=255)


def copied(image: Image.Image) -> Image.Image:
    """Three generations, laid over the original again."""
    random = np.random.default_rng(1)
    grain = random.normal(0.0, NOISE, (256, 256)).astype(np.float32)
    wide, tall = image.size
    tiles = np.tile(grain, (tall // 256 + 1, wide // 256 + 1))[:tall, :wide]
    for scale, x, y in MOVES:
        image = moved(image, scale, x, y).filter(ImageFilter.GaussianBlur(BLUR))
        light = (np.asarray(image, dtype=np.float32) + tiles - BLACK) * (255 / (WHITE - BLACK))
        image = Image.fromarray(np.clip(light, 0, 255).astype(np.uint8))
        tiles = np.roll(tiles, (97, 41), (0, 1))
    whole, across, down = 1.0, 0.0, 0.0
    for scale, x, y in reversed(MOVES):
        across, down = scale * across + x, scale * down + y
        whole *= scale
    return moved(image, 1 / whole, -across / whole, -down / whole)


@dataclass(frozen=True)
class Copy:
    """A page's ink before and after, as shares of black, in pixels from the top left."""

    before: Any
    after: Any


def rendered(pdf: bytes, number: int) -> Copy:
    with PdfDocument(pdf) as document:
        image = document[number].render(scale=PX, grayscale=True).to_pil()
    before, after = (255.0 - np.asarray(one, dtype=np.float32) for one in (image, copied(image)))
    return Copy(before / 255.0, after / 255.0)


def alike(copy: Copy, box: tuple[float, float, float, float]) -> float:
    """How alike the ink of a box [pt] is before and after: 1 is the same, 0 is nothing left."""
    x0, y0, x1, y1 = (round(PX * at) for at in box)
    one, other = (ink[y0:y1, x0:x1] - ink[y0:y1, x0:x1].mean() for ink in (copy.before, copy.after))
    whole = math.sqrt(float((one * one).sum()) * float((other * other).sum()))
    return float((one * other).sum()) / whole if whole else 0.0


# ------------------------------------------------------------------------------------------------ type


@dataclass(frozen=True)
class Letters:
    """A word as it is set, with the lightest of its faces and its least size; its box is that of letters and digits."""

    text: str
    face: str
    size: float
    box: tuple[float, float, float, float]


def letters(pdf: bytes, number: int) -> Iterator[tuple[str, str, float, tuple[float, float, float, float]]]:
    """Every letter of a page with its weight, size and box; a blank for each gap."""
    with PdfDocument(pdf) as document:
        page = document[number]
        tall, text = page.get_height(), page.get_textpage()
        for n in range(text.count_chars()):
            name, flags = ctypes.create_string_buffer(80), ctypes.c_int()
            raw.FPDFText_GetFontInfo(text, n, name, 80, ctypes.byref(flags))
            x0, low, x1, high = text.get_charbox(n)
            face, size = name.value.decode().rpartition("-")[2], raw.FPDFText_GetFontSize(text, n)
            yield chr(raw.FPDFText_GetUnicode(text, n)), face, size, (x0, tall - high, x1, tall - low)


def words(pdf: bytes, number: int) -> list[Letters]:
    found: list[Letters] = []
    held: list[tuple[str, str, float, tuple[float, float, float, float]]] = []
    for one in (*letters(pdf, number), (" ", "", 0.0, (0.0, 0.0, 0.0, 0.0))):
        apart = bool(held) and (abs(one[3][1] - held[-1][3][1]) > 12 or one[3][0] - held[-1][3][2] > 4)
        if held and (not one[0].strip() or apart):
            boxes = [letter[3] for letter in held if letter[0].isalnum()] or [letter[3] for letter in held]
            box = (min(b[0] for b in boxes) - 1, min(b[1] for b in boxes) - 1,
                   max(b[2] for b in boxes) + 1, max(b[3] for b in boxes) + 1)  # fmt: skip
            face = "Regular" if any(letter[1] == "Regular" for letter in held) else held[0][1]
            found.append(Letters("".join(letter[0] for letter in held), face, min(letter[2] for letter in held), box))
            held = []
        if one[0].strip():
            held.append(one)
    return found


KNOWN = (
    (SEMIBOLD, 10.0),
    (BOLD, 11.0),
    (REGULAR, 12.0),
    (REGULAR, 11.0),
    (REGULAR, 10.0),
    (SEMIBOLD, 7.0),
    (REGULAR, 8.0),
)
SAMPLE = "water until stop point 4 second on your call needed 17 ft clean bucket wait 15 min"


@lru_cache(maxsize=1)
def known() -> dict[tuple[str, float], list[float]]:
    """How alike words of known type are after copying."""
    register()
    file = BytesIO()
    canvas = Canvas(file, pagesize=(480, 20 * len(KNOWN) + 20))
    for n, (face, size) in enumerate(KNOWN):
        canvas.setFont(face, size)
        canvas.drawString(20, 20 * n + 15, SAMPLE)
    canvas.save()
    copy = rendered(file.getvalue(), 0)
    found: dict[tuple[str, float], list[float]] = {one: [] for one in KNOWN}
    for word in words(file.getvalue(), 0):
        found[f"Planner-{word.face}", round(word.size, 1)].append(alike(copy, word.box))
    return found


def test_the_copier_tells_type_that_is_large_and_heavy_enough_from_type_that_is_not() -> None:
    found = known()
    assert {len(one) for one in found.values()} == {len(SAMPLE.split())}
    for heavy in ((SEMIBOLD, 10.0), (BOLD, 11.0)):
        assert min(found[heavy]) > LEGIBLE + 0.03, heavy
    for light in ((REGULAR, 10.0), (SEMIBOLD, 7.0)):
        assert max(found[light]) < LEGIBLE - 0.02, light
    for text in ((REGULAR, 12.0), (REGULAR, 11.0)):
        assert min(found[text]) > READABLE + 0.1, text
    assert max(found[REGULAR, 8.0]) < READABLE
    assert np.median(found[REGULAR, 8.0]) < READABLE - 0.2


def faded(pdf: bytes, number: int, copy: Copy) -> list[str]:
    """Words of a page that cannot be read any more."""
    found = []
    for word in words(pdf, number):
        least = READABLE if word.face == "Regular" else LEGIBLE
        like = alike(copy, word.box)
        if re.search(r"\w", word.text) and like < least:  # a dash or a dot alone carries nothing
            found.append(f"{word.text} {word.face} {word.size:.1f}: {like:.2f}")
    return found


@pytest.mark.parametrize(
    ("name", "paper"),
    [
        (name, paper)
        if any(one[:2] == (name, paper) for one in FIRST)
        else pytest.param(name, paper, marks=pytest.mark.ci)
        for name in DEMO
        for paper in ("letter", "a4")
    ],
)
@pytest.mark.ci
def test_nothing_is_set_smaller_or_lighter_than_a_copy_keeps(name: str, paper: str) -> None:
    pdf = printed(name, paper)
    found = [(number + 1, *one) for number in range(len(sheets(pdf))) for one in letters(pdf, number)]
    assert not {one[:4] for one in found if one[1].strip() and one[3] < (10.99 if one[2] == "Regular" else 9.99)}
    # A point or a colon is lost in regular type, and with it what the figure says.
    points = {
        "".join(one[1] for one in three)
        for three in zip(found, found[1:], found[2:], strict=False)
        if three[0][1].isdigit() and three[1][1] in ".:" and three[2][1].isdigit() and three[1][2] == "Regular"
    }
    assert not points


# ------------------------------------------------------------------------------------------------ lines and greys


@dataclass(frozen=True)
class Stretch:
    """A straight piece of line: its weight [pt], its ends [pt] from the top left."""

    weight: float
    dashed: bool
    start: tuple[float, float]
    end: tuple[float, float]


def stretches(page: Any) -> Iterator[Stretch]:
    """Every straight piece of line of a page."""
    for one in (*page.lines, *page.rects, *page.curves):
        if not one["stroke"] or any(part[0] == "c" for part in one.get("path") or ()):
            continue
        ends = list(one["pts"])
        ends += ends[:1] if one in page.rects else []
        for start, end in pairwise(ends):
            yield Stretch(float(one["linewidth"] or 0.0), bool((one.get("dash") or ([],))[0]), start, end)


def kept(copy: Copy, start: tuple[float, float], end: tuple[float, float], over: list[Letters]) -> float | None:
    """How much of a line is still dark, of what was; None of one that is too short to say, or hidden by words `over` it."""
    long = math.dist(start, end)
    count = int(long - 4.0)
    if count < 4:
        return None
    side = ((start[1] - end[1]) / long, (end[0] - start[0]) / long)
    was = left = 0
    for n in range(count):
        share = (2.5 + n) / long
        x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
        if any(one.box[0] - 3 < x < one.box[2] + 3 and one.box[1] - 3 < y < one.box[3] + 3 for one in over):
            continue
        dark = [
            tuple(float(ink[round(PX * (y + off * side[1]) - 0.5), round(PX * (x + off * side[0]) - 0.5)])
                  for ink in (copy.before, copy.after))
            for off in (-0.5, -0.25, 0.0, 0.25, 0.5)
        ]  # fmt: skip
        if max(before for before, _ in dark) > 0.6:
            was += 1
            left += max(after for _, after in dark) > 0.4
    return left / was if was >= 4 else None


def lines(pdf: bytes, number: int, copy: Copy) -> tuple[list[str], list[float]]:
    """Lines of 1 pt and more that are lost, and how much is kept of each that only guides the eye."""
    lost, light = [], []
    over = words(pdf, number)
    for one in stretches(pages(pdf)[number]):
        share = kept(copy, one.start, one.end, over)
        if share is None:
            continue
        if one.weight < 0.99:
            light.append(share)
        elif share < (0.5 if one.dashed else 0.9):  # a dash loses its ends
            lost.append(f"{one.weight:.1f} pt from {one.start} to {one.end}: {share:.2f}")
    return lost, light


def shade(colour: Any) -> float:
    """Share of black of a fill; black where there is none named."""
    parts = colour if isinstance(colour, (tuple, list)) else (colour,)
    return 1.0 - float(sum(parts)) / len(parts) if parts and parts[0] is not None else 1.0


def bare_greys(pdf: bytes, number: int) -> list[str]:
    """Grey places without an outline that a copy keeps."""
    return [
        f"{one['x0']:.0f} {one['top']:.0f}"
        for one in pages(pdf)[number].rects
        if one["fill"] and 0.02 < shade(one["non_stroking_color"]) < 0.98
        and not (one["stroke"] and one["linewidth"] >= 0.99)
    ]  # fmt: skip


OTHERS = [(name, paper, number) for name in DEMO for paper in ("letter", "a4") for number in range(9)]


@pytest.mark.parametrize(
    ("name", "paper", "number"),
    [*FIRST, *(pytest.param(*one, marks=pytest.mark.ci) for one in OTHERS if one not in FIRST)],
)
@pytest.mark.ci
def test_labels_figures_and_lines_of_a_crew_page_outlast_three_copies(name: str, paper: str, number: int) -> None:
    pdf = printed(name, paper)
    if number >= len(sheets(pdf)):
        pytest.skip("the job has fewer pages")
    copy = rendered(pdf, number)
    assert faded(pdf, number, copy) == []
    lost, light = lines(pdf, number, copy)
    assert lost == []
    assert not bare_greys(pdf, number)
    if len(light) > 4:  # the copier is no kind one: what only guides may go
        assert np.median(light) < 0.5
