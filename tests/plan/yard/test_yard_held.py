"""What a pump on the bench may still hold: by what it is kept for, by setups, by the day's jobs; the tank it draws from."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from planner.checks.evaluate import check_plan
from planner.plan.between.heels import tonight
from planner.plan.days.pending import Pending
from planner.plan.make import make_plan
from planner.plan.yard.model import YardPlan
from planner.words import spoken as words
from tests.plan.yard.benches import checked, told

PREMIX = {"name": "roof", "pump": "transfer", "feed": "mix", "dosing": "premix", "hoses": ["red"], "tip": "long throw"}
OPEN: dict[str, Any] = {"pump": "transfer", "work": ["rebuild", "test"], "bath": None}


def rig(*, dedicated: str | None = None, holds: str = "mix", **more: Any) -> dict[str, Any]:
    return {"rig": {"pumps": {"2": {"dedicated": dedicated}} if dedicated else {}, "tanks": {"1": {"holds": holds}},
                    "setups": [PREMIX]}, **more}  # fmt: skip


def only_mix(**more: Any) -> dict[str, Any]:
    """The same rig, whose transfer pump gets to nothing but the mix tank."""
    change = rig(**more)
    pumps = change["rig"]["pumps"]
    pumps["2"] = {**pumps.get("2", {}), "draws": ["mix"]}
    return change


def yard_of(job: Any) -> YardPlan:
    assert job.plan.yard is not None
    return job.plan.yard


def held(job: Any) -> list[tuple[str, str]]:
    return [(one.chemical, one.why) for one in yard_of(job).held]


def test_a_pump_kept_for_a_chemical_always_held_it_and_nothing_else_by_its_setups(tmp_path: Path) -> None:
    job = checked(tmp_path, OPEN, only_mix(dedicated="muriatic", holds="muriatic"))
    assert held(job) == [("muriatic", "dedicated")]
    assert yard_of(job).handled == ("muriatic",)
    assert told(job, "flush.needed") == {
        "transfer, muriatic": ("caution", "bench_dedicated"),
        "mix": ("caution", "bench_tank_kept"),
    }
    assert told(job, "mix.reaction") == {"job": ("none", "bench_held")}
    assert job.verdict == "caution"


def test_a_pump_a_setup_sends_mix_through_may_hold_bleach_of_another_day(tmp_path: Path) -> None:
    job = checked(tmp_path / "open", OPEN, only_mix())
    assert held(job) == [("hypochlorite", "setup")]
    assert told(job, "flush.needed") == {
        "transfer, bleach": ("caution", "bench_setup"),
        "mix": ("caution", "bench_tank_mixed"),
    }
    heel: dict[str, Any] = {"day": {"heels": {"mix": {"stock": "bleach", "strength": "4 %", "volume": "1 gal"}}}}
    stands = checked(tmp_path / "stands", OPEN, only_mix(**heel))
    assert told(stands, "flush.needed")["mix"] == ("caution", "bench_tank_stands")
    panel = checked(tmp_path / "panel", {"work": ["rebuild", "test"], "bath": None})
    (one,) = yard_of(panel).held
    high = max(lot.high for lot in panel.plan.shelf if lot.chemical == "hypochlorite" and lot.high is not None)
    assert one.most == pytest.approx(0.16 * high), "a panel gives no more of its stock than its last mark"


def test_a_pump_that_only_water_goes_through_holds_nothing_and_its_tank_is_drawn_from(tmp_path: Path) -> None:
    job = checked(tmp_path, {"pump": "washer", "work": ["rebuild", "test"], "bath": None})
    assert held(job) == []
    assert yard_of(job).tank is None
    assert told(job, "flush.needed") == {"washer": ("none", "bench_water")}
    assert told(job, "mix.reaction") == {"job": ("none", "bench_water")}


def test_what_the_day_sent_through_counts_and_what_no_flush_took_out_or_may_yet_come_first_of_all(
    tmp_path: Path,
) -> None:
    job = checked(tmp_path, {"pump": "washer", "work": "test", "bath": None}).plan.input
    found = replace(tonight(job), parts=MappingProxyType({"washer": "muriatic"}))
    for carried, why in (
        (found, "today"),
        (replace(found, unflushed=frozenset({"washer"})), "unflushed"),
        (replace(tonight(job), pending=(Pending(job="x", why="held", gear=(("muriatic", "washer"),)),)), "pending"),
    ):
        yard = make_plan(job, carried).yard
        assert yard is not None
        (one,) = yard.held
        assert (one.chemical, one.why) == ("muriatic", why)


def test_a_clean_tank_in_reach_is_drawn_from_whatever_the_setups_own_holds(tmp_path: Path) -> None:
    heel: dict[str, Any] = {"day": {"heels": {"mix": {"stock": "bleach", "strength": "4 %", "volume": "1 gal"}}}}
    job = checked(tmp_path, OPEN, rig(**heel))
    assert (yard_of(job).feed, yard_of(job).tank) == ("water", None)
    assert "mix" not in told(job, "flush.needed")
    assert job.plan.left.tanks["mix"] == job.plan.found.tanks["mix"]


def test_after_the_test_a_mix_tank_has_its_own_back_and_a_water_tank_holds_water(tmp_path: Path) -> None:
    heel: dict[str, Any] = {"day": {"heels": {"mix": {"stock": "bleach", "strength": "4 %", "volume": "6 gal"}}}}
    job = checked(tmp_path / "mix", OPEN, only_mix(**heel))
    before, left = job.plan.found.tanks["mix"], job.plan.left.tanks["mix"]
    assert (left.chemical, left.volume) == (before.chemical, pytest.approx(before.volume))
    assert left.strength == pytest.approx(before.strength), "its own back"
    (finding,) = [one for one in job.findings if one.case == "bench_tank_stands"]
    assert "the pail back in" in words.remedy(finding, "us")
    bleach: dict[str, Any] = {"day": {"heels": {"water": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"}}}}
    bleach["rig"] = {"pumps": {"0": {"draws": ["water"]}}}
    water = checked(tmp_path / "water", {"work": "test", "bath": None}, bleach)
    assert told(water, "flush.needed")["water"] == ("caution", "bench_tank_water")
    assert "water" in water.plan.found.tanks
    assert "water" not in water.plan.left.tanks
    (finding,) = [one for one in water.findings if one.case == "bench_tank_water"]
    assert "Never pour the pail back" in words.remedy(finding, "us")
    again = make_plan(job.plan.input, replace(job.plan.found, unflushed=frozenset({"transfer", "red"})))
    assert not again.left.unflushed


def test_acid_and_bleach_that_one_pump_may_hold_are_told(tmp_path: Path) -> None:
    job = checked(tmp_path, OPEN, rig()).plan.input
    found = replace(tonight(job), parts=MappingProxyType({"transfer": "muriatic"}))
    yard = make_plan(job, found)
    cases = {one.case: one.level for one in check_plan(yard).findings if one.code == "mix.reaction"}
    assert cases == {"bench_both": "caution"}


def test_opening_such_a_pump_wants_an_eyewash(tmp_path: Path) -> None:
    bare = rig(dedicated="muriatic")
    bare["rig"]["carried"] = None
    assert told(checked(tmp_path, OPEN, bare), "site.eyewash")["rig"] == ("stop", "missing")
