"""Another order of the day: against every order tried by hand, and on real days."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path
from random import Random
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob
from planner.contract.plan import document
from planner.days.prepare import Trouble, checked_jobs, days_of
from planner.inputs.workspace import load
from planner.plan.days.day import DayPlan
from planner.plan.days.order import Step, better_order
from tests import workspaces

GALLON = 231 * 0.0254**3


class Rig:
    """A toy rig: a tank's chemical, and which pumps bleach went through. Flushing takes what the pair of them costs."""

    def __init__(self, random: Random, count: int) -> None:
        kinds = "abc"
        self.kind = {str(n): random.choice(kinds) for n in range(count)}
        self.cost = {(one, other): random.randint(1, 20) for one in kinds for other in kinds}
        self.never = {(one, other) for one in kinds for other in kinds if one != other and random.random() < 0.2}

    def step(self, job: str, held: str) -> Step[str]:
        kind = self.kind[job]
        if (held, kind) in self.never:
            return Step(stops=1, volume=0.0, seconds=0.0, after=held)
        gallons = 0 if held in ("", kind) else self.cost[held, kind]
        return Step(stops=0, volume=gallons * GALLON, seconds=gallons * 60.0, after=kind)

    def rank(self, order: tuple[str, ...]) -> tuple[int, int]:
        """The same by hand: stops, then gallons and minutes."""
        held, stops, gallons = "", 0, 0
        for job in order:
            kind = self.kind[job]
            if (held, kind) in self.never:
                stops += 1
                continue
            gallons += 0 if held in ("", kind) else self.cost[held, kind]
            held = kind
        return stops, 2 * gallons


@pytest.mark.parametrize("seed", range(40))
def test_no_order_of_all_is_better_than_the_one_found(seed: int) -> None:
    random = Random(seed)
    rig = Rig(random, random.randint(2, 6))
    written = tuple(rig.kind)
    best = min(rig.rank(order) for order in permutations(written))
    found = better_order(written, "", rig.step)
    if found is None:
        assert rig.rank(written) == best
        return
    assert sorted(found.order) == sorted(written)
    assert rig.rank(found.order) == best < rig.rank(written)
    assert found.stops == rig.rank(written)[0] - best[0]
    saved = found.volume / GALLON + found.seconds / 60.0
    assert saved == pytest.approx(rig.rank(written)[1] - best[1])
    assert found.order.index(found.earlier) < found.order.index(found.later)
    assert written.index(found.earlier) > written.index(found.later)


@pytest.mark.parametrize("seed", range(5))
def test_of_many_jobs_no_single_swap_is_better_than_what_is_found(seed: int) -> None:
    rig = Rig(Random(seed), 9)
    written = tuple(rig.kind)
    found = better_order(written, "", rig.step)
    order = found.order if found is not None else written
    assert rig.rank(order) <= rig.rank(written)
    for one in range(9):
        for other in range(one):
            swapped = list(order)
            swapped[one], swapped[other] = swapped[other], swapped[one]
            assert rig.rank(tuple(swapped)) >= rig.rank(order)


def test_what_is_fixed_keeps_its_place() -> None:
    rig = Rig(Random(3), 5)
    rig.kind = dict(zip("01234", "abaab", strict=True))
    rig.never = set()
    found = better_order("01234", "", rig.step, frozenset({"1"}))
    assert found is not None
    assert found.order[1] == "1"


def test_a_day_with_nothing_to_flush_needs_no_other_order() -> None:
    rig = Rig(Random(0), 4)
    rig.kind = dict.fromkeys(rig.kind, "a")
    assert better_order(tuple(rig.kind), "", rig.step) is None


PREMIX = {"feed": "mix", "dosing": "premix"}
BLEACH = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: PREMIX}}
ASH = {
    "surfaces": [{"name": "deck", "kind": "bare_wood", "area": "300 ft2"}],
    "chemicals": [{"stock": "ash", "strength": "20 g/L"}],
    "hose_runs": {0: PREMIX},
}
ACID = {
    "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "hose_runs": {0: PREMIX},
}


def _day(folder: Path, *jobs: dict[str, Any]) -> tuple[DayPlan, list[CheckedJob], dict[str, Any]]:
    files = workspaces.base()
    files["day"] |= {"leave_yard": "07:00", "drive": {f"{n}0-job": "0 min" for n in range(1, len(jobs) + 1)}}
    files["stock"]["lots"].append({"name": "ash", "chemical": "soda_ash", "on_hand": "50 lb"})
    files["rig"]["carried"]["apart"] = ["muriatic"]
    path = workspaces.write(folder, files)
    path.unlink()
    for n, job in enumerate(jobs, start=1):
        own = workspaces.merged(
            workspaces.base()["job"], {**job, "job": f"Job {n}", "site": {"address": f"{n} Case Street"}}
        )
        (path.parent / f"{n}0-job.yaml").write_text(yaml.safe_dump(own), encoding="utf-8")
    read = load([path.parent])
    assert not read.faults, "\n".join(str(fault) for fault in read.faults)
    made = list(checked_jobs(read, Trouble(faults=[])))
    ((day, of_day),) = days_of(read, made)
    return day, of_day, document(of_day, [], "us", [(day, of_day)])["days"][0]  # type: ignore[return-value]


@pytest.mark.ci
def test_two_bleach_jobs_together_save_the_flushes_between(tmp_path: Path) -> None:
    day, jobs, told = _day(tmp_path, BLEACH, ASH, BLEACH)
    assert day.better is not None
    assert told["better_order"] == ["2026-06-09/10-job", "2026-06-09/30-job", "2026-06-09/20-job"]
    written = sum(change.volume for job in jobs for change in job.plan.changes)
    swapped, _, _ = _day(tmp_path / "swapped", BLEACH, BLEACH, ASH)
    assert swapped.better is None
    left = sum(change.volume for plan in swapped.jobs for change in plan.changes)
    assert told["better_saves"]["m3"] == pytest.approx(written - left)
    assert told["better_saves"]["stops"] == 0


@pytest.mark.ci
def test_acid_before_bleach_frees_the_job_that_bleach_in_the_pump_holds(tmp_path: Path) -> None:
    day, jobs, told = _day(tmp_path, BLEACH, ACID)
    assert "stop" in [job.verdict for job in jobs]
    assert day.better is not None
    assert told["better_order"] == ["2026-06-09/20-job", "2026-06-09/10-job"]
    assert told["better_saves"]["stops"] >= 1
    turned, _, _ = _day(tmp_path / "turned", ACID, BLEACH)
    assert turned.better is None
    stops = [
        one.code for job in _day(tmp_path / "again", ACID, BLEACH)[1] for one in job.findings if one.level == "stop"
    ]
    assert "mix.reaction" not in stops


@pytest.mark.ci
def test_a_day_has_its_length_among_its_findings(tmp_path: Path) -> None:
    _, _, told = _day(tmp_path, BLEACH, BLEACH)
    (finding,) = told["findings"]
    assert (finding["code"], finding["about"], finding["level"]) == ("time.day", "day", "ok")
