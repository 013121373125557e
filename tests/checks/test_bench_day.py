"""The day at the bench: its weather, its current, and what it found of a pump that other jobs of the day take."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob, Finding
from planner.commands.prepare import Trouble, checked_jobs
from planner.inputs.workspace import load
from planner.packet import words
from tests import workspaces
from tests.plan.benches import SETUPS, checked, told

COLD = {"day": {"forecast": {"low": "20 F", "high": "34 F", "wind": "30 mph", "gust": "45 mph"}}}


def test_frost_wind_and_heat_are_held_against_the_bench_too(tmp_path: Path) -> None:
    job = checked(tmp_path / "cold", change=COLD)
    assert told(job, "weather.freeze") == {"forecast": ("caution", "bench")}
    assert told(job, "weather.wind") == {"bath": ("stop", "bench_bath_storm"), "test": ("caution", "bench_throw")}
    (frost,) = [one for one in job.findings if one.code == "weather.freeze"]
    assert "Drain booster" in words.remedy(frost, "us")
    hot = checked(tmp_path / "hot", change={"day": {"forecast": {"low": "75 F", "high": "95 F"}}})
    assert told(hot, "weather.heat") == {"forecast": ("caution", "bench")}
    mild = checked(tmp_path / "mild", change={"day": {"forecast": {"low": "60 F", "high": "75 F", "wind": "6 mph"}}})
    assert told(mild, "weather.wind") == {"bath": ("ok", "bench_bath_ok"), "test": ("ok", "bench_throw_ok")}
    assert told(mild, "weather.freeze") == {"forecast": ("ok", "ok")}


@pytest.mark.parametrize(
    ("forecast", "bath", "test"),
    [
        ({"wind": "8 mph"}, "bench_bath_ok", "bench_throw_ok"),
        ({"wind": "8.1 mph"}, "bench_bath_ok", "bench_throw"),
        ({"wind": "10 mph"}, "bench_bath_ok", "bench_throw"),
        ({"wind": "10.1 mph"}, "bench_bath", "bench_throw"),
        ({"wind": "15 mph"}, "bench_bath", "bench_throw"),
        ({"wind": "15.1 mph"}, "bench_bath_storm", "bench_throw"),
        ({"wind": "2 mph", "gust": "16 mph"}, "bench_bath_gust", "bench_throw_gust"),
        ({"wind": None, "gust": "14 mph"}, "gusts_only", "gusts_only"),
    ],
)
def test_each_wind_has_its_word(forecast: dict[str, Any], bath: str, test: str, tmp_path: Path) -> None:
    found = told(checked(tmp_path, change={"day": {"forecast": forecast}}), "weather.wind")
    assert (found["bath"][1], found["test"][1]) == (bath, test)


def test_a_motor_of_mains_voltage_on_the_bench_wants_its_gfci(tmp_path: Path) -> None:
    mains = {"motor": {"power": "0.75 hp", "volts": "115"}}
    for number, (power, expected) in enumerate((
        ({"gfci": True}, ("ok", "bench_ok")), ({"gfci": False}, ("stop", "missing")), ({}, ("caution", "not_written")),
    )):  # fmt: skip
        rig = {"pumps": {"0": {"wetted": ["plastic"], **mains}}, "power": {"generator": "3500 W", **power}}
        assert told(checked(tmp_path / f"{number}", change={"rig": rig}), "power.gfci") == {"rig": expected}
    assert told(checked(tmp_path / "none"), "power.gfci") == {"rig": ("none", "bench_none")}


def test_nothing_false_is_said_of_load_and_water(tmp_path: Path) -> None:
    job = checked(tmp_path)
    said = {one.code: words.message(one, "us") for one in job.findings if one.code in ("load.apart", "supply.dry")}
    assert "No chemical" not in said["load.apart"]
    assert "No water is drawn" not in said["supply.dry"]


# ------------------------------------------------------------------------------------ a pump found worn that day


def _day(folder: Path, yard: dict[str, Any], name: str = "90-pump", rig: dict[str, Any] | None = None) -> Path:
    files = workspaces.merged(workspaces.merged(workspaces.base(), SETUPS), {"rig": rig or {}})
    path = workspaces.write(folder, files)
    text = {"job": "Strip-down", "kind": "yard", "pump": "booster", **yard}
    (path.parent / f"{name}.yaml").write_text(yaml.safe_dump(text), encoding="utf-8")
    return path


def _jobs(*paths: Path) -> dict[str, CheckedJob]:
    read = load(list(paths))
    assert not read.faults, read.faults
    return {job.plan.id.rpartition("/")[2]: job for job in checked_jobs(read.jobs, Trouble(faults=[]))}


def _wear(job: CheckedJob) -> Finding:
    (found,) = [one for one in job.findings if one.code == "pump.wear"]
    return found


def test_a_job_takes_no_pump_for_sound_that_the_days_yard_job_found_worn(tmp_path: Path) -> None:
    path = _day(tmp_path, {"work": ["rebuild", "test"], "gauge": "56 psi"})
    for jobs in (_jobs(path.parent), _jobs(path)):  # the whole day, and the job alone
        finding = _wear(jobs[path.stem])
        assert (finding.level, finding.case) == ("caution", "bench_found_new")
        said, cure = words.message(finding, "us"), words.remedy(finding, "us")
        assert "Strip-down" in said
        assert "56 psi" in said
        assert "With that it gets to" in said
        assert "`condition: 0.7" in cure or "`condition: 0.8" in cure
        then, now = finding.values["then"], jobs[path.stem].plan.runs[0].reach
        assert now is not None
        assert then.amount < now.nominal  # type: ignore[union-attr]


def test_what_is_written_close_to_it_is_left_alone_and_what_is_not_is_told(tmp_path: Path) -> None:
    for condition, case in (("0.85", "ok"), ("0.95", "bench_found")):
        rig = {"pumps": {"0": {"wetted": ["plastic"], "condition": condition}}}
        path = _day(tmp_path / condition, {"work": ["rebuild", "test"], "gauge": "56 psi"}, rig=rig)
        assert _wear(_jobs(path.parent)[path.stem]).case == case


def test_a_throw_within_what_jets_differ_by_and_a_pump_mended_before_tell_nothing(tmp_path: Path) -> None:
    near = _day(tmp_path / "near", {"work": "test", "throw": "61 ft"})
    assert _wear(_jobs(near.parent)[near.stem]).case == "as_new"
    mended = _day(tmp_path / "mended", {"work": ["rebuild", "test"], "gauge": "56 psi"}, name="05-pump")
    assert _wear(_jobs(mended.parent)[mended.stem]).case == "as_new"
    tested = _day(tmp_path / "tested", {"work": "test", "gauge": "56 psi"}, name="05-pump")
    assert _wear(_jobs(tested.parent)[tested.stem]).case == "bench_found_new"
    other = _day(tmp_path / "other", {"pump": "washer", "work": "test", "bucket": "5 gal in 90 s"})
    assert _wear(_jobs(other.parent)[other.stem]).case == "as_new"


def test_a_throw_far_short_is_told_with_the_share_it_leaves(tmp_path: Path) -> None:
    path = _day(tmp_path, {"work": "test", "throw": "45 ft"})
    finding = _wear(_jobs(path.parent)[path.stem])
    assert finding.case == "bench_found_thrown"
    assert " % to " in words.message(finding, "us"), "a throw leaves a range"
    assert "Read the gauge" in words.remedy(finding, "us")
