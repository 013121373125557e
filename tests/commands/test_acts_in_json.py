"""What somebody who has nothing but the JSON reads from it: the acts, and every figure that has to be theirs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from planner.commands.as_json import job_json
from planner.commands.rehearsing import rehearsed
from tests import workspaces

PANEL: dict[str, Any] = {
    "day": {"crew": "2"},
    "job": {
        "chemicals": [{"stock": "bleach", "strength": "1 %"}],
        "hose_runs": {0: {"dosing": "panel"}},
        "near": {"flower_beds": "200 ft2", "storm_drain": "40 ft", "control": ["drain_cover"]},
    },
}


def told(folder: Path, *changes: dict[str, Any]) -> dict[str, Any]:
    """The JSON of the base workspace's job with these changes, rehearsed without a breach."""
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, change)
    found = job_json(rehearsed(workspaces.checked(folder, files)), "us")
    assert (found["procedure"]["held"], found["procedure"]["breaches"]) == ([], [])
    return found


def others(act: dict[str, Any], by: dict[str, Any]) -> bool:
    """Whether somebody has a part in `by` who has none in `act`."""
    return by["who"] != act["who"] and act["who"] != "both"


def test_an_act_comes_after_what_somebody_else_does_first(tmp_path: Path) -> None:
    acts = told(tmp_path, PANEL)["procedure"]["acts"]
    points = {act["number"]: act for act in acts if act["act"] == "stop_point"}
    guarded = [act for act in acts if act["stop_point"] and others(act, points[act["stop_point"]])]
    assert {act["act"] for act in guarded} >= {"power", "set_dosing"}
    assert [act["id"] for act in guarded if points[act["stop_point"]]["id"] not in act["after"]] == []
    asked = 0
    for point in points.values():
        for key in point["asks"]:
            did = [act for act in acts if key in (act.get("what"), (act["expect"] or {}).get("what"))]
            did = [act for act in did if act["start_s"] + act["lasts_s"] <= point["start_s"] + 1e-6]
            if did and others(point, did[-1]):
                asked += 1
                assert did[-1]["id"] in point["after"], key
    assert asked, "nothing that a stop point asks was done by somebody else"
    people = {act["id"]: act for act in acts}
    assert all(others(act, people[one]) for act in acts for one in act["after"])


def test_a_tank_is_lowest_when_it_is_lowest_in_set_up(tmp_path: Path) -> None:
    heels = {"day": {"heels": {"water": {"stock": "water", "volume": "30 gal"}}}}
    found = told(tmp_path, heels)
    water, stood = found["water"], found["procedure"]["begin"]["tanks"]["water"]["m3"]
    (tank,) = water["tanks"]
    assert water["level"][0] == [-water["work_begins_s"], stood]
    assert water["lowest_tank_m3"] == tank["lowest_m3"] == min(level for _, level in water["level"]) == stood
    assert tank["lowest_at_s"] < 0.0
    assert all(level > stood for at, level in water["level"] if at >= 0.0), "while the walls are done it is fuller"
    (dry,) = [one for one in found["findings"] if one["code"] == "supply.dry"]
    assert "30 gal" in dry["message"]
