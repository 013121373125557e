"""A wall is called on paper by the side it is on, where its job says so: everywhere, and never as another one."""

from __future__ import annotations


import pytest

from planner.commands.as_json import job_json
from planner.commands.record_json import planned_of, record_json
from planner.commands.record_questions import questions
from planner.inputs.record import joined_record, record_of_text
from planner.packet.book import job_book, owner_book
from tests.packet.builders import written
from tests.packet.reading import texts

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


@pytest.mark.parametrize("more", [(), (TWO_MIXES,), (TWO_MIXES.replace("3.4", "1"),), (ALONE,), (HIGH,)])
def test_every_page_of_the_crew_calls_a_wall_by_its_side(more: tuple[str, ...]) -> None:
    job = written(TWO_WALLS, *more)
    paper = on_paper(job_book(job, paper="letter", system="us").pdf)
    assert "qz" not in paper
    assert job.held or ("street side" in paper and "left gable" in paper)
    assert "qzback" in on_paper(owner_book(job, paper="letter", system="us").pdf)


def test_a_job_held_for_a_wall_tells_of_it_by_its_side() -> None:
    job = written(TWO_WALLS, TWO_MIXES)
    assert job.held
    assert any("qzback" in str(value) for finding in job.findings for value in finding.values.values())
    assert "aluminium of left gable" in on_paper(job_book(job, paper="letter", system="us").pdf)


def test_two_walls_on_one_side_are_told_apart_on_paper() -> None:
    paper = on_paper(job_book(written(TWO_WALLS.replace("left gable", "street side")), paper="letter", system="us").pdf)
    assert "street side, qzfront" in paper
    assert "street side, qzback" in paper


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
