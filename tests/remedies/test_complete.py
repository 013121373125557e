"""The search against a trial of everything: every set of up to three changes, planned and judged one by one."""

from __future__ import annotations

import random
from collections import Counter
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from planner.checks.evaluate import check_plan
from planner.checks.model import NEVER_ON_THE_CARD, CheckedJob, Finding
from planner.physics.lines import SolveError
from planner.plan.make import make_plan
from planner.remedies.options import applied, options_for, parting
from planner.remedies.search import CURABLE, run_of, with_remedies
from planner.remedies.trial import _guessed, falls_shorter, soiled, unknown
from planner.words import cures
from tests import workspaces
from tests.remedies.test_remedies import edited

HARD = ("stop", "caution")


def _random_files(seed: int) -> dict[str, Any]:
    """A short rig and one or two runs that seldom do all that is asked of them."""
    pick = random.Random(seed)
    hoses = [
        {
            "name": f"hose {n}",
            "bore": pick.choice(["3/8 in", "1/2 in", "5/8 in", "3/4 in", "1 in"]),
            "length": pick.choice(["50 ft", "100 ft", "150 ft"]),
            "rated": pick.choice(["60 psi", "100 psi", "300 psi", "3500 psi"]),
        }
        for n in range(pick.choice([2, 3]))
    ]
    orifices = pick.sample(["1/8 in", "3/16 in", "1/4 in", "5/16 in"], 2)
    tips = [{"name": f"solid {size}", "pattern": "solid", "orifice": size} for size in orifices]
    fan = {"name": "fan", "pattern": "fan", "flow": pick.choice(["3 gpm", "5 gpm"]), "at": "40 psi"}
    count = pick.choice([1, 1, 1, 2])
    runs = []
    for n in range(count):
        runs.append({
            "name": f"run {n}", "pump": pick.choice(["booster", "booster", "transfer", "washer"]), "feed": pick.choice(["water", "tap"]),
            "hoses": [hose["name"] for hose in hoses[n :: count][: pick.choice([1, 2])]],
            "tip": pick.choice([tips[0]["name"], tips[1]["name"], "fan"]), "tip_height": "4 ft", "uphill": "0 ft",
            "standoff": pick.choice(["8 ft", "12 ft", "18 ft"]), "on_reel": pick.choice(["0 ft", "40 ft"]),
            "target": pick.choice(["8 ft", "16 ft", "22 ft", "28 ft", "34 ft", "40 ft"]),
            "surfaces": ["wall"] if n == 0 else ["other"],
        })  # fmt: skip
    if count == 2 and all(runs[0][key] == runs[1][key] for key in ("pump", "feed")):
        runs[0]["same_time"] = ["run 1"]
    job: dict[str, Any] = {
        "building": {"height": "40 ft"},
        "surfaces": [
            {"name": name, "kind": "vinyl", "area": f"{pick.choice([300, 1500, 4000])} ft2"}
            for name in ("wall", "other")
        ],
        "hose_runs": runs,
        "access": {"on_ladder": pick.choice(["true", "false", "false"])},
    }
    if runs[0]["pump"] == "booster" and pick.random() < 0.3:
        runs[0]["dosing"] = "panel"
        runs[0].pop("same_time", None)
        job["chemicals"] = [{"stock": "drum", "strength": pick.choice(["0.8 %", "1.5 %"]), "surfaces": ["wall"]}]
    limits = {"reaction": pick.choice(["2 lbf", "4 lbf", "10 lbf"])}
    change = {"company": {"limits": limits}, "rig": {"hoses": hoses, "tips": [*tips, fan]}, "job": job}
    return workspaces.merged(workspaces.base(), change)


def _worse(before: CheckedJob, after: CheckedJob, finding: Finding) -> bool:
    """A stop that was not there; where a caution is to be cured, a caution on the card that was not there either."""
    runs = {run.name for run in before.plan.runs}
    was = {(one.code, one.about): one.level for one in before.findings}

    def card(one: Finding) -> bool:
        return one.level == "stop" or (one.accepted is None and one.code not in NEVER_ON_THE_CARD)

    for one in after.findings:
        had = was.get((one.code, one.about), "none")
        if one.about in runs and one.level == "stop" and had != "stop":
            return True
        if one.about in runs and finding.level == "caution" and one.level in HARD and card(one) and had not in HARD:
            return True
        if had != "none" and unknown(one, after.plan):
            return True
    levels = ("stop",) if finding.level == "stop" else HARD
    for some in (("stop",), levels):
        before_it = Counter(
            f.code for f in before.findings if f.about not in runs and f.level in some and card(f) and f != finding
        )
        has = Counter(f.code for f in after.findings if f.about not in runs and f.level in some and card(f))
        if has - before_it:
            return True
    return False


def _everything(checked: CheckedJob, finding: Finding) -> list[int]:
    """The trouble of every set of changes that cures the finding."""
    run = run_of(checked, finding)
    assert run is not None
    job = checked.plan.input
    options = options_for(job, run, CURABLE[finding.code])
    minutes = sum(span.seconds for span in checked.plan.time)
    was = {one.name: one for one in checked.plan.runs}
    found = []
    for count in (1, 2, 3):
        for some in combinations(options, count):
            if any(one.touches & other.touches for one, other in combinations(some, 2)):
                continue
            altered = applied(job, run.name, some)
            try:
                plan = make_plan(altered, checked.plan.found, tables=False) if altered is not None else None
            except SolveError:
                continue
            if plan is None:
                continue
            after = check_plan(plan)
            its = [one for one in after.findings if (one.code, one.about) == (finding.code, finding.about)]
            if any(one.level in HARD or _guessed(finding, one, plan) for one in its) or _worse(checked, after, finding):
                continue
            if any(one.flow < 0.5 * was[one.name].flow * (1 - 1e-9) for one in plan.runs):
                continue
            asked = {name: one.tip_pressure for name, one in was.items()}
            if finding.code == "line.pressure_on_ladder":
                asked = {name: min(one, job.limits["pressure_on_ladder"]) for name, one in asked.items()}
            fans = [one for one in plan.runs if one.input.tip.pattern != "solid"]
            if any(one.tip_pressure < 0.7 * asked[one.name] * (1 - 1e-9) for one in fans):
                continue
            if falls_shorter(checked, after) or soiled(checked, after, run.name):
                continue
            added = max(sum(span.seconds for span in plan.time) - minutes, 0.0)
            late = int(added / 900) if added >= 600 else 0
            found.append(sum(one.effort for one in some) + late + (parting(job, run.name, some) is not None))
    return found


SEEDS = range(52)
FEW = 1


@pytest.mark.parametrize("seed", [*range(FEW), *(pytest.param(n, marks=pytest.mark.ci) for n in SEEDS[FEW:])])
@pytest.mark.ci
def test_the_search_finds_the_least_trouble_that_a_trial_of_everything_finds(seed: int, tmp_path: Path) -> None:
    before = workspaces.checked(tmp_path, _random_files(seed))
    checked = with_remedies(before)
    assert not checked.broken_off
    for finding in before.findings:
        if (finding.code, finding.about) not in checked.tried:
            continue
        told = [one for one in cures.cures_of(checked, finding) if one.on_rig]
        sure = [one.trouble for one in told if one.after is None or one.after.level in ("ok", "none")]
        everything = _everything(before, finding)
        assert sure[:1] == sorted(everything)[:1], finding
        assert sure == sorted(sure)


@pytest.mark.ci
def test_every_remedy_of_the_random_jobs_written_into_their_files_gives_what_it_was_told_with(tmp_path: Path) -> None:
    asked: Counter[str] = Counter()
    sizes: Counter[int] = Counter()
    for seed in SEEDS[::2]:
        files = _random_files(seed)
        checked = with_remedies(workspaces.checked(tmp_path / f"{seed}", files))
        asked.update(code for code, _ in checked.tried)
        for number, remedy in enumerate(one for one in checked.remedies if one.on_rig):
            sizes[len(remedy.changes)] += 1
            by_hand = workspaces.checked(tmp_path / f"{seed} {number}", edited(files, checked, remedy))
            assert remedy.run is not None
            planned = next(run for run in by_hand.plan.runs if run.name == remedy.run.name)
            assert planned.flow == pytest.approx(remedy.run.flow, rel=1e-6)
            assert planned.tip_pressure == pytest.approx(remedy.run.tip_pressure, rel=1e-6)
            its = [one for one in by_hand.findings if (one.code, one.about) == (remedy.code, remedy.about)]
            assert [one.level for one in its] == ([remedy.after.level] if remedy.after is not None else [])
    assert len(asked) >= 6
    assert sizes[2] >= 5
    assert sizes[3] >= 1
