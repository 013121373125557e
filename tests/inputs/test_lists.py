"""Lists written with commas, and spacers by the number of their stage."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from planner.inputs.models import YardJob
from planner.inputs.models.record import PumpWork
from planner.inputs.reading.places import slips_of
from planner.inputs.record import Planned, joined_record, record_of_text
from tests.inputs.desk import YARD, Desk

JOB = {"job": "Booster", "kind": "yard", "pump": "booster", "work": "rebuild"}
PLANNED = Planned(job="d/90-booster", kind="yard", runs=(), mixes=(), sides=(), stages=7)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        (["2 thin", "1 thick"], ("2 thin", "1 thick")),
        ("2 thin, none, 1 thick", ("2 thin", "none", "1 thick")),
        ({"4": "thick", "2": "1 thin"}, ("", "1 thin", "", "thick")),
        ("4: thick", ("", "", "", "thick")),
        ([], ()),
    ],
)
def test_spacers_stand_at_their_stage(written: Any, meant: tuple[str, ...]) -> None:
    assert YardJob.model_validate({**JOB, "spacers": written}).spacers == meant
    assert PumpWork.model_validate({"spacers": written}).spacers == meant


@pytest.mark.parametrize("written", ["2 thin, , 1 thick", {"root": "thin"}, {"0": "thin"}, ["2 thin", ""], {"3": ""}])
def test_spacers_without_a_stage_of_their_own_are_a_fault(written: Any) -> None:
    with pytest.raises(ValidationError):
        YardJob.model_validate({**JOB, "spacers": written})


def test_parts_may_be_written_with_commas() -> None:
    work = PumpWork.model_validate({"replaced": "shaft seal, diffuser plates", "checked": "impellers"})
    assert (work.replaced, work.checked) == (("shaft seal", "diffuser plates"), ("impellers",))
    assert YardJob.model_validate({**JOB, "replace": "shaft seal"}).replace == ("shaft seal",)


@pytest.mark.parametrize("key", ["stages: {9: {cost: 1}}", "spacers: {9: thick}"])
def test_a_stage_the_pump_has_not_is_a_fault(key: str) -> None:
    done, faults = joined_record(record_of_text(f"job: 90-booster\npump: {{{key}}}\n", "done.yaml"), PLANNED)
    assert done is None
    (fault,) = faults
    assert fault.code == "record.stage"
    assert "1 to 7" in fault.remedy
    done, _ = joined_record(record_of_text(f"job: 90-booster\npump: {{{key.replace('9', '7')}}}\n", "x"), PLANNED)
    assert done is not None


def test_a_yard_jobs_spacer_at_a_stage_the_pump_has_not_is_a_fault(desk: Desk) -> None:
    text = (desk.folder / YARD).read_text(encoding="utf-8")
    text = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("spacers:"))
    desk.write(YARD, f"{text}spacers: {{7: 1 thick}}\n")
    assert desk.faults(YARD) == []
    desk.write(YARD, f"{text}spacers: {{8: 1 thick}}\n")
    assert [code for _, _, code in desk.faults(YARD)] == ["yard.stage"]


@pytest.mark.parametrize(
    ("written", "word"),
    [
        ("1:thick 2:thin", "a comma before `2:`"),
        ("4: thick, banana", "number of its stage too"),
        (["4: thick", "banana"], "number of its stage too"),
        ("4: thick, 4: thin", "number once"),
        ("thick 2: thin", "a comma before `2:`"),
    ],
)
def test_a_stage_number_amiss_is_a_fault(written: Any, word: str) -> None:
    for model, more in ((YardJob, JOB), (PumpWork, {})):
        with pytest.raises(ValidationError) as refused:
            model.model_validate({**more, "spacers": written})
        (slip,) = slips_of(refused.value)
        assert word in slip.remedy


def test_a_stage_the_pump_has_not_is_a_fault_in_words_too() -> None:
    done, faults = joined_record(
        record_of_text('job: 90-booster\npump: {spacers: "2: thin, 9: thick"}\n', "x"), PLANNED
    )
    assert done is None
    assert [fault.code for fault in faults] == ["record.stage"]
