"""A line that changes its tip, rehearsed: each use through its own tip, none changed under pressure, mix behind its own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.plan.between.matrix import matrix
from planner.plan.procedure import acts as of
from planner.plan.procedure.acts import Act, Procedure
from planner.plan.water.tap import open_flow
from planner.rehearsal.breach import Breach
from planner.rehearsal.from_plan import setting_of
from planner.rehearsal.play import rehearse
from planner.rehearsal.setting import Setting
from tests import workspaces
from tests.plan.line.test_roles import files
from tests.rehearsal.spoil import spoiled

Job = tuple[Setting, Procedure]


@pytest.fixture(scope="module")
def drive(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """Cleaned, treated through an injector and rinsed by one gun."""
    return _job(tmp_path_factory.mktemp("drive"), files())


def _job(folder: Path, written: dict[str, Any]) -> Job:
    plan = workspaces.checked(folder, written).plan
    assert plan.procedure is not None
    return setting_of(plan, matrix(), open_flow(plan.input)), plan.procedure


def _with(job: Job, change: dict[str, Act | None]) -> tuple[Breach, ...]:
    setting, procedure = job
    acts = (change.get(act.id, act) for act in procedure.acts)
    return rehearse(setting, replace(procedure, acts=tuple(act for act in acts if act is not None)))


def _tips(job: Job) -> list[Act]:
    return [act for act in job[1].acts if isinstance(act.detail, of.ChangeTip)]


def _waits(act: Act) -> Act:
    return replace(act, detail=of.Wait(seconds=act.lasts))


def test_what_is_planned_is_rehearsed_without_a_breach(drive: Job) -> None:
    assert rehearse(*drive) == ()
    assert len(_tips(drive)) == 4


@pytest.mark.parametrize("crew", ["1", "3"])
def test_so_it_is_for_other_crews(tmp_path: Path, crew: str) -> None:
    written = files()
    written["day"]["crew"] = crew
    written["rig"]["pumps"][0]["bypass"] = "yes"  # alone, nobody is at its switch
    assert rehearse(*_job(tmp_path, written)) == ()


def test_a_tip_that_is_not_changed_is_refused_at_the_spray_after_it(drive: Job) -> None:
    for act, use in zip(_tips(drive), ("clean", "wet", "rinse", "flush"), strict=True):
        found = [one for one in _with(drive, {act.id: _waits(act)}) if one.rule == "section"]
        assert found, act.id
        assert f"is open for {use} with its" in found[0].state


def test_a_tip_changed_under_pressure_is_refused(drive: Job) -> None:
    acts = drive[1].acts
    for tip in _tips(drive):
        relief = [act for act in acts if isinstance(act.detail, of.Relieve) and act.end <= tip.start + 1e-6][-1]
        states = [one.state for one in _with(drive, {relief.id: _waits(relief)}) if one.rule == "pump"]
        assert "the tip of flat is changed under pressure" in states


def test_another_tip_than_the_paper_names_is_refused(drive: Job) -> None:
    first = _tips(drive)[0]
    assert isinstance(first.detail, of.ChangeTip)
    found = _with(drive, {first.id: replace(first, detail=replace(first.detail, tip="rinse fan"))})
    assert [one.rule for one in found] == ["order"]
    found = _with(drive, {first.id: replace(first, detail=replace(first.detail, role="tip", tip="treat fan"))})
    assert "treat fan is on the gun of flat already" in [one.state for one in found]


def test_stock_left_in_reach_while_it_is_rinsed_is_refused(drive: Job) -> None:
    """The pick-up goes out of the jug before the rinse tip is on: behind that nothing is drawn, and nobody counts on it."""
    acts = drive[1].acts
    waters = [act for act in acts if isinstance(act.detail, of.SetDosing) and not act.detail.draws]
    found = _with(drive, {waters[-1].id: replace(waters[-1], detail=of.Read(), expect=None)})
    assert "flat draws stock behind its rinse_tip" in [one.state for one in found]


@pytest.mark.ci
def test_whatever_is_done_to_a_change_of_tip_is_refused(drive: Job) -> None:
    passed = [
        (one.kind, one.act.id)
        for one in spoiled(*drive)
        if isinstance(one.act.detail, of.ChangeTip) and not rehearse(one.setting, one.procedure)
    ]
    assert passed == []
