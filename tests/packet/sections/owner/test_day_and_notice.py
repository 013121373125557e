"""The day's cover and the customer's notice, from jobs as they are written to their pages."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import Any

import pytest

from planner.checks.evaluate import check_plan
from planner.checks.model import CheckedJob
from planner.packet.book import notice
from planner.packet.pages.pages import Paper
from planner.plan.days.day import DayPlan, plan_day
from planner.plan.make import make_plan
from planner.units import System
from planner.words.dates import clock_text
from tests.packet.builders import ACID, ROOF, written
from tests.packet.mixing import ATTACK, CASES, texts
from tests.packet.printing import day_packet
from tests.packet.reading import problems
from tests.sampled import one_in

SECOND = "job: {job: Second house, near: {flower_beds: 90 ft2}}"
AHEAD = "job: {job: First house}"
CAP = "stock: {lots: {0: {on_hand: 5 gal}}}"
WET_ACID = (ACID, "job: {job: The brick wall}")
DAYS = {
    "plain": ((AHEAD,), (SECOND,)),
    "change": ((AHEAD,), WET_ACID),
    "one held": ((AHEAD,), ("job: {job: Held house}", *CASES["short"])),
    "all held": (CASES["short"],),
    "buy": ((AHEAD, CAP), (SECOND, CAP)),
    "heel": ((ROOF, "day: {heels: {mix: {stock: acid, strength: 5 wt %, volume: 3 gal}}}"),),
    "roof": ((ROOF,), (SECOND,)),
    "no clock": ((AHEAD, "day: {leave_yard: null, forecast: null}"),),
    "names": (CASES["names"], CASES["three"], (AHEAD,)),
    "many": tuple((f"job: {{job: House number {n} on a long lane behind the weir}}",) for n in range(9)),
    "water": (CASES["water only"],),
}


@lru_cache(maxsize=32)
def day(name: str) -> tuple[DayPlan, list[CheckedJob]]:
    """The day's plan and its jobs, each under an id of its own, all on one clock."""
    jobs: list[CheckedJob] = []
    for changes in DAYS[name]:
        alone = written(*changes)
        left = jobs[-1].plan.left if jobs and name == "roof" else None
        jobs.append(alone if left is None else check_plan(make_plan(alone.plan.input, left)))
    jobs = [replace(job, plan=replace(job.plan, id=f"2026-06-09/{n}0-job")) for n, job in enumerate(jobs, start=1)]
    held = frozenset(job.plan.id for job in jobs if job.verdict == "stop")
    planned = plan_day([job.plan for job in jobs], held)
    return planned, [replace(job, plan=plan) for job, plan in zip(jobs, planned.jobs, strict=True)]


@lru_cache(maxsize=32)
def cover(name: str, paper: Paper = "letter", system: System = "us") -> bytes:
    """A day's cover, printed once for all tests."""
    return day_packet(*day(name), paper=paper, system=system)


def whole(name: str, **how: Any) -> str:
    return " ".join(texts(cover(name, **how)))


@pytest.mark.ci
@pytest.mark.parametrize("name", one_in(3, DAYS))
def test_nothing_on_a_cover_is_cut_overlaps_or_is_missing(name: str) -> None:
    assert problems(cover(name), "letter") == []


@pytest.mark.ci
@pytest.mark.parametrize("name", ["names", "change"])
def test_nothing_is_cut_on_the_other_paper_in_the_other_units(name: str) -> None:
    assert problems(cover(name, "a4", "si"), "a4") == []
    assert not re.search(r"\d (gal|ft|psi|mph)\b", whole("change", paper="a4", system="si"))


@pytest.mark.parametrize("name", ["plain", "change", "one held", "roof"])
def test_a_cover_is_one_page_or_two(name: str) -> None:
    assert len(texts(cover(name))) <= 2


def test_the_same_day_gives_the_same_bytes_and_another_day_another_number() -> None:
    assert day_packet(*day("plain"), paper="letter", system="us") == cover("plain")
    numbers = {re.search(r"plan (\w{4}-\w{4})", whole(name))[1] for name in ("plain", "change", "roof")}
    assert len(numbers) == 3


def test_jobs_stand_in_order_with_the_clock_going_on_from_one_to_the_next() -> None:
    text = whole("plain")
    assert text.index("1 First house") < text.index("2 Second house")
    first, second = day("plain")[0].jobs
    ends = first.time[-1].start + first.time[-1].seconds
    assert second.time[0].start == pytest.approx(ends)
    assert clock_text(ends, "us") in text


def test_stock_is_totalled_by_lot_with_whose_it_is() -> None:
    pull = day("plain")[0].pulls[0]
    assert pull.for_jobs == ("First house", "Second house")
    assert re.search(r"\d+( \d/8)? gal of drum, hypochlorite: First house, Second house", whole("plain"))


def test_gear_of_all_jobs_is_listed_once() -> None:
    text = whole("roof")
    assert "Pumps and dosing: transfer, booster, panel" in text
    assert text.count("Hoses: ") == 1
    assert "long throw" in text
    assert "Eyewash, 6" in text
    assert "Harness" not in text


def test_a_held_job_is_marked_and_nothing_is_loaded_for_it() -> None:
    text = whole("one held")
    assert "1 of 2 held" in text
    assert "Held: " in text
    assert "Held house" not in text.split("Load, check off as it goes on")[1]
    assert "Every job is held: load nothing." in whole("all held")


def test_a_change_of_chemistry_is_a_hold_with_what_each_line_takes() -> None:
    text = whole("change")
    assert "Before The brick wall: hypochlorite to muriatic" in text
    assert re.search(r"front: \d+(?: \d/\d)? gal through, \d+ min, strip 4.0 mg/L or less\?", text)
    assert "Together they give chlorine gas." in text
    assert "Changes of chemistry" not in whole("plain")


def test_a_tank_that_holds_another_chemical_tonight_is_a_hold_too() -> None:
    job = day("heel")[0].jobs[0]
    assert job.changes[0].leaves == ("muriatic",)
    assert job.mixes[0].heel_chemical == "water"
    if day("heel")[1][0].verdict == "stop":
        assert "3 gal of acid" in whole("heel")
    else:
        assert "muriatic to hypochlorite" in whole("heel")


@pytest.mark.ci
def test_what_the_shelf_lacks_is_to_be_bought() -> None:
    lacking = day("buy")[0].buys
    assert lacking
    assert re.search(r"Buy .*gal.* of hypochlorite: not on the shelf", whole("buy"))
    assert "the shelf lacks it" not in whole("plain")


def test_heels_tonight_and_after_are_both_told() -> None:
    text = whole("roof")
    assert "mix: 2 gal of bleach at 3 trade %" in text
    assert re.search(r"In the tanks after mix: \d(?: \d/\d)? gal of hypochlorite at 3.5 trade %", text)


def test_a_day_without_a_clock_still_has_its_order() -> None:
    assert "No forecast listed" in whole("no clock")
    assert "0:00" in whole("no clock")


# ------------------------------------------------------------------------------------------------ notice


@pytest.mark.parametrize("case", ["wash", "roof", "acid", "names", "water only", "short"])
@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), ("a4", "si")])
def test_a_notice_is_one_page_that_nothing_is_missing_from(case: str, paper: Paper, system: System) -> None:
    pdf = notice(written(*CASES[case]), paper=paper, system=system)
    assert problems(pdf, paper) == []
    assert len(texts(pdf)) == 1


def said(*changes: str) -> str:
    return texts(notice(written(*changes), paper="letter", system="us"))[0]


def test_a_notice_asks_for_all_that_is_needed_and_says_what_comes_after() -> None:
    text = said()
    for words in ("windows and doors", "cars", "pets and children", "clothesline", "irrigation", "faucet", "gate",
                  "fish pond", "Afterwards", "Water the beds once more", "swimming pool", "Case Company"):  # fmt: skip
        assert words in text
    assert "rain barrel" not in text
    assert "acid" not in text
    assert "an acid. Keep well away" in said(ACID)
    assert "roof wash off in the next rains" in said(ROOF)


DRIVE = "job: {surfaces: [{name: driveway, kind: concrete, area: 900 ft2}]}"
FRONT = "{name: front, kind: vinyl, area: 800 ft2}"
OF_WALLS, OF_ROOF, OF_DRIVE = ("windows and doors", "sills and handles"), ("skylights", "eaves"), ("garage door", "You cannot drive over it")  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "title", "asks", "never"),
    [
        ((), "We are washing your house tomorrow", OF_WALLS, (*OF_ROOF, "drive over")),
        ((ROOF,), "We are washing your roof tomorrow", OF_ROOF, (*OF_WALLS, "drive over", "doorbells")),
        ((DRIVE,), "We are washing your driveway tomorrow", OF_DRIVE, (*OF_WALLS, *OF_ROOF, "clothesline", "glass", "doorbells")),
        ((DRIVE.replace("driveway", "court"),), "We are washing your paving tomorrow", ("Clear the paving",), ("driveway",)),
        ((DRIVE.replace("[{", f"[{FRONT}, {{"),), "We are washing your house and driveway tomorrow",
         (*OF_WALLS, "Move cars off the driveway and away from the house", "until the walls and driveway are dry"), OF_ROOF),
    ],
)  # fmt: skip
def test_a_notice_asks_only_what_fits_what_is_washed(
    changes: tuple[str, ...], title: str, asks: str, never: str
) -> None:
    text = said(*changes)
    assert title in text
    assert [words for words in asks if words not in text] == []
    assert [words for words in never if words in text] == []


@pytest.mark.ci
def test_a_notice_has_the_company_s_dates_and_clock_and_no_contraction() -> None:
    job = written()
    us, si = (texts(notice(job, paper="letter", system=system))[0] for system in ("us", "si"))
    assert re.search(r"Tuesday, June 9\. We plan to arrive around 7(:15)? am and leave by 9:\d\d am\.", us)
    assert re.search(r"Tuesday, 9 June\. We plan to arrive around 07:\d\d and leave by 09:\d\d\.", si)
    assert "We plan to arrive around 4 pm" in said("day: {leave_yard: 15:57}")
    assert "We plan to arrive around noon" in said("day: {leave_yard: 11:55}")
    assert not re.search(r"\w'(?!s\b)\w", us)


@pytest.mark.parametrize("case", ["wash", "roof", "acid", "three", "short"])
def test_no_figure_of_ours_is_on_a_notice(case: str) -> None:
    text = said(*CASES[case])
    assert not re.search(
        r"\d+(\.\d+)? ?(gal|gpm|psi|ft|min|mg/L|L|%)|\bplan [0-9a-f]{4}-|\blot\b|trade|hypochlorite|page", text
    )


def test_a_notice_gives_the_time_to_the_quarter_hour() -> None:
    at = re.search(r"around \d+(?::(\d\d))? am and leave by \d+(?::(\d\d))? am", said())
    assert [int(minutes or 0) % 15 for minutes in at.groups()] == [0, 0]
    assert "We will call before we come" in said("day: {leave_yard: null}")


def test_a_notice_of_a_held_job_says_so_and_gives_no_reason() -> None:
    text = said(*CASES["short"])
    assert "Not to be given out yet: this job is held." in text
    assert "stock" not in text


def test_hostile_names_print_as_they_are() -> None:
    text = said(*CASES["names"])
    assert ATTACK in text
    assert "root:" not in text
