"""Each run and wall has the weather of its own hours, and what is not written of them the worst of the day."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.plan.make import make_plan, worked_in
from planner.plan.model import JobPlan
from planner.plan.sky.weather import met, of_run, of_walls, on_visit
from tests import workspaces

MPH = 0.44704
HOURS = [
    {"hour": f"{hour:02d}:00", "temp": f"{50 + hour} F", "humidity": f"{90 - 2 * hour} %", "wind": f"{hour} mph"}
    for hour in range(6, 20)
]
DAY: dict[str, Any] = {
    "company": {"place": {"latitude": "40 N", "noon": "13:15"}},
    "day": {"leave_yard": "08:00", "drive": {"10-case": "0 min"}, "forecast": {"wind": None, "hours": HOURS}},
    "job": {
        "surfaces": {0: {"faces": "south"}}, "chemicals": [{"stock": "drum", "strength": "0.8 %"}],
        "hose_runs": {0: {"dosing": "panel"}},
    },
}  # fmt: skip


def _plan(folder: Path, *changes: dict[str, Any]) -> JobPlan:
    files = workspaces.merged(workspaces.base(), DAY)
    for change in changes:
        files = workspaces.merged(files, change)
    return workspaces.checked(folder, files).plan


@pytest.mark.ci
def test_every_act_is_within_the_hours_the_plan_was_made_with(tmp_path: Path) -> None:
    plan = _plan(tmp_path, {"job": {"surfaces": {0: {"area": "3000 ft2"}}}})
    worked = plan.input.worked
    assert worked is not None
    assert worked.holds(worked_in(plan))
    assert min(worked.visit) == 8
    assert max(worked.visit) > 10


def test_a_jet_has_the_wind_of_its_runs_own_hours(tmp_path: Path) -> None:
    plan = _plan(tmp_path)
    (run,), worked = plan.runs, plan.input.worked
    assert worked is not None
    assert run.reach is not None
    assert run.reach.wind == pytest.approx(max(worked.runs["front"]) * MPH)
    assert {drift.run for drift in plan.drift} == {"front"}
    calm = _plan(tmp_path / "early", {"day": {"leave_yard": "06:00"}})
    assert calm.runs[0].reach is not None
    assert calm.runs[0].reach.wind < run.reach.wind


def test_the_worst_of_the_hours_is_taken(tmp_path: Path) -> None:
    job = _plan(tmp_path).input
    some = met(job, [9, 11])
    assert (some.wind, some.humidity) == (pytest.approx(11 * MPH), pytest.approx(0.68))
    assert (some.high or 0.0) - (some.low or 0.0) == pytest.approx(2 / 1.8)
    assert some.gust is None
    assert met(job, [9, 22]) == met(job, None), "an hour without a row is as bad as the worst"
    assert met(job, [30]) == met(job, None), "and so is the next day"


def test_a_job_at_no_known_hour_has_the_worst_of_the_day(tmp_path: Path) -> None:
    job = _plan(tmp_path, {"day": {"leave_yard": None}}).input
    assert job.worked is None
    assert of_run(job, "front") == of_walls(job, ["wall"]) == on_visit(job) == met(job, None)


def test_planned_again_it_is_the_same_plan(tmp_path: Path) -> None:
    plan = _plan(tmp_path)
    again = make_plan(plan.input, plan.found, tables=False, known=plan.runs)
    assert again.procedure == plan.procedure
    assert again.runs[0].reach == plan.runs[0].reach


def test_moved_to_another_hour_it_has_the_weather_of_that(tmp_path: Path) -> None:
    plan = _plan(tmp_path)
    later = make_plan(plan.input, replace(plan.found, ends=14.0 * 3600.0), tables=False, known=plan.runs)
    assert later.input.worked is not None
    assert min(later.input.worked.visit) == 14
    assert later.runs[0].reach is not None
    assert later.runs[0].reach.wind >= 14 * MPH - 1e-9
