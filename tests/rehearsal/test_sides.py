"""Sides washed in another order than listed, where that keeps mix from drying and costs nothing: planned and rehearsed."""

from __future__ import annotations

import json
from dataclasses import replace
from math import degrees
from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.cli import main
from planner.contract.plan import job_json
from planner.inputs.joined import JobInput
from planner.inputs.models.quantities import bearing_of
from planner.packet.html import twin
from planner.plan.make import make_plan
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Join, Spray
from planner.words.sides import sides_words
from tests import workspaces
from tests.packet.printing import owner_worded
from tests.rehearsal.test_made_jobs import played
from tests.sampled import one_in

AS_WRITTEN: dict[str, Any] = {"job": {"order": "written"}}


def _walls(order: str, **more: Any) -> list[dict[str, Any]]:
    return [
        {"name": f"{side} wall", "kind": "vinyl", "tone": "dark", "width": "40 ft", "height": "16 ft", "faces": side} | more
        for side in order.split()
    ]  # fmt: skip


def _house(order: str = "east south west north", leave: str = "11:00", **forecast: str) -> dict[str, Any]:
    """A house on a hot sunny day at a known place."""
    return {
        "company": {"place": {"latitude": "40 N", "noon": "13:15"}},
        "day": {
            "leave_yard": leave, "drive": {"10-case": "0 min"}, "crew": "2",
            "forecast": {"high": "88 F", "humidity": "50 %", "wind": "3 mph", "sun": "full"} | forecast,
        },
        "job": {
            "surfaces": _walls(order), "chemicals": [{"stock": "drum", "strength": "0.8 %"}],
            "hose_runs": {0: {"dosing": "panel"}},
        },
    }  # fmt: skip


def _cases(job: CheckedJob) -> dict[str, str]:
    return {one.about.split()[0]: one.case for one in job.findings if one.code == "wall.dries"}


def _order(plan: JobPlan) -> list[str]:
    """The walls as the acts wash them."""
    assert plan.procedure is not None
    of = [act.section for act in plan.procedure.acts if isinstance(act.detail, Spray)]
    return list(dict.fromkeys(section.surface.split()[0] for section in of if section is not None))


def _seconds(plan: JobPlan) -> float:
    return sum(span.seconds for span in plan.time)


def _files(*changes: dict[str, Any]) -> dict[str, Any]:
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, change)
    plain: dict[str, Any] = json.loads(json.dumps(files))
    return plain


def _input(folder: Path, *changes: dict[str, Any]) -> JobInput:
    read = workspaces.loaded(folder, _files(*changes))
    assert not read.faults, read.faults
    return read.jobs[0]


@pytest.mark.ci
def test_the_sides_follow_the_shade_where_that_costs_nothing(tmp_path: Path) -> None:
    written = played(tmp_path / "written", _house(), AS_WRITTEN)
    moved = played(tmp_path / "moved", _house())
    assert _order(written.plan) == ["east", "south", "west", "north"]
    assert _cases(written) == {"east": "misted", "south": "misted", "west": "misted", "north": "ok"}
    assert _order(moved.plan) == ["south", "west", "north", "east"]
    assert _cases(moved) == {"east": "ok", "south": "misted", "west": "ok", "north": "ok"}
    assert _seconds(moved.plan) <= _seconds(written.plan)
    joins = [sum(isinstance(act.detail, Join) for act in job.plan.procedure.acts) for job in (written, moved)
             if job.plan.procedure is not None]  # fmt: skip
    assert joins == [1, 1]
    assert written.plan.moved is None


@pytest.mark.ci
def test_it_is_told_with_its_reason(tmp_path: Path) -> None:
    """The sun gets round to a west wall at the place's noon, a quarter past one."""
    job = played(tmp_path, _house())
    assert sides_words(job.plan, "us") == (
        "Wash south wall, west wall, north wall and east wall in this order, not as listed. "
        "West wall comes second: it is in the shade until 1:10 pm."
    )
    told = job_json(job, "us")["sides"]
    assert told["order"] == ["south wall", "west wall", "north wall", "east wall"]
    assert told["surface"] == "west wall"
    assert told["wet_s"] > told["listed_s"]
    assert [row["surface"] for row in job_json(job, "us")["work"]] == told["order"]


@pytest.mark.ci
def test_a_side_that_comes_later_is_told_from_when_it_is_in_the_shade(tmp_path: Path) -> None:
    job = played(tmp_path, _house(leave="12:00"))
    assert _order(job.plan)[-1] == "east"
    assert sides_words(job.plan, "si").endswith("East wall comes last: it is in the shade from 13:20.")


@pytest.mark.parametrize("crew", one_in(2, ["1", "2", "3"], first=1))
@pytest.mark.parametrize("way", [{"dosing": "panel"}, {"feed": "mix", "dosing": "premix"}, {"dosing": "venturi"}])
@pytest.mark.ci
def test_another_order_is_rehearsed_for_every_way_to_dose_and_crew(
    way: dict[str, str], crew: str, tmp_path: Path
) -> None:
    files = workspaces.merged(_house(), {"job": {"hose_runs": {0: way}}, "day": {"crew": crew}})
    written, moved = played(tmp_path / "written", files, AS_WRITTEN), played(tmp_path / "moved", files)
    assert _seconds(moved.plan) <= _seconds(written.plan) + 1e-6
    told = [[case.removesuffix("_shade") for case in _cases(job).values()] for job in (written, moved)]
    trouble = [[cases.count(case) for case in ("at_once", "fast", "dries", "keep_wet", "misted")] for cases in told]
    assert moved.plan.moved is not None
    assert trouble[1] < trouble[0]


@pytest.mark.ci
def test_a_wall_that_nobody_keeps_wet_as_listed_goes_where_somebody_does(tmp_path: Path) -> None:
    """As listed the job is held: what its clock would be is no measure."""
    files = workspaces.merged(
        _house("south east north west", "12:00", high="95 F", humidity="30 %", wind="5 mph"),
        {"job": {"chemicals": {0: {"strength": "1.2 %"}}, "surfaces": _walls("south east north west", width="25 ft")}},
    )
    moved = played(tmp_path / "moved", files)
    written = workspaces.checked(tmp_path / "written", _files(files, AS_WRITTEN))
    assert (_order(written.plan)[-1], _cases(written)["west"]) == ("west", "at_once_shade")
    assert (_order(moved.plan)[0], _cases(moved)["west"]) == ("west", "misted")


@pytest.mark.ci
def test_nothing_moves_under_clouds(tmp_path: Path) -> None:
    cloudy = {"day": {"forecast": {"sun": "none"}}}
    job = played(tmp_path, _house(), cloudy)
    assert set(_cases(job).values()) == {"ok"}
    assert job.plan.moved is None
    assert "sides" not in job_json(job, "us")


@pytest.mark.parametrize("change", [{"company": {"place": None}}, {"day": {"leave_yard": None}}])
def test_nothing_moves_where_the_place_or_the_hour_is_not_known(change: dict[str, Any], tmp_path: Path) -> None:
    plan = played(tmp_path, _house(), change).plan
    assert plan.moved is None
    assert _order(plan) == ["east", "south", "west", "north"]


@pytest.mark.ci
def test_what_would_take_longer_stays_as_listed(tmp_path: Path) -> None:
    """With the east wall last one wall less is wetted again, and another one is worked in smaller pieces meanwhile."""
    files = _house("north east south west", "12:00", high="88 F", humidity="40 %", wind="5 mph")
    files["job"]["surfaces"] = _walls("north east south west", tone="light", width="50 ft", height="18 ft")
    job = _input(tmp_path, files)
    plan = make_plan(job, tables=False)
    assert plan.moved is None
    (sides,) = plan.sides
    other = make_plan(replace(job, sides=("west wall", *sides[:-1])), tables=False)
    assert _order(other) == ["west", "north", "east", "south"]
    assert sum(row.mists is not None for row in other.work) < sum(row.mists is not None for row in plan.work)
    assert _seconds(other) > _seconds(plan)


@pytest.mark.ci
def test_only_walls_that_get_the_same_change_places(tmp_path: Path) -> None:
    """No roof after a wall, no mix before another's, nothing whose side is not known; of one side the upper first."""
    roof = {"kind": "asphalt_shingle", "footprint": "20 ft x 20 ft", "pitch": "6/12", "rinse": "now"}
    walls = [
        roof | {"name": "roof south", "faces": "south"}, roof | {"name": "roof north", "faces": "north"},
        *_walls("east south west"), *_walls("north", name="anywhere", faces=None), *_walls("west", name="gable"),
        *_walls("north"),
    ]  # fmt: skip
    for wall in walls:
        if wall.get("faces") is None:
            del wall["faces"]
    files = _house()
    files["job"]["surfaces"] = walls
    plan = make_plan(_input(tmp_path, files), tables=False)
    assert plan.sides == (
        ("roof south", "roof north"), ("east wall", "south wall", "west wall"), ("gable", "north wall"),
    )  # fmt: skip


@pytest.mark.ci
def test_of_one_side_the_upper_stays_before_the_lower(tmp_path: Path) -> None:
    files = _house("east south west north", "11:00")
    files["job"]["surfaces"].insert(1, *_walls("west", name="west gable", width="20 ft"))
    plan = played(tmp_path, files).plan
    assert plan.moved is not None
    order = plan.moved.order
    assert order.index("west gable") < order.index("west wall")
    assert order != tuple(row["name"] for row in files["job"]["surfaces"])


def test_runs_sprayed_at_once_keep_their_walls(tmp_path: Path) -> None:
    files = workspaces.base()
    files = workspaces.merged(files, _house())
    files["rig"]["hoses"].append({**files["rig"]["hoses"][0], "name": "blue"})
    first = {**files["job"]["hose_runs"][0], "surfaces": ["east wall", "south wall"]}
    second = {
        **first,
        "name": "back",
        "hoses": ["blue"],
        "surfaces": ["west wall", "north wall"],
        "same_time": ["front"],
    }
    files["job"]["hose_runs"] = [first, second]
    plan = workspaces.checked(tmp_path, json.loads(json.dumps(files))).plan
    assert plan.sides == ()
    assert plan.moved is None


@pytest.mark.ci
def test_a_side_named_by_the_compass_faces_that_way(tmp_path: Path) -> None:
    files = _house()
    named = {"east": "East", "south": "south wall", "west": "west-side", "north": "north gable"}
    for row, side in zip(files["job"]["surfaces"], named, strict=True):
        del row["faces"]
        row["side"] = named[side].replace("-", " ")
    walls = _input(tmp_path, files).surfaces
    assert [round(degrees(wall.faces or 0.0)) for wall in walls] == [90, 180, 270, 0]
    assert walls[3].faces is not None
    plan = played(tmp_path / "moved", files).plan
    assert plan.moved is not None


@pytest.mark.parametrize("side", ["front", "left gable", "West Street side", "n", "south of west"])
def test_another_name_of_a_side_says_nothing_of_the_compass(side: str) -> None:
    assert bearing_of(side) is None


@pytest.mark.ci
def test_it_is_the_same_each_time_and_on_paper_s_plan(tmp_path: Path) -> None:
    job = _input(tmp_path, _house())
    plans = [make_plan(job, tables=tables) for tables in (False, False, True)]
    acts = [plan.procedure.acts for plan in plans if plan.procedure is not None]
    assert acts[0] == acts[1] == acts[2]
    assert plans[0].moved == plans[2].moved is not None


@pytest.mark.ci
def test_the_terminal_and_the_owner_s_page_say_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = workspaces.write(tmp_path, _files(_house()))
    assert main(["check", str(path)]) == 0
    said = "Wash south wall, west wall, north wall and east wall in this order, not as listed."
    assert said in capsys.readouterr().out
    job = workspaces.checked(tmp_path / "paper", _files(_house()), tables=True)
    assert said in twin(owner_worded(job)).decode()
