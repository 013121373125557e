"""A yard job among the jobs of a day: what it leaves to those after it, what is bought for it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob
from planner.days.prepare import Trouble, checked_jobs, days_of
from planner.inputs.workspace import load
from planner.plan.mix.lookups import bathed_before
from planner.words import spoken as words
from tests import workspaces
from tests.plan.yard.benches import GAL, POUND, SETUPS, YARD, told


def _then_house(folder: Path, yard: dict[str, Any], change: dict[str, Any]) -> list[CheckedJob]:
    """A yard job, and after it on the same day a house that bleach goes on through the same pump."""
    files = workspaces.merged(workspaces.merged(workspaces.base(), SETUPS), change)
    files["job"] = {**YARD, **yard}
    path = workspaces.write(folder, files)
    path.rename(path.with_name("10-booster.yaml"))
    house = workspaces.base()["job"] | {"chemicals": [{"stock": "bleach", "strength": "1 %"}]}
    house["hose_runs"] = [{**house["hose_runs"][0], "dosing": "panel"}]
    (path.parent / "20-house.yaml").write_text(yaml.safe_dump(house), encoding="utf-8")
    read = load([path.parent])
    return list(checked_jobs(read, Trouble(faults=list(read.faults))))


def test_the_shelf_holds_less_for_the_jobs_after_it(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), SETUPS)
    files["job"] = YARD
    path = workspaces.write(tmp_path, files)
    path.rename(path.with_name("10-booster.yaml"))
    wall = {**workspaces.base()["job"], "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
            "chemicals": [{"stock": "muriatic", "strength": "1:10"}]}  # fmt: skip
    wall["hose_runs"] = [
        {**wall["hose_runs"][0], "pump": "transfer", "feed": "mix", "dosing": "premix", "target": "6 ft"}
    ]
    (path.parent / "20-wall.yaml").write_text(yaml.safe_dump(wall), encoding="utf-8")
    read = load([path.parent])
    jobs = list(checked_jobs(read, Trouble(faults=list(read.faults))))
    yard, wash = jobs
    assert yard.plan.left.taken["acid"] == pytest.approx(0.75 * GAL)
    (lot,) = [lot for lot in wash.plan.shelf if lot.name == "acid"]
    assert lot.on_hand == pytest.approx(4.25 * GAL)
    ((day, _),) = days_of(read, jobs)
    (pull,) = [pull for pull in day.pulls if pull.lot == "acid"]
    assert pull.bench == pytest.approx(0.75 * GAL)
    assert pull.volume > pull.bench
    assert pull.rides
    assert pull.road_jobs == (wash.plan.title,)


def test_a_pump_that_lay_in_acid_is_asked_for_its_tick_before_bleach(tmp_path: Path) -> None:
    _, wash = _then_house(tmp_path, {"work": "descale"}, {})
    assert told(wash, "flush.needed")["booster"] == ("caution", "between_bath")


def test_a_pump_that_could_not_be_tested_was_not_run_out_and_is_flushed_before_bleach(tmp_path: Path) -> None:
    yard, wash = _then_house(tmp_path / "tested", {"work": "descale"}, {})
    assert "booster" in yard.plan.left.bathed
    assert "booster" not in yard.plan.left.unflushed
    assert wash.plan.changes == ()
    yard, wash = _then_house(tmp_path / "untested", {"work": "descale"}, {"rig": {"setups": None}})
    assert yard.plan.yard is not None
    assert yard.plan.yard.test is None
    assert "booster" in yard.plan.left.unflushed
    (change,) = wash.plan.changes
    assert [part.part for part in change.parts] == ["booster"]
    assert bathed_before(wash.plan, wash.plan.mixes[0]) == ()


def test_what_is_short_of_the_neutraliser_is_bought_with_the_rest(tmp_path: Path) -> None:
    acid = {"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"}
    bag = {"name": "bag", "chemical": "bicarbonate", "on_hand": "2 lb"}
    for lots, there in (([acid, bag], 2 * POUND), ([acid], 0.0)):  # both hold the job, which goes once it is bought
        files = workspaces.merged(workspaces.base(), SETUPS)
        files["job"], files["stock"] = YARD, {"lots": lots}
        path = workspaces.write(tmp_path / f"{len(lots)}", files)
        read = load([path.parent])
        jobs = list(checked_jobs(read, Trouble(faults=list(read.faults))))
        ((day, _),) = days_of(read, jobs)
        (buy,) = day.buys
        assert (buy.chemical, buy.volume) == ("bicarbonate", 0.0)
        assert buy.mass == pytest.approx(sum(one.carry for one in jobs[0].plan.neutralisers) - there)


def test_two_baths_of_one_day_do_not_share_one_bag(tmp_path: Path) -> None:
    acid = {"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"}
    bag = {"name": "bag", "chemical": "bicarbonate", "on_hand": "6 lb"}
    files = workspaces.merged(
        workspaces.merged(workspaces.base(), SETUPS), {"rig": {"pumps": {"2": {"wetted": ["plastic"]}}}}
    )
    files["stock"] = {"lots": [acid, bag]}
    files["job"] = {**YARD, "work": "descale", "bath": "10 vol % muriatic"}
    path = workspaces.write(tmp_path, files)
    path.rename(path.with_name("10-booster.yaml"))
    second = {**files["job"], "job": "Transfer", "pump": "transfer"}
    (path.parent / "20-transfer.yaml").write_text(yaml.safe_dump(second), encoding="utf-8")
    read = load([path.parent])
    jobs = list(checked_jobs(read, Trouble(faults=list(read.faults))))
    one, two = jobs
    assert told(one, "mix.stock")["bicarbonate"] == ("ok", "agent")
    carried = sum(row.carry for row in one.plan.neutralisers)
    assert one.plan.left.taken["bag"] == pytest.approx(carried)
    (need,) = [need for need in two.plan.agents if need.agent == "bicarbonate"]
    assert need.on_hand == pytest.approx(6 * POUND - carried)
    assert need.before == pytest.approx(carried)
    assert told(two, "mix.stock")["bicarbonate"] == ("stop", "agent_lacking")
    (finding,) = [found for found in two.findings if found.case == "agent_lacking"]
    assert "Earlier jobs take 5.5 lb of it" in words.message(finding, "us")
    ((day, _),) = days_of(read, jobs)
    (buy,) = [buy for buy in day.buys if buy.chemical == "bicarbonate"]
    assert buy.mass == pytest.approx(2 * carried - 6 * POUND)
    assert buy.mass == pytest.approx(need.buy), "the list and the job say the same"


def test_a_bag_that_the_first_bath_empties_gives_way_to_what_else_is_there(tmp_path: Path) -> None:
    lots = [
        {"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"},
        {"name": "bag", "chemical": "bicarbonate", "on_hand": "6 lb"},
        {"name": "ash", "chemical": "soda_ash", "on_hand": "6 lb"},
    ]
    files = workspaces.merged(
        workspaces.merged(workspaces.base(), SETUPS), {"rig": {"pumps": {"2": {"wetted": ["plastic"]}}}}
    )
    files["stock"] = {"lots": lots}
    files["job"] = {**YARD, "work": "descale", "bath": "10 vol % muriatic"}
    path = workspaces.write(tmp_path, files)
    path.rename(path.with_name("10-booster.yaml"))
    second = {**files["job"], "job": "Transfer", "pump": "transfer"}
    (path.parent / "20-transfer.yaml").write_text(yaml.safe_dump(second), encoding="utf-8")
    read = load([path.parent])
    _, two = checked_jobs(read, Trouble(faults=list(read.faults)))
    assert [one.agent for one in two.plan.neutralisers] == ["soda_ash", "soda_ash"]
    assert told(two, "mix.stock")["soda_ash"] == ("ok", "agent")


def test_the_next_job_finds_the_tank_and_the_hoses_as_the_bench_left_them(tmp_path: Path) -> None:
    yard, wash = _then_house(tmp_path, {"work": "descale"}, {})
    assert yard.plan.procedure is not None
    assert wash.plan.procedure is not None
    end, begin = yard.plan.procedure.end, wash.plan.procedure.begin
    assert end.tanks["water"].volume == pytest.approx(begin.tanks["water"].volume)
    assert end.tanks["water"].volume < yard.plan.procedure.begin.tanks["water"].volume - 0.09
    assert end.hoses["red"].stock == begin.hoses["red"].stock == "air"
