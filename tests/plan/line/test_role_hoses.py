"""Tips with a line of their own: solved through it, put on with the pressure out, each hose followed by what it holds."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.contract.procedure import act_json
from planner.days.prepare import Trouble, checked_jobs
from planner.days.rehearsing import rehearsed
from planner.inputs.workspace import load
from planner.packet.blocks import Step, Text, walked
from planner.plan.between.matrix import matrix
from planner.plan.model import JobPlan
from planner.plan.procedure import acts as of
from planner.plan.water.tap import open_flow
from planner.rehearsal.from_plan import setting_of
from planner.rehearsal.play import rehearse
from tests import workspaces
from tests.packet.printing import worded
from tests.packet.sections.acts.test_calls import words
from tests.plan.line.test_roles import GPM, PSI, RIG, faults_of, files

LINES: dict[str, Any] = {
    "hoses": ["line", "tail"],
    "rinse_tip": {"tip": "rinse fan", "hoses": ["line", "long"]},
    "cleaner": {"tip": "spinner", "hoses": ["line"]},
}


def written(run: dict[str, Any] | None = None, **job: Any) -> dict[str, Any]:
    made = files({**copy.deepcopy(LINES), **(run or {})}, **job)
    one = RIG["hoses"][0] | {"bore": "1/2 in"}
    long = {**one, "name": "long", "bore": "3/8 in", "length": "80 ft"}
    made["rig"]["hoses"] = [one, {**one, "name": "tail", "length": "50 ft"}, long, {**long, "name": "whip"}]
    made["rig"]["pumps"][0]["bypass"] = "yes"
    return made


def plan_of(folder: Path, run: dict[str, Any] | None = None, **job: Any) -> JobPlan:
    return workspaces.checked(folder, written(run, **job)).plan


@pytest.fixture(scope="module")
def drive(tmp_path_factory: pytest.TempPathFactory) -> JobPlan:
    return plan_of(tmp_path_factory.mktemp("drive"))


def changes(plan: JobPlan) -> list[of.ChangeTip]:
    assert plan.procedure is not None
    return [act.detail for act in plan.procedure.acts if isinstance(act.detail, of.ChangeTip)]


@pytest.mark.ci
def test_each_role_is_solved_through_its_own_line(drive: JobPlan) -> None:
    """Friction goes with the length: a part a run's own line has not costs it nothing, and one put on costs its own."""
    (run,) = drive.runs
    assert [hose.name for hose in run.input.hoses] == ["line", "tail"]
    assert [hose.name for hose in run.roles["rinse_tip"].input.hoses] == ["line", "long"]
    assert [hose.name for hose in run.roles["cleaner"].input.hoses] == ["line"]
    for one in run.roles.values():
        assert one.flow == pytest.approx(5.5 * GPM, rel=1e-9)
    lost = {role: {part.part: part.pressure for part in one.losses} for role, one in run.roles.items()}
    assert lost["cleaner"]["line"] == pytest.approx(lost["rinse_tip"]["line"], rel=1e-9)
    # 80 ft of 3/8 in beside 100 ft of 1/2 in: about (4/3)^5 as much a foot in smooth hose, a little less by its speed.
    assert 2.5 < lost["rinse_tip"]["long"] / lost["rinse_tip"]["line"] < 0.8 * (4 / 3) ** 5
    put_on = lost["rinse_tip"]["long"] / PSI
    pressures = {role: (one.pump_pressure - one.tip_pressure) / PSI for role, one in run.roles.items()}
    assert pressures["rinse_tip"] - pressures["cleaner"] == pytest.approx(put_on, rel=0.01)


def test_what_is_taken_off_and_put_on_is_an_act_s_own_and_old_forms_have_none(drive: JobPlan, tmp_path: Path) -> None:
    assert [(one.tip, one.off, one.on) for one in changes(drive)] == [
        ("spinner", ("tail",), ()),
        ("treat fan", (), ("tail",)),
        ("rinse fan", ("tail",), ("long",)),
        ("treat fan", ("long",), ("tail",)),
    ]
    assert drive.procedure is not None
    told = [act_json(act) for act in drive.procedure.acts if isinstance(act.detail, of.ChangeTip)]
    assert [(one.get("off"), one.get("on")) for one in told][2] == (["tail"], ["long"])
    same = plan_of(tmp_path, {"rinse_tip": {"tip": "rinse fan", "hoses": ["line", "tail"]}, "cleaner": "spinner"})
    assert not same.runs[0].input.role_hoses, "a line written as the run's own is the run's own"
    assert all(not (one.off or one.on) for one in changes(same))


def test_a_hose_of_its_own_is_filled_once_coiled_at_the_end_and_drained_where_water_stands_in_it(
    drive: JobPlan,
) -> None:
    assert drive.procedure is not None
    acts = drive.procedure.acts
    at = next(n for n, act in enumerate(acts) if isinstance(act.detail, of.ChangeTip) and act.detail.on == ("long",))
    first = next(act.detail for act in acts[at:] if isinstance(act.detail, of.Spray))
    (run,) = drive.runs
    (long,) = run.input.put_on
    assert first.use == "line"
    assert first.volume == pytest.approx(0.785398163 * long.bore**2 * long.length, rel=1e-6)
    coiled = {act.detail.what for act in acts if isinstance(act.detail, of.Mark) and act.detail.verb == "coil"}
    assert coiled == {"line", "tail", "long"}
    drained = {act.detail.source for act in acts if isinstance(act.detail, of.Drain)}
    assert {"line", "tail", "long"} <= drained
    assert {one.stock for one in drive.procedure.end.hoses.values()} == {"air"}


def test_a_cleaner_s_hose_stays_at_home_where_nothing_is_flat(tmp_path: Path) -> None:
    plan = plan_of(
        tmp_path, {"cleaner": {"tip": "spinner", "hoses": ["line", "whip"]}},
        surfaces=[{"name": "front", "kind": "vinyl", "area": "600 ft2"}], building={"height": "8 ft"},
    )  # fmt: skip
    assert [hose.name for hose in plan.runs[0].input.put_on] == ["long"]
    assert plan.procedure is not None
    assert "whip" not in plan.procedure.begin.hoses


def test_a_longer_line_is_a_longer_walk(tmp_path: Path, drive: JobPlan) -> None:
    assert drive.runs[0].input.length == pytest.approx(180.0 * 0.3048)


@pytest.mark.parametrize("crew", ["1", "2", "3"])
def test_what_is_planned_is_rehearsed_and_a_change_told_wrong_is_refused(tmp_path: Path, crew: str) -> None:
    made = written()
    made["day"]["crew"] = crew
    plan = workspaces.checked(tmp_path, made).plan
    assert plan.procedure is not None
    setting = setting_of(plan, matrix(), open_flow(plan.input))
    assert rehearse(setting, plan.procedure) == ()
    for act in plan.procedure.acts:
        if isinstance(act.detail, of.ChangeTip):
            for wrong in ({"on": ("whip",)}, {"off": ("line",)}):
                spoiled = replace(act, detail=replace(act.detail, **wrong))  # type: ignore[arg-type]
                acts = tuple(spoiled if one is act else one for one in plan.procedure.acts)
                assert rehearse(setting, replace(plan.procedure, acts=acts)), (act.id, wrong)


def test_a_line_that_was_not_filled_is_short_and_one_left_dry_is_told_so(drive: JobPlan) -> None:
    """What the rehearsal plays of a hose is what it holds: said to be full of mix, it may not go into the line."""
    assert drive.procedure is not None
    setting = setting_of(drive, matrix(), open_flow(drive.input))
    held = of.Held(stock="muriatic", strength=100.0)
    begin = replace(drive.procedure.begin, hoses={**drive.procedure.begin.hoses, "long": held})
    assert rehearse(setting, replace(drive.procedure, begin=begin))


@pytest.mark.parametrize(
    ("run", "code", "path"),
    [
        ({"rinse_tip": {"tip": "rinse fan", "hoses": ["long"]}}, "run.rinse_tip", "rinse_tip.hoses[0]"),
        ({"cleaner": {"tip": "spinner", "hoses": ["line", "long", "tail"]}}, "run.cleaner", "cleaner.hoses[2]"),
        ({"cleaner": {"tip": "spiner", "hoses": ["line"]}}, "name.unknown", "cleaner.tip"),
        ({"cleaner": {"tip": "spinner", "hoses": ["line", "wip"]}}, "name.unknown", "cleaner.hoses[1]"),
        ({"cleaner": {"tip": "spinner", "hoses": ["line", "line"]}}, "hose.twice", "cleaner.hoses[1]"),
        ({"cleaner": {"tip": "spinner", "hoses": []}}, "value.few", "cleaner.hoses"),
        ({"cleaner": {"tip": "rinse fan", "hoses": ["line"]}}, "run.cleaner", "cleaner"),
        ({"cleaner": {"hoses": ["line"]}}, "key.missing", "cleaner"),
        ({"cleaner": {"tip": "spinner", "hoses": ["line"]}, "on_reel": "120 ft"}, "run.on_reel", "on_reel"),
    ],
)
def test_a_line_that_cannot_be_put_on_is_one_fault_at_its_key(
    tmp_path: Path, run: dict[str, Any], code: str, path: str
) -> None:
    assert faults_of(tmp_path, written(run)) == [(code, f"hose_runs[0].{path}")]


def test_a_hose_that_brings_another_run_s_mix_is_no_hose_to_rinse_through(tmp_path: Path) -> None:
    made = written()
    other = {**made["job"]["hose_runs"][0], "name": "other", "hoses": ["long"]}
    del other["rinse_tip"], other["cleaner"]
    made["job"]["hose_runs"].append(other)
    assert faults_of(tmp_path, made) == [("run.rinse_tip", "hose_runs[0].rinse_tip.hoses[1]")]
    del other["dosing"]
    assert faults_of(tmp_path / "plain", made) == []


def test_a_setup_says_it_too_and_its_slip_is_told_where_the_job_asks_for_it(tmp_path: Path) -> None:
    made = written()
    run = made["job"].pop("hose_runs")[0]
    setup = {key: value for key, value in run.items() if key not in ("target", "standoff")}
    made["rig"]["setups"] = [setup]
    made["job"]["setup"] = "flat"
    assert faults_of(tmp_path, made) == []
    setup["cleaner"] = {"tip": "spinner", "hoses": ["whip"]}
    assert faults_of(tmp_path / "slip", made) == [("run.cleaner", "setup")]


@pytest.mark.ci
def test_paper_says_which_hose_comes_off_and_which_goes_on(tmp_path: Path) -> None:
    made = written(surfaces=[{"name": "drive", "kind": "concrete", "area": "3200 ft2", "soil": "heavy"}])
    job = rehearsed(workspaces.checked(tmp_path, made, tables=True))
    assert not job.held
    book = worded(job)
    said = [words(b.spans) for s in book.sections for b in walked(s.blocks) if isinstance(b, (Step, Text))]
    assert "Take tail off the end, then put on surface cleaner spinner. Call “On”." in said
    assert any("treat fan behind tail; rinse fan behind long), call" in line for line in said)
    assert any("Rinse tip rinse fan behind long: 5.5 gpm" in line for line in said)


def test_a_job_with_such_a_line_reads_without_a_fault(tmp_path: Path) -> None:
    assert not load([workspaces.write(tmp_path, written())]).faults


@pytest.mark.parametrize("before", ["job: [long, mix", "held"])
@pytest.mark.ci
def test_what_nobody_knows_of_a_hose_put_on_is_read_at_a_strip_before_anything_is_sprayed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, before: str
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE", raising=False)
    made = written()
    first = workspaces.write(tmp_path, made)
    yesterday = tmp_path / "2026-06-08" / "10-one.yaml"
    yesterday.parent.mkdir()
    if before == "held":
        # Its mix went through the hose that today is put on to rinse, if it was done at all.
        held = written(near={}, access={"power_line": "5 ft"})["job"]
        run = {key: value for key, value in held["hose_runs"][0].items() if key not in ("rinse_tip", "cleaner")}
        held["hose_runs"] = [{**run, "hoses": ["long"]}]
        before = json.dumps(held)
    yesterday.write_text(before, encoding="utf-8")
    (yesterday.parent / "day.yaml").write_text((first.parent / "day.yaml").read_text(), encoding="utf-8")
    trouble = Trouble(faults=[])
    (job,) = [one for one in checked_jobs(load([first]), trouble) if one.plan.id.startswith("2026-06-09")]
    assert not job.breaches, job.breaches
    assert job.plan.procedure is not None
    acts = job.plan.procedure.acts
    assert job.plan.procedure.begin.hoses["long"].stock == "unknown"
    at = next(n for n, act in enumerate(acts) if isinstance(act.detail, of.ChangeTip) and act.detail.on == ("long",))
    sprays = next(n for n, act in enumerate(acts) if n > at and isinstance(act.detail, of.Spray))
    assert "strip_chlorine" in [act.expect.what for act in acts[at:sprays] if act.expect is not None]
    assert job.plan.procedure.end.hoses["long"].stock == "air"
