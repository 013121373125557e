"""Jobs whose procedures are read: the base one, and two whole ones written out by hand."""

from __future__ import annotations

import json

import pytest

from planner.inputs.workspace import load
from planner.locate import jobs
from planner.plan.procedure.flows import walks_of
from tests import workspaces
from tests.acts_read import procedure_of
from tests.plan.procedure.by_hand import HOUSE, PUBLISHED, ROOF, Settled, Whole


@pytest.fixture(scope="session")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Settled:
    """The base job: 500 square feet of vinyl with plain water out of a tank of 100 gallons, a tap of 8 gpm."""
    files = workspaces.merged(workspaces.base(), {"job": {"near": {"flower_beds": "100 ft2"}}})
    read = workspaces.loaded(tmp_path_factory.mktemp("base"), files)
    return Settled.of(read.jobs[0])


# ------------------------------------------------------------------------------------------------ whole procedures


@pytest.fixture(scope="session")
def whole() -> dict[str, Whole]:
    loaded = load([jobs()])
    found = {}
    for name, file in (HOUSE, ROOF):
        job = next(job for job in loaded.jobs if job.id == name)
        procedure = procedure_of(PUBLISHED / file)
        lengths = {run.name: sum(hose.length for hose in run.hoses) for run in job.runs}
        need = json.loads((PUBLISHED / file).read_text(encoding="utf-8"))["job"]["water"]["need_m3"]
        found[name] = Whole(
            plan=Settled.of(job), procedure=procedure, need=need,
            walks=dict(walks_of(procedure, lengths, job.tables["minutes"]["walk_pace"])),
        )  # fmt: skip
    return found
