"""`planner calendar`: read back by the standard's own library, each job once, held ones tentative."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from icalendar import Calendar

from planner.cli import main


@pytest.mark.ci
def test_a_day_becomes_events_at_its_own_clock(demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "day.ics"
    assert main(["calendar", "2026-06-09", "-o", str(target)]) == 1
    events = list(Calendar.from_ical(target.read_bytes()).walk("VEVENT"))
    assert [str(one["UID"]).partition("@")[0] for one in events] == [
        "2026-06-09/10-millrace", "2026-06-09/20-granary", "2026-06-09/30-kiln"
    ]  # fmt: skip
    first, last = events[0], events[-1]
    assert (first["STATUS"], last["STATUS"]) == ("CONFIRMED", "TENTATIVE")
    assert last["SUMMARY"].startswith("HELD: ")
    assert first["DTSTART"].dt == datetime.datetime(2026, 6, 9, 7, 25)
    assert first["DTSTART"].dt.tzinfo is None
    assert first["LOCATION"] == "3 Millrace Row"
    assert "555-0142" in first["DESCRIPTION"]


@pytest.mark.ci
def test_without_a_clock_it_takes_the_whole_day(demo: Path, tmp_path: Path) -> None:
    page = demo / "2026-06-09" / "day.yaml"
    page.write_text(page.read_text(encoding="utf-8").replace("leave_yard: 07:00\n", ""), encoding="utf-8")
    target = tmp_path / "day.ics"
    main(["calendar", "2026-06-09/10-millrace.yaml", "-o", str(target)])
    (event,) = Calendar.from_ical(target.read_bytes()).walk("VEVENT")
    assert event["DTSTART"].dt == datetime.date(2026, 6, 9)
    assert not isinstance(event["DTSTART"].dt, datetime.datetime)


def test_only_a_calendar_file_is_written_over(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (demo / "company.yaml").read_bytes()
    assert main(["calendar", "2026-06-09", "-o", "company.yaml"]) == 2
    assert "does not end in `.ics`" in capsys.readouterr().err
    assert (demo / "company.yaml").read_bytes() == before
