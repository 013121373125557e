"""A finding names the key whose value matters most, and how much of it is in the file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.contract.finding import finding_json, key_at
from planner.days.prepare import Trouble, checked_jobs, loaded
from planner.inputs.models import Company, Day, HoseRun, Job, Rig
from planner.inputs.models.job import ChemicalUse, SurfaceInput, Water
from planner.inputs.models.rig import Carried, RigPower, SupplyHose
from planner.inputs.models.site import Access, Near
from planner.inputs.reading.spans import lines_of
from planner.words.spoken import wording
from tests import workspaces

ROOT = Path(__file__).parents[2]
MODELS: dict[str, Any] = {
    "run": HoseRun, "surface": SurfaceInput, "chemical": ChemicalUse, "water": Water, "near": Near, "access": Access,
    "day": Day, "rig": Rig, "company": Company, "rig.carried": Carried, "rig.power": RigPower,
    "rig.supply_hose": SupplyHose,
}  # fmt: skip


@pytest.mark.parametrize("code", list(wording()))
def test_every_finding_has_a_key_of_a_file(code: str) -> None:
    written = wording()[code]["key"]
    for way in [written] if isinstance(written, str) else written:
        assert way, code
        above, _, key = way.rpartition(".")
        if way != "about":
            assert key in (MODELS[above] if above else Job).model_fields, way


@pytest.mark.parametrize("workspace", ["jobs", "tests/inputs/workspace"])
@pytest.mark.ci
def test_the_keys_of_all_findings_are_in_their_files(workspace: str) -> None:
    read = loaded([str(ROOT / workspace)])
    told = 0
    for job in checked_jobs(read, Trouble(faults=[])):
        own = Path(job.plan.input.where.file)
        files = {"day": own.parent / "day.yaml", "rig": next((ROOT / workspace / "rigs").glob("*.yaml"))}
        for finding in job.findings:
            found = finding_json(finding, "us", job)
            at, written = found["at"], found["at_written"]
            if written == "like":
                assert job.plan.input.job.like or at == "like"
            elif written:
                assert at.startswith(written), finding
                file, _, rest = written.partition(".")
                if file not in files or not rest:
                    assert file in files or lines_of(own.read_bytes(), written)
                else:
                    assert lines_of(files[file].read_bytes(), rest)
            if finding.level in ("stop", "caution"):
                assert at, finding
                told += 1
    assert told > 10


def _at(folder: Path, code: str, change: dict[str, Any], *, drop: str = "") -> tuple[str, str]:
    files = workspaces.merged(workspaces.base(), change)
    files["job"].pop(drop, None)
    job = workspaces.checked(folder, files)
    return key_at(next(finding for finding in job.findings if finding.code == code), job)


SETUP = {"name": "front", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "long throw"}
BOTH = {
    "rig": {"setups": [SETUP, {**SETUP, "name": "back", "hoses": ["red"]}]},
    "job": {"setup": ["front", "back"], "target": "12 ft"},
}
TAP: dict[str, Any] = {"job": {"tap": "5 gal in 50 s"}}


@pytest.mark.parametrize(
    ("code", "change", "drop", "at", "written"),
    [
        ("reach.short", {}, "", "hose_runs[0].hoses", "hose_runs[0].hoses"),
        ("line.hot", {}, "", "hose_runs[0].hot", "hose_runs[0]"),
        ("reach.short", BOTH, "hose_runs", "setup[0]", "setup[0]"),
        ("line.hot", {**BOTH, "job": {"setup": "front"}}, "hose_runs", "hot", ""),
        ("supply.pressure", {}, "", "water.flow_test", "water.flow_test"),
        ("supply.pressure", TAP, "water", "tap", "tap"),
        ("runoff.drain", {"job": {"near": {"storm_drain": "20 ft"}}}, "", "near.storm_drain", "near.storm_drain"),
        ("runoff.water_life", {"job": {"near": {"well": "20 ft"}}}, "", "near.well", "near.well"),
        ("weather.wind", {}, "", "day.forecast", "day.forecast"),
        ("site.alone", {}, "", "day.crew", "day"),
    ],
)
def test_a_key_is_named_as_the_job_writes_it(
    code: str, change: dict[str, Any], drop: str, at: str, written: str, tmp_path: Path
) -> None:
    assert _at(tmp_path, code, change, drop=drop) == (at, written)


def test_a_mix_is_at_its_own_strength_however_it_is_written(tmp_path: Path) -> None:
    run = {"hose_runs": {0: {"dosing": "panel"}}}
    strong = {"job": {"chemicals": [{"stock": "drum", "strength": "1 %"}], **run}}
    assert _at(tmp_path / "1", "mix.reach", strong) == ("chemicals[0].strength", "chemicals[0].strength")
    short = _at(tmp_path / "2", "mix.reach", {"job": {"strength": "1 %", **run}}, drop="chemicals")
    assert short == ("strength", "strength")
    assert _at(tmp_path / "3", "mix.reach", {"job": run}, drop="chemicals") == ("strength", "")
