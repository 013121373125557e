"""A setup's other tips: each with its own flow, pressure, minutes and water, held to closed forms; and their faults."""

from __future__ import annotations

import json
from math import sqrt
from pathlib import Path
from typing import Any

import pytest

from planner.inputs.workspace import load
from planner.plan.model import RunPlan
from planner.plan.procedure.acts import ChangeTip, Spray
from planner.units import read
from tests import workspaces

GPM, PSI = read("1 gpm", "flow"), read("1 psi", "pressure")

RIG: dict[str, Any] = {
    "tanks": [{"name": "water", "volume": "275 gal", "floor": "2 ft", "holds": "water"}],
    "pumps": [{"name": "washer", "kind": "piston", "flow": "5.5 gpm", "unloader": "3000 psi", "height": "2 ft",
               "max_pressure": "3500 psi", "wetted": ["plastic"]}],
    "hoses": [{"name": "line", "bore": "3/8 in", "length": "100 ft", "rated": "4000 psi"}],
    "tips": [
        {"name": "treat fan", "pattern": "fan", "size": "60"}, {"name": "rinse fan", "pattern": "fan", "size": "15"},
        {"name": "spinner", "pattern": "surface_cleaner", "size": "7"},
    ],
    "dosing": [{"name": "venturi", "kind": "injector", "water_to_stock": "10", "max_back_pressure": "250 psi",
                "loss": {"pressure": "100 psi", "flow": "5.5 gpm"}, "tested": "2026-05-01", "wetted": ["plastic"]}],
}  # fmt: skip
RUN: dict[str, Any] = {
    "name": "flat", "pump": "washer", "feed": "water", "dosing": "venturi", "hoses": ["line"], "tip": "treat fan",
    "rinse_tip": "rinse fan", "cleaner": "spinner", "target": "0 ft", "standoff": "3 ft",
}  # fmt: skip


def files(run: dict[str, Any] | None = None, **job: Any) -> dict[str, Any]:
    found = workspaces.base()
    found["rig"] = {**found["rig"], **RIG}
    found["rig"].pop("setups", None)
    drive = {"name": "drive", "kind": "concrete", "area": "800 ft2", "soil": "light"}
    found["stock"] = {"lots": [{"name": "drum", "chemical": "bleach", "strength": "12.5 trade %", "made": "2026-06-01",
                                "kept_at": "cool", "tested": {"strength": "11 trade %", "on": "2026-06-09"},
                                "on_hand": "30 gal"}]}  # fmt: skip
    use = [{"stock": "drum", "strength": "0.9 %"}]
    runs = [{**RUN, **(run or {})}]
    found["job"] = {**found["job"], "surfaces": [drive], "hose_runs": runs, "chemicals": use, **job}
    plain: dict[str, Any] = json.loads(json.dumps(found))  # rows are shared, and our reader takes no aliases
    return plain


def plan_of(folder: Path, run: dict[str, Any] | None = None, **job: Any) -> Any:
    return workspaces.checked(folder, files(run, **job)).plan


@pytest.fixture
def flat(tmp_path: Path) -> RunPlan:
    (run,) = plan_of(tmp_path).runs
    assert isinstance(run, RunPlan)
    return run


def test_each_tip_has_the_pressure_of_its_own_trade_size_at_the_piston_s_flow(flat: RunPlan) -> None:
    """A size is gpm at 4000 psi, and pressure goes with the flow squared; a piston gives one flow through any tip."""
    assert set(flat.roles) == {"rinse_tip", "cleaner"}
    for role, size in (("rinse_tip", 15.0), ("cleaner", 7.0)):
        one = flat.roles[role]
        assert one.flow == pytest.approx(5.5 * GPM, rel=1e-9), "no stock is drawn behind it"
        assert one.tip_pressure == pytest.approx(4000.0 * PSI * (5.5 / size) ** 2, rel=5e-3)
        assert one.injector_draws is None
        assert one.liquid.strength == 0.0
    assert flat.flow == pytest.approx(5.5 * 1.1 * GPM, rel=1e-9), "the mix's own tip passes the stock too"


def test_through_a_centrifugal_pump_each_tip_is_another_working_point(tmp_path: Path) -> None:
    pump = {"name": "washer", "kind": "centrifugal", "height": "2 ft", "wetted": ["plastic"],
            "curve": [["0 gpm", "70 psi"], ["8 gpm", "58 psi"], ["16 gpm", "31 psi"], ["20 gpm", "12 psi"]]}  # fmt: skip
    made = files({"dosing": None, "cleaner": None, "hoses": ["line"]})
    made["job"]["hose_runs"][0] = {key: value for key, value in made["job"]["hose_runs"][0].items() if value}
    made["rig"]["pumps"] = [pump]
    made["rig"]["hoses"] = [{"name": "line", "bore": "3/4 in", "length": "100 ft", "rated": "200 psi"}]
    (run,) = workspaces.checked(tmp_path, made).plan.runs
    rinse = run.roles["rinse_tip"]
    for one, size in ((run, 60.0), (rinse, 15.0)):
        assert one.flow == pytest.approx(size * GPM * sqrt(one.tip_pressure / (4000.0 * PSI)), rel=1e-3)
    assert rinse.flow < run.flow
    assert rinse.tip_pressure > run.tip_pressure


def test_each_use_takes_the_minutes_and_the_water_of_its_own_tip(tmp_path: Path) -> None:
    plan = plan_of(tmp_path)
    (wall,), (run,) = plan.work, plan.runs
    flow, minutes = 5.5 * GPM, plan.input.tables["minutes"]
    # 800 ft2 an hour at 5.5 gpm, from the table of surface cleaners.
    assert wall.clean == pytest.approx(3600.0, rel=1e-6)
    assert wall.clean_volume == pytest.approx(3600.0 * flow, rel=1e-6)
    assert wall.rinse == pytest.approx(wall.rinse_volume / flow / minutes["rinse_trigger"], rel=1e-9)
    assert wall.trigger == pytest.approx(plan.mixes[0].parts[0].mix / run.flow, rel=1e-9)
    sprays = [act.detail for act in plan.procedure.acts if isinstance(act.detail, Spray)]
    for spray in sprays:
        if spray.use in ("clean", "rinse"):
            assert spray.volume / spray.seconds == pytest.approx(flow, rel=1e-9)
    assert sum(one.volume for one in sprays if one.use == "clean") == pytest.approx(wall.clean_volume, rel=1e-9)
    assert sum(one.volume for one in sprays if one.use == "rinse") == pytest.approx(wall.rinse_volume, rel=1e-9)


def test_the_tips_are_changed_in_the_order_they_are_used_and_the_mix_s_is_flushed(tmp_path: Path) -> None:
    on: list[tuple[str, set[str]]] = [("treat fan", set())]
    for act in plan_of(tmp_path).procedure.acts:
        if isinstance(act.detail, ChangeTip):
            on.append((act.detail.tip, set()))
        elif isinstance(act.detail, Spray):
            on[-1][1].add(act.detail.use)
    assert on == [
        ("treat fan", {"line", "test"}), ("spinner", {"clean"}), ("treat fan", {"wet", "mix"}), ("rinse fan", {"rinse"}),
        ("treat fan", {"flush"}),
    ]  # fmt: skip


def test_a_wall_that_is_not_flat_is_not_cleaned_and_nothing_is_planned_for_its_cleaner(tmp_path: Path) -> None:
    plan = plan_of(
        tmp_path, surfaces=[{"name": "front", "kind": "vinyl", "area": "600 ft2"}], building={"height": "8 ft"}
    )
    assert set(plan.runs[0].roles) == {"rinse_tip"}
    assert plan.work[0].clean_volume == 0.0


def test_two_runs_with_a_cleaner_clean_a_drive_once(tmp_path: Path) -> None:
    other = {key: value for key, value in RUN.items() if key != "dosing"} | {"name": "wash"}
    plan = plan_of(tmp_path, hose_runs=[RUN, other])
    assert [work.clean > 0.0 for work in plan.work] == [True, False]


def test_a_role_written_as_the_tip_itself_is_no_tip_to_change_to(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, {"rinse_tip": "treat fan"})
    assert set(plan.runs[0].roles) == {"cleaner"}
    assert {act.detail.tip for act in plan.procedure.acts if isinstance(act.detail, ChangeTip)} == {
        "spinner",
        "treat fan",
    }


def faults_of(folder: Path, made: dict[str, Any]) -> list[tuple[str, str]]:
    return [(fault.code, fault.where.path) for fault in load([workspaces.write(folder, made)]).faults]


@pytest.mark.parametrize(
    ("run", "code", "path"),
    [
        ({"rinse_tip": "rinse fam"}, "name.unknown", "hose_runs[0].rinse_tip"),
        ({"cleaner": "spiner"}, "name.unknown", "hose_runs[0].cleaner"),
        ({"cleaner": "rinse fan"}, "run.cleaner", "hose_runs[0].cleaner"),
        ({"rinse_tip": "spinner"}, "run.rinse_tip", "hose_runs[0].rinse_tip"),
    ],
)
def test_a_tip_that_cannot_do_what_it_is_written_for_is_one_fault_at_its_key(
    tmp_path: Path, run: dict[str, Any], code: str, path: str
) -> None:
    assert faults_of(tmp_path, files(run)) == [(code, path)]


def test_a_setup_s_roles_are_judged_where_the_job_asks_for_it(tmp_path: Path) -> None:
    made = files()
    setup = {key: value for key, value in RUN.items() if key not in ("target", "standoff")} | {"cleaner": "rinse fan"}
    made["rig"]["setups"] = [setup]
    made["job"] = {key: value for key, value in made["job"].items() if key != "hose_runs"} | {"setup": "flat"}
    assert faults_of(tmp_path, made) == [("run.cleaner", "setup")]


def test_a_gun_beside_another_has_no_tip_to_change(tmp_path: Path) -> None:
    second = {**RUN, "name": "other", "hoses": ["other line"], "same_time": ["flat"]}
    plain = {key: value for key, value in RUN.items() if key not in ("rinse_tip", "cleaner")}
    made = files(hose_runs=[plain, second])
    made["rig"]["hoses"] = [*RIG["hoses"], {**RIG["hoses"][0], "name": "other line"}]
    (fault,) = load([workspaces.write(tmp_path, made)]).faults
    assert (fault.code, fault.where.path) == ("run.same_time", "hose_runs[1].rinse_tip")
    assert "at the same time as `flat`" in fault.message
    assert "change to its `rinse_tip` and `cleaner`" in fault.message
    assert fault.remedy.startswith("take `rinse_tip` and `cleaner` out of it, or take `same_time` out")


def test_whichever_of_two_guns_names_the_other_the_one_with_a_tip_to_change_is_at_fault(tmp_path: Path) -> None:
    plain = {key: value for key, value in RUN.items() if key not in ("rinse_tip", "cleaner")}
    hoses = [*RIG["hoses"], {**RIG["hoses"][0], "name": "other line"}]
    other = {**plain, "name": "other", "hoses": ["other line"], "same_time": ["flat"]}
    own_line = {"tip": plain["tip"], "hoses": ["line"]}
    # The tip it has anyway is none to change to.
    for role, tip, faulty in (
        ("cleaner", "spinner", True), ("rinse_tip", own_line, True), ("rinse_tip", plain["tip"], False),
    ):  # fmt: skip
        made = files(hose_runs=[{**plain, role: tip}, other])
        made["rig"]["hoses"] = hoses
        told = faults_of(tmp_path / f"{role} {faulty}", json.loads(json.dumps(made)))
        assert told == ([("run.same_time", f"hose_runs[0].{role}")] if faulty else [])


def test_a_rinse_tip_is_held_to_the_height_that_has_to_be_rinsed(tmp_path: Path) -> None:
    """A fan rinses; it never reaches: nobody gets the mix off an eave with it."""
    made = files({"cleaner": "spinner", "tip": "long", "target": "24 ft", "standoff": "8 ft"},
                 surfaces=[{"name": "front", "kind": "vinyl", "area": "600 ft2"}], building={"height": "24 ft"})  # fmt: skip
    made["rig"]["tips"] = [*RIG["tips"], {"name": "long", "pattern": "solid", "orifice": "0.14 in"}]
    job = workspaces.checked(tmp_path, made)
    found = {finding.code: finding for finding in job.findings if finding.about == "flat"}
    assert (found["reach.pattern"].level, found["reach.pattern"].tip) == ("stop", "rinse fan")


def test_what_a_line_bears_is_judged_with_the_tip_that_presses_most(tmp_path: Path) -> None:
    made = files()
    made["rig"]["pumps"] = [{**RIG["pumps"][0], "unloader": "600 psi", "max_pressure": "3500 psi"}]
    made["rig"]["hoses"] = [{**RIG["hoses"][0], "rated": "500 psi"}]
    found = {one.code: one for one in workspaces.checked(tmp_path, made).findings if one.about == "flat"}
    assert found["line.rating"].level == "stop"
    assert found["reach.short"].tip == ""
