"""The square code on the card, read back from the page by a reader of its own."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import pytest
import zxingcpp
from pypdfium2 import PdfDocument

from planner.packet.pages.code import modules
from planner.packet.pages.pages import Paper
from tests.packet.builders import job
from tests.packet.printing import job_packet

DOTS = 300
LEAST_MM = 18.0


@lru_cache(maxsize=4)
def printed(paper: Paper) -> bytes:
    return job_packet(job(), paper=paper, system="us")


def seen(pdf: bytes, dots: int, sheet: int = 0) -> Any:
    """The codes a camera finds on a page of so many dots per inch."""
    with PdfDocument(pdf) as document:
        image = document[sheet].render(scale=dots / 72, grayscale=True).to_pil()
    return zxingcpp.read_barcodes(image)


@pytest.mark.ci
@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("dots", [300, 110])
def test_the_card_carries_job_and_plan_and_no_address_to_visit(paper: Paper, dots: int) -> None:
    (code,) = seen(printed(paper), dots)
    assert code.format == zxingcpp.BarcodeFormat.QRCode
    assert code.text == "2026-06-09/10-boathouse 7c41-e9b2"


@pytest.mark.ci
def test_the_code_is_large_enough_and_has_white_all_round() -> None:
    (code,) = seen(printed("letter"), DOTS)
    place = code.position
    wide = (place.top_right.x - place.top_left.x) / DOTS * 25.4
    tall = (place.bottom_left.y - place.top_left.y) / DOTS * 25.4
    assert wide >= LEAST_MM - 0.1
    assert tall >= LEAST_MM - 0.1
    white = 4 * wide / len(modules(code.text)) / 25.4 * DOTS
    with PdfDocument(printed("letter")) as document:
        page = document[0].render(scale=DOTS / 72, grayscale=True).to_pil()
    left, top = place.top_left.x - white, place.top_left.y - white
    ring = page.crop((round(left) + 3, round(top) + 3, round(place.top_right.x + white) - 3, place.top_left.y - 3))
    side = page.crop((round(left) + 3, round(top) + 3, place.top_left.x - 3, round(place.bottom_left.y + white) - 3))
    assert ring.getextrema() == (255, 255)
    assert side.getextrema() == (255, 255)


@pytest.mark.ci
def test_only_the_card_has_one() -> None:
    pdf = printed("letter")
    with PdfDocument(pdf) as document:
        count = len(document)
    assert not any(seen(pdf, 110, sheet) for sheet in range(1, count))


@pytest.mark.parametrize(
    "text", ["10-case 7c41-e9b2", "2026-06-09/10-Höhe 山 <b> 7c41-e9b2", "2026-06-09/" + "x" * 200 + " 7c41-e9b2"]
)
def test_any_name_of_a_job_makes_a_code_that_reads_as_it(text: str) -> None:
    from PIL import Image

    rows = modules(text)
    side = len(rows) + 8
    image = Image.new("L", (side, side), 255)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                image.putpixel((x + 4, y + 4), 0)
    (code,) = zxingcpp.read_barcodes(image.resize((side * 4, side * 4), Image.Resampling.NEAREST))
    assert code.text == text
