"""What a record hardly means, and names it cannot mean: asked again, told or refused."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.contract.plan import job_json
from planner.contract.record import planned_of, record_json
from planner.inputs.record import joined_record, record_of_text
from planner.recording.doubts import doubts
from tests import workspaces
from tests.commands.recording import CHEMICALS, records

pytestmark = pytest.mark.usefixtures("own_archive")


@pytest.mark.ci
def test_a_dirty_strip_is_doubted_by_the_plans_own_band_and_asked_again(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = typed({"Chlorine at the tip after the flush": ["400", "3"], "pH at the tip": ["2", "7"]})
    assert main(["record", str(job)]) == 0
    assert sum(prompt.startswith("Chlorine at the tip") for prompt in asked) == 2
    assert sum(prompt.startswith("pH at the tip") for prompt in asked) == 2
    assert "read as 400 mg/L after the flush, and clean is 4 mg/L or less" in capsys.readouterr().out
    assert records(job)[0]["cautions"] == []


TODAY = datetime.date(2026, 6, 20)
ODD: list[tuple[str, str, str]] = [
    ("flush: {residual: 400 mg/L}", "flush.residual", "clean is 4 mg/L or less"),
    ("flush: {residual: <10 mg/L}", "flush.residual", "chlorine read as 10 mg/L"),
    ("flush: {ph: 2}", "flush.ph", "pH read as 2 after the flush"),
    ("flush: {ph: 9.5}", "flush.ph", "pH read as 9.5"),
    ("water: {used: 0 gal}", "water.used", "no water at all"),
    ("mixes: {1: {batches: 2}}", "mixes.1.batches", "has no tankfuls"),
    ("date: 2026-06-21", "date", "2026-06-21 has not come yet"),
    ("date: 2026-06-01", "date", "8 days before the plan's day, 2026-06-09"),
    ("date: 2025-06-09", "date", "365 days before"),
    ("signed_at: 2026-13-45", "signed_at", "`2026-13-45` is not a date"),
    ("signed_at: 2026-06-30 12:45", "signed_at", "has not come yet"),
    ("signed_at: 2026-06-08", "signed_at", "before the job was done on 2026-06-09"),
]
FINE = [
    "flush: {residual: 4 mg/L, ph: 6}", "flush: {residual: <1 mg/L, ph: 8}", "date: 2026-06-02", "date: 2026-06-20",
    "signed_at: 2026-06-09 12:45", "signed_at: noon", "water: {used: 1 gal}",
]  # fmt: skip


def _told(text: str, folder: Path, *changes: dict[str, Any]) -> dict[str, str]:
    plan = _plan(folder, *changes)
    planned = planned_of(plan)
    done, faults = joined_record(record_of_text(f"job: {planned.job}\n{text}\n", "x"), planned)
    assert done is not None, faults
    content = record_json(done, planned, "2026-06-09", None)
    return {one.path: one.message for one in doubts(content, plan, "us", today=TODAY)}


def _plan(folder: Path, *changes: dict[str, Any]) -> dict[str, Any]:
    files = workspaces.merged(workspaces.base(), CHEMICALS)
    for change in changes:
        files = workspaces.merged(files, change)
    return job_json(workspaces.checked(folder, files), "us")


@pytest.mark.parametrize(("text", "path", "said"), ODD)
def test_what_a_record_hardly_means_is_doubted(text: str, path: str, said: str, tmp_path: Path) -> None:
    assert said in _told(text, tmp_path)[path]


@pytest.mark.parametrize("text", FINE)
def test_what_a_record_may_well_mean_is_not(text: str, tmp_path: Path) -> None:
    assert not {"flush.residual", "flush.ph", "date", "signed_at"} & set(_told(text, tmp_path))
    assert "no water at all" not in _told(text, tmp_path).values()


def test_figures_of_a_mix_and_a_side_that_have_none_are_doubted(tmp_path: Path) -> None:
    premix = {"job": {"hose_runs": {0: {"dosing": "premix", "feed": "mix"}}}}
    told = _told("mixes: {1: {dial: 2.4, jug_left: 20 fl oz}}", tmp_path / "premix", premix)
    assert told["mixes.1.dial"].endswith("has no dial")
    assert told["mixes.1.jug_left"].endswith("has no jug")
    told = _told(
        "sides: {1: {dwell: 8 min, mix: 4 gal, rinse: 60 gal}}", tmp_path / "water", {"job": {"chemicals": []}}
    )
    assert told["sides.1.dwell"] == told["sides.1.mix"] == "no mix is planned for wall by front"
    assert not {"mixes.1.dial", "mixes.1.jug_left"} & set(
        _told("mixes: {1: {dial: 2.1, jug_left: 11 fl oz}}", tmp_path / "panel")
    )


def test_a_record_of_a_job_that_was_held_says_so(tmp_path: Path) -> None:
    held = {"job": {"hose_runs": {0: {"tip": "fan"}}}}
    told = _told("signed: Ana", tmp_path / "held", held)["plan"]
    assert "was held (" in told
    assert "reach." in told
    assert "plan" not in _told("signed: Ana", tmp_path / "fine")


def test_a_fault_for_an_unknown_side_names_walls_as_paper_does_too(tmp_path: Path) -> None:
    plan = _plan(tmp_path, {"job": {"surfaces": {0: {"side": "left gable"}}}})
    planned = planned_of(plan)
    _, faults = joined_record(record_of_text(f"job: {planned.job}\nsides: {{back: {{wet: 1 gal}}}}\n", "x"), planned)
    assert [fault.remedy for fault in faults] == ["write a number from 1 to 1, or `wall, front` or `left gable, front`"]
    _, faults = joined_record(
        record_of_text(f"job: {planned.job}\nsides: {{left gabel: {{wet: 1 gal}}}}\n", "x"), planned
    )
    assert "left gable, front" in faults[0].remedy
