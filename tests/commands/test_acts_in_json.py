"""What somebody who has nothing but the JSON reads from it: the acts, and every figure that has to be theirs."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob
from planner.cli import main
from planner.contract.mix import flush_json
from planner.contract.plan import job_json
from planner.days.rehearsing import rehearsed
from planner.plan.mix.model import FlushPlan
from tests import workspaces
from tests.plan.yard import benches

PANEL: dict[str, Any] = {
    "day": {"crew": "2"},
    "job": {
        "chemicals": [{"stock": "bleach", "strength": "1 %"}],
        "hose_runs": {0: {"dosing": "panel"}},
        "near": {"flower_beds": "200 ft2", "storm_drain": "40 ft", "control": ["drain_cover"]},
    },
}


def checked(folder: Path, *changes: dict[str, Any]) -> CheckedJob:
    """The base workspace's job with these changes, planned and checked."""
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, change)
    return workspaces.checked(folder, files)


def told(folder: Path, *changes: dict[str, Any]) -> dict[str, Any]:
    """The JSON of the base workspace's job with these changes, rehearsed without a breach."""
    found = job_json(rehearsed(checked(folder, *changes)), "us")
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


YARD: dict[str, Any] = {
    "rig": benches.SETUPS["rig"],
    "day": {"crew": "2"},
    "job": {**dict.fromkeys(workspaces.base()["job"]), **benches.YARD, "work": ["descale", "test"], "tub": "5 gal"},
}


def sprays(found: dict[str, Any], use: str) -> list[dict[str, Any]]:
    return [act for act in found["procedure"]["acts"] if act["act"] == "spray" and act["use"] == use]


def test_a_yard_job_says_what_water_it_takes_and_what_is_flushed(tmp_path: Path) -> None:
    heels = {"day": {"heels": {"water": {"stock": "water", "volume": "30 gal"}}}}
    wash, yard = told(tmp_path / "wash", heels), told(tmp_path / "yard", YARD)
    water = yard["water"]
    assert set(water) == set(wash["water"])
    acts = yard["procedure"]["acts"]
    taken = sum(act["m3"] for act in acts if act["act"] == "fill" and act["into"] != "water")
    taken += sum(act["m3"] for act in acts if act["act"] == "spray")
    assert water["need_m3"] == pytest.approx(taken, rel=1e-9)
    assert water["need_m3"] == pytest.approx(sum(water["by_use_m3"].values()), rel=1e-9)
    assert water["by_use_m3"]["test"] > 0.0
    (row,) = yard["flushes"]
    assert set(row) == set(flush_json(FlushPlan(
        run="", leaves="", part="", strength=0.0, target=0.0, volume=None, seconds=None, residual=None)))  # fmt: skip
    flushed = sprays(yard, "flush")
    assert {act["run"] for act in flushed} == {row["run"]}
    assert row["volume_m3"] == pytest.approx(sum(act["m3"] for act in flushed), rel=1e-9)
    assert row["seconds"] == pytest.approx(sum(act["seconds"] for act in flushed), rel=1e-9)
    assert (row["part"], row["from"], row["to"]) == ("booster", "hypochlorite", "water")


def test_a_yard_job_whose_printed_water_is_not_its_acts_is_refused(tmp_path: Path) -> None:
    job = checked(tmp_path, YARD)
    plan, yard = job.plan, job.plan.yard
    assert yard is not None
    more = replace(plan, water=replace(plan.water, flush=plan.water.flush + 1e-3))
    other = replace(plan, yard=replace(yard, flushes=()))
    for wrong, says in ((more, "of water"), (other, "is flushed with")):
        breaches = rehearsed(replace(job, plan=wrong)).breaches
        assert [rule for rule, _, state in breaches if says in state] == ["paper"], says


VENTURI: dict[str, Any] = {
    "rig": {"hoses": {0: {"rated": "3000 psi"}}},
    "day": {"crew": "2"},
    "stock": {
        "lots": [*workspaces.base()["stock"]["lots"], {"name": "thio", "chemical": "thiosulfate", "on_hand": "20 lb"}]
    },
    "job": {
        "chemicals": [{"stock": "bleach", "strength": "0.8 %"}],
        "hose_runs": {0: {"pump": "washer", "dosing": "venturi", "tip": "fan", "target": "9 ft"}},
    },
}
PREMIX: dict[str, Any] = {
    "stock": VENTURI["stock"], "job": {"chemicals": PANEL["job"]["chemicals"], "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}},
}  # fmt: skip
PUMP_HELD: dict[str, Any] = {"rig": {"pumps": {"0": {"dedicated": "hypochlorite"}}}, "stock": VENTURI["stock"]}


@pytest.mark.parametrize(
    ("changes", "told_of"),
    [
        ((VENTURI,), "the rest of the jug of hypochlorite"),
        ((PREMIX,), "the spare in mix of hypochlorite"),
        ((YARD,), "the bath, as strong as it was made"),
        ((YARD, PUMP_HELD), "the flush"),
    ],
)
def test_each_agent_has_rows_that_add_up_to_what_the_acts_give(
    changes: tuple[dict[str, Any], ...], told_of: str, tmp_path: Path
) -> None:
    found = told(tmp_path, *changes)
    lots = {"thio": "thiosulfate", "bicarb": "bicarbonate"}
    given: dict[str, float] = {}
    for act in found["procedure"]["acts"]:
        if act["act"] == "neutralise":
            given[lots[act["lot"]]] = given.get(lots[act["lot"]], 0.0) + act["kg"]
    rows = [row for row in found["neutralise"] if row["in_acts"]]
    assert {row["agent"] for row in rows} == set(given)
    for agent, kg in given.items():
        assert sum(row["kg"] for row in rows if row["agent"] == agent) == pytest.approx(kg, rel=1e-9)
    assert any(row["for"].startswith(told_of) for row in rows)
    # A gallon that nobody has yet is carried for, and says so.
    assert all(
        row["in_acts"] is not row["for"].startswith(("a leftover gallon", "the heel")) for row in found["neutralise"]
    )
    for need in found["agents"]:
        assert need["kg"] == pytest.approx(
            sum(row["kg"] for row in found["neutralise"] if row["agent"] == need["agent"])
        )


SOAPED: dict[str, Any] = {
    "stock": {"lots": [*VENTURI["stock"]["lots"], {"name": "suds", "chemical": "soap", "bleach_stable": "true", "on_hand": "1 gal"}]},
    "job": {"chemicals": [{"stock": "bleach", "strength": "0.6 %"}, {"stock": "soap", "dose": "1 fl oz/gal"}]},
}  # fmt: skip


def poured(found: dict[str, Any], lot: str) -> float:
    return sum(act["m3"] for act in found["procedure"]["acts"] if act["act"] == "pour" and act["lot"] == lot)


@pytest.mark.parametrize("changes", [(VENTURI, SOAPED), (PANEL, SOAPED), (PREMIX, SOAPED)])
def test_the_soap_printed_is_the_soap_poured(changes: tuple[dict[str, Any], ...], tmp_path: Path) -> None:
    found = told(tmp_path, *changes)
    taken = found["procedure"]["begin"]["lots"]["suds"] - found["procedure"]["end"]["lots"]["suds"]
    assert taken > 0.0
    (mix,) = found["mixes"]
    assert mix["soap_m3"] == pytest.approx(taken, rel=1e-9)
    assert mix["mix_m3"] == pytest.approx(mix["stock_m3"] + mix["water_m3"] + mix["soap_m3"] + (mix["heel_m3"] or 0.0))


@pytest.mark.parametrize("soap", [False, True])
def test_a_jug_that_needs_all_its_stock_gets_it_neat(soap: bool, tmp_path: Path) -> None:
    bleach = {"stock": "bleach", "strength": "0.9 %" if soap else "1.0 %"}
    short = {"job": {"chemicals": [bleach, *SOAPED["job"]["chemicals"][1 if soap else 2 :]]}}
    found = told(tmp_path, VENTURI, SOAPED, short)
    (mix,), acts = found["mixes"], found["procedure"]["acts"]
    assert not mix["reachable"] or mix["wall_g_per_l"] < mix["target_g_per_l"]
    assert [act for act in acts if act["act"] == "fill" and act["into"] == "jug front"] == []
    stock, suds = poured(found, "drum"), poured(found, "suds")
    assert stock / (stock + suds) == pytest.approx(mix["setting"]["jug_stock"], rel=1e-9)
    assert (suds > 0.0) is soap
    share = 1.0 / (1.0 + mix["setting"]["water_to_stock"])
    assert mix["wall_g_per_l"] == pytest.approx(
        mix["strength_today_g_per_l"] * stock / (stock + suds) * share, rel=1e-9
    )


TWO_LINES: dict[str, Any] = {
    "rig": {"hoses": [*workspaces.base()["rig"]["hoses"],
                      {"name": "blue", "bore": "3/4 in", "length": "60 ft", "rated": "200 psi"}]},
    "day": {"crew": "2"},
    "job": {
        "surfaces": [{"name": name, "kind": "vinyl", "area": "400 ft2"} for name in ("one", "two")],
        "chemicals": [{"stock": "bleach", "strength": "1 %", "surfaces": ["one"]}],
        "hose_runs": [
            {**workspaces.base()["job"]["hose_runs"][0], "dosing": "panel", "surfaces": ["one"]},
            {**workspaces.base()["job"]["hose_runs"][0], "name": "plain", "hoses": ["blue"], "surfaces": ["two"]},
        ],
    },
}  # fmt: skip


def test_pressure_is_let_out_once_however_often_a_line_is_looked_at(tmp_path: Path) -> None:
    acts = told(tmp_path, TWO_LINES)["procedure"]["acts"]
    # What the panel's line held is flushed once more when the plain line is done, so that one is taken off relieved.
    joined = [act["run"] for act in acts if act["act"] == "join"]
    assert joined[-2:] == ["plain", "front"]
    pressed: dict[str, bool] = {}
    for act in acts:
        if act["act"] == "power" and act["on"]:
            pressed = dict.fromkeys(joined, True)
        elif act["act"] == "relieve":
            assert pressed.pop(act["run"], False), f"{act['id']} lets out what was let out before"


@pytest.mark.ci
def test_an_acids_leftover_has_room_to_foam_in_its_pails(tmp_path: Path) -> None:
    acid = {
        "rig": {"pumps": {2: {"dedicated": "muriatic", "wetted": ["plastic"]}},
                "tanks": {1: {"holds": "muriatic", "wetted": ["plastic"]}}},
        "stock": {"lots": {1: {"on_hand": "20 gal"}}},
        "day": {"crew": "2"},
        "job": {
            "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "2000 ft2"}],
            "hose_runs": {0: {"dosing": "premix", "feed": "mix", "pump": "transfer", "target": "6 ft", "tip": "fan"}},
            "chemicals": [{"stock": "acid", "strength": "1:10"}],
        },
    }  # fmt: skip
    acts = told(tmp_path, acid)["procedure"]["acts"]
    dosed = {act["what"] for act in acts if act["act"] == "neutralise"}
    into = {name: sum(act["m3"] for act in acts if act.get("into", act.get("to")) == name and act["act"] in ("fill", "drain"))
            for name in dosed}  # fmt: skip
    assert len(into) > 1
    assert max(into.values()) <= 5 * benches.GAL / 1.3 * (1 + 1e-9)


def test_two_guns_are_flushed_each_for_what_it_sprays(tmp_path: Path) -> None:
    two = [
        {**workspaces.base()["job"]["hose_runs"][0], "dosing": "panel", "target": "9 ft", "standoff": "5 ft", **own}
        for own in (
            {"surfaces": ["one"], "same_time": ["plain"]},
            {"name": "plain", "hoses": ["blue"], "surfaces": ["two"]},
        )
    ]
    found = told(
        tmp_path, TWO_LINES, {"job": {"hose_runs": two, "chemicals": [{"stock": "drum", "strength": "0.8 %"}]}}
    )
    flows = {run["name"]: run["flow_m3_per_s"] for run in found["runs"]}
    flushed = sprays(found, "flush")
    assert sorted(act["run"] for act in flushed) == ["front", "plain"]
    assert flushed[0]["seconds"] != pytest.approx(flushed[1]["seconds"]), "they take as long as each other"
    printed: dict[str, float] = {}
    for row in found["flushes"]:
        printed[row["run"]] = printed.get(row["run"], 0.0) + row["volume_m3"]
    for act in [*flushed, *sprays(found, "line"), *sprays(found, "test")]:
        assert act["m3"] == pytest.approx(act["seconds"] * flows[act["run"]], rel=1e-9)
        walk = act["lasts_s"] - act["seconds"]
        assert walk == pytest.approx(0.0, abs=1e-6) or walk == pytest.approx(_way(found, act["run"]), abs=1e-6)
    assert {act["run"]: pytest.approx(act["m3"]) for act in flushed} == printed
    ends = {act["run"]: act["start_s"] + act["lasts_s"] for act in found["procedure"]["acts"] if act["act"] == "spray"}
    assert ends["front"] == pytest.approx(ends["plain"])


def _way(found: dict[str, Any], run: str) -> float:
    """From the rig to a run's gun [s], at 50 feet a minute."""
    return {"front": 100.0, "plain": 60.0}[run] / 50.0 * 60.0


def test_a_job_nobody_knows_the_drive_to_has_its_acts_and_its_time_from_arrival(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    day = {"day": {"crew": "2", "leave_yard": "07:00", "drive": {"10-case": "15 min"}}}
    first = workspaces.write(tmp_path, workspaces.merged(workspaces.base(), day))
    later = {**workspaces.base()["job"], "job": "Later", "site": {"address": "2 Case Street"}}
    first.with_name("20-later.yaml").write_text(yaml.safe_dump(later), encoding="utf-8")
    main(["check", str(first.parent), "--json"])
    one, two = json.loads(capsys.readouterr().out)["jobs"]
    for found, drive, begins in ((one, ["drive"], 7.25 * 3600.0), (two, [], None)):
        assert [row["what"] for row in found["time"] if row["what"] == "drive"] == drive
        arrives = next(row["start_s"] for row in found["time"] if row["what"] != "drive")
        assert arrives == begins
        assert found["procedure"]["acts"][0]["start_s"] == (begins or 0.0)
