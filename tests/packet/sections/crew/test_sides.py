"""A wall is called on paper by the side it is on, where its job says so: everywhere, and never as another one."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from planner.archive.compare.differences import differences
from planner.archive.compare.pairs import Pair
from planner.contract.plan import job_json
from planner.contract.record import planned_of, record_json
from planner.faults import Fault
from planner.inputs.models.quantities import LONGEST_SIDE
from planner.inputs.record import joined_record, record_of_text
from planner.packet.html import twin
from planner.packet.pages.pages import Paper
from planner.recording.doubts import doubts
from planner.recording.questions import questions
from planner.units import System
from tests.packet.builders import written
from tests.packet.printing import job_book, owner_worded
from tests.packet.reading import problems, texts

TWO_WALLS = """
job:
  surfaces:
    - {name: qzfront, kind: vinyl, width: 40 ft, height: 18 ft, soil: light, side: street side, notes: mind the bell}
    - {name: qzback, kind: vinyl, width: 60 ft, height: 18 ft, trim: [aluminium], side: left gable}
"""
TWO_MIXES = """
job:
  chemicals:
    - {stock: drum, strength: 0.8 %, surfaces: [qzfront]}
    - {stock: drum, strength: 3.4 %, surfaces: [qzback], reason: "black lichen, owner agrees"}
"""
ALONE = "day: {crew: 1}"


def on_paper(pdf: bytes) -> str:
    return " ".join(" ".join(texts(pdf)).split())


HIGH = "job: {building: {height: 60 ft}, hose_runs: {0: {target: 60 ft}}}"


@pytest.mark.parametrize(
    "more",
    [
        (),
        *(
            pytest.param(one, marks=pytest.mark.ci)
            for one in ((TWO_MIXES,), (TWO_MIXES.replace("3.4", "1"),), (ALONE,))
        ),
        (HIGH,),
    ],
)
@pytest.mark.ci
def test_every_page_of_the_crew_calls_a_wall_by_its_side(more: tuple[str, ...]) -> None:
    job = written(TWO_WALLS, *more)
    paper = on_paper(job_book(job, paper="letter", system="us").pdf)
    assert "qz" not in paper
    assert job.held or ("street side" in paper and "left gable" in paper)
    assert "qzback" in twin(owner_worded(job)).decode()


@pytest.mark.ci
def test_a_job_held_for_a_wall_tells_of_it_by_its_side() -> None:
    job = written(TWO_WALLS, TWO_MIXES)
    assert job.held
    assert any("qzback" in str(value) for finding in job.findings for value in finding.values.values())
    assert "aluminum of left gable" in on_paper(job_book(job, paper="letter", system="us").pdf)


@pytest.mark.ci
def test_two_walls_on_one_side_are_told_apart_on_paper() -> None:
    paper = on_paper(job_book(written(TWO_WALLS.replace("left gable", "street side")), paper="letter", system="us").pdf)
    assert "street side, qzfront" in paper
    assert "street side, qzback" in paper


@pytest.mark.ci
@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), ("a4", "si")])
def test_the_longest_sides_fit_their_pages(paper: Paper, system: System) -> None:
    long = "street side over the neighbour's driveway"[:LONGEST_SIDE]
    pdf = job_book(
        written(TWO_WALLS.replace("street side", long).replace("left gable", long)), paper=paper, system=system
    ).pdf
    assert problems(pdf, paper) == []


@pytest.mark.ci
def test_a_side_changes_no_figure_and_no_name_of_the_plan() -> None:
    with_sides = job_json(written(TWO_WALLS), "us")
    without = job_json(written(TWO_WALLS.replace(", side: street side", "").replace(", side: left gable", "")), "us")
    assert [one.pop("side") for one in with_sides["work"]] == ["street side", "left gable"]
    assert [one.pop("side") for one in without["work"]] == [None, None]
    assert with_sides["work"] == without["work"]
    assert with_sides["procedure"] == without["procedure"]


def test_a_record_may_speak_of_a_wall_as_the_paper_does() -> None:
    plan = job_json(written(TWO_WALLS), "us")
    planned = planned_of(plan)
    text = f"job: {plan['id']}\nsides: {{left gable: {{rinse: 40 gal}}, qzfront: {{rinse: 30 gal}}}}\n"
    done, faults = joined_record(record_of_text(text, "done.yaml"), planned)
    assert done is not None, faults
    sides = record_json(done, planned, None, None)["sides"]
    assert [(one["surface"], round(one["rinse_m3"], 3)) for one in sides] == [("qzfront", 0.114), ("qzback", 0.151)]
    assert "left gable, front: rinse" in {one.about for one in questions(plan, planned, "us")}


def _kept(done: str) -> tuple[dict[str, Any], dict[str, Any], tuple[Fault, ...]]:
    """A record of the two walls as YAML has it, as JSON beside its plan; the faults of one that cannot be taken."""
    plan = job_json(written(TWO_WALLS), "us")
    planned = planned_of(plan)
    read = record_of_text(f"job: {plan['id']}\n{done}", "done.yaml")
    taken, faults = joined_record(read, planned)
    record = record_json(taken, planned, "2026-06-09", plan["plan"]) if taken is not None else {}
    return plan, record, (*read.faults, *faults)


def test_a_side_is_compared_by_its_first_mix_and_its_sections_and_a_mix_by_what_the_jug_held() -> None:
    plan, record, faults = _kept(
        "times: {arrived: 07:00, left: 11:00}\n"
        "sides: {1: {first_mix: 09:50, sections: 2}, 2: {first_mix: 08:15, sections: 4}}\nmixes: {1: {jug_left: 2 fl oz}}\n"
    )
    assert not faults
    whole = Pair(job=plan["id"], date=datetime.date(2026, 6, 9), revision=1, number=None, record=record, plan=plan)
    found = {(one.figure, one.about): (one.sign, one.cause) for one in differences(whole)}
    assert found["begun", "qzfront"] == ("high", "begun_late")
    assert found["begun", "qzback"] == ("in", None)
    assert found["sections", "qzfront"] == ("in", None)
    assert found["sections", "qzback"] == ("high", "other_sections")
    assert found["jug", "hypochlorite, front"] == ("low", "drew_more")


def test_a_first_mix_while_nobody_was_there_is_asked_after() -> None:
    plan, record, _ = _kept(
        "times: {arrived: 07:00, left: 13:00}\nsides: {1: {first_mix: 1:15}, 2: {first_mix: 12:15}}\n"
    )
    odd = {one.path: one.message for one in doubts(record, plan, "us")}
    assert "is not between arrived 7:00 am and left 1:00 pm" in odd["sides.1.first_mix"]
    assert "sides.2.first_mix" not in odd


def test_sections_and_a_jug_far_from_what_was_planned_are_asked_after() -> None:
    plan, record, _ = _kept("sides: {1: {sections: 40}}\nmixes: {1: {jug_left: 3 gal}}\n")
    assert {one.path for one in doubts(record, plan, "us")} == {"sides.1.sections", "mixes.1.jug_left"}


def test_how_long_a_side_waited_is_its_dwell() -> None:
    _, _, (fault,) = _kept("sides: {1: {wait: 8 min}}\n")
    assert fault.code == "key.unknown"
    assert "`dwell`" in fault.remedy


def test_a_record_kept_before_these_figures_is_still_compared() -> None:
    plan, record, _ = _kept("sides: {1: {dwell: 12 min}}\nmixes: {1: {left: 1 gal}}\n")
    for row in (*record["sides"], *record["mixes"], *plan["work"], *plan["mixes"]):
        for key in ("first_mix_s", "sections", "jug_left_m3", "jug_left_between_m3", "side"):
            row.pop(key, None)
    pair = Pair(job=plan["id"], date=datetime.date(2026, 6, 9), revision=1, number=None, record=record, plan=plan)
    assert [one.figure for one in differences(pair)] == ["dwell"]
    assert [one.path for one in questions(plan, planned_of(plan), "us") if "sides.1" in one.path][1:2] == [
        "sides.1.sections"
    ]
