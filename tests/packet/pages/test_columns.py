"""Two columns over a page's end: a drawing and the steps beside it stay together, long columns run on."""

from __future__ import annotations

from reportlab.graphics.shapes import Drawing
from reportlab.platypus import Spacer

from planner.packet.blocks import Picture
from planner.packet.pages.columns import SideBySide, Vectors

TALL = 150.0


def beside_steps(steps: int, *before: float) -> SideBySide:
    """A drawing, after so much white, beside so many steps of 30 pt."""
    picture = Picture(paint=lambda width, height: Drawing(width, height), heights=(TALL,), told="a tank")
    return SideBySide(
        [*(Spacer(1, tall) for tall in before), Vectors(picture)], [Spacer(1, 30.0)] * steps, (200.0, 250.0)
    )


def test_a_drawing_that_no_longer_fits_takes_the_steps_beside_it_along() -> None:
    assert beside_steps(7).split(460.0, 120.0) == [], "all of it goes to the next page"
    assert beside_steps(7, 100.0).split(460.0, 200.0) == []


def test_what_runs_on_below_a_drawing_that_fits_is_parted() -> None:
    first, rest = beside_steps(7).split(460.0, 170.0)
    assert (len(first.parts), len(rest.parts)) == (1 + 5, 2)


def test_on_a_fresh_page_nothing_waits_for_room_that_never_comes() -> None:
    first, rest = beside_steps(7, 420.0).split(460.0, 500.0)
    assert [type(part) for part in rest.parts] == [Vectors]
    assert len(first.parts) == 1 + 7
