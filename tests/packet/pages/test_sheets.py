"""How many pages a job takes, and what stands on each: from a job as it is written."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.packet.blocks import Hold, Step, walked
from planner.packet.cautions import MOST_CAUTIONS, cautions
from planner.packet.pages.pages import Paper
from planner.packet.pages.style import JOINED
from planner.packet.sections.crew import set_up, walk_round
from planner.units import System
from tests import workspaces
from tests.packet.builders import ACID, ROOF, written
from tests.packet.figures.jobs import book_of
from tests.packet.mixing import crew, printed, texts
from tests.packet.printing import job_packet
from tests.packet.reading import problems, sheets
from tests.packet.sections.acts.test_acts import acts_printed
from tests.packet.sections.said import (
    ALONE,
    FED,
    SMALL,
    TINY,
    TWELVE,
    USUAL,
    alder_files,
    each_word,
    printed_of,
    reading,
)
from tests.sampled import in_ci

# ------------------------------------------------------------------------------------------------ pages


@pytest.mark.ci
@pytest.mark.parametrize("system", ["us", in_ci("si")])
@pytest.mark.parametrize("paper", ["letter", in_ci("a4")])
def test_a_plain_house_wash_is_three_sheets(alder: CheckedJob, paper: Paper, system: System) -> None:
    pdf = job_packet(alder, paper=paper, system=system)
    assert problems(pdf, paper) == []
    sheets = crew(pdf)
    assert len(sheets) == 6
    whole = " ".join(sheets)
    titles = ("Job sheet at", "Walk-around before", "Safety read", "Near the work keep", "Set up at", "Wash at",
              "leave at the reel", "water in time order", "If it differs on", "What was done before")  # fmt: skip
    places = [whole.index(title) for title in titles]
    assert places == sorted(places)


@pytest.mark.ci
@pytest.mark.parametrize(
    ("name", "most"),
    [
        ("2026-06-09/10-millrace", 6),
        ("2026-06-09/20-granary", 6),
        ("2026-06-10/20-millrace-mid", 6),
        ("2026-06-10/10-slipway", 7),  # two runs share the drive
        ("2026-06-10/30-kiln-acid", 9),  # acid fed by hand, and water on a line of its own; one page is for notes
    ],
)
def test_the_demo_s_jobs_are_no_longer_than_they_were(name: str, most: int) -> None:
    assert len(crew(book_of(name, "us").pdf)) <= most


@pytest.mark.parametrize(
    ("changes", "most"),
    [
        ((TWELVE,), 12),
        ((ROOF,), 8),
        ((ACID,), 8),
    ],
    ids=["twelve surfaces and three runs", "roof", "acid"],
)
@pytest.mark.ci
def test_small_jobs_shrink_and_large_ones_grow_by_walls(changes: tuple[str, ...], most: int) -> None:
    checked = written(*changes)
    assert checked.verdict != "stop"
    pdf = job_packet(checked, paper="letter", system="us")
    assert problems(pdf, "letter") == []
    assert len(crew(pdf)) <= most
    # A rig is set up once, however many walls there are.
    assert sum(text.count("Set up at the rig") - text.count("Set up at the rig, continued") for text in crew(pdf)) == 1


@pytest.mark.ci
@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), in_ci(("a4", "si"))])
@pytest.mark.parametrize("crew", [None, ALONE], ids=["two", "alone"])
@pytest.mark.parametrize("run", list(SMALL))
def test_one_wall_that_only_gets_water_off_the_tap_is_one_sheet(
    run: Any, crew: Any, paper: Paper, system: System
) -> None:
    checked = written(TINY, *SMALL[run], *([crew] if crew else []))
    assert checked.verdict != "stop"
    pdf = job_packet(checked, paper=paper, system=system)
    assert problems(pdf, paper) == []
    sheets = texts(pdf)
    assert len(sheets) == 2
    for title, sheet in (("Job sheet at", 0), ("Walk-around before", 0), ("Safety read aloud", 0),
                         ("Wash from the tap, water alone", 1), ("What was done before", 1)):  # fmt: skip
        assert title in sheets[sheet], title
    assert all(text.startswith("Lead sheet " if crew else "Both sheet ") for text in sheets)


@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), in_ci(("a4", "si"))])
@pytest.mark.parametrize("changes", [(ALONE,), (ROOF, ALONE), (FED, ALONE)], ids=["house", "roof", "off the tap"])
@pytest.mark.ci
def test_somebody_alone_has_three_sheets(changes: tuple[str, ...], paper: Paper, system: System) -> None:
    pdf = job_packet(written(*changes), paper=paper, system=system)
    assert problems(pdf, paper) == []
    whole = crew(pdf)
    assert len(whole) <= 6
    # Beds, leftovers and what keeps the water back are read before anything is set up.
    text = " ".join(whole)
    assert (
        text.index("eftovers before you leave the rig")
        < text.index("Set up at the rig")
        < text.index("Mix at the drums")
    )


@pytest.mark.ci
def test_nobody_alone_is_asked_who_else_does_it() -> None:
    text = " ".join(crew(printed_of(ALONE)))
    for words in ("Who waters it", "The other one with you", "“Stop”", "Second", "second:"):
        assert words not in text, words


def test_somebody_alone_has_one_paper_and_no_calls() -> None:
    whole = crew(printed_of(ALONE))
    assert all(text.startswith("Lead sheet ") for text in whole)
    for said in ("Second", "“Ready”", "Wait for “Go”", "Call “"):
        assert said not in " ".join(whole), said


def test_a_job_for_one_sheet_of_paper_is_both_s_and_has_no_calls() -> None:
    whole = crew(printed_of(TINY))
    assert all(text.startswith("Both sheet ") for text in whole)
    assert "Call “" not in " ".join(whole)
    assert "drum is opened: " not in " ".join(whole)


def steps(*changes: str) -> list[str]:
    """Steps and stop points of one sheet, as they are read."""
    made = set_up.section(reading(*changes))
    return [re.sub(r" ([.,:;])", r"\1", " ".join(" ".join(each_word(one.spans if isinstance(one, Step) else (one.title, one.questions))).split()))
            for one in walked(made.blocks) if isinstance(one, (Step, Hold))]  # fmt: skip


def test_water_alone_off_the_tap_reads_as_whoever_holds_the_hose_does_it() -> None:
    assert steps(TINY) == [
        "Lay out 100 ft of hose to the wall, no coils, no kinks.",
        "Join red, then tip long throw.",
        "Put the hose on the tap.",
        "Before the tap is opened People and animals clear? Gun shut, nobody in front of it?",
        "Second: open the tap fully, gun shut.",
        "Run 16 s onto the ground, until the line is full.",
        "Time 5 gal in a bucket at the tip.",
        "Shut the gun. Empty 5 gal from the bucket onto the lawn.",
        "Rinse front: 3 min 50 s (33 gal).",
        "Shut the gun. Second: shut the tap. Lead: open the gun until no water comes.",
        "Take the line apart. Drain each hose downhill onto the lawn and coil it: red.",
        "Load and strap what you brought. Look back. Nothing is left and every gate is shut.",
    ]
    alone = steps(TINY, ALONE)
    assert "Open the tap fully, gun shut." in alone
    assert "Shut the gun. Shut the tap. Open the gun until no water comes." in alone
    assert not [words for words in alone if "econd" in words or "Lead" in words]


def test_a_small_job_s_pump_is_switched_by_the_second_without_a_call() -> None:
    found = steps(TINY, *SMALL["booster"])
    assert "Second: start booster, gun shut." in found
    assert "Second: start booster, gun shut. Lead: rinse front: 2 min 50 s (33 gal)." in found
    shut = "Shut the gun. Second: switch booster off. Shut the tap. Lead: open the gun until no water comes."
    assert shut in found
    assert found[found.index(shut) + 1].startswith("Before the hose is coiled ")


def test_every_act_of_a_job_on_one_sheet_is_printed_once() -> None:
    for change in ((), (ALONE,)):
        for small in SMALL.values():
            checked = written(TINY, *small, *change)
            made = reading(TINY, *small, *change)
            printed = [*acts_printed(walk_round.section(made).blocks), *acts_printed(set_up.section(made).blocks)]
            assert sorted(printed) == sorted(act.id for act in checked.plan.procedure.acts)


@pytest.mark.ci
@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), in_ci(("a4", "si"))])
def test_a_plain_house_wash_with_every_usual_hazard_and_more_cautions_than_its_card_holds_is_no_longer(
    tmp_path: Path, paper: Paper, system: System
) -> None:
    files = workspaces.merged(alder_files(), workspaces.as_written(USUAL))
    job = workspaces.checked(tmp_path, files, tables=True)
    assert job.verdict == "caution"
    assert len(cautions(job, system)) > MOST_CAUTIONS
    pdf = job_packet(job, paper=paper, system=system)
    assert problems(pdf, paper) == []
    assert len(crew(pdf)) <= 6


@pytest.mark.ci
@pytest.mark.parametrize("case", ["wash", in_ci("roof"), in_ci("three"), "acid", in_ci("names")])
def test_no_title_stands_alone_at_the_foot_of_a_page(case: str) -> None:
    for sheet in sheets(printed(case)):
        for title in sheet.words:
            if abs(title.size - JOINED[1]) < 0.1:
                below = [word for word in sheet.words if title.bottom + 2 < word.top < sheet.tall - 34]
                assert sum(len(word.text) for word in below) > 20


def test_the_card_says_when_we_arrive_and_how_long_we_stay() -> None:
    card = texts(printed("wash"))[0]
    assert re.search(r"Arrive 7:\d\d am, on site until \d+:\d\d am \(\d h \d\d min\)\.", card)
    assert "Leave the yard 7:00 am." in card


@pytest.mark.ci
def test_the_clock_bar_ends_where_the_card_says_we_leave(alder: CheckedJob) -> None:
    job = written("job: {near: null, surfaces: [{name: front, kind: vinyl, area: 800 ft2}]}")
    card = texts(job_packet(job, paper="a4", system="us"))[0]
    until = re.search(r"on site until (\d+:\d\d [ap]m)", card)[1]
    assert card.count(until) == 2
