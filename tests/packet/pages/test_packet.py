"""Whole packets, read back from the PDF: what no engine reports is asked of every page here."""

from __future__ import annotations

import re
from functools import lru_cache
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from planner.checks.model import Finding
from planner.inputs.models.gear import Tip
from planner.packet import book as binding
from planner.packet.blocks import Hold, Section, walked
from planner.packet.pages.pages import Bound, Paper
from planner.packet.sections.reading import Reading
from planner.plan.model import RunPlan, Value
from planner.units import System
from tests.packet.builders import FT, PSI, finding, job, low_only, quiet, run, short, thing, written
from tests.packet.mixing import texts as in_order
from tests.packet.printing import job_book, job_packet, owner_book
from tests.packet.reading import faces, fold_ticks, pages, problems, sheets, texts
from tests.sampled import one_in

LONG = "An uncommonly long name for a boathouse with three walls, a landing, two gables and a slipway behind the weir"
WORD = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft"
ATTACK = '<img src="file:///etc/passwd"> {{ 7*7 }} **x** </para> @wall'
FAN = thing(Tip, name="fan 40", pattern="fan")


def power_line() -> Finding:
    """The stop of a wire 8 ft away, which holds the whole job."""
    return finding(
        "site.power_line", "site", "stop", "stop",
        distance=Value(amount=8 * FT, dimension="length"), stop=Value(amount=10 * FT, dimension="length"),
    )  # fmt: skip


def six_runs() -> list[RunPlan]:
    """One of each kind of line."""
    return [
        run("lake side"),
        run("north gable and the boat door beside the landing", nominal=29, low=24),
        run("roof", past_eave=3 * FT, needed=18, nominal=26, low=22, uphill=0.0),
        run("low wall", needed=8, tip=FAN, falls=True),
        run("tap only", pump=None, feed="tap", dosing=None, closed=58 * PSI, hoses=1),
        run("pond side", feed="pond", closed=None, uphill=-4 * FT, on_reel=0.0, hoses=3),
    ]


CASES = {
    "plain": lambda: job(),
    "cautions": lambda: job(findings=[low_only(), finding("supply.pressure", "tap", "caution", "untested"), *quiet()]),
    "held": lambda: job([run(nominal=29, low=24)], [short(), *quiet()]),
    "falls": lambda: job(
        [run(falls=True)],
        [finding("reach.short", level="stop", case="falls_short", standoff=Value(amount=12 * FT, dimension="length"))],
    ),
    "six runs": lambda: job(six_runs(), [low_only("north gable and the boat door beside the landing"), *quiet(30)]),
    "one of six": lambda: job(six_runs(), [short("north gable and the boat door beside the landing"), *quiet(30)]),
    "25 cautions": lambda: job(
        six_runs(), [low_only(), *[low_only(f"part {n} of the work") for n in range(24)], *quiet(30)]
    ),
    "25 findings": lambda: job(
        six_runs(), [short(), power_line(), *[low_only(f"part {n} of the work") for n in range(23)], *quiet(30)]
    ),
    "12 hoses": lambda: job([run(hoses=12)], title=LONG, address=LONG, notes=LONG * 3, crew=[LONG]),
    "hard names": lambda: job(
        [run("Smith <Offices> & Sons, the lake side", hose_names=[WORD, "山田 hose", "Ж 2"])],
        title="Smith <Offices> & Sons", address=ATTACK, contact="山田 \u202e太郎\x07", notes=WORD * 2,
        rig="Höhenrücken", phones={"poison": "555-0111", "spill_line": ATTACK, "boss & owner": "555"},
    ),
    "no day": lambda: job([run(pump=None, feed="tap", dosing=None, hoses=1, closed=58 * PSI)], date=None, phones={}),
    "accepted": lambda: job(findings=[short(accepted=("the gable is left out", "owner")), *quiet()]),
    "uphill": lambda: job([run(uphill=40 * FT, needed=60, nominal=70, low=61)]),
    "wordy": lambda: job(
        [run("lake " * 24, hose_names=["green " * 20] * 12)],
        [short("lake " * 24), *[low_only("side " * 24) for _ in range(6)]], title="t" * 120, address="Gate seven " * 180,
        notes="x" * 2000, phones={f"phone {n}": "555 " * 30 for n in range(12)},
    ),
    "8 runs": lambda: job([run(f"run {n}", hoses=1) for n in range(8)]),
}  # fmt: skip


@lru_cache(maxsize=64)
def printed(case: str, paper: Paper = "letter", system: System = "us") -> bytes:
    """A case's packet, printed once for all tests."""
    return job_packet(CASES[case](), paper=paper, system=system)


@lru_cache(maxsize=64)
def owners(case: str, paper: Paper = "letter", system: System = "us") -> bytes:
    """A case's owner's file, printed once for all tests."""
    return owner_book(CASES[case](), paper=paper, system=system).pdf


@pytest.mark.ci
@pytest.mark.parametrize("case", one_in(3, CASES))
def test_nothing_is_cut_overlaps_or_is_missing(case: str) -> None:
    assert problems(printed(case), "letter") == []
    assert problems(owners(case), "letter") == []


@pytest.mark.parametrize("case", ["held", "12 hoses", "hard names", "no day"])
@pytest.mark.ci
def test_nothing_is_cut_on_the_other_paper_in_the_other_units(case: str) -> None:
    assert problems(printed(case, "a4", "si"), "a4") == []
    assert problems(owners(case, "a4", "si"), "a4") == []


@pytest.mark.ci
@pytest.mark.parametrize(("paper", "system"), [("a4", "us"), ("letter", "si")])
def test_paper_and_units_do_not_hang_together(paper: Paper, system: System) -> None:
    assert problems(printed("12 hoses", paper, system), paper) == []


def test_the_same_job_gives_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    first = job_packet(CASES["held"](), paper="letter", system="us")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert binding.job_book(CASES["held"](), paper="letter", system="us").pdf == first


def test_another_date_gives_other_bytes() -> None:
    other = job_packet(job(date=None), paper="letter", system="us")
    assert other != printed("plain")


def test_a_plain_job_is_one_card_and_one_set_up_page() -> None:
    pdf = printed("plain")
    titles = [text.split("plan 7c41-e9b2")[1].split()[0] for text in texts(pdf)]
    assert titles.count("Job") == titles.count("Set") == 1
    assert not {"Mix", "Wash", "Flush", "Worksheet"} & set(titles)


@pytest.mark.ci
def test_every_page_is_numbered_and_names_the_plan_the_rig_and_the_job() -> None:
    pdf = printed("six runs")
    count = len(sheets(pdf))
    for number, (sheet, text) in enumerate(zip(sheets(pdf), texts(pdf), strict=True), start=1):
        corner = " ".join(word.text for word in sheet.words if word.x0 > 464 and word.bottom < 46)
        assert corner == f"{number} of {count}"
        for said in (
            "plan 7c41-e9b2",
            "rig Heron",
            "Tuesday, June 9, 2026",
            "job 1 of 3 today",
            "Boathouse, lake side",
        ):
            assert said in text


def test_a_job_that_is_not_held_has_no_word_of_it_and_is_told_where_to_go() -> None:
    pages_ = texts(printed("plain"))
    assert not any("Held" in text or "Do not start" in text for text in pages_)
    assert "Then each takes their own sheet." in pages_[0]
    assert "Last page for the crew." in pages_[-1]


def boxes(page: Any) -> list[Any]:
    """Tick boxes on a page."""
    return [r for r in page.rects if abs(r["width"] - 13) < 0.2 and abs(r["height"] - 13) < 0.2 and not r["fill"]]


def initials(page: Any) -> list[Any]:
    """Boxes for initials on a page."""
    return [r for r in page.rects if abs(r["width"] - 46) < 0.2 and abs(r["height"] - 24) < 0.2]


@pytest.mark.ci
def test_a_job_that_goes_has_boxes_and_initials() -> None:
    going = job_packet(written(), paper="letter", system="us")
    assert sum(len(boxes(page)) for page in pages(going)) > 8
    assert sum(len(initials(page)) for page in pages(going)) == 5  # four stop points, one of them for two


@pytest.mark.ci
def test_notes_for_the_worksheet_never_reach_the_card() -> None:
    note = finding("pump.curve", "lake side", "caution", "beyond",
                   flow=Value(amount=6e-4, dimension="flow"), last=Value(amount=5e-4, dimension="flow"))  # fmt: skip
    noted = job(findings=[note, *quiet()])
    assert not any(
        "past the end of the curve" in text for text in texts(job_packet(noted, paper="letter", system="us"))
    )
    assert any(
        "past the end of the curve" in text for text in texts(owner_book(noted, paper="letter", system="us").pdf)
    )


@pytest.mark.ci
def test_a_flow_far_beyond_the_pumps_curve_and_a_curve_no_motor_gives_reach_the_card() -> None:
    flows: dict[str, Any] = {
        "flow": Value(amount=9e-4, dimension="flow"),
        "last": Value(amount=5e-4, dimension="flow"),
        "pump": "booster",
    }
    far = finding("pump.curve", "lake side", "caution", "far_beyond", **flows)
    card = in_order(job_packet(job(findings=[far, *quiet()]), paper="letter", system="us"))[0]
    assert "Go by bucket and gauge: the curve of booster ends at 7.9 gpm" in card
    more: dict[str, Any] = {
        "rise": Value(amount=4e5, dimension="pressure"),
        "water": Value(amount=360.0, dimension="power"),
        "motor": Value(amount=190.0, dimension="power"),
    }
    stop = finding("pump.curve", "lake side", "stop", "power", **flows, **more)
    held = job_packet(job(findings=[stop, *quiet()]), paper="letter", system="us")
    assert "its motor has" in texts(held)[0]


def test_an_accepted_stop_is_printed_with_its_reason_and_name() -> None:
    card = " ".join(texts(printed("accepted"))[:2])
    assert "1 accepted" in card
    assert "the gable is left out (owner)" in card


def test_the_key_figures_are_rounded_to_the_safe_side() -> None:
    tight = job([run(nominal=39.9, low=31.9, needed=30.2)])
    card = texts(job_packet(tight, paper="letter", system="us"))[0]
    for said in ("31 ft", "jet gives 39 ft", "8 ft to spare", "at worst 31 ft", "just enough"):
        assert said in card
    assert "40 ft" not in card
    assert "32 ft" not in card


def test_a_short_jet_is_shown_at_least_as_short_as_it_is() -> None:
    pdf = job_packet(job([run(nominal=30.9, low=25.9, needed=31)], [short()]), paper="letter", system="us")
    card = texts(pdf)[0]
    assert "In still air the jet gets to 30 ft." in card
    assert "Short by 7 ft" in in_order(pdf)[0]
    assert "at worst 25 ft" in card


def test_gauge_readings_are_given_open_and_closed_in_the_readers_units() -> None:
    assert "Gauge 54 psi at the pump, gun open closed 70 psi" in in_order(printed("plain"))[0]
    metric = " ".join(in_order(printed("plain", "a4", "si")))
    assert "Gauge 3.8 bar at the pump, gun open closed 4.8 bar" in metric
    assert "psi" not in metric


def test_paper_always_says_two_minutes_gun_closed() -> None:
    assert "gun shut: at most two minutes" in " ".join(texts(printed("plain")))


def test_a_pump_that_nothing_limits_must_never_be_closed() -> None:
    text = next(t for t in in_order(printed("six runs")) if "Set up at the rig" in t)
    assert text.count("Never shut the gun while booster runs: nothing limits the pressure.") == 1


def test_names_are_printed_in_full_and_never_obeyed() -> None:
    pdf = printed("hard names")
    card, set_up = texts(pdf)[0], texts(pdf)[1]
    assert "Smith <Offices> & Sons" in card
    assert ATTACK in card
    assert "Some letters in your files cannot be printed" in card
    assert "root:" not in " ".join(texts(pdf))
    assert "?? hose" in " ".join(texts(pdf))
    assert "Smith <Offices> & Sons" in set_up


@pytest.mark.ci
def test_no_name_of_the_job_is_lost_when_the_running_head_shortens_it() -> None:
    assert LONG in texts(printed("12 hoses"))[0]


def test_every_joint_of_a_long_line_stands_in_the_picture_or_the_table() -> None:
    set_up = " ".join(texts(printed("12 hoses"))[1:3])
    for n in range(1, 12):
        assert f"red {n} | red {n + 1}" in set_up or f"red {n} | red" in set_up


def test_the_card_says_who_when_and_in_what_weather() -> None:
    card = texts(printed("plain"))[0]
    assert "Crew: Ana, Bo." in card
    assert "Leave the yard 7:00 am." in card
    assert "61 F to 74 F, wind 6 mph, gust 9 mph, rain 30 % from 3:00 pm, sun in part." in card
    assert "No forecast listed" in texts(printed("no day"))[0]


@pytest.mark.ci
def test_emergency_numbers_are_the_companys_or_a_box_to_write_in() -> None:
    assert "Poison line 555-0111" in texts(printed("plain"))[0]
    page = pages(job_packet(written(), paper="letter", system="us"))[0]
    assert "Poison line" in (page.extract_text() or "")
    assert len([r for r in page.rects if abs(r["height"] - 17.2) < 0.5 and 85 < r["width"] < 110]) == 3
    # With water alone nobody asks for a number that nobody gave.
    assert "Poison line" not in texts(printed("no day"))[0]


@pytest.mark.ci
def test_the_owners_pages_are_a_file_of_their_own_and_say_so() -> None:
    assert not any("for the owner" in text for text in texts(printed("six runs")))
    marked = ["for the owner, not for the crew" in text for text in texts(owners("six runs"))]
    assert all(marked)
    assert len(marked) >= 6


def test_the_crews_packet_makes_none_of_the_owners_sections(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planner.packet.book.OWNERS", None)
    assert binding.job_book(job(), paper="letter", system="us").pdf == printed("plain")


@pytest.mark.ci
def test_the_crews_packet_speaks_of_no_page_that_is_not_in_it() -> None:
    for case in CASES:
        whole = " ".join(texts(printed(case)))
        assert "orksheet" not in whole, case
        assert "see every check" not in whole, case


@pytest.mark.ci
def test_every_figure_with_a_basis_and_every_check_is_on_the_worksheet() -> None:
    owner = " ".join(texts(owners("cautions")))
    for said in (
        "flow at the tip 9.1 gpm",
        "Darcy-Weisbach",
        "0.010 mm",
        "Every check: ",
        "2 cautions, no stop",
    ):
        assert said in owner
    for check in ("site.power_line", "line.rating", "supply.backflow", "reach.pattern", "pump.suction"):
        assert check in owner


def test_each_stop_point_stands_once_on_the_sheet_of_who_holds_it_and_numbers_go_with_the_clock() -> None:
    book = job_book(written(), paper="letter", system="us")
    own: dict[str, set[Any]] = {"lead": set(), "second": set()}
    for number, text in enumerate(texts(book.pdf), start=1):
        for role in own:
            if f" {role.capitalize()} of " in text or re.search(rf"\b{role.capitalize()} \d+ of ", text):
                own[role].add(number)
    assert own["lead"]
    assert own["second"]
    holds = [block for section in book.sections for block in walked(section.blocks) if isinstance(block, Hold)]
    holds.sort(key=lambda hold: hold.number)
    titles = [
        "Before the pump has power",
        "Before the drum is opened",
        "Before mix goes on",
        "Before the hose is coiled",
    ]
    assert [(hold.number, hold.title) for hold in holds] == list(enumerate(titles, start=1))
    at = {
        hold.number: [page for page, text in enumerate(texts(book.pdf), start=1) if hold.title in text]
        for hold in holds
    }
    # With the lead on a panel, the second alone pours, with the lead beside.
    assert [number for number, pages in at.items() if own["second"].issuperset(pages)] == [2]
    assert own["lead"].issuperset(page for number, pages in at.items() if number != 2 for page in pages)
    assert all("".join(texts(book.pdf)).count(hold.title) == 1 for hold in holds)


@pytest.mark.ci
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_each_page_has_two_fold_ticks_at_half_height(paper: Paper) -> None:
    assert all(fold_ticks(page) == 2 for page in pages(printed("plain", paper)))


def test_only_source_sans_is_used_and_it_is_embedded() -> None:
    assert faces(printed("hard names")) <= {
        "SourceSansPro-Regular", "SourceSansPro-Semibold", "SourceSansPro-Bold", "SourceSansPro-Black",
    }  # fmt: skip


def test_the_file_has_an_outline_a_language_a_title_and_no_author() -> None:
    reader = PdfReader(BytesIO(printed("hard names")))
    titles = [entry.title for entry in reader.outline]
    assert titles[0] == "Job sheet"
    assert "Set up" in titles
    assert [entry.title for entry in PdfReader(BytesIO(owners("hard names"))).outline][-1] == "Worksheet"
    assert reader.trailer["/Root"]["/Lang"] == "en-US"
    assert reader.metadata is not None
    assert reader.metadata.title == "Smith <Offices> & Sons"
    assert not reader.metadata.author
    assert str(reader.metadata["/CreationDate"]).startswith("D:20260609000000")


def test_a_job_without_hose_runs_still_prints() -> None:
    pdf = job_packet(job([], quiet()), paper="letter", system="us")
    assert "No hose run is planned" in texts(pdf)[0]
    assert problems(pdf, "letter") == []


def test_a_sheet_that_asks_where_things_stand_is_made_again_and_no_other() -> None:
    made: dict[str, int] = {}

    def asking(reading: Reading) -> Section:
        made["asking"] = made.get("asking", 0) + 1
        return Section(key="asking", title=f"page {reading.bound.page('plain')}", place="", blocks=())

    def plain(_: Reading) -> Section:
        made["plain"] = made.get("plain", 0) + 1
        return Section(key="plain", title="Plain", place="", blocks=())

    sections = binding._made(job(), "us", (asking, plain))
    sections(Bound())
    first, _ = sections(Bound(starts={"plain": 7}))
    assert first.title == "page 7"
    assert made == {"asking": 2, "plain": 1}
