"""The day at the bench: its weather, its current, and what it found of a pump that other jobs of the day take."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob, Finding
from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.workspace import load
from planner.words import spoken as words
from tests import workspaces
from tests.plan.yard.benches import SETUPS, checked, told

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
    return {job.plan.id.rpartition("/")[2]: job for job in checked_jobs(read, Trouble(faults=[]))}


def _wear(job: CheckedJob) -> Finding:
    (found,) = [one for one in job.findings if one.code == "pump.wear"]
    return found


@pytest.mark.ci
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
        assert then.amount < now.nominal


def test_what_is_written_close_to_it_is_left_alone_and_what_is_not_is_told(tmp_path: Path) -> None:
    for condition, case in (("0.85", "ok"), ("0.95", "bench_found")):
        rig = {"pumps": {"0": {"wetted": ["plastic"], "condition": condition}}}
        path = _day(tmp_path / condition, {"work": ["rebuild", "test"], "gauge": "56 psi"}, rig=rig)
        assert _wear(_jobs(path.parent)[path.stem]).case == case


@pytest.mark.ci
def test_a_throw_within_what_jets_differ_by_tells_nothing_and_a_test_whenever_it_is(tmp_path: Path) -> None:
    near = _day(tmp_path / "near", {"work": "test", "throw": "61 ft"})
    assert _wear(_jobs(near.parent)[near.stem]).case == "as_new"
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


def _add(path: Path, name: str, **yard: Any) -> None:
    text = {"job": name, "kind": "yard", "pump": "booster", **yard}
    (path.parent / f"{name}.yaml").write_text(yaml.safe_dump(text), encoding="utf-8")


@pytest.mark.ci
def test_a_pump_mended_before_the_job_is_sound_only_once_its_test_says_so(tmp_path: Path) -> None:
    path = _day(tmp_path / "mended", {"work": ["rebuild", "test"], "gauge": "56 psi"}, name="05-pump")
    for jobs in (_jobs(path.parent), _jobs(path)):
        finding = _wear(jobs[path.stem])
        assert (finding.level, finding.case) == ("caution", "bench_mended")
        sound = jobs[path.stem].plan.found.benched[0].found.sound / 6894.757
        assert f"shows {sound:.0f} psi again" in words.remedy(finding, "us")
        assert "or do the yard job first" not in words.remedy(finding, "us")
    _add(path, "06-again", work="test", gauge="69 psi")
    assert _wear(_jobs(path.parent)[path.stem]).case == "as_new", "a test after it showed that it is sound"
    other = _day(tmp_path / "other", {"work": "test", "gauge": "56 psi"}, name="05-pump")
    _add(other, "06-mend", work="rebuild")
    assert _wear(_jobs(other.parent)[other.stem]).case == "bench_mended", "found by one yard job, mended by the next"


@pytest.mark.ci
@pytest.mark.parametrize("name", ["05-pump", "90-pump"])
def test_the_yard_job_is_a_cure_only_where_it_mends_and_comes_after(name: str, tmp_path: Path) -> None:
    for work, cures in (("test", False), (["descale", "test"], name == "90-pump")):
        path = _day(tmp_path / f"{work}", {"work": work, "gauge": "56 psi"}, name=name)
        cure = words.remedy(_wear(_jobs(path.parent)[path.stem]), "us")
        assert ("or do the yard job first" in cure) == cures
    for work, case in (("test", "bench_found_stopped"), (["rebuild", "test"], "bench_found_short")):
        path = _day(tmp_path / f"short {work}", {"work": work, "gauge": "5 psi"}, name="90-pump")
        finding = _wear(_jobs(path.parent)[path.stem])
        assert finding.case == case
        assert ("until the yard job is done" in words.remedy(finding, "us")) == (case == "bench_found_short")


@pytest.mark.ci
def test_a_line_that_held_water_back_is_told_to_the_jobs_that_take_it(tmp_path: Path) -> None:
    read = {"gauge": "69 psi", "bucket": "5 gal in 45 s"}
    for name, work in (("05-pump", "test"), ("05-pump", ["rebuild", "test"]), ("90-pump", "test")):
        path = _day(tmp_path / f"{name} {work}", {"work": work, **read}, name=name)
        found = [one for one in _jobs(path.parent)[path.stem].findings if one.code == "pump.wear"]
        found.sort(key=lambda one: one.about)
        assert [(one.about, one.level, one.case) for one in found] == [
            ("front", "ok", "as_new"), ("front, line", "caution", "bench_line"),
        ]  # fmt: skip
        said = words.message(found[1], "us")
        assert "6.7 gpm by a bucket" in said
        assert "booster, red and long throw" in said
        assert "condition" not in words.remedy(found[1], "us")
    mended = _day(tmp_path / "timed", {"work": "test", **read}, name="05-pump")
    _add(mended, "06-again", work="test", gauge="69 psi")
    assert len([one for one in _jobs(mended.parent)[mended.stem].findings if one.code == "pump.wear"]) == 2
    _add(mended, "07-again", work="test", bucket="5 gal in 29 s")
    assert _wear(_jobs(mended.parent)[mended.stem]).case == "as_new", "the bucket was timed again"


def test_a_worn_pump_and_a_line_that_takes_more_are_both_told(tmp_path: Path) -> None:
    path = _day(tmp_path, {"work": "test", "gauge": "56 psi", "bucket": "5 gal in 60 s"})
    found = [one for one in _jobs(path.parent)[path.stem].findings if one.code == "pump.wear"]
    assert [one.case for one in found] == ["bench_found_new", "bench_line"]


@pytest.mark.ci
def test_a_pump_whose_yard_job_is_held_is_as_worn_as_it_was_found(tmp_path: Path) -> None:
    bath = {"work": ["descale", "test"], "gauge": "56 psi"}
    goes = _day(tmp_path / "goes", bath, "05-pump")
    held = _day(tmp_path / "held", {**bath, "tub": "500 gal"}, "05-pump")
    jobs = [_jobs(path.parent) for path in (goes, held)]
    assert [found["05-pump"].held for found in jobs] == [False, True]
    cases = [_wear(found[path.stem]).case for found, path in zip(jobs, (goes, held), strict=True)]
    assert cases[1] == "bench_found_new"
    assert cases[0] != cases[1]
