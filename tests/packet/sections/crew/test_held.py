"""A held job's one page: why with its number, what was tried, whom to call, where to go next; nothing to do or fill."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from html import unescape
from io import BytesIO
from math import ceil
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from pypdf import PdfReader

from planner.checks.model import CheckedJob
from planner.packet import book as binding
from planner.packet.blocks import Code, Hold, State, Step, Table, WriteIn, walked
from planner.packet.book import Book
from planner.packet.findings import stops_of
from planner.packet.html import twin
from planner.packet.pages.pages import Paper
from planner.packet.sections.held import _rows
from planner.remedies.search import with_remedies
from planner.units import System
from planner.words.spoken import wording
from tests import workspaces
from tests.packet.builders import written
from tests.packet.figures.test_numbers import named_figures, passes_one_step_off
from tests.packet.pages.test_packet import CASES as HAND
from tests.packet.printing import job_book
from tests.packet.reading import problems
from tests.packet.sections.yard.test_yard_paper import _checked as yard
from tests.remedies.test_remedies import SHORT
from tests.sampled import in_ci

TALL = "job: {hose_runs: {0: {target: 50 ft}}}"
SIX = """
job:
  hose_runs: {0: {target: 70 ft}}
  access: {power_line: 5 ft, roof_work: {pitch: 6/12, eave: 12 ft}}
  chemicals: [{stock: drum, strength: 9 %}]
day: {crew: 1, forecast: {wind: 40 mph, gust: 50 mph}}
stock: {lots: {0: {on_hand: 1 gal}}}
"""
HELD_HAND = ("held", "one of six", "25 findings", "falls", "wordy")


def all_stops(checked: CheckedJob) -> CheckedJob:
    """Every caution of it as a stop."""
    found = tuple(replace(one, level="stop") if one.level == "caution" else one for one in checked.findings)
    return replace(checked, findings=found, verdict="stop")


@lru_cache(maxsize=1)
def forty() -> CheckedJob:
    """Forty walls and twelve runs whose names are long."""
    files = workspaces.base()
    walls = [
        {"name": f"wall {n} beside the landing", "kind": "vinyl", "width": "20 ft", "height": "18 ft"}
        for n in range(40)
    ]
    run = files["job"]["hose_runs"][0] | {"target": "50 ft"}
    runs = [
        copy.deepcopy(run) | {"name": f"run {n} over the north gable and the boat door",
               "surfaces": [wall["name"] for wall in walls[n::12]]}
        for n in range(12)
    ]  # fmt: skip
    files["job"] |= {"surfaces": walls, "hose_runs": runs, "job": "An uncommonly long name for a boathouse " * 3}
    with TemporaryDirectory() as folder:
        return with_remedies(workspaces.checked(Path(folder), files, tables=True))


JOBS: dict[str, Callable[[], CheckedJob]] = {
    **{name: HAND[name] for name in HELD_HAND},
    "25 stops": lambda: all_stops(HAND["25 findings"]()),
    "wordy stops": lambda: all_stops(HAND["wordy"]()),
    "tall": lambda: with_remedies(written(TALL)),
    "six stops": lambda: with_remedies(written(SIX)),
    "forty walls": forty,
    "yard": lambda: yard("{rig: {pumps: {0: {wetted: [aluminium, plastic]}}}}"),
}


@lru_cache(maxsize=64)
def book(name: str, paper: Paper = "letter", system: System = "us") -> Book:
    return job_book(JOBS[name](), paper=paper, system=system)


def words(made: Book) -> str:
    """A book's words in the order they are read, which is not that of the paper beside the black tile."""
    return " ".join(re.sub(r"<[^>]+>", " ", unescape(twin(made).decode())).replace("\u00a0", " ").split()).replace(
        " .", "."
    )


def text(name: str, **how: str) -> str:
    return words(book(name, **how))


@pytest.mark.parametrize(
    ("paper", "system"),
    [
        ("letter", "us"),
        *(in_ci(one) for one in (("a4", "si"), ("letter", "si"), ("a4", "us"))),
    ],
)
@pytest.mark.parametrize("name", [in_ci(name) if name == "forty walls" else name for name in JOBS])
def test_a_held_job_is_one_page_whatever_it_holds(name: str, paper: Paper, system: System) -> None:
    made = book(name, paper=paper, system=system)
    assert problems(made.pdf, paper) == []
    assert len(PdfReader(BytesIO(made.pdf)).pages) == made.bound.total == 1
    page = text(name, paper=paper, system=system)
    assert "Do not start" in page
    assert "Only page of this job." in page


@pytest.mark.parametrize("name", [in_ci(name) if name == "forty walls" else name for name in JOBS])
def test_it_has_nothing_to_tick_sign_fill_or_scan(name: str) -> None:
    made = book(name)
    assert not [
        block for block in walked(made.sections[0].blocks) if isinstance(block, (Step, Hold, Code))
        or (isinstance(block, Table) and any(isinstance(cell, WriteIn) for row in block.rows for cell in row))
    ]  # fmt: skip
    assert not PdfReader(BytesIO(made.pdf)).get_fields()


def test_a_short_jet_is_told_by_three_figures_that_add_up_and_its_wall() -> None:
    page = text("held")
    assert "At worst the jet stops 7 ft short of the top." in page
    for tile in ("Height needed 31 ft", "Jet, worst case 24 ft", "Short by 7 ft"):
        label, number, unit = tile.rsplit(" ", 2)
        assert f"{label}: {number} {unit}" in page
    assert "Jet at 12 ft from the wall reaches 29 ft in still air" in page
    assert "In still air the jet gets to 29 ft." in page


def test_what_was_tried_stands_best_first_each_with_its_figure_and_a_tick_or_a_dash() -> None:
    (table,) = [block for block in walked(book("tall").sections[0].blocks) if isinstance(block, Table)]
    marks = [row[0] for row in table.rows]
    assert all(isinstance(mark, State) for mark in marks)
    levels = [mark.level for mark in marks]
    assert levels == sorted(levels, key=lambda level: ["ok", "none"].index(str(level)))
    assert levels.count("none") >= 3
    short = [row for row, level in zip(table.rows, levels, strict=True) if level == "none"]
    heights = [int(row[2].split()[0]) for row in short]
    assert heights == sorted(heights, reverse=True)
    for row, height in zip(short, heights, strict=True):
        assert row[3] == f"{50 - height} ft short"


@pytest.mark.ci
def test_what_fails_is_a_stop_still_and_no_remedy() -> None:
    checked = with_remedies(written(TALL))
    assert checked.failed
    assert all(one.after.level == "stop" and len(one.changes) == 1 for one in checked.failed)
    assert not set(map(id, checked.failed)) & set(map(id, checked.remedies))


@pytest.mark.ci
def test_a_cure_on_the_trailer_comes_first_and_says_what_is_to_spare(tmp_path: Path) -> None:
    checked = with_remedies(workspaces.checked(tmp_path, SHORT["all on the reel"][0]))
    assert [one.code for one in stops_of(checked)] == ["reach.short"]
    made = job_book(checked, paper="letter", system="us")
    (table,) = [block for block in walked(made.sections[0].blocks) if isinstance(block, Table)]
    assert table.head == ("", "Tried", "Worst case", "Result")
    needed = ceil(round(stops_of(checked)[0].values["needed"].amount / 0.3048, 6))
    cured = [row for row in table.rows if row[0].level == "ok"]
    assert len(cured) == 3
    assert tuple(cured) == table.rows[:3]
    for _, _, new, result in cured:
        spare = int(new.split()[0]) - needed
        assert result[0].text == (f"clears, {spare} ft to spare" if spare else "clears")


@pytest.mark.ci
def test_further_stops_are_lines_each_with_its_number_and_what_clears_it() -> None:
    page = text("six stops")
    assert "A power line is 5 ft away; the minimum is 10 ft." in page
    also = page.split("Also held by")[1].split("Who decides")[0]
    assert len(stops_of(JOBS["six stops"]())) == 6
    for words in ("eave 12 ft", "short of the strength asked for", "short of the top", "40 mph"):
        assert words in also
    assert "in the owner's file" not in also


def test_what_has_no_room_is_counted() -> None:
    shown = text("25 stops")
    assert "more, in the owner's file" in shown


def test_the_plan_goes_in_the_trash_by_its_number_and_the_phones_are_there() -> None:
    page = text("held")
    assert "This sheet then goes in the trash: its plan number is 7c41-e9b2." in page
    assert "Customer" in page
    assert "555-0142" in page


def day_of(*held: bool) -> list[CheckedJob]:
    """Jobs of one day, some of them held."""
    day = []
    for n, stop in enumerate(held, start=1):
        one = written(f"job: {{job: House {n}}}", *((TALL,) if stop else ()))
        place = replace(one.plan.input, id=f"2026-06-09/{n}0-house", place_in_day=(n, len(held)))
        day.append(replace(one, plan=replace(one.plan, id=place.id, input=place)))
    return day


def next_of(day: list[CheckedJob], at: int = 0, known: int | None = None) -> str:
    return words(binding.job_book(day[at], paper="letter", system="us", day=day[:known]))


@pytest.mark.ci
def test_the_next_place_is_the_next_job_that_goes_at_its_hour() -> None:
    assert "At 7:00 am go to job 2, House 2, 1 Case Street, unless the office calls first." in next_of(
        day_of(True, False)
    )
    assert "go to job 3, House 3" in next_of(day_of(True, True, False))


def test_after_the_last_job_that_goes_it_is_home() -> None:
    assert "No job after this one goes today. Drive back to the yard" in next_of(day_of(False, True), at=1)
    assert "No job after this one goes today." in next_of(day_of(True, True))


def test_of_a_day_it_does_not_know_it_says_nothing() -> None:
    assert "Call the office for where to go next." in next_of(day_of(True, False), known=0)
    # A job nobody could plan comes next: where the crew then goes is not for this page to say.
    assert "Call the office for where to go next." in next_of([day_of(True, False, False)[n] for n in (0, 2)])


def test_every_row_of_tiles_names_a_stop_and_values_its_sentence_has() -> None:
    for (code, case), row in _rows().items():
        say = wording()[code]["say"]
        assert case in say, (code, case)
        assert row.get("shown", "less") in ("more", "less")


def test_a_job_whose_steps_failed_our_rehearsal_is_held_too() -> None:
    made = job_book(replace(written(), breaches=(("rule", "a.1", "state"),)), paper="letter", system="us")
    assert "The steps of this job failed our rehearsal." in words(made)
    assert made.bound.total == 1


@pytest.mark.ci
@pytest.mark.parametrize("system", ["us", "si"])
def test_a_figure_of_a_stop_one_step_off_is_found(system: System) -> None:
    found = named_figures("Tall wall", system)
    assert len(found) > 15
    missed = passes_one_step_off("Tall wall", system, [pair for pair in found if "tried" not in pair[1].name])
    assert not missed, "\n".join(missed)
