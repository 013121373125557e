"""Where a slip stands in what has no lines, a job under another name than its paper's, plans that are none."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from tests.commands.recording import WHOLE, fill, records, rows, yaml
from tests.sampled import in_ci

pytestmark = [pytest.mark.usefixtures("own_archive"), pytest.mark.ci]


def test_a_box_is_named_as_it_is_printed_and_a_file_by_line_and_column(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"times.arrived": "13:05 pm", "readings.front.gauge_open": "52-54", "water.used": "-"})
    assert main(["record", str(job), "--from", str(filled)]) == 2
    told = capsys.readouterr().err
    assert 'filled.pdf: box "Arrived" (times.arrived): time.clock `13:05 pm`' in told
    assert (
        'filled.pdf: box "Gauge open" (readings.front.gauge_open): quantity.number `52-54 psi` is two figures' in told
    )
    assert "water.used" not in told
    assert ":1:1" not in told
    assert main(["record", str(job), "--from", yaml(tmp_path, "job: 10-case\ntimes: {arrived: 25:00}\n")]) == 2
    assert "done.yaml:2:18 time.clock" in capsys.readouterr().err
    assert main(["record", str(job), "--from", str(tmp_path / "gone.yaml")]) == 2
    assert "gone.yaml:1:1 file.missing" in capsys.readouterr().err
    (tmp_path / "odd.pdf").write_bytes(b"%PDF-1.4\nnothing")
    assert main(["record", str(job), "--from", str(tmp_path / "odd.pdf")]) == 2
    assert "odd.pdf: filled.truncated" in capsys.readouterr().err
    (job.parents[1] / "archive.db").write_bytes(b"a letter")
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 2
    assert "archive.db: archive.foreign" in capsys.readouterr().err


def test_a_packet_full_of_dashes_says_nothing(job: Path, printed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    filled = fill(printed, {"times.arrived": "-", "deviations": "n/a"})
    assert main(["record", str(job), "--from", str(filled)]) == 2
    assert "record.blank" in capsys.readouterr().err


def test_a_strip_below_its_end_is_kept_compared_and_printed_so(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert (
        main(["record", str(job), "--from", str(fill(printed, {"flush.residual": "<1", "times.arrived": "7.05 am"}))])
        == 0
    )
    (done,) = records(job)
    assert done["flush"] == {"residual_mg_per_l": pytest.approx(1.0), "residual_below": True, "ph": None}
    assert done["times"]["arrived_s"] == 25500.0
    capsys.readouterr()
    assert main(["compare", str(job)]) == 0
    line = next(line for line in capsys.readouterr().out.splitlines() if "chlorine after the flush" in line)
    assert "<1" in line
    assert main(["compare", str(job), "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)["jobs"][0]["figures"]
    assert (row["below"], row["side"], row["difference"]) == (True, "in", None)


@pytest.fixture
def moved(job: Path, printed: Path) -> tuple[Path, Path]:
    """The job under another name than it was printed under, and its packet, filled."""
    filled = fill(printed, {"water.used": "240", "signed": "Ana"})
    return job.rename(job.with_name("20-case-front.yaml")), filled


def test_a_job_renamed_after_printing_is_recorded_under_its_new_name_against_the_plan_it_was_printed_with(
    moved: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, filled = moved
    number = rows(job, "plans")[0]["number"]
    assert main(["record", str(job), "--from", str(filled)]) == 0
    said = capsys.readouterr()
    assert "2026-06-09/10-case is called 2026-06-09/20-case-front now" in said.out
    assert f"against plan {number}" in said.out
    assert said.err == ""
    (done,) = records(job)
    assert (done["job"], done["plan"]) == ("2026-06-09/20-case-front", number)
    (row,) = rows(job, "records")
    assert row["plan"] == rows(job, "plans")[0]["sha256"]
    assert main(["compare", str(job)]) == 0
    assert "water in all" in capsys.readouterr().out
    assert main(["record", str(job), "--from", str(filled)]) == 0
    assert "recorded already" in capsys.readouterr().out


def test_the_draft_of_a_renamed_job_is_of_its_new_name_and_goes_in_against_the_same_plan(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"water.used": "240", "times.left": "12:3O"})
    number = rows(job, "plans")[0]["number"]
    job = job.rename(job.with_name("20-case-front.yaml"))
    assert main(["record", str(job), "--from", str(filled)]) == 2
    draft = filled.with_name("filled.record.draft.yaml")
    text = draft.read_text(encoding="utf-8")
    assert 'job: "2026-06-09/20-case-front"' in text
    assert f'plan: "{number}"' in text
    capsys.readouterr()
    assert main(["record", str(job), "--from", str(draft)]) == 0
    said = capsys.readouterr()
    assert "caution" not in said.err
    assert f"against plan {number}" in said.out


@pytest.mark.parametrize("change", ["another job", "its file is there"])
def test_a_packet_of_another_job_is_refused_and_its_draft_stays_that_jobs(
    change: str, moved: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    job, filled = moved
    text = job.read_text(encoding="utf-8")
    if change == "another job":
        job.write_text(text.replace("Case job", "Another job"), encoding="utf-8")
    else:
        job.with_name("10-case.yaml").write_text(text, encoding="utf-8")
    assert main(["record", str(job), "--from", str(filled)]) == 2
    told = capsys.readouterr().err
    assert "this is the record of `2026-06-09/10-case`" in told
    assert "10-case.yaml`" in told
    assert ("`Case job`" if change == "another job" else "whose file is there") in told
    draft = filled.with_name("filled.record.draft.yaml")
    assert 'job: "2026-06-09/10-case"' in draft.read_text(encoding="utf-8")
    assert records(job) == []
    assert main(["record", str(job.with_name("10-case.yaml")), "--from", str(draft)]) == 0


def altered(job: Path, text: str) -> None:
    with closing(sqlite3.connect(job.parents[1] / "archive.db")) as connection:
        connection.execute("UPDATE plans SET json = ?", (text,))
        connection.commit()


@pytest.mark.parametrize("text", ["{}", in_ci("["), in_ci('{"id": 3}')])
def test_an_archived_plan_that_is_none_is_made_again_and_put_right(
    text: str, job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before: list[dict[str, Any]] = rows(job, "plans")
    altered(job, text)
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    assert main(["compare", str(job)]) == 0
    assert [row["json"] for row in rows(job, "plans")] == [row["json"] for row in before]
    altered(job, text)
    assert main(["compare", str(job)]) == 2
    assert "compare.plan" in capsys.readouterr().err
    assert main(["packet", str(job), "-o", str(tmp_path / "again")]) in (0, 1)
    assert main(["compare", str(job)]) == 0, "printing it again puts it right"


def test_a_job_recorded_under_both_its_names_is_compared_once(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"water.used": "240"})
    assert main(["record", str(job), "--from", str(filled)]) == 0
    moved = job.rename(job.with_name("20-case-front.yaml"))
    assert main(["record", str(moved), "--from", str(fill(printed, {"water.used": "250"}))]) == 0
    assert len(records(job)) == 2
    capsys.readouterr()
    assert main(["compare", str(job.parents[1]), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["job"] for one in told["jobs"]] == ["2026-06-09/20-case-front"]


def test_paper_of_a_job_whose_name_another_job_has_now_is_refused(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled, number = fill(printed, {"water.used": "240"}), rows(job, "plans")[0]["number"]
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("Case job", "Another job"), encoding="utf-8")
    assert main(["record", str(job), "--from", str(filled)]) == 0, "a title alone may be bettered"
    capsys.readouterr()
    job.write_text(text.replace("Case job", "Another job").replace("1 Case Street", "9 Lane"), encoding="utf-8")
    for source in (str(filled), yaml(tmp_path, f"job: 10-case\nplan: {number}\nwater: {{used: 260 gal}}\n")):
        assert main(["record", str(job), "--from", source]) == 2
        told = capsys.readouterr().err
        assert "record.site" in told
        assert "`Case job`, `1 Case Street`" in told
        assert "`Another job`, `9 Lane` now" in told
    assert len(records(job)) == 1
