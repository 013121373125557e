"""What rides on each leg of a day: sums that add up, stock that gets less, water as it is left, who meets whom."""

from __future__ import annotations

import json
import math
import tempfile
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.checks.model import CheckedJob
from planner.chemistry import hypochlorite
from planner.contract.plan import document, job_json
from planner.days.prepare import Trouble, checked_jobs, days_of
from planner.inputs.workspace import load
from planner.physics.liquids import water_density
from planner.plan.days.day import DayPlan
from planner.plan.model import JobPlan
from planner.plan.road.loading import load_of, loads_of_day
from planner.plan.road.model import Leg, LoadPlan
from tests import workspaces

GALLON, POUND = 231 * 0.0254**3, 0.45359237
PREMIX = {"feed": "mix", "dosing": "premix"}
BLEACH = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}
ACID = {
    "site": {"address": "2 Other Road"},
    "building": {"height": "6 ft"},
    "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "hose_runs": {
        0: {
            **PREMIX,
            "pump": "transfer",
            "hoses": [{"bore": "1/2 in", "length": "50 ft"}],
            "target": "6 ft",
            "standoff": "4 ft",
        }
    },
}
WEIGHED = {"rig": {"weights": {"empty": "1000 lb", "rated": "5000 lb"}}}


def _job(folder: Path, *changes: dict[str, Any]) -> CheckedJob:
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, change)
    return workspaces.checked(folder, files)


def _load(folder: Path, *changes: dict[str, Any]) -> LoadPlan:
    found = _job(folder, *changes).plan.load
    assert found is not None
    return found


def _day(folder: Path, later: list[dict[str, Any]], **first: Any) -> tuple[list[CheckedJob], DayPlan]:
    path = workspaces.write(folder, workspaces.merged(workspaces.base(), first))
    for number, change in enumerate(later, start=2):
        job = workspaces.merged(workspaces.base()["job"], {"job": f"Job {number}", **change})
        (path.parent / f"{number}0-later.yaml").write_text(yaml.safe_dump(job), encoding="utf-8")
    read = load([path.parent])
    trouble = Trouble(faults=list(read.faults))
    jobs = list(checked_jobs(read, trouble))
    assert not trouble.faults, trouble.faults
    ((day, clocked),) = days_of(read, jobs)
    return clocked, day


def _mass(leg: Leg, what: str) -> float:
    return sum(item.mass for item in leg.items if item.what == what)


def level(job: CheckedJob, code: str, about: str = "") -> str:
    (found,) = [f.level for f in job.findings if f.code == code and f.about == (about or f.about)]
    return found


def test_a_job_weighs_the_sum_of_what_is_aboard(tmp_path: Path) -> None:
    load_plan = _load(tmp_path, {"job": BLEACH}, WEIGHED, {"day": {"heels": {"mix": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"}}}})  # fmt: skip
    leg = load_plan.out
    water = water_density(293.15)
    assert _mass(leg, "rig, empty") == pytest.approx(1000 * POUND)
    assert _mass(leg, "water: water") == pytest.approx(100 * GALLON * water)
    assert _mass(leg, "eyewash") == pytest.approx(6 * GALLON * water)
    assert _mass(leg, "mix: hypochlorite") == pytest.approx(2 * GALLON * hypochlorite.density(30.0, 0.0))
    assert leg.total == pytest.approx(sum(item.mass for item in leg.items), abs=1e-9)
    assert leg.total == pytest.approx(1000 * POUND + leg.carried, abs=1e-9)


def test_stock_weighs_what_it_weighed_when_it_was_made(tmp_path: Path) -> None:
    """Bleach that lost strength lost no weight: made at 12.5, tested at 10, it rides at the density of 12.5."""
    job = _job(tmp_path, {"job": BLEACH})
    assert job.plan.load is not None
    (drum,) = [item for item in job.plan.load.out.items if item.kind == "stock"]
    assert drum.volume == pytest.approx(job.plan.mixes[0].pull)
    assert drum.mass - drum.tare == pytest.approx(drum.volume * hypochlorite.density(125.0))
    assert drum.counted == pytest.approx(
        drum.volume * hypochlorite.NAOCL_PER_CL2 * 112.5
    )  # as strong as a strip may miss
    assert drum.tare == pytest.approx(20 * POUND)  # 30 gal on hand, no container written


def test_a_container_is_what_is_written_else_what_is_on_hand_else_what_is_loaded(tmp_path: Path) -> None:
    def holds(folder: str, **lot: Any) -> float:
        found = _load(tmp_path / folder, {"job": BLEACH}, {"stock": {"lots": {0: lot}}})
        (drum,) = [item for item in found.out.items if item.kind == "stock"]
        assert drum.holds is not None
        return drum.holds / GALLON

    assert holds("container", container="15 gal") == pytest.approx(15)
    assert holds("on hand") == pytest.approx(30)
    # 11.3 gal of mix at a tenth, with its spare, of stock an eighth weaker than it reads.
    assert holds("neither", on_hand=None) == pytest.approx(1.3 / 0.875, abs=0.01)


@pytest.mark.ci
def test_more_water_more_stock_and_more_rig_never_weigh_less(tmp_path: Path) -> None:
    lighter = _load(tmp_path / "a", {"job": BLEACH}, WEIGHED)
    changes: tuple[dict[str, Any], ...] = (
        {"job": {"surfaces": {0: {"area": "900 ft2"}}}},
        {"rig": {"tanks": {0: {"volume": "120 gal"}}}},
        {"rig": {"weights": {"empty": "1001 lb"}}},
        {"rig": {"carried": {"eyewash": "7 gal"}}},
        {"stock": {"lots": {0: {"container": "55 gal"}}}},
        {"stock": {"lots": {0: {"strength": "14 trade %"}}}},
    )
    for n, change in enumerate(changes):
        heavier = _load(tmp_path / str(n), {"job": BLEACH}, WEIGHED, change)
        assert heavier.out.total is not None
        assert lighter.out.total is not None
        assert heavier.out.total > lighter.out.total, change


def test_without_weights_all_but_the_total_is_told(tmp_path: Path) -> None:
    job = _job(tmp_path, {"job": BLEACH})
    told = job_json(job, "us")["load"]
    assert told["total_kg"] is None
    assert told["rated_kg"] is None
    assert told["hazmat_kg"] > 0.0
    assert told["carried_kg"] == pytest.approx(sum(item["kg"] for item in told["items"]), abs=1e-9)  # type: ignore[misc]
    assert level(job, "load.weight") == "none"


def test_the_stick_not_the_tank_says_what_water_rides(tmp_path: Path) -> None:
    found = _load(tmp_path, {"day": {"heels": {"water": {"stock": "water", "volume": "40 gal"}}}})
    assert found.out.water == pytest.approx(40 * GALLON * water_density(293.15))


def test_work_in_the_yard_weighs_nothing_on_the_road(tmp_path: Path) -> None:
    plan = _job(tmp_path).plan
    yard = replace(plan, kind="yard")
    assert load_of(yard) is None
    first, middle, last = loads_of_day([plan, yard, plan])
    assert middle is None
    assert first is not None
    assert last is not None
    assert [leg.moment for leg in (*first.legs, *last.legs)] == ["yard", "road", "home"]


def test_the_first_leg_carries_the_whole_days_stock_and_the_drum_rides_home_empty(tmp_path: Path) -> None:
    jobs, day = _day(tmp_path, [BLEACH], job=BLEACH, **WEIGHED)
    one, two = (job.plan.load for job in jobs)
    pulls = [job.plan.mixes[0].pull or 0.0 for job in jobs]
    left = [(job.plan.mixes[0].pull or 0.0) - (job.plan.mixes[0].stock or 0.0) for job in jobs]
    assert one is not None
    assert two is not None

    def stock(leg: Leg) -> float:
        (drum,) = [item for item in leg.items if item.kind == "stock"]
        assert drum.tare == pytest.approx(20 * POUND)
        return drum.volume

    assert stock(one.out) == pytest.approx(sum(pulls))
    assert stock(two.out) == pytest.approx(pulls[1] + left[0])
    assert stock(two.legs[-1]) == pytest.approx(sum(left))
    assert stock(one.out) == pytest.approx(day.pulls[0].volume)
    assert [leg.moment for leg in two.legs] == ["road", "home"]
    assert day.load is not None
    assert day.load.legs == (*one.legs, *two.legs)


def test_the_water_between_jobs_is_what_the_job_before_left(tmp_path: Path) -> None:
    dry = {"water": {"source": "tank", "static": None, "flow_test": None, "backflow": None}}
    jobs, _ = _day(tmp_path, [dry], job=dry, rig={"tanks": {0: {"volume": "600 gal"}}})
    first, second = (job.plan for job in jobs)
    assert first.load is not None
    assert second.load is not None
    assert first.load.out.water == pytest.approx(600 * GALLON * water_density(293.15))
    assert second.load.out.water == pytest.approx(first.left.water["water"] * water_density(293.15))
    assert second.load.out.water < first.load.out.water


def test_acid_for_one_job_and_bleach_for_another_hold_both_and_no_third(tmp_path: Path) -> None:
    jobs, _ = _day(tmp_path, [ACID, {"chemicals": []}], job=BLEACH)
    assert [level(job, "load.apart", "hypochlorite and muriatic") for job in jobs[:2]] == ["stop", "stop"]
    assert [job.verdict for job in jobs[:2]] == ["stop", "stop"]
    assert not [f for f in jobs[2].findings if f.code == "load.apart" and f.level == "stop"]


def test_written_as_riding_apart_they_go(tmp_path: Path) -> None:
    jobs, _ = _day(tmp_path, [ACID], job=BLEACH, rig={"carried": {"apart": ["muriatic"]}})
    assert [level(job, "load.apart", "hypochlorite and muriatic") for job in jobs] == ["ok", "ok"]


def test_a_job_that_is_held_for_something_else_loads_nothing_beside_the_others(tmp_path: Path) -> None:
    held = {**ACID, "access": {"power_line": "3 ft"}}
    jobs, day = _day(tmp_path, [held], job=BLEACH)
    assert not [f for f in jobs[0].findings if f.code == "load.apart" and f.level == "stop"]
    assert jobs[0].verdict != "stop"
    assert jobs[1].verdict == "stop"
    assert day.load is not None
    assert "acid" not in {item.what for item in day.load.out.items}


def test_a_day_too_heavy_is_held_and_its_cover_still_says_how_heavy(tmp_path: Path) -> None:
    jobs, day = _day(tmp_path, [BLEACH], job=BLEACH, rig={"weights": {"empty": "1000 lb", "rated": "1800 lb"}})
    assert level(jobs[0], "load.weight") == "stop"
    assert day.load is not None
    assert day.load.heaviest.total is not None
    assert day.load.heaviest.total > 1800 * POUND


def test_leaving_the_water_the_remedy_names_at_home_cures_it(tmp_path: Path) -> None:
    heavy = {"rig": {"weights": {"empty": "1000 lb", "rated": "1800 lb"}}}
    plain = {"job": {"water": {"source": "tank", "static": None, "flow_test": None, "backflow": None}}}
    (finding,) = [f for f in _job(tmp_path / "a", heavy, plain).findings if f.code == "load.weight"]
    assert (finding.level, finding.case) == ("stop", "over")
    less = finding.values["less"]
    assert not isinstance(less, str)
    keep = 100.0 - less.amount / GALLON - 0.01
    lighter = {"day": {"heels": {"water": {"stock": "water", "volume": f"{keep} gal"}}}}
    (after,) = [f for f in _job(tmp_path / "b", heavy, plain, lighter).findings if f.code == "load.weight"]
    assert after.level == "caution"


def test_the_document_of_a_day_has_its_load_and_reads_back(tmp_path: Path) -> None:
    jobs, day = _day(tmp_path, [BLEACH], job=BLEACH, **WEIGHED)
    whole = json.loads(json.dumps(document(jobs, [], "us", [(day, jobs)]), allow_nan=False))
    for told in (whole["days"][0]["load"], whole["jobs"][0]["load"]):
        assert {"items", "total_kg", "rated_kg", "hazmat_kg"} <= set(told)
        assert told["total_kg"] == pytest.approx(sum(item["kg"] for item in told["items"]), abs=1e-9)
        assert all({"what", "kg"} <= set(item) for item in told["items"])
    assert [leg["moment"] for leg in whole["days"][0]["load"]["legs"]] == ["yard", "road", "home"]


@lru_cache(maxsize=1)
def _weighed() -> JobPlan:
    """A bleach job with all kinds of things aboard."""
    heel = {"day": {"heels": {"mix": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"}}}}
    with tempfile.TemporaryDirectory() as folder:
        return _job(Path(folder), {"job": BLEACH}, WEIGHED, heel).plan


AMOUNT = st.floats(0.0, 0.3)


def _altered(plan: JobPlan, water: float, heel: float, stock: float, agent: float) -> float:
    """The plan's own load with other amounts aboard [m3, m3, m3, kg]."""
    (mix,) = plan.mixes
    found = replace(
        plan.found,
        water=MappingProxyType({"water": water}),
        tanks=MappingProxyType({"mix": replace(plan.found.tanks["mix"], volume=heel)}),
    )
    carried = (replace(plan.neutralisers[0], carry=agent),)
    (share,) = mix.pours
    poured = replace(share, stock=stock, pull=share.pull / share.stock * stock)
    changed = replace(
        plan, found=found, mixes=(replace(mix, stock=stock, pours=(poured,), soaps=()),), neutralisers=carried
    )
    load_plan = load_of(changed)
    assert load_plan is not None
    leg = load_plan.out
    assert leg.total is not None
    assert leg.total == pytest.approx(sum(item.mass for item in leg.items), abs=1e-9)
    assert leg.hazardous <= leg.carried <= leg.total
    return leg.total


@settings(deadline=None)  # the first example plans the job
@given(AMOUNT, AMOUNT, st.floats(1e-4, 0.3), AMOUNT, st.integers(0, 3), st.floats(1e-6, 0.07))
def test_any_load_is_the_sum_of_its_items_and_grows_with_each(
    water: float, heel: float, stock: float, agent: float, which: int, more: float
) -> None:
    """Against a sum worked out by hand, from densities and the tare of however many drums of 30 gal it takes."""
    amounts = [water, heel, stock, agent]
    plan = _weighed()
    total = _altered(plan, *amounts)
    (mix,) = plan.mixes
    assert mix.lot is not None
    assert mix.lot.nominal
    assert mix.lot.low
    assert mix.mix
    loaded = stock * mix.lot.nominal / mix.lot.low * (1.0 + mix.spare * mix.need / mix.mix)
    drums = math.ceil(round(loaded / (30 * GALLON), 9))
    by_hand = (
        1000 * POUND
        + (6 * GALLON + water) * water_density(293.15)
        + heel * hypochlorite.density(30.0, 0.0)
        + loaded * hypochlorite.density(125.0)
        + drums * 20 * POUND
        + agent
    )
    assert total == pytest.approx(by_hand, abs=1e-6)
    amounts[which] += more
    assert _altered(plan, *amounts) > total
