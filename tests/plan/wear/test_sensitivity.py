"""What one change of gear does, held to what a job written with that change comes to."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.plan.model import Change, JobPlan
from planner.plan.wear.sensitivity import BORES
from tests import workspaces

FOOT, INCH, PSI = 0.3048, 0.0254, 6894.757293168


def planned(folder: Path, **change: Any) -> JobPlan:
    files = workspaces.merged(workspaces.base(), change)
    return workspaces.checked(folder, files, tables=True).plan


def changes(plan: JobPlan) -> dict[str, Change]:
    (found,) = plan.sensitivity
    return {change.kind: change for change in found.changes}


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("wider", {"rig": {"hoses": {0: {"bore": "1 in"}}}}),
        ("narrower", {"rig": {"hoses": {0: {"bore": "5/8 in"}}}}),
        ("longer", {"rig": {"hoses": {0: {"length": "150 ft"}}}}),
        ("shorter", {"rig": {"hoses": {0: {"length": "50 ft"}}}}),
        ("wear", {"rig": {"pumps": {0: {"condition": "0.9"}}}}),
    ],
)
def test_each_change_gives_what_a_job_written_with_it_gives(kind: str, change: dict[str, Any], tmp_path: Path) -> None:
    found = changes(planned(tmp_path / "as planned"))[kind]
    (run,) = planned(tmp_path / "changed", **change).runs
    assert run.reach is not None
    assert (found.flow, found.tip_pressure, found.reach) == pytest.approx(
        (run.flow, run.tip_pressure, run.reach.nominal), rel=1e-9
    )


def test_a_weaker_tap_is_asked_only_where_the_run_is_fed_by_it(tmp_path: Path) -> None:
    assert "tap" not in changes(planned(tmp_path / "tank"))
    fed = {"job": {"hose_runs": {0: {"feed": "tap"}}}}
    found = changes(planned(tmp_path / "tap", **fed))["tap"]
    weaker = {"static": "50 psi", "flow_test": {"flow": "8 gpm", "pressure": "30 psi"}}
    (run,) = planned(tmp_path / "weaker", **workspaces.merged(fed, {"job": {"water": weaker}})).runs
    assert found.step == pytest.approx(10 * PSI)
    assert (found.flow, found.tip_pressure) == pytest.approx((run.flow, run.tip_pressure), rel=1e-9)


def test_more_hose_wear_and_narrower_hose_cost_reach_and_their_opposites_give_it(tmp_path: Path) -> None:
    plan = planned(tmp_path)
    found = changes(plan)
    assert plan.runs[0].reach is not None
    planned_reach = plan.runs[0].reach.nominal
    assert max(found[kind].reach for kind in ("longer", "wear", "narrower")) < planned_reach  # type: ignore[type-var]
    assert min(found[kind].reach for kind in ("shorter", "wider")) > planned_reach  # type: ignore[type-var]


@pytest.mark.parametrize(
    ("bore", "wider", "narrower"),
    [("0.600 in", 3 / 4, 1 / 2), ("1/2 in", 5 / 8, None), ("1 1/4 in", None, 1), ("3/8 in", 1 / 2, None), ("2 in", None, 5 / 4)],
)  # fmt: skip
def test_a_size_is_one_step_along_what_is_sold(
    bore: str, wider: float | None, narrower: float | None, tmp_path: Path
) -> None:
    found = changes(planned(tmp_path, rig={"hoses": {0: {"bore": bore}}}))
    for kind, inches in (("wider", wider), ("narrower", narrower)):
        if inches is None:
            assert kind not in found
        else:
            assert found[kind].step == pytest.approx(inches * INCH)
            assert any(found[kind].step == pytest.approx(sold) for sold in BORES)


def test_less_hose_drops_whole_lengths_from_the_tips_end_and_never_all_of_it(tmp_path: Path) -> None:
    two = [{"name": name, "bore": "3/4 in", "length": length} for name, length in (("red", "60 ft"), ("blue", "30 ft"))]
    job = {"hose_runs": {0: {"hoses": ["red", "blue"]}}}
    found = changes(planned(tmp_path / "two", rig={"hoses": two}, job=job))["shorter"]
    (left,) = planned(tmp_path / "one", rig={"hoses": {0: {"length": "40 ft"}}}).runs
    assert found.flow == pytest.approx(left.flow, rel=1e-9)
    assert "shorter" not in changes(planned(tmp_path / "short", rig={"hoses": {0: {"length": "50 ft"}}}))


def test_a_metric_company_reads_metric_steps(tmp_path: Path) -> None:
    found = changes(planned(tmp_path, company={"units": "si"}))
    assert found["longer"].step == 15.0


def test_a_run_without_a_jet_has_no_table(tmp_path: Path) -> None:
    fan = {"job": {"hose_runs": {0: {"tip": "fan"}}}}
    assert planned(tmp_path, **fan).sensitivity == ()
