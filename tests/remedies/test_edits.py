"""A remedy's edits, made to the bytes of the job's own file: planned again, it is what the search promised."""

from __future__ import annotations

import copy
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.checks.evaluate import check_plan
from planner.checks.model import LEVELS, CheckedJob, Remedy
from planner.commands.start import copy_demo
from planner.inputs.joined import RunInput
from planner.inputs.reading.spans import edited
from planner.inputs.workspace import load
from planner.plan.make import make_plan
from planner.remedies.edits import edits_of
from planner.remedies.options import applied, options_for
from planner.remedies.search import with_remedies
from planner.remedies.table import efforts
from planner.remedies.trial import new_trouble
from tests import workspaces
from tests.inputs.desk import WORKSPACE
from tests.remedies.test_remedies import SHORT, SPARE
from tests.sampled import one_in

_JOB_KEYS = ("uphill", "target")
_NOTE = "# the owner's own words\n"


def _checked(path: Path) -> CheckedJob:
    read = load([path])
    assert not read.faults, "\n".join(f"{fault.where}: {fault.message}" for fault in read.faults)
    return check_plan(make_plan(read.jobs[0], tables=False))


def _as_runs(folder: Path, files: dict[str, Any]) -> Path:
    return workspaces.write(folder, files)


def _as_setup(folder: Path, files: dict[str, Any]) -> Path:
    """The run as a setup of the rig, the job with short keys."""
    run = files["job"]["hose_runs"][0]
    job = {key: value for key, value in files["job"].items() if key != "hose_runs"}
    setup = {key: value for key, value in run.items() if key not in _JOB_KEYS}
    other = {
        **copy.deepcopy(setup),
        "name": "other",
        "hoses": [files["rig"]["hoses"][1]["name"]],
        "tip_height": "5 ft",
    }
    job |= {"setup": "front", **{key: run[key] for key in _JOB_KEYS if key in run}}
    return workspaces.write(folder, {**files, "job": job, "rig": {**files["rig"], "setups": [setup, other]}})


def _as_setups(folder: Path, files: dict[str, Any]) -> Path:
    path = _as_setup(folder, files)
    text = path.read_text(encoding="utf-8").replace("setup: front\n", "setup: [front, other]  # both\n")
    path.write_text(text, encoding="utf-8")
    return path


def _like(earlier: Callable[[Path, dict[str, Any]], Path]) -> Callable[[Path, dict[str, Any]], Path]:
    def write(folder: Path, files: dict[str, Any]) -> Path:
        path = earlier(folder, files)
        first = folder / "2026-06-01"
        first.mkdir()
        path.rename(first / "10-first.yaml")
        path.write_text(
            "job: Case again\nlike: 2026-06-01/10-first\n" + ("uphill: 0 ft\n" if earlier is _as_setup else "")
        )
        return path

    return write


FORMS = {
    "runs": _as_runs, "setup": _as_setup, "setups": _as_setups, "like runs": _like(_as_runs), "like setup": _like(_as_setup),
}  # fmt: skip


def _made(checked: CheckedJob, remedy: Remedy, path: Path) -> CheckedJob:
    """The job after its file was edited; everything else on the disk stays as it was."""
    edits = edits_of(checked.plan.input, remedy)
    assert edits, remedy
    before = path.read_bytes()
    try:
        after = edited(before, edits)
        path.write_bytes(after)
        assert before.startswith(_NOTE.encode()) == after.startswith(_NOTE.encode())
        return _checked(path)
    finally:
        path.write_bytes(before)


def _as_promised(checked: CheckedJob, remedy: Remedy, after: CheckedJob) -> None:
    assert remedy.run is not None
    place = next(n for n, run in enumerate(checked.plan.input.runs) if run.name == remedy.run.name)
    planned = after.plan.runs[[run.name for run in after.plan.runs].index(after.plan.input.runs[place].name)]
    assert planned.flow == pytest.approx(remedy.run.flow, rel=1e-6)
    assert planned.tip_pressure == pytest.approx(remedy.run.tip_pressure, rel=1e-6)
    assert (planned.reach is None) == (remedy.run.reach is None)
    if planned.reach is not None and remedy.run.reach is not None:
        assert planned.reach.low == pytest.approx(remedy.run.reach.low, abs=1e-5)
    about = planned.name if remedy.about == remedy.run.name else remedy.about
    found = [one.level for one in after.findings if (one.code, one.about) == (remedy.code, about)]
    promised = remedy.after.level if remedy.after is not None else "none"
    assert min(found, key=LEVELS.index, default="none") == promised


@pytest.mark.parametrize(("form", "case"), one_in(4, [(form, case) for form in FORMS for case in SHORT]))
@pytest.mark.ci
def test_edits_make_what_was_promised_however_the_job_is_written(form: str, case: str, tmp_path: Path) -> None:
    files, _ = SHORT[case]
    path = FORMS[form](tmp_path, files)
    path.write_text(_NOTE + path.read_text(encoding="utf-8"), encoding="utf-8")
    checked = with_remedies(_checked(path))
    told = [one for one in checked.remedies if one.on_rig]
    assert told
    for remedy in told:
        after = _made(checked, remedy, path)
        _as_promised(checked, remedy, after)
        assert new_trouble(checked, after)[0] == 0 or form.endswith("setups")


def _as_joined(run: RunInput) -> dict[str, Any]:
    """What a run is joined to, by name."""
    return {
        "pump": run.pump and run.pump.name, "feed": (run.feed, run.feed_tank and run.feed_tank.name, run.feed_head),
        "dosing": (run.premix, run.dosing and run.dosing.name), "hoses": run.hoses, "suction": run.suction,
        "tips": {role: tip.name for role, tip in run.tips.items()}, "lines": dict(run.role_hoses), "group": run.same_time,
        "fittings": {fitting.kind: (fitting.count, fitting.bore) for fitting in run.fittings}, "hot": run.hot,
        "lengths": [round(one, 9) for one in (run.on_reel, run.uphill, run.tip_height, run.standoff, run.past_eave)],
    }  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_every_change_that_is_tried_can_be_written(form: str, tmp_path: Path) -> None:
    """The least that will do is written: a key of its own, another setup's name, or the run written out."""
    run = {"on_reel": "100 ft", "dosing": "panel", "rinse_tip": "fan", "fittings": {"coupling": "2", "k": "1.5"}}
    files = workspaces.merged(workspaces.base(), {"rig": SPARE, "job": {"hose_runs": {0: run}}})
    files["job"]["water"]["source"] = "tap"
    path = FORMS[form](tmp_path, files)
    before, checked = path.read_bytes(), _checked(path)
    job, kinds = checked.plan.input, dict[str, set[str]]()
    for option in options_for(job, job.runs[0], frozenset(efforts())):
        altered = applied(job, job.runs[0].name, (option,))
        if altered is None:
            continue
        planned = replace(checked.plan.runs[0], input=altered.runs[0])
        remedy = Remedy(
            code="reach.short", about="front", changes=(option.change,), after=None, run=planned, on_rig=True
        )
        edits = edits_of(job, remedy)
        assert edits, option.change
        path.write_bytes(edited(before, edits))
        read = load([path])
        assert not read.faults
        assert _as_joined(read.jobs[0].runs[0]) == _as_joined(altered.runs[0]), (option.change, edits)
        kinds.setdefault(option.change.kind, set()).add(re.sub(r"\W.*", "", edits[0][0]))
    path.write_bytes(before)
    assert {"standoff", "tip", "rinse_tip", "unreel", "dosing", "swap", "feed_tap", "premix", "hoses"} <= set(kinds)
    assert kinds["tip"] == kinds["swap"] == {"hose_runs"}
    assert kinds["unreel"] == {"on_reel" if form in ("setup", "like setup") else "hose_runs"}
    if "setup" in form:
        assert kinds["setup"] == {"setup" if form != "setups" else "hose_runs"}


DEMO = [
    ("2026-06-09/10-millrace.yaml", "height: 27 ft", "height: 36 ft"),
    ("2026-06-09/10-millrace.yaml", "setup: house", "setup: water"),
    ("2026-06-09/20-granary.yaml", "target: 17 ft", "target: 24 ft"),
    ("2026-06-09/30-kiln.yaml", "building: {height: 13 ft}", "building: {height: 34 ft}"),
    ("2026-06-10/10-slipway.yaml", "setup: flat", "setup: flat\nfittings: {coupling: 30}"),
]


@pytest.mark.ci
@pytest.mark.parametrize(("file", "old", "new"), DEMO)
def test_edits_of_the_demo_make_what_was_promised(file: str, old: str, new: str, tmp_path: Path) -> None:
    copy_demo(tmp_path / "jobs")
    _tried(tmp_path / "jobs" / file, old, new)


@pytest.mark.ci
def test_edits_of_runs_sprayed_together_make_what_was_promised(tmp_path: Path) -> None:
    shutil.copytree(WORKSPACE, tmp_path / "w")
    _tried(tmp_path / "w" / "2026-06-09" / "10-boathouse.yaml", "job:", "job:")


def _tried(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    checked = with_remedies(_checked(path))
    told = [one for one in checked.remedies if one.on_rig]
    assert told
    for remedy in told:
        _as_promised(checked, remedy, _made(checked, remedy, path))
