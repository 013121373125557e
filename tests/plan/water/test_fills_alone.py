"""A crew of one with a tap lasts as a crew of two does: the lead opens the tank's fill where he is at the rig anyway."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.days.rehearsing import rehearsed
from planner.plan.procedure.acts import Act, Fill, Spray, WaterBed
from tests import workspaces

MIX: dict[str, Any] = {
    "surfaces": [{"name": "wall", "kind": "vinyl", "area": "1800 ft2"}],
    "chemicals": [{"stock": "bleach", "strength": "1 %"}],
    "hose_runs": {0: {"dosing": "panel", "hoses": ["short"]}},
}
PREMIX: dict[str, Any] = {
    "surfaces": [{"name": "wall", "kind": "vinyl", "area": "1200 ft2"}],
    "chemicals": [{"stock": "bleach", "strength": "1 %"}],
    "hose_runs": {0: {"feed": "mix", "dosing": "premix", "hoses": ["short"]}},
}
PLAIN: dict[str, Any] = {
    "surfaces": [{"name": "wall", "kind": "vinyl", "area": "2500 ft2"}],
    "hose_runs": {0: {"hoses": ["short"]}},
}


def job_of(folder: Path, job: dict[str, Any], crew: int, **more: Any) -> CheckedJob:
    """The base workspace with that work and crew; a booster with a bypass and a shorter hose, so that nobody is held."""
    files = workspaces.merged(workspaces.base(), {"job": job, "day": {"crew": str(crew)}})
    files = workspaces.merged(files, more)
    files["rig"]["pumps"][0]["bypass"] = "yes"
    files["rig"]["hoses"].append({"name": "short", "bore": "3/4 in", "length": "50 ft", "rated": "200 psi"})
    return rehearsed(workspaces.checked(folder, files))


def fills_of(job: CheckedJob) -> list[Act]:
    """What is filled into the water tank."""
    assert job.plan.procedure is not None
    return [act for act in job.plan.procedure.acts if isinstance(act.detail, Fill) and act.detail.into == "water"]


@pytest.mark.parametrize("job", [MIX, PREMIX, PLAIN], ids=["panel", "tankfuls", "plain water"])
def test_one_person_lasts_where_two_do(job: dict[str, Any], tmp_path: Path) -> None:
    for crew in (1, 2):
        done = job_of(tmp_path / str(crew), job, crew)
        levels = [one.level for one in done.findings if one.code == "supply.dry"]
        assert levels == ["ok"], crew
        assert done.plan.supply is not None
        (tank,) = done.plan.supply.tanks
        assert tank.wanted > tank.volume, "a tank that lasts by itself shows nothing"
        assert "supply.dry" not in done.held_by
        assert done.breaches == (), crew


def test_he_opens_it_and_goes_on_working(tmp_path: Path) -> None:
    done = job_of(tmp_path, MIX, 1)
    fills = fills_of(done)
    assert fills
    assert {act.at for act in fills} == {"rig"}
    assert {act.who for act in fills} == {"lead"}
    assert any(act.hands is not None and act.hands < act.lasts / 2.0 for act in fills)
    assert done.plan.procedure is not None
    sprays = [act for act in done.plan.procedure.acts if isinstance(act.detail, Spray)]
    assert any(one.start < act.end and act.start < one.end for act in fills for one in sprays)


def test_a_fill_ends_as_the_beds_or_a_batch_take_the_tap(tmp_path: Path) -> None:
    beds = {"near": {"flower_beds": "100 ft2"}}
    done = job_of(tmp_path, workspaces.merged(MIX, beds), 1)
    assert done.breaches == ()
    assert done.plan.procedure is not None
    acts = done.plan.procedure.acts
    watered = [act for act in acts if isinstance(act.detail, WaterBed) and act.detail.source == "tap"]
    assert watered
    for act in acts:
        if not isinstance(act.detail, Fill | WaterBed) or act.detail.source != "tap":
            continue
        others = [one for one in acts if one is not act and isinstance(one.detail, Fill | WaterBed)]
        assert not any(one.start < act.end - 1e-6 and act.start < one.end - 1e-6 for one in others)


def test_a_tank_that_is_not_full_at_arrival_is_filled_from_set_up_on(tmp_path: Path) -> None:
    heels = {"heels": {"water": {"stock": "water", "volume": "30 gal"}}}
    for crew in (1, 2):
        done = job_of(tmp_path / str(crew), PLAIN, crew, day=heels)
        assert done.plan.procedure is not None
        set_up = next(act.start for act in done.plan.procedure.acts if act.phase == "set_up")
        assert fills_of(done)[0].start <= set_up
        assert done.breaches == ()


def test_without_a_tap_nobody_fills(tmp_path: Path) -> None:
    water = {"water": {"source": "tank", "static": None, "flow_test": None, "backflow": None}}
    assert fills_of(job_of(tmp_path, workspaces.merged(PLAIN, water), 1)) == []


def test_nothing_runs_into_a_tank_while_it_is_drained_and_rinsed(tmp_path: Path) -> None:
    heels = {"heels": {"water": {"stock": "bleach", "strength": "1 %", "volume": "30 gal"}}}
    for crew in (1, 2):
        done = job_of(tmp_path / str(crew), PLAIN, crew, day=heels)
        assert done.plan.procedure is not None
        rinsed = [act for act in done.plan.procedure.acts if act.phase == "flush_first"]
        assert rinsed
        own = {act.id for act in rinsed}
        for act in fills_of(done):
            if act.id not in own:
                assert act.start >= max(one.start for one in rinsed) - 1e-6
