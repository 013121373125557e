"""The load on paper: the bar against the rating, the list with weights, what the road calls it, the owner's figures."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from reportlab.graphics.shapes import Drawing, PolyLine, Rect, String

from planner.packet.drawings.load import Piece, load_bar, load_height
from planner.packet.sections.owner.weights import load_figures
from planner.plan.days.day import plan_day
from planner.units import System, read
from tests.packet.builders import written
from tests.packet.mixing import texts
from tests.packet.printing import day_packet, owner_book
from tests.packet.reading import problems

POUND = read("1 lb", "mass")
WEIGHTS = "rig: {weights: {empty: 2900 lb, rated: 4000 lb}}"
NO_WEIGHTS = "rig: {weights: null}"


def shapes(drawing: Drawing, kind: Any) -> list[Any]:
    return [shape for shape in drawing.contents if isinstance(shape, kind)]


def words(drawing: Drawing) -> list[str]:
    return [shape.text for shape in shapes(drawing, String)]


def bar(*masses: float, rated: float = 9900.0, caution: float = 0.9, wide: float = 500.0) -> Drawing:
    names = ("rig, empty", "water", "stock", "other")
    pieces = [Piece(label=name, mass=mass * POUND) for name, mass in zip(names, masses, strict=False)]
    return load_bar(pieces, rated * POUND, caution * rated * POUND, "us", wide, load_height())


def test_pieces_lie_end_to_end_to_scale() -> None:
    boxes = [box for box in shapes(bar(3200, 2300, 60), Rect) if box.strokeColor is not None]
    assert [box.width for box in boxes] == pytest.approx([boxes[0].width * part / 3200 for part in (3200, 2300, 60)])
    for left, right in pairwise(boxes):
        assert left.x + left.width == pytest.approx(right.x)


@pytest.mark.parametrize("masses", [(3200, 2300, 60), (3200, 2300, 4000, 900)])
def test_the_rating_stands_where_it_belongs(masses: tuple[float, ...]) -> None:
    drawing = bar(*masses)
    boxes = [box for box in shapes(drawing, Rect) if box.strokeColor is not None]
    per_pound = boxes[0].width / masses[0]
    heavy, dashed = sorted(shapes(drawing, PolyLine), key=lambda line: -line.strokeWidth)[:2]
    assert heavy.points[0] - boxes[0].x == pytest.approx(9900 * per_pound)
    assert dashed.points[0] - boxes[0].x == pytest.approx(8910 * per_pound)
    assert heavy.points[0] < drawing.width


def test_the_bar_is_labelled_with_values_on_the_safe_side() -> None:
    said = words(bar(3200.4, 2300, 60))
    assert "rated 9,900 lb" in said
    assert "caution 8,910 lb" in said
    assert "total 5,561 lb" in said
    assert "rig, empty 3,201 lb" in said


@pytest.mark.parametrize("wide", [150.0, 200.0, 500.0])
@pytest.mark.parametrize("masses", [(3200, 2300, 60), (9000, 3000, 2000, 500), (100, 5, 1, 1)])
def test_no_word_leaves_the_sheet_and_the_total_is_always_said(wide: float, masses: tuple[float, ...]) -> None:
    drawing = bar(*masses, wide=wide)
    assert any(word.startswith("total ") for word in words(drawing))
    for shape in shapes(drawing, String):
        left, low, right, high = shape.getBounds()
        assert left >= -0.6
        assert right <= wide + 0.6
        assert low >= 0.0
        assert high <= load_height() + 0.6


def cover(*changes: str, system: System = "us") -> bytes:
    job = written(*changes)
    day = plan_day([job.plan])
    return day_packet(day, [job], paper="letter", system=system)


@pytest.mark.ci
def test_the_cover_says_weight_hazard_number_and_who_decides() -> None:
    page = " ".join(texts(cover(WEIGHTS)))
    assert problems(cover(WEIGHTS), "letter") == []
    assert "of 4,000 lb rated" in page
    assert "crew and anything not listed are not counted" in page
    assert "UN 1791 hypochlorite solutions" in page
    assert "Label and safety data sheet decide." in page
    assert "in its container" in page


def test_without_the_rigs_weight_the_cover_says_what_is_aboard_and_asks_for_it() -> None:
    page = " ".join(texts(cover(NO_WEIGHTS)))
    assert "weigh it" in page
    assert "rated" not in page.replace("generator", "")


def test_the_cover_speaks_metric_too() -> None:
    page = " ".join(texts(cover(WEIGHTS, system="si")))
    assert " lb" not in page
    assert "kg" in page


@pytest.mark.ci
def test_the_worksheet_weighs_everything_aboard() -> None:
    job = written(WEIGHTS)
    figures = load_figures(job.plan, "us")
    assert job.plan.load is not None
    assert [figure.name for figure in figures[: len(job.plan.load.heaviest.items)]] == [
        item.what for item in job.plan.load.heaviest.items
    ]
    page = " ".join(texts(owner_book(job, paper="letter", system="us").pdf))
    for figure in figures:
        assert figure.value in page, figure.name
