"""How long a mix may stand on a wall at most: the range's own end, twice it where bleach may stand longer."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from planner.contract.plan import job_json
from planner.inputs.tables.whole import surface_rows
from planner.plan.procedure.flows import flows, walks_of
from planner.plan.procedure.totals import longest_stood
from tests import workspaces

TWICE = {"vinyl", "fibre_cement", "composite", "stucco", "brick", "concrete", "pavers"}


def _bound(folder: Path, change: dict[str, Any], own: str = "") -> float:
    files = workspaces.merged(workspaces.base(), change)
    workspaces.write(folder, files)
    if own:
        (folder / "surfaces.yaml").write_text(own, encoding="utf-8")
    job = workspaces.checked(folder, files)
    (row,) = job_json(job, "si")["work"]
    assert row["dwell_most_s"] == job.plan.work[0].dwell_bound
    return float(row["dwell_most_s"])


def _job(kind: str, stock: str, strength: str) -> dict[str, Any]:
    line = {"pump": "transfer", "feed": "mix", "dosing": "premix"}
    return {
        "job": {
            "surfaces": {"0": {"kind": kind}},
            "chemicals": [{"stock": stock, "strength": strength}],
            "hose_runs": {"0": line},
        }
    }


def test_only_siding_masonry_and_concrete_bear_bleach_longer_than_the_range() -> None:
    assert {kind for kind, row in surface_rows().items() if row.dwell_times > 1.0} == TWICE
    assert all(row.dwell_times == 2.0 for kind, row in surface_rows().items() if kind in TWICE)


@pytest.mark.parametrize(
    ("kind", "stock", "strength", "minutes"),
    [
        ("vinyl", "drum", "0.8 %", 20.0),
        ("concrete", "drum", "1 %", 30.0),
        ("painted_wood", "drum", "0.5 %", 5.0),
        ("bare_wood", "drum", "0.5 %", 10.0),
        ("painted_metal", "drum", "0.4 %", 5.0),
        ("membrane_roof", "drum", "1 %", 10.0),
        ("asphalt_shingle", "drum", "3 %", 20.0),
        ("brick_acid", "acid", "1:10", 5.0),
        ("brick", "acid", "1:10", 15.0),
    ],
)
def test_the_bound_is_of_the_chemical_as_planned(
    tmp_path: Path, kind: str, stock: str, strength: str, minutes: float
) -> None:
    assert _bound(tmp_path, _job(kind, stock, strength)) == 60.0 * minutes


def test_soap_alone_may_stand_to_the_end_of_the_range(tmp_path: Path) -> None:
    soap = _job("vinyl", "suds", "") | {"stock": {"lots": [{"name": "suds", "chemical": "soap", "on_hand": "4 gal"}]}}
    soap["job"]["chemicals"] = [{"stock": "suds", "dose": "1 fl oz/gal"}]
    assert _bound(tmp_path, soap) == 60.0 * 10.0


def test_water_alone_stands_on_nothing(tmp_path: Path) -> None:
    assert _bound(tmp_path, {}) == 0.0


def test_a_companys_own_row_gives_its_range_and_how_many_times(tmp_path: Path) -> None:
    own = "surfaces:\n  - {kind: vinyl, dwell: [4 min, 6 min], dwell_times: 1.5}\n"
    assert _bound(tmp_path, _job("vinyl", "drum", "0.8 %"), own) == 60.0 * 9.0
    own = own.replace(", dwell_times: 1.5", "")
    assert _bound(tmp_path, _job("vinyl", "drum", "0.8 %"), own) == 60.0 * 12.0


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize(("trim", "bound"), [("aluminum", 300.0), ("plastic", 1200.0)])
def test_what_has_to_be_rinsed_at_once_bounds_how_long_mix_stands_on_its_wall(
    tmp_path: Path, crew: str, trim: str, bound: float
) -> None:
    change = {
        "job": {
            "surfaces": {0: {"trim": [trim]}},
            "chemicals": [{"stock": "drum", "strength": "0.8 %"}],
            "hose_runs": {0: {"dosing": "panel"}},
        },
        "day": {"crew": crew},
    }
    files = json.loads(json.dumps(workspaces.merged(workspaces.base(), change)))
    plan = workspaces.checked(tmp_path, files, tables=True).plan
    (row,) = plan.work
    assert (row.dwell_least, row.dwell_most, row.dwell_bound) == (300.0, min(600.0, bound), bound)
    assert plan.procedure is not None
    lengths = {run.name: sum(hose.length for hose in run.input.hoses) for run in plan.runs}
    moved = flows(plan.procedure, walks_of(plan.procedure, lengths, plan.input.tables["minutes"]["walk_pace"]))
    (stood,) = longest_stood(plan.procedure, moved).values()
    assert row.dwell_least - 1e-6 <= stood <= bound + 1e-6
