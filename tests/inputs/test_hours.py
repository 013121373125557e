"""The forecast by the hour: as a list or a CSV, every slip at its place, and never worse than the day's own figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.inputs.workspace import Loaded, load
from tests import workspaces

ROWS = "hour,temp (F),humidity (%),wind (mph),gust (mph),rain (%),cloud (%)\n07:00,60,80,3,5,0,20\n"


def _read(folder: Path, sheet: str | bytes | None, day: str = "", hours: str = "hours.csv") -> Loaded:
    path = workspaces.write(folder, workspaces.base())
    (path.parent / "day.yaml").write_text(f"rig: Case\nforecast:\n  hours: {hours}\n{day}", encoding="utf-8")
    if sheet is not None:
        (path.parent / "hours.csv").write_bytes(sheet.encode() if isinstance(sheet, str) else sheet)
    return load([path])


def _told(read: Loaded) -> list[tuple[str, int, int, str]]:
    return [
        (Path(fault.where.file).name, fault.where.line, fault.where.column, fault.code)
        for fault in read.faults
    ]  # fmt: skip


def test_rows_are_read_in_the_units_of_their_column_or_their_own(tmp_path: Path) -> None:
    sheet = '# a comment\nHour, temp F ,wind [mph]\n\n07:00, 60 ,\n8 am,"20 C",5 mph\n'
    (job,) = _read(tmp_path, sheet).jobs
    assert job.day is not None
    assert job.day.forecast is not None
    first, second = job.day.forecast.hours
    assert (first.hour, second.hour) == (7 * 3600.0, 8 * 3600.0)
    assert (first.temp, second.temp) == (pytest.approx(288.706, abs=1e-3), pytest.approx(293.15))
    assert first.wind is None, "an empty cell is unknown, not calm"
    assert second.wind == pytest.approx(2.2352)


def test_a_list_says_what_a_sheet_says(tmp_path: Path) -> None:
    row = "[{hour: 07:00, temp: 60 F, humidity: 80 %, wind: 3 mph, gust: 5 mph, rain: 0 %, cloud: 20 %}]"
    days = [_read(tmp_path / "csv", ROWS).jobs[0].day, _read(tmp_path / "list", None, hours=row).jobs[0].day]
    assert days[0] == days[1]


def test_all_that_is_wrong_in_a_sheet_is_told_at_once_at_its_place(tmp_path: Path) -> None:
    sheet = ROWS + "07:00,61,75,4,9,0,20\n09:30,66,60,4,2,0,xx\n10:00,70,60,5,8,5\n11:00,73,55,200,,,20\n"
    assert _told(_read(tmp_path, sheet)) == [
        ("hours.csv", 3, 1, "name.twice"),
        ("hours.csv", 4, 1, "value.hour"),
        ("hours.csv", 4, 15, "key.clash"),
        ("hours.csv", 4, 19, "quantity.number"),
        ("hours.csv", 5, 17, "csv.cells"),
        ("hours.csv", 6, 13, "quantity.bounds"),
    ]


@pytest.mark.parametrize(
    ("sheet", "code", "at"),
    [
        ("", "csv.empty", (1, 1)),
        ("hour,temp\n", "csv.empty", (1, 1)),
        ("hour,tmp (F)\n07:00,60\n", "csv.column", (1, 6)),
        ("hour,temp,temp\n07:00,60 F,60 F\n", "csv.column", (1, 11)),
        ("temp\n60 F\n", "csv.column", (1, 1)),
        ('hour,temp\n07:00,"60 F\n', "csv.quotes", (2, 7)),
        ("hour,temp\n07:00,60\n", "quantity.bare", (2, 7)),
        (b"hour,temp\n07:00,\xff\n", "file.encoding", (2, 7)),
        ("hour,temp\n" + "".join(f"{n % 24:02d}:00,60 F\n" for n in range(25)), "value.many", (1, 1)),
    ],
)
def test_a_sheet_that_cannot_be_read_is_one_fault(
    sheet: str | bytes, code: str, at: tuple[int, int], tmp_path: Path
) -> None:
    told = _told(_read(tmp_path, sheet))
    assert ("hours.csv", *at, code) in told
    assert len(told) == 1 or code == "value.many"


@pytest.mark.parametrize("hours", ["other.csv", "../hours.csv", "hours", "/etc/passwd"])
def test_a_sheet_lies_beside_its_day_under_its_own_name(hours: str, tmp_path: Path) -> None:
    assert _told(_read(tmp_path, ROWS, hours=hours)) == [("day.yaml", 3, 10, "csv.name")]


@pytest.mark.parametrize(
    ("day", "column"),
    [
        ("high: 59 F", 7), ("low: 61 F", 7), ("humidity: 81 %", 10), ("wind: 2 mph", 13), ("gust: 4 mph", 15),
        ("sun: none", 19),
    ],
)  # fmt: skip
def test_no_hour_is_worse_than_what_is_written_of_the_day(day: str, column: int, tmp_path: Path) -> None:
    assert _told(_read(tmp_path, ROWS, f"  {day}\n")) == [("hours.csv", 2, column, "key.clash")]


@pytest.mark.parametrize(
    "day", ["high: 60 F", "low: 60 F", "humidity: 80 %", "wind: 3 mph", "gust: 5 mph", "sun: full", "rain: none"]
)
def test_the_day_may_be_as_bad_as_its_hours(day: str, tmp_path: Path) -> None:
    assert not _read(tmp_path, ROWS, f"  {day}\n").faults


@pytest.mark.parametrize(
    ("rain", "faulty"), [("none", True), ("20 %", True), ("30 %", False), ("40 % from 6:00", False),
                         ("30 % from 09:00", True), ("60 % from 09:00", False), ("from 09:00", False)],
)  # fmt: skip
def test_no_hour_is_likelier_wet_than_the_day_nor_as_likely_before_its_rain(
    rain: str, faulty: bool, tmp_path: Path
) -> None:
    read = _read(tmp_path, "hour,rain\n07:00,30 %\n", f"  rain: {rain}\n")
    assert [fault.code for fault in read.faults] == (["key.clash"] if faulty else [])
    assert [fault.where.column for fault in read.faults] == ([7] if faulty else [])
