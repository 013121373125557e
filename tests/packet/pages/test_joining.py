"""How sheets share pages, and what has its room first."""

from __future__ import annotations

from typing import Any

import pytest
from reportlab.platypus import Flowable

from planner.packet.blocks import Picture, Step
from planner.packet.blocks import said as said_of
from planner.packet.pages.boxes import StepLine
from planner.packet.pages.columns import Vectors
from planner.packet.pages.joining import arranged
from planner.packet.pages.style import MEASURE
from tests.packet.mixing import printed, texts
from tests.packet.reading import is_for_notes, sheets


class Solid(Flowable):  # type: ignore[misc]
    """Something on a page that never breaks."""

    def __init__(self, tall: float) -> None:
        super().__init__()
        self.height = tall

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        return available, self.height


def test_short_sheets_share_a_page_and_long_ones_do_not_tear_for_nothing() -> None:
    def sheet(tall: float) -> tuple[bool, list[Any]]:
        return (False, [Solid(tall / 8) for _ in range(8)])

    def joins(*sheets: Any) -> list[bool]:
        return arranged(sheets, 600.0)

    assert joins(sheet(200), sheet(200), sheet(100)) == [False, True, True]
    # 400 and 400 take two pages either way: the second begins its own.
    assert joins(sheet(400), sheet(400)) == [False, False]
    # A page is saved by tearing the second over the third's page.
    assert joins(sheet(300), sheet(400), sheet(340)) == [False, True, True]
    assert joins(sheet(100), (True, [Solid(50)])) == [False, False]
    # What begins a person's paper takes its own room there.
    assert joins(sheet(100), (True, [Solid(500)]), sheet(300)) == [False, False, False]
    assert joins(sheet(100), (True, [Solid(200)]), sheet(300)) == [False, False, True]


@pytest.mark.ci
def test_the_back_of_an_odd_page_is_for_notes_so_that_the_next_person_begins_on_a_front() -> None:
    pdf = printed("roof")
    said = texts(pdf)
    blank = [n for n, sheet in enumerate(sheets(pdf), start=1) if is_for_notes(sheet)]
    changes = [n for n in range(1, len(said)) if said[n].split()[0] != said[n - 1].split()[0]]
    assert blank
    assert set(blank) <= set(changes)
    for n in blank:  # it is still a page of who has the sheet, after a page that says it is their last
        assert said[n - 1].split()[:4] == [*said[n - 2].split()[:3], "back"]
        assert "Last page" in said[n - 2] or "Then each takes" in said[n - 2]


def test_rounds_run_on_over_the_page_and_nothing_else_of_a_step_does() -> None:
    step = Step(spans=said_of("Water the bed."), rounds=tuple((f"8:{n:02d}", "1 gal, 1 min") for n in range(10)))
    whole = StepLine(step)
    tall = whole.wrap(MEASURE, 500.0)[1]
    first, rest = whole.split(MEASURE, tall - 10.0)
    assert first.block.rounds + rest.block.rounds == step.rounds
    assert first.block.rounds
    assert rest.block.rounds
    assert first.wrap(MEASURE, 500.0)[1] <= tall - 10.0
    assert StepLine(Step(spans=step.spans)).split(MEASURE, 5.0) == []


def drawing(*heights: float, rank: int = 1) -> Vectors:
    return Vectors(Picture(paint=lambda wide, tall: None, heights=heights, rank=rank))


def test_a_drawing_is_modest_only_where_that_saves_a_page() -> None:
    def joins(tall: float, *drawn: Any) -> list[bool]:
        return arranged([(False, [Solid(200), *drawn]), (False, [Solid(tall)])], 600.0)

    one = drawing(300.0, 100.0)
    assert joins(200, one) == [False, True]
    assert one.most == 100.0
    assert joins(500, one) == [False, False]
    assert one.most == 300.0


def test_where_not_every_drawing_has_room_each_is_kept_or_left_out_by_itself() -> None:
    six = [drawing(90.0, 0.0) for _ in range(6)]
    assert arranged([(False, [*six, Solid(190)]), (False, [Solid(100)])], 600.0) == [False, True]
    assert [one.most for one in six] == [90.0, 90.0, 90.0, 0.0, 0.0, 0.0]


def test_what_must_not_go_has_its_room_before_what_may() -> None:
    lines, states = drawing(150.0, 0.0, rank=3), drawing(66.0, 48.0, rank=0)
    assert arranged([(False, [lines, states, Solid(300)]), (False, [Solid(150)])], 600.0) == [False, True]
    assert (lines.most, states.most) == (0.0, 66.0)
