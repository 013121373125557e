"""Callbacks, money and crew hours: added up by day, crew and surface, of those jobs that have them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from planner import cli
from planner.archive.compare.comparison import compared
from planner.archive.compare.pairs import Pair
from planner.archive.compare.totals import Tally, rang
from planner.contract.record import planned_of, record_json
from planner.inputs.models.record import Record
from planner.inputs.record import DoneJob
from planner.recording.doubts import doubts
from tests.archive import seasons

Json = dict[str, Any]
CAME: tuple[tuple[str, float | None, float | None, str | None], ...] = (
    ("Ana", 300.0, 8.0, None),
    ("Ana", 100.5, None, "streaks by the door"),
    ("Bo", None, 4.5, "none"),
    ("Bo", 50.0, 5.5, "hosta bleached"),
)
"""Who led it, what it came to in money and hours, who rang."""


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Json:
    return seasons.plan_of(tmp_path_factory.mktemp("totals"))


def done(number: int, record: Json) -> None:
    signed, spent, hours, callbacks = CAME[number]
    crew = None if hours is None else hours * 3600.0
    record.update(signed=signed, spent=spent, crew_s=crew, callbacks=callbacks)


def by_name(pairs: list[Pair]) -> dict[tuple[str, str], Tally]:
    return {(one.by, one.name): one for one in compared(pairs).tallies}


def test_sums_are_of_the_jobs_that_have_them(plan: Json) -> None:
    found = by_name(seasons.season(plan, 4, done, days=1))
    assert list(found) == [("all", ""), ("crew", "Ana"), ("crew", "Bo"), ("surface", "vinyl")]
    every = found["all", ""]
    assert (every.jobs, every.callbacks, every.share) == (4, 2, 0.5)
    assert (every.spent, every.spent_jobs) == (pytest.approx(450.5), 3)
    assert (every.crew, every.crew_jobs) == (pytest.approx(18.0 * 3600.0), 3)
    ana, bo = found["crew", "Ana"], found["crew", "Bo"]
    assert (ana.spent, ana.crew, ana.callbacks) == (pytest.approx(400.5), 8.0 * 3600.0, 1)
    assert (bo.spent, bo.crew_jobs, bo.callbacks) == (50.0, 2, 1)
    assert found["surface", "vinyl"].spent == every.spent


def test_days_have_their_own_sums_and_none_where_nothing_was_written(plan: Json) -> None:
    days = compared(seasons.season(plan, 4, done, days=1)).days
    assert [day.spent for day in days] == [300.0, 100.5, None, 50.0]
    assert [day.crew for day in days] == [28800.0, None, 16200.0, 19800.0]
    assert [day.callbacks for day in days] == [0, 1, 0, 1]


def test_a_job_of_several_kinds_counts_for_each_and_its_money_for_none(plan: Json) -> None:
    (row,) = plan["work"]
    several = {**plan, "work": [row, {**row, "kind": "painted_wood"}]}
    found = by_name([*seasons.season(plan, 4, done), *seasons.season(several, 4, done, days=40)])
    assert (found["surface", "vinyl"].jobs, found["surface", "painted_wood"].jobs) == (8, 4)
    assert (found["surface", "vinyl"].callbacks, found["surface", "painted_wood"].callbacks) == (4, 2)
    assert found["surface", "vinyl"].spent == pytest.approx(450.5)
    assert (found["surface", "painted_wood"].spent, found["surface", "painted_wood"].crew) == (None, None)
    assert found["all", ""].spent == pytest.approx(901.0)


def test_records_and_plans_kept_before_are_counted_all_the_same(plan: Json) -> None:
    older = {**plan, "work": [{key: value for key, value in row.items() if key != "kind"} for row in plan["work"]]}

    def without(_: int, record: Json) -> None:
        del record["spent"], record["crew_s"]

    found = by_name(seasons.season(older, 3, without))
    assert (found["all", ""].spent, found["all", ""].crew) == (None, None)
    assert found["surface", "vinyl"].jobs == 3, "what its mix went on"


@pytest.mark.parametrize(
    "text",
    [
        "none",
        "None.",
        "no",
        " - ",
        "n/a",
        "Not yet",
        "no  callbacks",
        "none so far",
        "No calls",
        "nope",
        "n",
        "nobody rang",
        "No complaints yet",
        "0 calls",
        "all well",
        "OK",
        "ok.",
        "All good, customer happy",
        "Customer says it looks great!",
        "no problems",
        "none; all fine",
    ],
)
def test_a_box_that_says_nobody_rang_is_no_callback(text: str) -> None:
    assert not rang(text)
    assert not rang(None)


@pytest.mark.parametrize(
    "text",
    ["no rinse under the eave", "not happy", "all well except the gate", "no, but streaks", "wants it done over"],
)
def test_words_that_tell_of_something_are_a_callback(text: str) -> None:
    assert rang(text)


def test_an_answer_of_yes_or_no_goes_before_the_words(plan: Json) -> None:
    def told(**written: str) -> Json:
        record = Record.model_validate({"job": plan["id"], **written})
        done = DoneJob(record=record, readings={}, mixes={}, sides={})
        return record_json(done, planned_of(plan), "2026-06-09", None)

    answers = [told(callback=text, callbacks="all dry by four").get("callback") for text in ("yes", "y", "No", "n")]
    assert answers == [True, True, False, False]
    assert "callback" not in told(callbacks="streaks"), "a record of before is the same again"
    odd = [one.path for one in doubts(told(callback="no", callbacks="streaks by the door"), plan, "us")]
    assert "callback" in odd
    assert "callback" not in [one.path for one in doubts(told(callback="no", callbacks="all well"), plan, "us")]
    (yes,) = compared([seasons.pair(plan, told(callback="yes"))]).jobs
    (no,) = compared([seasons.pair(plan, told(callback="no", callbacks="thanked us for the gate"))]).jobs
    assert (yes.rang, no.rang) == (True, False)
    with pytest.raises(ValueError, match="neither yes nor no"):
        told(callback="maybe")


def test_money_and_hours_are_read_as_they_are_written(plan: Json) -> None:
    def told(**written: str) -> Json:
        record = Record.model_validate({"job": plan["id"], **written})
        done = DoneJob(record=record, readings={}, mixes={}, sides={})
        return record_json(done, planned_of(plan), None, None)

    assert told(spent="312.50")["spent"] == 312.5
    assert [told(hours=text)["crew_s"] for text in ("16.5", "16.5 h", "990 min")] == [59400.0] * 3
    nothing = told()
    assert (nothing["spent"], nothing["crew_s"]) == (None, None)


@pytest.mark.ci
def test_screen_json_and_page_tell_of_them(
    plan: Json, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")
    (tmp_path / "company.yaml").write_text("{name: Case Company}\n", encoding="utf-8")
    seasons.keep(tmp_path, seasons.season(plan, 4, done, days=1))
    assert cli.main(["compare", str(tmp_path)]) == 0
    lines = {line.split("  ")[0].strip(): line.split() for line in capsys.readouterr().out.splitlines()}
    assert lines["all jobs"][2:] == ["4", "2", "50", "%", "450.50", "150.17", "18.0", "6.0"]
    assert lines["crew Ana"][2:] == ["2", "1", "50", "%", "400.50", "200.25", "8.0", "8.0"]
    assert cli.main(["compare", str(tmp_path), "--json", "-o", str(tmp_path / "out")]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["tallies"][0] == {
        "by": "all", "name": None, "jobs": 4, "callbacks": 2, "callback_share": 0.5, "spent": 450.5, "spent_jobs": 3,
        "crew_s": 64800.0, "crew_jobs": 3,
    }  # fmt: skip
    assert [(job["spent"], job["crew_s"]) for job in told["jobs"]][1] == (100.5, None)
    assert [day["spent"] for day in told["days"]] == [300.0, 100.5, None, 50.0]
    from pypdf import PdfReader

    pages = PdfReader(tmp_path / "out" / "compared.pdf").pages
    assert len(pages) == 1
    text = " ".join(pages[0].extract_text().split())
    assert "Callbacks and cost" in text
    assert "450.50" in text
