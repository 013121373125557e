"""Rain is held against the hour at which the last mix is off the wall, which the jobs before move."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.checks.day import weather_rain
from planner.checks.model import CheckedJob, Finding
from planner.days.prepare import Trouble, checked_jobs, days_of
from planner.inputs.models.quantities import Rain
from planner.inputs.workspace import load
from planner.plan.model import JobPlan, Value
from tests import workspaces

MIX: dict[str, Any] = {
    "day": {"leave_yard": "07:00", "drive": {"10-case": "0 min"}, "forecast": {"rain": "60 % from 12:00"}},
    "job": {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}},
}


def _rain(job: CheckedJob) -> Finding:
    return next(finding for finding in job.findings if finding.code == "weather.rain")


def _with_rain(plan: JobPlan, start: float) -> JobPlan:
    day = plan.input.day
    assert day is not None
    assert day.forecast is not None
    forecast = day.forecast.model_copy(update={"rain": Rain(chance=0.6, start=start)})
    return replace(plan, input=replace(plan.input, day=day.model_copy(update={"forecast": forecast})))


def test_rain_at_the_very_second_the_last_mix_is_off_passes(tmp_path: Path) -> None:
    job = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), MIX))
    off = _rain(job).values["ends"]
    assert isinstance(off, Value)
    wall = next(span for span in job.plan.time if span.what == "wall")
    assert wall.start is not None
    assert off.amount == pytest.approx(wall.start + wall.seconds)
    levels = [next(iter(weather_rain(_with_rain(job.plan, off.amount + more)))).level for more in (0.0, -1.0)]
    assert levels == ["ok", "caution"]


def _day_of_three(folder: Path, *changes: dict[str, Any]) -> Path:
    """One job three times over in a day, each with its changes."""
    drives = {f"{number}-case": "0 min" for number in (10, 20, 30)}
    files = workspaces.merged(workspaces.merged(workspaces.base(), MIX), {"day": {"drive": drives}})
    first = workspaces.write(folder, files)
    for number, change in zip((20, 30), changes, strict=True):
        other = workspaces.merged(files, {"job": {"job": f"Case {number}", **change}})["job"]
        workspaces.write(folder / "aside", {**files, "job": other}).rename(first.with_name(f"{number}-case.yaml"))
    return first.parent


BIG = {"surfaces": [{"name": "wall", "kind": "vinyl", "area": "3500 ft2"}]}


@pytest.mark.ci
def test_the_jobs_before_move_the_hour_of_the_last_mix(tmp_path: Path) -> None:
    read = load([_day_of_three(tmp_path, BIG, BIG)])
    assert not read.faults
    jobs = list(checked_jobs(read, Trouble(faults=[])))
    assert [_rain(job).case for job in jobs] == ["after", "after", "in_dwell"]
    (_, clocked) = days_of(read, jobs)[0]
    assert [job.plan.time for job in clocked] == [job.plan.time for job in jobs]


@pytest.mark.ci
def test_a_later_job_checked_by_itself_has_the_hour_its_day_gives_it(tmp_path: Path) -> None:
    day = _day_of_three(tmp_path, BIG, BIG)
    (alone,) = checked_jobs(load([day / "30-case.yaml"]), Trouble(faults=[]))
    whole = list(checked_jobs(load([day]), Trouble(faults=[])))
    assert _rain(alone).case == "in_dwell"
    assert alone.plan.time == whole[2].plan.time


@pytest.mark.ci
def test_the_clock_runs_on_over_a_held_job(tmp_path: Path) -> None:
    held = BIG | {"access": {"roof_work": {"pitch": "6/12", "eave": "12 ft"}}}
    read = load([_day_of_three(tmp_path, held, BIG)])
    jobs = list(checked_jobs(read, Trouble(faults=[])))
    assert [job.verdict == "stop" for job in jobs] == [False, True, False]
    assert _rain(jobs[2]).case == "in_dwell"
