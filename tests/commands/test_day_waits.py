"""A job that cannot be planned keeps its place in its day: what comes after it has no times, and it is said why."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.commands.start import copy_demo

JOBS = ["10-millrace", "20-granary", "30-kiln"]
DAY = "2026-06-09"
TIME = re.compile(r"\b[0-9]{1,2}:[0-9]{2} [ap]m\b")


@pytest.fixture
def day(tmp_path: Path) -> Path:
    copy_demo(tmp_path / "jobs")
    return tmp_path / "jobs" / DAY


def _spoil(day: Path, name: str) -> None:
    path = day / f"{name}.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("\njob:", "\njobb:", 1), encoding="utf-8")


def _json(day: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    capsys.readouterr()
    main(["check", str(day), "--json"])
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("lost", JOBS)
@pytest.mark.ci
def test_times_after_a_job_that_cannot_be_read_wait_for_it(
    lost: str, day: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = {job["id"]: job for job in _json(day, capsys)["jobs"]}
    _spoil(day, lost)
    found = _json(day, capsys)
    (told,) = found["days"]
    assert told["waits_for"] == [f"{DAY}/{lost}"]
    assert told["order"] == [f"{DAY}/{name}" for name in JOBS if name != lost]
    assert told["ends_s"] is None
    assert told["better_order"] is None
    assert [(one["code"], one["level"]) for one in told["findings"]] == [("time.day", "caution")]
    assert lost in told["findings"][0]["message"]
    for job in found["jobs"]:
        starts = [span["start_s"] for span in job["time"]]
        if job["id"] < f"{DAY}/{lost}":
            assert starts == [span["start_s"] for span in before[job["id"]]["time"]]
        else:
            assert set(starts) == {None}
            caution = next(one for one in job["findings"] if one["code"] == "time.day")
            assert caution["level"] == "caution"
            assert lost in caution["message"]


@pytest.mark.parametrize("lost", JOBS)
def test_the_terminal_keeps_every_jobs_number(lost: str, day: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _spoil(day, lost)
    main(["check", str(day)])
    out = capsys.readouterr().out
    table = out[out.index("3 jobs, ") :].splitlines()
    assert "1 not planned" in table[0]
    rows = {row.split()[0]: row for row in table[2:5]}
    place = JOBS.index(lost) + 1
    assert list(rows) == ["1", "2", "3"]
    assert rows[str(place)].split()[1:] == [lost, "-", "-", "not", "planned"]
    assert all(bool(TIME.search(rows[str(number)])) == (number < place) for number in (1, 2, 3))
    assert any(line.startswith("  day") and lost in line for line in table)
    assert any(line.startswith("  missing") and lost in line for line in table)
    assert not any(line.startswith("  home") for line in table)


def _text(page: Path) -> str:
    return re.sub(r"<[^>]*>", " ", page.read_text(encoding="utf-8"))


@pytest.mark.ci
def test_paper_prints_no_time_that_waits(day: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _spoil(day, "20-granary")
    main(["packet", str(day), "--html", "-o", str(tmp_path / "out")])
    cover = _text(tmp_path / "out" / DAY / "00-day.html")
    assert "The day on the clock" not in cover
    assert "2  20-granary" in cover
    assert "3  Kiln House" in cover
    assert re.search(r"Not planned: 20-granary\.", cover)
    assert set(TIME.findall(cover)) <= {"7:25 am", "10:20 am"}, "no hour of what comes after"


@pytest.mark.ci
def test_a_card_says_what_its_times_wait_for(day: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _spoil(day, "10-millrace")
    main(["packet", str(day), "--html", "-o", str(tmp_path / "out")])
    card = _text(tmp_path / "out" / DAY / "20-granary.html")
    assert "Its times wait for 10-millrace." in card
    assert not re.search(r"Arrive\s+[0-9]", card)


@pytest.mark.ci
def test_a_missing_drive_is_waited_for_too(day: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = day / "day.yaml"
    text = page.read_text(encoding="utf-8")
    page.write_text(re.sub(r"20-granary: [0-9]+ min, ", "", text), encoding="utf-8")
    (told,) = _json(day, capsys)["days"]
    assert told["waits_for"] == [f"{DAY}/20-granary"]
    assert told["order"] == [f"{DAY}/{name}" for name in JOBS]
    main(["packet", str(day), "--html", "-o", str(tmp_path / "out")])
    assert "The day on the clock" not in _text(tmp_path / "out" / DAY / "00-day.html")
    assert "Its times wait for the drive." in _text(tmp_path / "out" / DAY / "20-granary.html")


@pytest.mark.ci
def test_a_whole_day_waits_for_nothing(day: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (told,) = _json(day, capsys)["days"]
    assert told["waits_for"] == []
    assert told["ends_s"] is not None
