"""What is due: hours a pump ran since, and dates; a pump mended in the yard begins anew."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.inputs.models import Lot, Rig
from planner.inputs.workspace import load
from planner.office.due import Ran, due_of, due_on_pages, due_words, ran_by
from planner.office.winter import winter_steps
from tests import workspaces

TODAY = datetime.date(2026, 6, 9)


def _rig(*services: dict[str, Any]) -> Rig:
    return Rig.model_validate({**workspaces.base()["rig"], "service": list(services)})


def _ran(day: int, hours: float, told: bool = True) -> Ran:
    pumps = {"washer": hours * 3600.0} if told else {}
    return Ran(rig="Case", date=datetime.date(2026, 5, day), pumps=pumps, told=told)


OIL = {"part": "washer", "work": "oil", "every": "10 h", "last": "2026-05-01"}


@pytest.mark.parametrize(
    ("hours", "state"), [((4.0, 4.9), "later"), ((4.0, 5.0), "soon"), ((5.0, 5.0), "due"), ((5.0, 6.0), "due")]
)
def test_a_pump_is_due_by_the_hours_it_ran(hours: tuple[float, ...], state: str) -> None:
    ran = [_ran(1, 100.0), *(_ran(day, one) for day, one in enumerate(hours, 2))]
    (one,) = due_of([_rig(OIL)], ran, {}, TODAY)
    assert one.state == state, "what it ran on the day of the last service and before does not count"
    assert one.ran == pytest.approx(sum(hours) * 3600.0)


def test_jobs_that_tell_no_hours_are_said() -> None:
    (one,) = due_of([_rig(OIL)], [_ran(2, 3.0), _ran(3, 0.0, told=False)], {}, TODAY)
    assert (one.counted, one.silent) == (1, 1)
    assert due_words(one) == "3 of 10 h since 2026-05-01, 1 job on record not counted"
    assert one.state == "soon", "what is not known to be little is told"


def test_a_pump_mended_in_the_yard_begins_anew() -> None:
    mended = {("Case", "washer"): datetime.date(2026, 5, 3)}
    (one,) = due_of([_rig(OIL)], [_ran(2, 9.0), _ran(4, 2.0)], mended, TODAY)
    assert (one.state, one.ran) == ("later", pytest.approx(7200.0))


def test_what_nobody_wrote_as_done_is_due() -> None:
    never = {"part": "red", "work": "pressure test", "every": "12 months"}
    hours = {"part": "washer", "work": "oil", "every": "10 h"}
    assert [one.state for one in due_of([_rig(never, hours)], [], {}, TODAY)] == ["due", "due"]


@pytest.mark.parametrize(
    ("service", "state", "on"),
    [
        ({"every": "12 months", "last": "2025-06-08"}, "overdue", "2026-06-08"),
        ({"every": "12 months", "last": "2025-06-09"}, "due", "2026-06-09"),
        ({"every": "12 months", "last": "2025-06-10"}, "soon", "2026-06-10"),
        ({"every": "1 month", "last": "2026-05-31"}, "later", "2026-06-30"),
        ({"every": "2 weeks", "last": "2026-06-01"}, "soon", "2026-06-15"),
        ({"by": "2026-06-23"}, "soon", "2026-06-23"),
        ({"by": "2026-06-24"}, "later", "2026-06-24"),
    ],
)
def test_the_calendar_counts_what_is_no_pump(service: dict[str, str], state: str, on: str) -> None:
    (one,) = due_of([_rig({"part": "red", "work": "test", **service})], [], {}, TODAY)
    assert (one.state, str(one.on)) == (state, on)


def test_hours_are_from_power_on_to_power_off() -> None:
    acts = [
        {"act": "power", "pump": "washer", "on": True, "start_s": 100.0, "lasts_s": 5.0},
        {"act": "spray", "start_s": 105.0, "lasts_s": 60.0},
        {"act": "power", "pump": "washer", "on": False, "start_s": 165.0, "lasts_s": 5.0},
        {"act": "power", "pump": "washer", "on": True, "start_s": 200.0, "lasts_s": 0.0},
        {"act": "power", "pump": "washer", "on": False, "start_s": 230.0, "lasts_s": 0.0},
    ]
    plan: Any = {"rig": "Case", "procedure": {"acts": acts}}
    assert ran_by(plan, TODAY).pumps == {"washer": pytest.approx(95.0)}
    silent: Any = {"rig": "Case", "procedure": {"acts": []}}
    assert not ran_by(silent, TODAY).told


@pytest.mark.parametrize(
    ("service", "said"),
    [
        ({"part": "red", "work": "test", "every": "10 h"}, "only pumps have hours"),
        ({"part": "red", "work": "test"}, "`every` is missing"),
        ({"part": "red", "work": "test", "every": "now and then"}, "does not say how often"),
        ({"part": "red", "work": "test", "every": "900 years"}, "every"),
    ],
)
def test_a_service_that_cannot_be_meant_is_one_fault(
    service: dict[str, str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = workspaces.write(tmp_path, workspaces.merged(workspaces.base(), {"rig": {"service": [service]}}))
    assert main(["check", str(job)]) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "1 fault in what you wrote" in told


def test_every_part_of_a_rig_is_drained_before_the_frost() -> None:
    lots = [Lot.model_validate(one) for one in workspaces.base()["stock"]["lots"]]
    steps = list(winter_steps(_rig(), lots))
    for name in ("water", "mix", "booster", "washer", "transfer", "red", "panel", "venturi", "drum", "acid"):
        assert any(step.startswith(f"{name}: ") for step in steps), name
    assert any(step.startswith("Eyewash") for step in steps)
    assert not any("{" in step for step in steps)


def test_a_job_that_cannot_be_read_may_have_run_any_pump() -> None:
    unread = Ran(rig="", date=None, pumps={}, told=False)
    (one,) = due_of([_rig(OIL)], [_ran(2, 1.0), unread], {}, TODAY)
    assert (one.state, one.counted, one.silent) == ("soon", 1, 1)


def test_an_archive_that_cannot_be_read_is_told_on_the_days_cover(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE", raising=False)
    job = workspaces.write(tmp_path, workspaces.merged(workspaces.base(), {"rig": {"service": [OIL]}}))
    read = load([job.parent])
    assert due_on_pages(read.jobs, None) == {"2026-06-09": []}
    (tmp_path / "archive.db").write_bytes(b"no database" * 100)
    ((line,),) = due_on_pages(read.jobs, None).values()
    assert "not counted" in line


def test_a_rig_that_cannot_be_read_is_told_beside_what_is_due(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    workspaces.write(tmp_path, workspaces.base())
    (tmp_path / "rigs" / "other.yaml").write_text("rig: other\nservice: [{part: x}]\n", encoding="utf-8")
    assert main(["list", "--due", str(tmp_path)]) == 2
    assert "other.yaml" in capsys.readouterr().err
