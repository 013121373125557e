"""Mix that would be dry before it has stood is wetted again: planned, counted, printed, and refused where it is wrong."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.days.rehearsing import rehearsed
from planner.inputs.tables.defaults import default
from planner.plan.procedure.acts import Act, Spray
from planner.plan.procedure.totals import AGAIN, stood
from tests import workspaces
from tests.rehearsal.test_made_jobs import played

HOT: dict[str, Any] = {
    "day": {
        "leave_yard": "07:00", "drive": {"10-case": "0 min"},
        "forecast": {"high": "100 F", "humidity": "30 %", "sun": "full"},
    },
    "job": {
        "surfaces": {0: {"tone": "light"}}, "chemicals": [{"stock": "drum", "strength": "0.8 %"}],
        "hose_runs": {0: {"dosing": "panel"}},
    },
}  # fmt: skip
PREMIX = workspaces.merged(HOT, {"job": {"hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}})
INJECTOR = workspaces.merged(HOT, {"job": {"hose_runs": {0: {"dosing": "venturi"}}}})


def _mists(job: CheckedJob) -> list[Act]:
    assert job.plan.procedure is not None
    return [act for act in job.plan.procedure.acts if act.why == AGAIN]


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize("way", [HOT, PREMIX, INJECTOR])
def test_every_section_is_wetted_again_with_mix_that_is_made_for_it(
    way: dict[str, Any], crew: str, tmp_path: Path
) -> None:
    job = played(tmp_path / "hot", way, {"day": {"crew": crew}})
    cool = played(tmp_path / "cool", way, {"day": {"crew": crew, "forecast": {"high": "60 F", "humidity": "70 %",
                                                                             "sun": "none"}}})  # fmt: skip
    (work,), (mix,) = job.plan.work, job.plan.mixes
    assert work.mists is not None
    assert cool.plan.work[0].mists is None
    assert not _mists(cool)
    sprays = [act.detail.volume for act in _mists(job) if isinstance(act.detail, Spray)]
    assert sum(sprays) == pytest.approx(work.mists.count * default("mist_film") * work.surface.area, rel=1e-6)
    parts = [one.plan.mixes[0].parts[0] for one in (job, cool)]
    assert parts[0].mix - parts[1].mix == pytest.approx(sum(sprays), rel=1e-6), "it is counted in what is mixed"
    assert (mix.stock or 0.0) > (cool.plan.mixes[0].stock or 0.0)


def test_nothing_waits_longer_than_it_stays_wet_and_the_dwell_is_what_it_was(tmp_path: Path) -> None:
    plan = played(tmp_path, HOT).plan
    (work,) = plan.work
    assert plan.procedure is not None
    assert work.dries is not None
    assert work.mists is not None
    assert work.bare is not None
    assert work.bare <= work.mists.every <= work.dries.low < work.dwell_least + 60.0
    assert work.dwell_least - 1e-6 <= stood(plan.procedure)["wall"] <= work.dwell_bound


def test_the_json_has_it(tmp_path: Path) -> None:
    (row,) = job_json(played(tmp_path, HOT), "si")["work"]
    assert row["mists"] == 2
    assert row["mist_every_s"] == pytest.approx(180.0)
    assert row["bare_s"] <= 180.0


def _spoiled(job: CheckedJob, *acts: Act) -> list[str]:
    """What the rehearsal says of the job with acts of its own put in place of those with their ids."""
    procedure = job.plan.procedure
    assert procedure is not None
    new = {act.id: act for act in acts}
    other = replace(procedure, acts=tuple(new.get(act.id, act) for act in procedure.acts))
    return [state for _, _, state in rehearsed(replace(job, plan=replace(job.plan, procedure=other))).breaches]


def test_a_section_that_is_not_wetted_again_in_time_is_refused(tmp_path: Path) -> None:
    job = played(tmp_path, HOT)
    told = _spoiled(job, *(replace(act, why=None) for act in _mists(job)))
    assert any("to be wetted again" in state for state in told)


def test_what_has_no_mix_on_it_is_not_wetted_again(tmp_path: Path) -> None:
    job = played(tmp_path, HOT)
    assert job.plan.procedure is not None
    first = next(act for act in job.plan.procedure.acts if isinstance(act.detail, Spray) and act.detail.use == "mix")
    assert any("has no mix on it" in state for state in _spoiled(job, replace(first, why=AGAIN)))


def test_nobody_wets_again_what_nobody_asked_for(tmp_path: Path) -> None:
    cool = {"day": {"forecast": {"high": "60 F", "humidity": "70 %", "sun": "none"}}}
    job = played(tmp_path, HOT, cool)
    assert job.plan.procedure is not None
    last = [act for act in job.plan.procedure.acts if isinstance(act.detail, Spray) and act.detail.use == "mix"][-1]
    assert any("nobody asked" in state for state in _spoiled(job, replace(last, why=AGAIN)))
