"""`planner list`: where each job stands, what was never written down, the rows as a spreadsheet."""

from __future__ import annotations

import csv
import datetime
import io
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from planner.cli import STATES, main
from planner.office import listed
from planner.office.sheet import sheet
from tests.commands.recording import WHOLE, yaml

pytestmark = pytest.mark.usefixtures("own_archive")


def _list(*options: str) -> int:
    return main(["list", *options])


def _rows(capsys: pytest.CaptureFixture[str], *options: str) -> list[dict[str, Any]]:
    capsys.readouterr()
    assert _list(*options, "--json") in (0, 2)
    jobs: list[dict[str, Any]] = json.loads(capsys.readouterr().out)["jobs"]
    return jobs


def _today(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    for module in ("planner.office.listed", "planner.commands.list"):
        monkeypatch.setattr(f"{module}.today", lambda: datetime.date.fromisoformat(text))


def test_the_states_in_the_help_are_those_of_a_row() -> None:
    assert STATES == listed.STATUSES


@pytest.mark.ci
def test_a_file_alone_is_written_and_no_archive_is_made(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (row,) = _rows(capsys, str(job.parents[1]))
    assert (row["id"], row["state"], row["file"]) == ("2026-06-09/10-case", "written", "2026-06-09/10-case.yaml")
    assert (row["rig"], row["address"], row["date"]) == ("Case", "1 Case Street", "2026-06-09")
    assert not (job.parents[1] / "archive.db").exists()


def test_what_was_printed_and_never_recorded_leads(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _list(str(job.parents[1])) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "Printed, day over, not recorded (1):"
    assert said[1].strip() == "2026-06-09/10-case: 1 Case Street, Case"
    assert max(map(len, said)) <= 80


def test_before_its_day_is_over_nothing_is_missing(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _today(monkeypatch, "2026-06-09")
    assert _list(str(job.parents[1])) == 0
    said = capsys.readouterr().out
    assert "not recorded" not in said
    assert "printed" in said
    assert "printed*" not in said


@pytest.mark.ci
def test_a_recorded_job_is_done_with_its_hours_and_stock(whole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (row,) = _rows(capsys, str(whole.parents[1]))
    assert (row["state"], row["revision"], row["lead"]) == ("done", 1, "Ana")
    assert row["done_s"] == pytest.approx(12.5 * 3600 - (8 * 3600 + 40 * 60))
    assert row["stock"][0]["m3"] == pytest.approx(1.5 * 3.785411784e-3)
    assert row["stock_planned"]
    assert row["planned_s"]
    capsys.readouterr()
    assert _list(str(whole.parents[1])) == 0
    assert "not recorded" not in capsys.readouterr().out


@pytest.mark.ci
def test_jobs_to_come_are_checked_anew_and_changed_paper_is_told(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _today(monkeypatch, "2026-06-01")
    job.write_text(job.read_text(encoding="utf-8").replace("500 ft2", "520 ft2"), encoding="utf-8")
    other = job.with_name("20-new.yaml")
    other.write_text(job.read_text(encoding="utf-8").replace("1 Case Street", "2 Other Street"), encoding="utf-8")
    first, second = _rows(capsys, str(job.parents[1]))
    assert (first["state"], first["changed"]) == ("printed", True)
    assert second["state"] in ("checked", "held")
    capsys.readouterr()
    assert _list(str(job.parents[1])) == 0
    assert "print it again before anybody works from it" in capsys.readouterr().out


def test_a_job_that_cannot_be_read_is_in_the_list_and_its_fault_beside(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job.with_name("20-bad.yaml").write_text("job: [\n", encoding="utf-8")
    assert _list(str(job.parents[1])) == 2
    said = capsys.readouterr()
    assert "faulty" in said.out
    assert "20-bad.yaml" in said.err


def test_a_job_whose_file_is_gone_is_listed_from_its_paper(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job.unlink()
    rows = _rows(capsys, str(job.parents[1]))
    assert [(row["id"], row["state"], row["file"]) for row in rows] == [("2026-06-09/10-case", "printed", None)]
    assert rows[0]["address"] == "1 Case Street"


@pytest.mark.parametrize(
    ("options", "found"),
    [
        (["--since", "2026-06-09"], 1),
        (["--since", "2026-06-10"], 0),
        (["--until", "2026-06-08"], 0),
        (["--status", "written"], 1),
        (["--status", "done"], 0),
        (["--customer", "case street"], 1),
        (["--customer", "elsewhere"], 0),
    ],
)
def test_only_what_was_asked_for(
    job: Path, capsys: pytest.CaptureFixture[str], options: list[str], found: int
) -> None:  # fmt: skip
    assert len(_rows(capsys, str(job.parents[1]), *options)) == found


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--since", "June"], "`June` is not a date"),
        (["--since", "2026-06-09", "--until", "2026-06-08"], "it ends before it begins"),
        (["--csv", "company.yaml"], "does not end in `.csv`"),
    ],
)
def test_a_slip_in_an_option_is_one_message(
    job: Path, capsys: pytest.CaptureFixture[str], options: list[str], said: str
) -> None:
    assert _list(str(job.parents[1]), *options) == 2
    assert said in capsys.readouterr().err


def _row(**changes: Any) -> listed.Listed:
    told: dict[str, Any] = {
        "job": "2026-06-09/10-case", "date": datetime.date(2026, 6, 9), "title": "Case", "rig": "Case",
        "address": "1 Case Street", "customer": "", "kind": "wash", "status": "done", "file": None, "printed_at": None,
    }  # fmt: skip
    return listed.Listed(**{**told, **changes})


def test_the_spreadsheet_guards_formulas_and_keeps_columns_in_one_unit() -> None:
    rows = [
        _row(customer="=HYPERLINK(1)", stock_done=(listed.Used(chemical="hypochlorite", m3=3.785411784e-3, kg=None),)),
        _row(customer="Zoë", stock_done=(listed.Used(chemical="oxalic", m3=None, kg=0.45359237),)),
    ]
    raw = sheet(rows, "us")
    assert raw.startswith(b"\xef\xbb\xbf")
    first, second = csv.DictReader(io.StringIO(raw.decode("utf-8-sig")))
    assert first["customer"] == "'=HYPERLINK(1)"
    assert second["customer"] == "Zoë"
    assert (first["hypochlorite used, gal"], first["oxalic used, lb"]) == ("1.00", "")
    assert (second["hypochlorite used, gal"], second["oxalic used, lb"]) == ("", "1.00")


@pytest.mark.ci
def test_the_office_gets_a_row_a_job(whole: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "jobs.csv"
    workspace = str(whole.parents[1])
    assert main(["archive", "export", str(target), "--office", "--workspace", workspace]) == 0
    assert capsys.readouterr().out.startswith("1 job of ")
    (row,) = csv.DictReader(io.StringIO(target.read_text(encoding="utf-8-sig")))
    assert (row["address"], row["lead"], row["state"]) == ("1 Case Street", "Ana", "done")
    assert float(row["hours"]) == pytest.approx(3.83, abs=0.005)


def test_a_month_sums_what_was_done(whole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert _list(str(whole.parents[1]), "--months") == 0
    said = capsys.readouterr().out.splitlines()
    assert said[1].split()[:3] == ["2026-06", "1", "3.8"]
    assert [line.split()[:2] for line in said[2:4]] == [["crew", "Ana"], ["surface", "vinyl"]]
    assert max(map(len, said)) <= 80


@pytest.mark.parametrize(("table", "state"), [("plans", "printed"), ("records", "faulty")])
def test_what_is_archived_and_cannot_be_read_is_told(
    table: str, state: str, job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if table == "records":
        assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    with closing(sqlite3.connect(job.parents[1] / "archive.db")) as database, database:
        database.execute(f"UPDATE {table} SET json = 'no JSON'")
    capsys.readouterr()
    assert _list(str(job.parents[1]), "--json") == 2
    said = capsys.readouterr()
    assert [one["state"] for one in json.loads(said.out)["jobs"]] == [state]
    assert f"compare.{table[:-1]}" in said.err
