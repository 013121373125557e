"""The water figures of a whole job, as an experienced hand expects them (common practice, no source)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.plan.model import RunPlan
from tests import workspaces

GPM = 231 * 0.0254**3 / 60
PSI = 6894.757293168
FOOT = 0.3048

ALDER_LANE = """
company: {name: Case Company, units: us}
rig:
  rig: Heron
  tanks:
    - {name: water, floor: 2 ft, volume: 275 gal}
  pumps:
    - {name: booster, kind: centrifugal, height: 2 ft, max_pressure: 125 psi,
       curve: [[0 gpm, 70 psi], [4 gpm, 66 psi], [8 gpm, 58 psi], [12 gpm, 46 psi], [16 gpm, 31 psi], [20 gpm, 12 psi]],
       suction: {bore: 1 in, length: 6 ft, fittings: {elbow: 2}}}
  hoses:
    - {name: red 1, bore: 3/4 in, length: 100 ft, rated: 200 psi}
    - {name: red 2, bore: 3/4 in, length: 50 ft, rated: 200 psi}
    - {name: green 1, bore: 5/8 in, length: 200 ft, rated: 200 psi}
  tips:
    - {name: long throw, pattern: solid, orifice: 1/4 in}
  dosing:
    - {name: panel, kind: metered, pump: booster, dial: [[1, 4 %], [2, 9 %], [3, 16 %]],
       wetted_volume: 0.1 gal, loss: {pressure: 1 psi, flow: 8 gpm}}
  setups:
    - {name: house, pump: booster, feed: water, dosing: panel, hoses: [red 1, red 2], tip: long throw, on_reel: 0 ft}
    - {name: far, pump: booster, feed: water, dosing: panel, hoses: [green 1], tip: long throw, on_reel: 0 ft}
  supply_hose: {bore: 3/4 in, length: 100 ft, backflow: air_gap}
day: {rig: Heron}
job:
  job: Alder Lane
  site: {address: 14 Alder Lane}
  building: {height: 27 ft}
  surfaces:
    - {kind: vinyl, around: 160 ft, height: 18 ft, soil: medium}
    - {kind: vinyl, gable: 35 ft x 9 ft, count: 2}
  setup: house
  strength: 0.8 %
  standoff: 10 ft
  uphill: 4 ft
  tap: 5 gal in 50 s
stock:
  lots:
    - {name: drum, chemical: bleach, strength: 12.5 trade %, made: 2026-05-20, kept_at: shed,
       tested: {strength: 10.5 trade %, on: 2026-06-08}, on_hand: 40 gal}
"""


def _plan(folder: Path, **change: Any) -> tuple[CheckedJob, RunPlan]:
    files = workspaces.merged(workspaces.as_written(ALDER_LANE), {"job": change})
    job = workspaces.checked(folder, files)
    return job, job.plan.runs[0]


def test_a_house_wash_through_150_ft_of_three_quarter_hose_reaches_as_expected(tmp_path: Path) -> None:
    job, run = _plan(tmp_path)
    assert run.flow / GPM == pytest.approx(9.8, abs=0.15)
    assert run.tip_pressure / PSI == pytest.approx(31, abs=1.0)
    assert run.reach is not None
    assert run.reach.nominal / FOOT == pytest.approx(42, abs=1.0)
    assert run.reach.low / FOOT == pytest.approx(36, abs=1.0)
    assert sum(surface.area for surface in job.plan.input.surfaces) / FOOT**2 == pytest.approx(3195, abs=1)
    assert {f.level for f in job.findings if f.code == "reach.short"} == {"ok"}


def test_the_same_job_through_200_ft_of_five_eighths_uphill_is_a_caution(tmp_path: Path) -> None:
    job, run = _plan(tmp_path, setup="far", uphill="6 ft")
    assert run.flow / GPM == pytest.approx(7.4, abs=0.15)
    assert run.tip_pressure / PSI == pytest.approx(17.6, abs=0.6)
    assert run.reach is not None
    assert run.reach.nominal / FOOT == pytest.approx(30.6, abs=0.8)
    assert run.reach.low / FOOT == pytest.approx(26, abs=1.0)
    assert {f.level for f in job.findings if f.code == "reach.short"} == {"caution"}


def test_ferris_court_reaches_its_ridge_past_the_eave(tmp_path: Path) -> None:
    files = workspaces.as_written(ALDER_LANE)
    files["rig"]["tanks"].append({"name": "mix", "floor": "2 ft", "volume": "100 gal", "holds": "mix"})
    files["rig"]["pumps"].append(
        {"name": "roof", "kind": "diaphragm", "curve": [["0 gpm", "100 psi"], ["6 gpm", "0 psi"]],
         "cut_off": "80 psi", "height": "2 ft"}
    )  # fmt: skip
    files["rig"]["hoses"].append({"name": "line", "bore": "1/2 in", "length": "150 ft"})
    files["rig"]["tips"].append({"name": "roof tip", "pattern": "solid", "orifice": "1/8 in"})
    job = files["job"]
    job["surfaces"] = [{"kind": "asphalt_shingle", "squares": "24", "soil": "heavy"}]
    for key in ("setup", "strength", "standoff", "uphill"):
        del job[key]
    job["hose_runs"] = [
        {"name": "ridge", "pump": "roof", "feed": "mix", "dosing": "premix", "hoses": ["line"], "tip": "roof tip",
         "standoff": "9 ft", "past_eave": "14 ft", "target": "18 ft"}
    ]  # fmt: skip
    run = workspaces.checked(tmp_path, files).plan.runs[0]
    assert run.flow / GPM == pytest.approx(2.8, abs=0.1)
    assert run.tip_pressure / PSI == pytest.approx(40, abs=2)
    assert run.reach is not None
    assert run.reach.nominal / FOOT == pytest.approx(26, abs=1)
    assert run.reach.low / FOOT == pytest.approx(22, abs=1)
