"""Cautions on the card: at most three, each an act with its page, and each of them on the sheet it is done on."""

from __future__ import annotations

import json
import re
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

from planner.checks.model import CHECKS, CheckedJob
from planner.packet.blocks import Step, Verdict
from planner.packet.book import Book
from planner.packet.cautions import (
    HELD,
    MOST_CAUTIONS,
    RIG_CARD,
    SHEETS,
    card_of,
    cautions,
    sheet_of,
)
from planner.words import spoken as words
from tests import workspaces
from tests.checks.test_cases import FOLDER, _at_limit
from tests.packet import ordinary
from tests.packet.figures.jobs import DEMO, job_of
from tests.packet.printing import job_book
from tests.packet.sections.said import each_word

_LONGEST = 75  # letters of an act before its values are put in
DRAWN = 8


def _rows() -> list[tuple[str, str, Any]]:
    """Code, case and what the card has of it, for each case that can be a stop or a caution."""
    found = []
    for code, row in words.wording().items():
        for case in row["remedy"]:
            card = row.get("card")
            found.append((code, case, card if isinstance(card, str) else (card or {}).get(case)))
    return found


def test_every_case_that_can_be_a_caution_says_what_the_crew_has_of_it() -> None:
    for code, case, card in _rows():
        assert card is not None, f"{code} {case} has no `card`"
        if isinstance(card, str):
            assert card in ("owner", RIG_CARD, HELD), f"{code} {case}: {card}"
        else:
            assert card["at"] in SHEETS, f"{code} {case}"
    for code, row in words.wording().items():
        if isinstance(row.get("card"), dict):
            assert set(row["card"]) == set(row["remedy"]), code


def test_an_act_of_the_card_is_short_begins_with_a_verb_and_fills_from_what_its_finding_says() -> None:
    for code, case, card in _rows():
        if not isinstance(card, dict):
            continue
        act = card["act"]
        assert len(re.sub(r"\{[^}]*\}", "", act)) <= _LONGEST, act
        assert act[0].isupper(), act
        assert not act.endswith("."), act
        row = words.wording()[code]
        known = " ".join([*row["say"].values(), *row["remedy"].values(), *row.get("more", {}).values()])
        for _, name, _, _ in Formatter().parse(act):
            assert not name or f"{{{name}" in known, f"{code} {case}: {name}"


def _cases() -> list[Any]:
    return [
        pytest.param(path.stem, row, id=f"{path.stem}: {row['name']}")
        for path in sorted(FOLDER.glob("*.yaml"))
        for row in workspaces.read_yaml(path.read_text(encoding="utf-8"))
        if "misfits" not in row and "caution" in row["expect"].values()
    ]


@pytest.mark.parametrize(("code", "case"), _cases())
def test_no_caution_is_left_to_a_held_job_and_every_act_can_be_said(
    code: str, case: dict[str, Any], tmp_path: Path
) -> None:
    files = workspaces.merged(workspaces.base(), case.get("change", {}))
    if "at" in case:
        files = _at_limit(tmp_path / "first", files, case["at"])
    job = workspaces.checked(tmp_path / "second", files)
    assert code in CHECKS
    _all_said(job)
    _every_step_is_an_act(job)


def _all_said(job: CheckedJob) -> None:
    for one in job.findings:
        if one.level == "caution":
            row = words.wording()[one.code]["card"]
            assert (row if isinstance(row, str) else row[one.case]) != HELD, (one.code, one.case)
    for system in ("us", "si"):
        for told in cautions(job, system):
            assert not re.search(r"[{}`]|  ", told.act), told.act
            assert not isinstance(card_of(told.finding), str)


def demo() -> dict[str, CheckedJob]:
    return {name: job_of(name) for name in DEMO}


def _text(blocks: Any) -> str:
    return " ".join(" ".join(each_word(blocks)).replace("\u00a0", " ").split())


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> list[CheckedJob]:
    return ordinary.jobs(DRAWN, tmp_path_factory.mktemp("drawn"))


# What a sheet says of an act it has a step of its own for, by code.
AT_ITS_STEP = {
    "reach.short": "all.",  # with mix "Short: no mix, call.", of water alone "Short: call."
    "runoff.drain": "Cover the drains",
    "flush.needed": "turn it away",
    "runoff.water_life": "{what}",
    "weather.wind": "Wait out wind over",
    "weather.rain": "rain starts",
    "mix.surface": "Rinse within",
}


def _every_act_is_on_its_sheet(job: CheckedJob) -> None:
    made = job_book(job)
    for one in cautions(job, "us"):
        at = sheet_of(one.at, made.bound.starts)
        sheet = next(section for section in made.sections if section.key == at)
        wanted = one.act if one.put else AT_ITS_STEP.get(one.finding.code, "").format(**one.finding.values)
        if job.plan.kind == "wash":
            assert wanted, one.finding.code
            assert wanted in _text(sheet.blocks), (one.finding.case, at)
        assert made.bound.page(at) > 0


def test_the_step_a_card_names_does_what_it_says() -> None:
    made = job_book(demo()["2026-06-09/10-millrace"])
    pages = {item.title: item.page for item in _verdict(made).items}
    numbers = {title: int(page.rpartition(" ")[2]) for title, page in pages.items() if ", step" in page}
    assert len(numbers) == 2
    for title, number in numbers.items():
        sheet = "grounds" if title.startswith("Cover") else "flush"
        section = next(section for section in made.sections if section.key == sheet)
        (step,) = (block for block in section.blocks if isinstance(block, Step) and block.number == number)
        assert "".join(span.text for span in step.spans).startswith(
            "Cover the drains" if sheet == "grounds" else "Flush"
        )


def test_every_caution_of_the_demo_is_on_the_sheet_its_card_names() -> None:
    for job in demo().values():
        _all_said(job)
        _every_step_is_an_act(job)
        if not job.held:
            _every_act_is_on_its_sheet(job)


@pytest.mark.ci
def test_every_caution_of_ordinary_jobs_is_on_the_sheet_its_card_names(drawn: list[CheckedJob]) -> None:
    for job in drawn:
        _all_said(job)
        _every_step_is_an_act(job)
        if not job.held:
            _every_act_is_on_its_sheet(job)


def _every_step_is_an_act(job: CheckedJob) -> None:
    """What the card says is done at a step is an act of the job, before any mix where that is what it is for."""
    procedure = job.plan.procedure
    if job.held or procedure is None or not procedure.acts:
        return
    for one in cautions(job, "us"):
        together = any(run.input.same_time for run in job.plan.runs if run.name in one.finding.about)
        if not one.step or (one.step == "throw" and together):
            continue  # two guns at once show their jets as their lines are filled: a caution beside that spray
        done = {act.id for act in procedure.acts if act.expect is not None and act.expect.what == one.step}
        done |= {
            act.id
            for act in procedure.acts
            if one.step in (getattr(act.detail, "what", ""), getattr(act.detail, "use", ""))
        }
        assert done, (one.finding.code, one.finding.case, one.finding.about)


CLOSE = {"job": {"hose_runs": {0: {"target": "42 ft"}}}}
MIXED = {"job": {"hose_runs": {0: {"dosing": "panel"}}, "chemicals": [{"stock": "drum", "strength": "1 %"}]}}


@pytest.mark.ci
@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize("more", [{}, MIXED], ids=["water alone", "mix"])
def test_a_jet_that_may_be_too_low_is_tried_before_the_wall(tmp_path: Path, more: dict[str, Any], crew: str) -> None:
    files = workspaces.merged(workspaces.merged(workspaces.base(), CLOSE), more)
    files["day"]["crew"] = crew
    job = workspaces.checked(tmp_path, json.loads(json.dumps(files)), tables=True)
    assert [one.case for one in job.findings if one.code == "reach.short"] == ["low_only"]
    assert not job.held
    assert bool(job.plan.mixes) == (bool(more))
    assert job.plan.procedure is not None
    read = next(act for act in job.plan.procedure.acts if act.expect is not None and act.expect.what == "throw")
    walls = [act for act in job.plan.procedure.acts if act.section is not None]
    assert read.end <= walls[0].start
    _every_act_is_on_its_sheet(job)
    _every_step_is_an_act(job)
    text = _text([section.blocks for section in job_book(job).sections])
    assert ("no mix" in text or "mix nothing" in text) == (bool(more))


def _verdict(made: Book) -> Verdict:
    return next(block for block in made.sections[0].blocks if isinstance(block, Verdict))


@pytest.mark.ci
def test_the_card_has_at_most_three_cautions_and_says_how_many_more_and_where(drawn: list[CheckedJob]) -> None:
    for job in (*demo().values(), *drawn):
        if job.held:
            continue
        acts = cautions(job, "us")
        if job.plan.kind == "yard":  # one person reads it through: no card, its cautions in a line
            head = _text(job_book(job).sections[0].blocks)
            assert ("Go, with care." if acts else "Go.") in head
            assert all(one.act in head for one in acts)
            continue
        told = _verdict(job_book(job))
        assert len(told.items) == min(len(acts), MOST_CAUTIONS)
        assert all(re.fullmatch(r"page \d+(, step \d+)?", item.page) for item in told.items)
        assert told.word == ("Go, with care" if acts else "Go")
        if len(acts) > MOST_CAUTIONS:
            assert told.more.startswith(f"And {len(acts) - MOST_CAUTIONS} more, each on its sheet: ")
            assert all(SHEETS[one.at] in told.more for one in acts[MOST_CAUTIONS:])


def test_what_hurts_people_comes_before_what_spoils_the_work() -> None:
    job = demo()["2026-06-10/30-kiln-acid"]
    assert next(iter(cautions(job, "us"))).finding.code == "mix.reaction"


def test_acts_that_differ_in_a_name_are_one() -> None:
    acts = [one.act for one in cautions(demo()["2026-06-10/30-kiln-acid"], "us")]
    assert sum("earlier flush" in act for act in acts) == 1
    assert any("booster, red 1, red 2" in act for act in acts)


def test_a_standing_rule_and_what_the_owner_must_do_stay_off_the_card() -> None:
    job = demo()["2026-06-10/10-slipway"]
    known = {(one.code, one.case) for one in job.findings if one.level == "caution"}
    assert {("line.surge", "above"), ("mix.reach", "low_only")} <= known
    assert [one.finding.code for one in cautions(job, "us")] == ["site.power_line"]
