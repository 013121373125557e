"""The signs of a worn pump on the crew's page, and what each change does on the owner's."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.packet.blocks import Table
from planner.packet.sections.owner.sensitivity import sensitivity_blocks, worn_values
from planner.plan.model import Change, JobPlan, RunPlan
from planner.units import System, read
from tests.packet.builders import written

NO_WEAR = "job: {hose_runs: {0: {pump: washer, dosing: null}}, chemicals: []}"
SWITCHED = "job: {hose_runs: {0: {pump: transfer, dosing: null}}, chemicals: []}"


def _rows(plan: JobPlan, run: RunPlan, system: System) -> list[tuple[str, ...]]:
    (table,) = [block for block in sensitivity_blocks(plan, run, system) if isinstance(block, Table)]
    return [
        tuple(cell if isinstance(cell, str) else "".join(s.text for s in cell) for cell in row) for row in table.rows
    ]


@pytest.mark.parametrize("system", ["us", "si"])
def test_the_signs_of_wear_are_printed_towards_calling_the_pump_worn(system: System) -> None:
    plan = written().plan
    (signs,) = worn_values(plan, system)
    worn = plan.differs[0].worn
    assert worn is not None
    assert read(signs["throw"], "length") >= worn.throw - 1e-9
    assert read(signs["throw"], "length") == pytest.approx(worn.throw, abs=0.31)
    assert read(signs["closed"], "pressure") >= worn.closed - 1e-6
    assert read(signs["bucket"], "volume") / read(signs["seconds"], "time") >= worn.flow * (1 - 1e-9)
    assert signs["limit"] == "85 %"


def test_a_piston_pump_has_no_line_and_a_switch_takes_the_gauge_out_of_it() -> None:
    assert worn_values(written(NO_WEAR).plan, "us") == []
    (signs,) = worn_values(written(SWITCHED).plan, "us")
    assert signs["closed"] == ""
    assert signs["throw"]


@pytest.mark.parametrize(("system", "hose"), [("us", "50 ft more hose"), ("si", "15.2 m more hose")])
def test_each_change_has_its_row_below_the_plans_own(system: System, hose: str) -> None:
    plan = written().plan
    rows = _rows(plan, plan.runs[0], system)
    assert rows[0][0] == "as planned"
    assert [row[0] for row in rows[1:]][2] == hose
    assert rows[-1][0] == "pump 10 % worn"
    assert len(rows) == 1 + len(plan.sensitivity[0].changes)


def test_the_last_column_is_what_a_reader_gets_by_subtracting() -> None:
    plan = written().plan
    rows = _rows(plan, plan.runs[0], "us")
    reach = {row[0]: int(row[3].split()[0]) for row in rows}
    for row in rows[1:]:
        step = 0 if row[4] == "the same" else int(row[4].replace("−", "-").split()[0])
        assert reach[row[0]] - reach["as planned"] == step


def test_a_change_the_jet_does_not_survive_says_so() -> None:
    plan = written().plan
    lost = Change(kind="longer", step=15.24, flow=None, tip_pressure=None, reach=None)
    (table,) = plan.sensitivity
    plan = replace(plan, sensitivity=(replace(table, changes=(lost,)),))
    assert _rows(plan, plan.runs[0], "us")[-1] == ("50 ft more hose", "-", "-", "none", "no reach")
