"""Jobs an owner may write, each of which plays: YAML in, nothing held, and the rehearsal refuses no act."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.commands.rehearsing import held_by, rehearsed
from planner.plan.procedure.acts import DrawFrom, Fill, Spray
from tests import workspaces

PREMIX: dict[str, Any] = {
    "job": {
        "surfaces": [{"name": "wall", "kind": "painted_wood", "area": "120 ft2"}],
        "chemicals": [{"stock": "bleach", "strength": "0.6 %"}],
        "hose_runs": {0: {"pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan", "target": "9 ft"}},
    },
}
ACID = workspaces.merged(
    PREMIX,
    {
        "rig": {"pumps": {2: {"dedicated": "muriatic", "wetted": ["plastic"]}}},
        "job": {
            "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "120 ft2"}],
            "chemicals": [{"stock": "acid", "strength": "1:10"}],
        },
    },
)


def played(folder: Path, *changes: dict[str, Any]) -> CheckedJob:
    """A job that nothing holds, rehearsed as `check` does it; any breach fails."""
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, change)
    job = rehearsed(workspaces.checked(folder, files))
    assert not held_by(job), [one.values for one in job.findings if one.level == "stop"]
    assert not job.breaches, job.breaches[:5]
    return job


def _tap(flow: str) -> dict[str, Any]:
    return {"job": {"water": {"flow_test": {"flow": flow}}}}


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize("flow", ["1 gpm", "8 gpm"])
def test_acid_out_of_a_tub_wets_and_rinses_its_wall_out_of_one_pail_that_never_runs_dry(
    tmp_path: Path, crew: str, flow: str
) -> None:
    job = played(tmp_path, ACID, _tap(flow), {"day": {"crew": crew}})
    procedure = job.plan.procedure
    assert procedure is not None
    assert {one.detail.feed for one in procedure.acts if isinstance(one.detail, DrawFrom)} == {"mix", "pail 1"}
    sprays = [one.detail for one in procedure.acts if isinstance(one.detail, Spray)]
    wetted = sum(one.volume for one in sprays if one.use == "wet")
    fills = [one.detail for one in procedure.acts if isinstance(one.detail, Fill)]
    filled = sum(one.volume for one in fills if one.into == "pail 1")
    assert filled > wetted


@pytest.mark.parametrize("crew", ["1", "2"])
def test_clean_water_comes_from_the_tank_that_the_suction_gets_to(tmp_path: Path, crew: str) -> None:
    spare = {"name": "spare", "floor": "0 ft", "volume": "100 gal", "holds": "water"}
    rig = {"tanks": [*workspaces.base()["rig"]["tanks"], spare], "pumps": {2: {"draws": ["mix", "spare"]}}}
    job = played(tmp_path, PREMIX, {"rig": rig, "day": {"crew": crew}})
    assert job.plan.procedure is not None
    feeds = {one.detail.feed for one in job.plan.procedure.acts if isinstance(one.detail, DrawFrom)}
    assert feeds == {"mix", "spare"}


@pytest.mark.parametrize("crew", ["1", "2"])
def test_a_rig_without_a_water_tank_wets_and_rinses_out_of_a_pail(tmp_path: Path, crew: str) -> None:
    rig = {"tanks": [workspaces.base()["rig"]["tanks"][1]]}
    played(tmp_path, PREMIX, {"rig": rig, "day": {"crew": crew}})
