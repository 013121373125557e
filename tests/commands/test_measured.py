"""`planner check` told what was measured: what it says, what it answers to a slip, and its exit codes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.contract.plan import job_json
from planner.locate import jobs
from tests import workspaces

MILLRACE = str(jobs() / "2026-06-09" / "10-millrace.yaml")
KILN = str(jobs() / "2026-06-09" / "30-kiln.yaml")
DAY = str(jobs() / "2026-06-09")
YARD = str(jobs() / "2026-06-10" / "90-booster.yaml")
ALL_THREE = ["--jet", "36 ft", "--bucket", "5 gal in 34 s", "--gauge", "60 psi"]


Said = Callable[..., tuple[int, str, str]]


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Said:
    def run(*args: str) -> tuple[int, str, str]:
        code = main(["check", *args])
        out = capsys.readouterr()
        return code, out.out, out.err

    return run


def _written(folder: Path, **change: Any) -> str:
    return str(workspaces.write(folder, workspaces.merged(workspaces.base(), change)))


@pytest.mark.ci
def test_all_three_measurements_give_a_condition_to_write_and_what_is_reached_with_it(said: Said) -> None:
    code, out, err = said(MILLRACE, *ALL_THREE)
    assert (code, err) == (0, "")
    assert "Scaled or worn: booster has 84 % of a good pump's head left." in out
    assert "Write `condition: 0.84` under booster in the file of rig Bittern" in out
    assert "house reaches 36 ft, at worst 30 ft; 27 ft is needed." in out
    assert "The tank is taken as nearly empty" in out
    for figure in ("36.0 ft", "40.2 ft", "37.2 ft", "8.82 gpm", "60.0 psi", "70.9 psi"):
        assert figure in out, figure


@pytest.mark.ci
def test_the_answer_is_printed_in_the_readers_units(said: Said) -> None:
    _, out, _ = said(MILLRACE, "--jet", "11 m", "--units", "si")
    assert "11.0 m" in out
    assert "Hold the tip 1.2 m up and 3.0 m from the wall" in out
    assert " ft" not in out.split("house ")[-1]


@pytest.mark.ci
def test_a_held_job_still_exits_1_with_its_measurement(said: Said) -> None:
    code, out, _ = said(KILN, "--run", "Lean-To", "--gauge", "70 psi")
    assert code == 1
    assert "Good with the gun closed" in out
    assert "The file's `condition: 1` fits: leave it." in out


@pytest.mark.ci
def test_a_run_named_once_in_a_day_is_found_in_its_job(said: Said) -> None:
    code, out, _ = said(DAY, "--run", "ridge", "--bucket", "5 gal in 124 s")
    assert code == 1
    assert "what a good roof pump gives" in out


@pytest.mark.ci
def test_json_carries_the_answer_in_si_and_null_where_nothing_was_measured(said: Said) -> None:
    code, out, _ = said("--json", DAY, "--run", "house", *ALL_THREE)
    assert code == 1
    found = {job["id"]: job["measured"] for job in json.loads(out)["jobs"]}
    answer = found.pop("2026-06-09/10-millrace")
    assert set(found.values()) == {None}
    assert (answer["run"], answer["pump"], answer["says"]) == ("house", "booster", "worn")
    throw, bucket, gauge = answer["readings"]
    assert throw["measured_m"] == pytest.approx(36 * 0.3048)
    assert throw["worn_m"] < throw["sound_m"]
    assert bucket["share_low"] < bucket["share"] < bucket["share_high"]
    assert gauge["planned_pa"] == gauge["sound_pa"]
    assert (answer["write"]["key"], answer["write"]["value"]) == ("condition", 0.84)
    assert answer["then"][0]["reach_low_m"] < answer["then"][0]["reach_m"]
    assert "condition: 0.84" in answer["remedy"]


@pytest.mark.ci
@pytest.mark.parametrize(
    ("args", "code", "words"),
    [
        (["--throw", "36"], "quantity.bare", "command line: --throw: quantity.bare"),
        (["--throw", "36 psi"], "quantity.dimension", "command line: --throw:"),
        (["--bucket", "5 gal"], "quantity.number", "like `5 gal in 38 s`"),
        (["--gauge", "lots"], "quantity.number", "command line: --gauge:"),
        (["--gauge", "0 psi"], "measured.nothing", "Measure it again"),
        (["--throw", "3 ft"], "measured.throw", "no higher than the tip, which is held 4 ft up"),
        (["--run", "house"], "measured.missing", "Add --jet, --bucket or --gauge"),
        (["--run", "hose", "--gauge", "60 psi"], "measured.run", "no hose run is named `hose`; there is `house`"),
    ],
)
def test_a_slip_on_the_command_line_is_a_fault_with_a_remedy(
    said: Said, args: list[str], code: str, words: str
) -> None:
    exit_code, out, err = said(MILLRACE, *args)
    assert exit_code == 2
    assert f": {code} " in err
    assert any(part in err for part in words.split("|")), err
    assert "Millrace Row" in out


@pytest.mark.ci
def test_what_was_measured_is_read_as_in_a_records_boxes(said: Said) -> None:
    code, plain, _ = said(MILLRACE, "--bucket", "5 gal in 34 s", "--gauge", "60 psi")
    assert code in (0, 1)
    assert said(MILLRACE, "--bucket", "5 gal/34 s", "--gauge", "60 lb")[1] == plain


@pytest.mark.ci
def test_every_slip_is_told_at_once_and_in_json_too(said: Said) -> None:
    code, out, _ = said("--json", MILLRACE, "--throw", "36", "--gauge", "60", "--run", "nowhere")
    assert code == 2
    assert sorted(fault["where"]["path"] for fault in json.loads(out)["faults"]) == ["--gauge", "--run", "--throw"]
    assert json.loads(out)["jobs"][0]["measured"] is None


@pytest.mark.ci
def test_several_runs_want_a_name_and_are_listed(said: Said) -> None:
    code, _, err = said(KILN, "--gauge", "60 psi")
    assert code == 2
    assert "several hose runs: `lean-to`, `plinth`, `plinth water`" in err
    assert "--run 'lean-to'" in err


@pytest.mark.ci
def test_several_jobs_with_such_a_run_want_one_job(said: Said) -> None:
    code, _, err = said(MILLRACE, str(jobs() / "2026-06-10" / "20-millrace-mid.yaml"), "--throw", "36 ft")
    assert code == 2
    assert "measured.job" in err


@pytest.mark.ci
def test_yard_work_has_nothing_to_measure(said: Said) -> None:
    code, _, err = said(YARD, "--throw", "36 ft")
    assert code == 2
    assert "no hose run here to measure" in err


def test_a_job_that_cannot_be_read_says_only_that(said: Said, tmp_path: Path) -> None:
    code, _, err = said(str(tmp_path / "none.yaml"), "--throw", "36 ft")
    assert code == 2
    assert "measured." not in err


def test_a_fan_is_not_asked_how_far_it_throws(said: Said, tmp_path: Path) -> None:
    job = _written(tmp_path, job={"hose_runs": {0: {"tip": "fan"}}})
    code, _, err = said(job, "--throw", "36 ft")
    assert code == 2
    assert "tip `fan` throws no solid jet" in err


def test_no_throw_is_told_of_a_fan_though_its_pump_wears(said: Said, tmp_path: Path) -> None:
    """What `compare` holds a throw on record against, and what a measured pump then reaches: a solid jet's alone."""
    fan = {"name": "rinse", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan", "target": "8 ft", "on_reel": "0 ft",
           "tip_height": "4 ft", "uphill": "0 ft", "standoff": "3 ft", "surfaces": ["wall"]}  # fmt: skip
    job = workspaces.merged(workspaces.base(), {"job": {"hose_runs": {0: {"surfaces": ["wall"]}}}})
    job["job"]["hose_runs"].append(fan)
    runs = job_json(workspaces.checked(tmp_path, job, tables=True), "us")["runs"]
    solid, rinse = (run["wear"]["points"] for run in runs)
    assert all(one["throw_m"] and one["ground_m"] for one in solid)
    assert {(one["throw_m"], one["ground_m"]) for one in rinse} == {(None, None)}
    assert rinse[0]["gauge_closed_pa"]
    assert (runs[1]["reach_m"], runs[1]["reach_low_m"]) == (None, None)
    _, out, _ = said(str(workspaces.write(tmp_path, job)), "--run", "front", "--gauge", "60 psi")
    assert "front reaches" in out
    assert "rinse reaches" not in out


def test_a_piston_pump_without_an_unloader_is_not_asked_for_a_closed_gauge(said: Said, tmp_path: Path) -> None:
    job = _written(tmp_path, rig={"pumps": {1: {"unloader": None}}}, job={"hose_runs": {0: {"pump": "washer"}}})
    code, _, err = said(job, "--gauge", "2800 psi")
    assert code == 2
    assert "washer has no unloader" in err


def test_what_no_condition_gives_is_said_plainly(said: Said, tmp_path: Path) -> None:
    code, out, _ = said(_written(tmp_path), "--gauge", "95 psi", "--bucket", "5 gal in 200 s")
    assert code == 0
    assert "This pump cannot give 95.0 psi in any condition; a good one gives" in out
    assert "is less than this pump gives with 30 % of itself left" in out


@pytest.mark.ci
def test_a_piston_pump_is_written_by_its_flow(said: Said, tmp_path: Path) -> None:
    job = _written(tmp_path, job={"hose_runs": {0: {"pump": "washer"}}})
    _, out, _ = said(job, "--bucket", "5 gal in 75 s")
    assert "Write `flow: 4.00 gpm` under washer" in out
    assert "share of flow" in out


@pytest.mark.ci
def test_a_tap_with_an_assumed_pressure_is_named_as_such(said: Said, tmp_path: Path) -> None:
    job = _written(
        tmp_path, job={"water": None, "tap": "5 gal in 40 s", "hose_runs": {0: {"pump": None, "feed": "tap"}}}
    )
    _, out, _ = said(job, "--gauge", "42 psi")
    assert "Write `static: 42.0 psi` under `water`" in out
    assert "static pressure is assumed" in out


@pytest.mark.ci
def test_a_run_sprayed_with_another_is_taken_as_measured_together(said: Said, tmp_path: Path) -> None:
    first = workspaces.base()["job"]["hose_runs"][0]
    runs = [{**first, "same_time": ["back"]}, {**first, "name": "back", "hoses": ["red"], "same_time": ["front"]}]
    job = _written(tmp_path, job={"hose_runs": runs})
    _, out, err = said(job, "--run", "front", "--bucket", "5 gal in 60 s")
    assert "Measured with back open too, as planned." in out, err


@pytest.mark.ci
def test_a_throw_is_still_read_as_the_jets_height_and_says_so(said: Said) -> None:
    code, out, err = said(MILLRACE, "--jet", "36 ft")
    assert ("jet up the wall" in err, "\njet " in out) == (False, True)
    again = said(MILLRACE, "--throw", "36 ft")
    assert again[:2] == (code, out)
    assert (
        again[2].splitlines()[0]
        == "--throw was read as the jet's height up the wall, which is --jet; a throw is along the ground."
    )
    told = json.loads(said("--json", MILLRACE, "--throw", "36 ft")[1])["jobs"][0]["measured"]
    assert json.loads(said("--json", MILLRACE, "--jet", "36 ft")[1])["jobs"][0]["measured"] == told


@pytest.mark.ci
def test_a_slip_in_a_jet_is_told_at_the_option_that_was_typed(said: Said) -> None:
    for option in ("--jet", "--throw"):
        assert f"command line: {option}: quantity.bare" in said(MILLRACE, option, "36")[2]
        assert f"command line: {option}: measured.throw a jet no higher" in said(MILLRACE, option, "3 ft")[2]
