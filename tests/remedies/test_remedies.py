"""What would cure a finding: every remedy, written into the files by hand, does what the search says it does."""

from __future__ import annotations

import copy
import json
import os
import re
import subprocess
import sys
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from planner.checks.evaluate import check_plan
from planner.checks.model import LEVELS, CheckedJob, Remedy
from planner.physics import jets
from planner.physics.liquids import GRAVITY
from planner.plan.line.apparatus import tip_orifice
from planner.plan.make import make_plan
from planner.plan.model import Value
from planner.remedies import trial
from planner.remedies.edits import edits_of
from planner.remedies.options import applied, options_for
from planner.remedies.search import CURABLE, MOST, MOST_TRIALS, with_remedies
from planner.remedies.trial import new_trouble
from planner.units import show
from planner.words import cures
from tests import workspaces

SPARE = {
    "hoses": [
        {"name": "red", "bore": "5/8 in", "length": "150 ft", "rated": "200 psi"},
        {"name": "blue", "bore": "1 in", "length": "150 ft", "rated": "100 psi"},
        {"name": "green", "bore": "3/4 in", "length": "50 ft", "rated": "200 psi"},
    ],
    "tips": [
        {"name": "long throw", "pattern": "solid", "orifice": "1/4 in"},
        {"name": "fan", "pattern": "fan", "flow": "5 gpm", "at": "40 psi"},
        {"name": "slim", "pattern": "solid", "orifice": "3/16 in"},
    ],
}


def _files(**change: Any) -> dict[str, Any]:
    return workspaces.merged(workspaces.base(), change)


def _run(**keys: Any) -> dict[str, Any]:
    return {"hose_runs": {0: keys}}


def _searched(folder: Path, files: dict[str, Any]) -> CheckedJob:
    return with_remedies(workspaces.checked(folder, files))


def _of(checked: CheckedJob, code: str) -> list[Remedy]:
    return [one for one in checked.remedies if one.code == code]


def _level(checked: CheckedJob, code: str) -> str:
    return next(one.level for one in checked.findings if one.code == code)


def edited(files: dict[str, Any], checked: CheckedJob, remedy: Remedy) -> dict[str, Any]:
    """The files with the remedy's edits made, as the owner would make them."""
    edits = edits_of(checked.plan.input, remedy)
    assert edits
    for path, text in edits:
        found = re.fullmatch(r"hose_runs\[(\d+)\]\.(\w+)", path)
        assert found is not None
        job = copy.deepcopy(files["job"])
        job["hose_runs"][int(found[1])][found[2]] = workspaces.as_written(f"it: {text}")["it"]
        files = {**files, "job": job}
    return files


SHORT = {
    "a long thin hose": (_files(rig=SPARE, job=_run(target="31 ft", standoff="15 ft")), "reach.short"),
    "all on the reel": (
        _files(rig=SPARE, job=_run(target="32 ft", standoff="15 ft", on_reel="150 ft")),
        "reach.short",
    ),
    "a fan tip": (_files(rig=SPARE, job=_run(target="25 ft", tip="fan")), "reach.pattern"),
    "a weak hose": (
        _files(rig={**SPARE, "hoses": [{**SPARE["hoses"][0], "rated": "60 psi"}, *SPARE["hoses"][1:]]}),
        "line.rating",
    ),
    "a diaphragm pump on a small tip": (
        _files(
            rig={**SPARE, "tips": [*SPARE["tips"], {"name": "pin", "pattern": "solid", "orifice": "1/16 in"}]},
            job=_run(pump="transfer", tip="pin", target="8 ft"),
        ),
        "pump.cycling",
    ),
    "a hard push": (
        _files(company={"limits": {"reaction": "3 lbf"}}, rig=SPARE, job=_run(hoses=["blue"], target="20 ft")),
        "line.reaction",
    ),
}


@pytest.mark.ci
@pytest.mark.parametrize("case", SHORT)
def test_each_remedy_written_into_the_files_gives_the_figures_it_was_told_with(case: str, tmp_path: Path) -> None:
    files, code = SHORT[case]
    checked = _searched(tmp_path / "as written", files)
    assert _level(checked, code) in ("stop", "caution")
    told = [one for one in _of(checked, code) if one.on_rig]
    assert 1 <= len(told) <= MOST
    for number, remedy in enumerate(told):
        by_hand = workspaces.checked(tmp_path / str(number), edited(files, checked, remedy))
        assert remedy.after is not None
        assert _level(by_hand, code) == remedy.after.level
        assert LEVELS.index(remedy.after.level) > LEVELS.index(
            next(f.level for f in checked.findings if f.code == code)
        )
        planned = by_hand.plan.runs[0]
        assert remedy.run is not None
        assert remedy.run.flow == pytest.approx(planned.flow, rel=1e-6)
        assert remedy.run.tip_pressure == pytest.approx(planned.tip_pressure, rel=1e-6)
        if planned.reach is not None:
            assert remedy.run.reach is not None
            assert remedy.run.reach.low == pytest.approx(planned.reach.low, abs=1e-5)
        assert new_trouble(checked, by_hand)[0] == 0


@pytest.mark.ci
def test_the_search_finds_the_least_trouble_that_a_search_of_everything_finds(tmp_path: Path) -> None:
    files, code = SHORT["a long thin hose"]
    checked = _searched(tmp_path, files)
    job = checked.plan.input
    singles = options_for(job, job.runs[0], CURABLE[code])
    combos = [(one,) for one in singles]
    combos += [pair for pair in combinations(singles, 2) if not pair[0].touches & pair[1].touches]  # type: ignore[misc]
    curing = []
    for options in combos:
        altered = applied(job, "front", options)
        if altered is None:
            continue
        after = check_plan(make_plan(altered, tables=False))
        if _level(after, code) == "ok" and new_trouble(checked, after)[0] == 0:
            curing.append((len(options), sum(one.effort for one in options)))
    told = [one for one in _of(checked, code) if one.on_rig]
    assert curing
    assert told[0].after is not None
    assert told[0].after.level == "ok"
    assert len(told[0].changes) == min(curing)[0]
    assert min(MOST, len(curing)) == len(told)


def test_nothing_is_searched_where_nothing_asks(tmp_path: Path) -> None:
    checked = workspaces.checked(tmp_path, workspaces.base())
    assert with_remedies(checked) is checked


def test_what_somebody_accepted_is_not_searched(tmp_path: Path) -> None:
    files, code = SHORT["a long thin hose"]
    accept = [{"finding": code, "reason": "lift on site", "by": "owner"}]
    checked = _searched(tmp_path, workspaces.merged(files, {"job": {"accept": accept}}))
    assert not _of(checked, code)


@pytest.mark.ci
def test_where_nothing_on_the_trailer_does_the_gap_is_told_in_numbers(tmp_path: Path) -> None:
    """The needed pressure put into the jet gives exactly the target at the low end of the band."""
    checked = _searched(tmp_path, _files(job={"building": {"height": "50 ft"}, **_run(target="50 ft")}))
    told = _of(checked, "reach.short")
    assert not any(one.on_rig for one in told)
    gap = next(one for one in told if one.changes[0].kind == "gap").changes[0].values
    planned = checked.plan.runs[0]
    needed, given = gap["needed"], gap["given"]
    assert isinstance(needed, Value)
    assert isinstance(given, Value)
    assert given.amount == planned.tip_pressure
    head = needed.amount / (planned.liquid.density * GRAVITY)
    thrown = jets.highest_at(head, tip_orifice(planned.input), planned.input.standoff)
    assert thrown is not None
    low = planned.input.tip_height + checked.plan.input.limits["reach_low_factor"] * thrown.height
    assert low == pytest.approx(planned.input.target, abs=0.02)


def test_a_pump_that_would_do_does(tmp_path: Path) -> None:
    files = _files(job={"building": {"height": "50 ft"}, **_run(target="50 ft")})
    checked = _searched(tmp_path / "short", files)
    (pump,) = [one.changes[0] for one in _of(checked, "reach.short") if one.changes[0].kind == "get_pump"]
    pressure, flow = pump.values["pressure"], pump.values["flow"]
    assert isinstance(pressure, Value)
    assert isinstance(flow, Value)
    strong = {"flow": f"{flow.amount * 1000 * 60:.9f} L/min", "unloader": "3000 psi"}
    stronger = workspaces.merged(files, {"rig": {"pumps": {1: strong}}, "job": _run(pump="washer")})
    planned = workspaces.checked(tmp_path / "strong", stronger).plan.runs[0]
    assert planned.pump_pressure == pytest.approx(pressure.amount, rel=1e-6)
    assert planned.reach is not None
    assert planned.reach.low == pytest.approx(planned.input.target, abs=0.02)


@pytest.mark.ci
def test_wider_hose_from_a_shop_is_told_where_it_alone_would_do(tmp_path: Path) -> None:
    thin = [{"name": "red", "bore": "1/2 in", "length": "150 ft", "rated": "200 psi"}]
    checked = _searched(tmp_path, _files(rig={"hoses": thin}, job=_run(target="33 ft")))
    told = [one for one in _of(checked, "reach.short") if one.changes[0].kind == "get_hose"]
    assert [one.changes[0].values["bore"] for one in told] == ["3/4 in"]
    assert told[0].after is not None
    assert told[0].after.level == "ok"
    assert not told[0].on_rig


def test_a_mix_the_panel_cannot_give_is_dosed_another_way(tmp_path: Path) -> None:
    job = {
        "chemicals": [{"stock": "bleach", "strength": "4 %", "reason": "lichen"}],
        "surfaces": [{"name": "roof", "kind": "asphalt_shingle", "area": "500 ft2"}],
        **_run(dosing="panel"),
    }
    files = _files(job=job)
    checked = _searched(tmp_path / "panel", files)
    assert _level(checked, "mix.reach") == "stop"
    told = [one for one in _of(checked, "mix.reach") if one.on_rig]
    assert [change.kind for change in told[0].changes] == ["premix"]
    by_hand = workspaces.checked(tmp_path / "hand", edited(files, checked, told[0]))
    assert _level(by_hand, "mix.reach") == "ok"


@pytest.mark.ci
def test_a_search_takes_no_other_run_out_of_its_group_by_accident(tmp_path: Path) -> None:
    """Two guns at once are too much for the pump; one alone is not."""
    second = {
        "name": "back", "pump": "booster", "feed": "water", "hoses": ["red 2"], "tip": "long throw", "tip_height": "4 ft",
        "uphill": "0 ft", "standoff": "10 ft", "target": "10 ft", "on_reel": "0 ft", "same_time": ["front"],
    }  # fmt: skip
    files = _files(
        rig={
            "hoses": [
                {"name": "red", "bore": "3/4 in", "length": "100 ft"},
                {"name": "red 2", "bore": "3/4 in", "length": "100 ft"},
            ]
        },
    )
    files["job"]["hose_runs"][0]["target"] = "34 ft"
    files["job"]["hose_runs"].append(second)
    checked = _searched(tmp_path, files)
    told = _of(checked, "reach.short")
    alone = next(one for one in told if one.changes[0].kind == "apart")
    assert alone.run is not None
    assert alone.run.input.same_time == ()
    assert alone.run.flow > checked.plan.runs[0].flow


@pytest.mark.ci
def test_what_a_remedy_does_to_the_day_is_said_and_counts_as_trouble(tmp_path: Path) -> None:
    """The smaller tip is soon fitted, and rinses a large house for an hour more: a hose laid anew is less trouble."""
    surfaces = [{"name": "wall", "kind": "vinyl", "area": "12000 ft2"}]
    run = _run(target="31 ft", standoff="15 ft", dosing="panel")
    job = {"surfaces": surfaces, "chemicals": [{"stock": "drum", "strength": "1 %"}], **run}
    files = _files(rig={**SPARE, "tips": SPARE["tips"][::2]}, job=job)
    checked = _searched(tmp_path / "as written", files)
    told = {one.changes[0].kind: one for one in _of(checked, "reach.short") if len(one.changes) == 1}
    slim = told["tip"]
    by_hand = workspaces.checked(tmp_path / "slim", edited(files, checked, slim))
    longer = sum(span.seconds for span in by_hand.plan.time) - sum(span.seconds for span in checked.plan.time)
    assert slim.added == pytest.approx(longer)
    assert longer > 1800.0
    assert slim.trouble == 2 + int(longer / 900.0)
    assert "(adds 1 h " in cures.sentence(slim, "us")
    assert told["swap"].added == 0.0
    assert "adds" not in cures.sentence(told["swap"], "us")
    assert [one.trouble for one in _of(checked, "reach.short")] == sorted(
        one.trouble for one in _of(checked, "reach.short")
    )
    assert _of(checked, "reach.short")[0].changes[0].kind == "swap"


@pytest.mark.ci
def test_of_a_job_no_more_is_tried_than_four_hundred_plans(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A trailer full of gear, three runs that do nothing right: the search breaks off and says so."""
    made = []

    def counted(*args: Any, **keys: Any) -> Any:
        made.append(1)
        return make_plan(*args, **keys)

    monkeypatch.setattr(trial, "make_plan", counted)
    files = _crowded()
    checked = _searched(tmp_path, files)
    assert len(checked.tried) >= 8
    assert 100 < len(made) <= MOST_TRIALS
    assert checked.broken_off
    code, about = min(checked.broken_off)
    finding = next(one for one in checked.findings if (one.code, one.about) == (code, about))
    if not any(one.on_rig for one in cures.cures_of(checked, finding)):
        assert "not in every way" in cures.in_full(checked, finding, "us")


def _crowded() -> dict[str, Any]:
    files = _files(company={"limits": {"reaction_on_ladder": "1 lbf"}}, job={"access": {"on_ladder": "true"}})
    files["job"]["building"]["height"] = "60 ft"
    rig, run = files["rig"], files["job"]["hose_runs"][0]
    bores, lengths = ("1/2 in", "5/8 in", "3/4 in", "1 in"), ("50 ft", "100 ft", "150 ft")
    rig["hoses"] = [
        {"name": f"h{n}", "bore": bores[n % 4], "length": lengths[n % 3], "rated": ("60 psi", "200 psi")[n % 2]}
        for n in range(16)
    ]
    rig["tips"] = [{"name": f"t{n}", "pattern": "solid", "orifice": f"{6 + n}/64 in"} for n in range(10)]
    rig["pumps"] += [{**copy.deepcopy(rig["pumps"][0]), "name": f"b{n}", "npsh_required": "20 ft"} for n in range(3)]
    files["job"]["hose_runs"] = [
        {**run, "name": f"r{n}", "hoses": [f"h{n}"], "tip": f"t{3 * n}", "pump": ("booster", "washer", "b0")[n],
         "target": ("45 ft", "60 ft", "48 ft")[n], "on_reel": "20 ft"}
        for n in range(3)
    ]  # fmt: skip
    return files


@pytest.mark.ci
def test_the_same_remedies_in_the_same_order_whatever_python_hashes(tmp_path: Path) -> None:
    path = workspaces.write(tmp_path, _crowded())
    told = set()
    for seed in ("1", "2"):
        called = [sys.executable, "-m", "planner", "check", str(path), "--json"]
        done = subprocess.run(called, env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, check=False)
        told.add(done.stdout)
        assert len(json.loads(done.stdout)["jobs"][0]["remedies"]) > 10
    assert len(told) == 1


def test_of_tips_that_cure_alike_the_one_most_like_its_own_comes_first(tmp_path: Path) -> None:
    tips = [
        {"name": size, "pattern": "solid", "orifice": size} for size in ("1/4 in", "3/16 in", "13/64 in", "7/32 in")
    ]
    files = _files(rig={**SPARE, "tips": tips}, job=_run(target="31 ft", standoff="15 ft", tip="1/4 in"))
    told = _of(_searched(tmp_path, files), "reach.short")
    assert [one.changes[0].values["tip"] for one in told] == ["7/32 in", "13/64 in", "3/16 in"]


@pytest.mark.ci
@pytest.mark.parametrize(
    ("units", "bore", "wider"), [("us", "5/8 in", "3/4 in"), ("si", "5/8 in", "3/4 in"), ("si", "16 mm", "19 mm")]
)
def test_bores_are_said_as_the_rig_has_them_whatever_the_company_reads_in(
    tmp_path: Path, units: str, bore: str, wider: str
) -> None:
    """A shop's sizes are those of the trailer's own hoses: nobody buys a hose of 15.9 mm or a tip of 0.156 in."""
    unit = bore[-2:]
    hoses = [{"name": "red", "bore": bore, "length": "200 ft"}]
    weak = {"water": {"static": "20 psi", "flow_test": {"flow": "2 gpm", "pressure": "5 psi"}}}
    tips = [{"name": "own", "pattern": "solid", "orifice": "1/4 in" if unit == "in" else "6 mm"}]
    rig, short = {"hoses": hoses, "tips": tips}, {**weak, **_run(tip="own", target="33 ft", standoff="15 ft")}
    checked = _searched(tmp_path, _files(company={"units": units}, rig=rig, job=short))
    said = " ".join(cures.sentence(one, checked.plan.input.company.units) for one in _of(checked, "reach.short"))
    assert f"of {bore} hose" in said
    assert f"{wider} hose throughout" in said
    assert show(0.0254 * 5 / 32, "bore", "us") == "5/32 in"
