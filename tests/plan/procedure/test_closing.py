"""The end of a job, and what is flushed before a mix: pails, flushes, strips, hoses, covers, as the acts have them."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from planner.plan.model import JobPlan
from planner.plan.procedure.acts import (
    Act,
    Drain,
    DrawFrom,
    Fill,
    Mark,
    Neutralise,
    Parting,
    Power,
    Read,
    Relieve,
    Shut,
    Spray,
    Stir,
    StopPoint,
    Tap,
    Wait,
    WaterBed,
)
from planner.plan.procedure.book import PAIL
from tests import workspaces

GALLON = 231 * 0.0254**3
PREMIX = {"feed": "mix", "dosing": "premix"}
BLEACH = [{"stock": "bleach", "strength": "1 %"}]
ACID = [{"stock": "acid", "strength": "1:10"}]
LOTS = [
    {"name": "thio", "chemical": "thiosulfate", "on_hand": "20 lb"},
    {"name": "lye", "chemical": "caustic", "strength": "50 wt %", "on_hand": "10 gal"},
    {"name": "citric", "chemical": "citric", "on_hand": "40 lb"},
]
WALL = {"surfaces": {0: {"kind": "brick_acid"}}}


def planned(folder: Path, job: dict[str, Any], *, lots: int = 3, **more: Any) -> JobPlan:
    """The plan of the base workspace's job with these changes, and so many more lots on its shelf."""
    files = workspaces.base()
    files["stock"]["lots"] += LOTS[:lots]
    return workspaces.checked(folder, workspaces.merged(files, {"job": job, **more})).plan


def acts(plan: JobPlan, kind: type[Any], phase: str = "") -> list[Act]:
    assert plan.procedure is not None
    return [one for one in plan.procedure.acts if isinstance(one.detail, kind) and phase in ("", one.phase)]


def flushes(plan: JobPlan) -> list[Act]:
    return [one for one in acts(plan, Spray, "flush") if one.detail.use == "flush"]


def pails_of(plan: JobPlan, source: str, phase: str = "") -> list[str]:
    return [one.detail.to for one in acts(plan, Drain, phase) if one.detail.source == source]


def test_a_leftover_of_bleach_is_thinned_in_pails_made_harmless_and_let_go_on_the_lawn(tmp_path: Path) -> None:
    job = {"chemicals": [{"stock": "bleach", "strength": "3 %"}], "hose_runs": {0: PREMIX}}
    plan = planned(tmp_path, job)
    pails = pails_of(plan, "mix")
    assert pails
    procedure = plan.procedure
    assert procedure is not None
    for pail in pails:
        (water,) = (one for one in acts(plan, Fill) if one.detail.into == pail)
        (mix,) = (one for one in acts(plan, Drain) if one.detail.to == pail)
        (dose,) = (one for one in acts(plan, Neutralise) if one.detail.what == pail)
        (out,) = (one for one in acts(plan, Drain) if one.detail.source == pail)
        assert water.end <= mix.start <= dose.start <= out.start
        assert out.detail.to == "lawn"
        assert out.detail.volume == pytest.approx(water.detail.volume + mix.detail.volume)
        assert out.detail.volume <= PAIL * (1 + 1e-9)
        assert 30.0 * mix.detail.volume / out.detail.volume <= plan.input.limits["neutralise_strength"]
        assert dose.detail.lot == "thio"
        row = plan.input.tables["chemicals"]["hypochlorite"].neutralised[0]
        least = 30.0 * mix.detail.volume * float(row.get("dose") or row["stoichiometric"])
        mixed = plan.mixes[0]
        assert mixed.wall_high is not None
        assert dose.detail.mass == pytest.approx(least * mixed.wall_high / 30.0)
    assert procedure.end.pails == {}
    dead = next(tank.dead_volume for tank in plan.input.rig.tanks if tank.name == "mix")
    assert procedure.end.tanks["mix"].volume == pytest.approx(dead)


def test_without_an_agent_on_the_shelf_a_leftover_goes_home(tmp_path: Path) -> None:
    plan = planned(tmp_path, {"chemicals": BLEACH, "hose_runs": {0: PREMIX}}, lots=0)
    pails = pails_of(plan, "mix")
    assert pails
    assert {to for pail in pails for to in pails_of(plan, pail)} == {"carried_home"}
    assert acts(plan, Neutralise) == []


def test_an_agent_that_is_not_enough_is_not_half_a_dose(tmp_path: Path) -> None:
    plan = planned(tmp_path, {"chemicals": BLEACH, "hose_runs": {0: PREMIX}}, lots=1,
                   stock={"lots": {3: {"on_hand": "0.1 lb"}}})  # fmt: skip
    assert {to for pail in pails_of(plan, "mix") for to in pails_of(plan, pail)} == {"carried_home"}
    assert acts(plan, Neutralise) == []


def test_a_chemical_that_no_shelf_has_is_held_and_never_ends_the_call(tmp_path: Path) -> None:
    job = {**WALL, "chemicals": [{"stock": "muriatic", "strength": "1:10"}], "hose_runs": {0: PREMIX}}
    files = workspaces.merged(workspaces.base(), {"job": job})
    files["stock"]["lots"] = [lot for lot in files["stock"]["lots"] if lot["chemical"] not in ("muriatic", "acid")]
    checked = workspaces.checked(tmp_path, files)
    assert "mix.stock" in checked.held_by
    assert flushes(checked.plan)


def test_lye_never_goes_to_the_lawn(tmp_path: Path) -> None:
    job = {"surfaces": {0: {"kind": "concrete"}}, "chemicals": [{"stock": "lye", "strength": "20 g/L"}],
           "hose_runs": {0: PREMIX}}  # fmt: skip
    plan = planned(tmp_path, job)
    pails = pails_of(plan, "mix")
    assert pails
    assert {to for pail in pails for to in pails_of(plan, pail)} == {"sanitary"}
    assert [one.detail.onto for one in flushes(plan)] == ["sanitary"]
    (strip,) = (one for one in acts(plan, Read, "flush"))
    assert strip.expect is not None
    assert (strip.expect.what, strip.expect.low, strip.expect.high) == ("strip_ph", 6.0, 8.0)


@pytest.mark.parametrize("crew", [1, 2])
def test_a_line_is_flushed_in_one_spray_of_all_its_parts_then_read_off_and_without_pressure(
    tmp_path: Path, crew: int
) -> None:
    plan = planned(tmp_path, {"chemicals": BLEACH, "hose_runs": {0: {"dosing": "panel"}}}, day={"crew": crew})
    (flush,) = flushes(plan)
    assert flush.detail.onto == "lawn"
    assert flush.detail.volume == pytest.approx(sum(part.volume or 0.0 for part in plan.flushes))
    (strip,) = acts(plan, Read, "flush")
    assert strip.expect is not None
    assert (strip.expect.what, strip.expect.low, strip.expect.high) == ("strip_chlorine", 0.0, pytest.approx(4.0))
    (relieve,) = acts(plan, Relieve, "flush")
    off = [one for one in acts(plan, Power, "flush") if not one.detail.on][-1]
    (stop,) = (one for one in acts(plan, StopPoint) if one.detail.before == "coil")
    assert stop.detail.asks == ("residual", "power_off", "no_pressure")
    assert flush.end <= strip.start
    assert flush.end <= off.start < relieve.start
    # What stands in the tip is read before it runs out, and while more can be flushed at once where the pump bears it.
    assert strip.end <= (off.start if crew == 2 else relieve.start)
    assert relieve.end <= stop.start


@pytest.mark.parametrize("crew", [1, 2])
@pytest.mark.parametrize("pump", [None, "booster"])
def test_a_tap_that_feeds_a_line_is_shut_before_its_pressure_is_let_out(
    tmp_path: Path, crew: int, pump: str | None
) -> None:
    plan = planned(tmp_path, {"chemicals": [], "hose_runs": {0: {"feed": "tap", "pump": pump}}}, day={"crew": crew})
    (shut,) = [one for one in acts(plan, Tap) if not one.detail.on]
    (relieve,) = acts(plan, Relieve, "flush")
    assert [one.detail.run for one in acts(plan, Parting)] == ["front"]
    assert acts(plan, Shut)[-1].end <= shut.start < shut.end <= relieve.start
    assert (shut.who, shut.at) == ("lead" if crew == 1 else "second", "rig")
    # A garden hose is coiled without more ado; what a pump pressed is asked about first.
    assert [one.detail.before for one in acts(plan, StopPoint)] == ["power", *(["coil"] if pump else [])]


def test_nobody_waits_out_the_packing_of_water_alone(tmp_path: Path) -> None:
    plan = planned(tmp_path, {"chemicals": []})
    assert not acts(plan, Wait, "leave")
    last = plan.procedure.acts[-1] if plan.procedure is not None else None
    assert last is not None
    assert last.detail == Mark(verb="strap", what="gear")


@pytest.mark.ci
def test_somebody_alone_reads_the_strip_before_the_walk_to_the_switch_only_if_the_pump_may_stand_so_long(
    tmp_path: Path,
) -> None:
    def first(folder: str, change: dict[str, Any]) -> str:
        job = {"chemicals": BLEACH, "hose_runs": {0: {"dosing": "panel"}}}
        plan = planned(tmp_path / folder, job, day={"crew": 1}, **change)
        (strip,) = acts(plan, Read, "flush")
        off = [one for one in acts(plan, Power, "flush") if not one.detail.on][-1]
        (relieve,) = acts(plan, Relieve, "flush")
        assert strip.end <= relieve.start
        return "strip" if strip.start < off.start else "power"

    # 60 s for the strip, 5 s at the switch, the walk at 50 ft/min: two minutes leave 45.8 ft of hose, bypass or not.
    for number, (feet, bypass) in enumerate(((46, "no"), (46, "yes"), (45.5, "no"))):
        rig = {"hoses": {0: {"length": f"{feet} ft"}}, "pumps": {0: {"bypass": bypass}}}
        assert first(f"{number}", {"rig": rig}) == ("strip" if feet < 45.8 else "power")


@pytest.mark.parametrize("crew", [1, 2])
def test_a_suction_that_stood_in_acid_is_flushed_out_of_a_pail_that_never_runs_dry_or_over(
    tmp_path: Path, crew: int
) -> None:
    run = {**PREMIX, "pump": "transfer"}
    plan = planned(tmp_path, {**WALL, "chemicals": ACID, "hose_runs": {0: run}}, day={"crew": crew})
    sprays = flushes(plan)
    assert math.fsum(one.detail.volume for one in sprays) == pytest.approx(  # type: ignore[misc]
        sum(part.volume or 0.0 for part in plan.flushes)
    )
    feeds = [one for one in acts(plan, DrawFrom) if one.start <= sprays[0].start]
    pail = feeds[-1].detail.feed
    assert pail.startswith("pail ")
    fills = [one for one in acts(plan, Fill) if one.detail.into == pail]
    last = fills[-1]
    if crew == 2 and sprays[0].detail.volume > PAIL:
        assert len(sprays) == 1
        assert (last.start, last.end, last.detail.volume) == pytest.approx(
            (sprays[0].start, sprays[0].end, sprays[0].detail.volume)
        )
    procedure = plan.procedure
    assert procedure is not None
    assert procedure.end.pails == {}
    drawn = [one for one in acts(plan, DrawFrom) if one.detail.feed == "water" and one.detail.run == "front"]
    assert drawn == []


def test_where_the_tap_brings_more_than_may_be_left_what_comes_out_is_caught_and_made_harmless(
    tmp_path: Path,
) -> None:
    job = {"chemicals": BLEACH, "hose_runs": {0: {"dosing": "panel"}}, "water": {"chlorine": "4 mg/L"}}
    plan = planned(tmp_path, job)
    assert any(part.volume is None for part in plan.flushes)
    caught = [one for one in acts(plan, Spray, "flush") if one.detail.onto.startswith("pail ")]
    assert caught
    assert all(one.detail.volume <= PAIL * (1 + 1e-9) for one in caught)
    for one in caught:
        assert [dose.detail.lot for dose in acts(plan, Neutralise) if dose.detail.what == one.detail.onto] == ["thio"]
        assert pails_of(plan, one.detail.onto) == ["lawn"]


def test_every_hose_is_drained_and_coiled_once_and_what_was_covered_is_uncovered(tmp_path: Path) -> None:
    near = {"near": {"storm_drain": "40 ft", "downspouts": 2}}
    plan = planned(tmp_path, {"chemicals": BLEACH, "hose_runs": {0: {"dosing": "panel"}}, **near})
    marks = [one.detail for one in acts(plan, Mark)]
    covers = [one.what for one in marks if one.verb == "cover"]
    assert set(covers) >= {"drains_covered", "downspouts_bagged"}
    assert sorted(covers) == sorted(one.what for one in marks if one.verb == "uncover")
    assert [one.what for one in marks if one.verb == "coil"] == ["red"]
    assert pails_of(plan, "red") == ["lawn"]
    (part,) = acts(plan, Parting, "leave")
    assert part.stop_point is not None


def test_packing_lasts_as_long_as_the_table_says_at_least(tmp_path: Path) -> None:
    plan = planned(tmp_path, {"chemicals": BLEACH, "hose_runs": {0: {"dosing": "panel"}}})
    procedure = plan.procedure
    assert procedure is not None
    leaving = [one for one in procedure.acts if one.phase == "leave" and one.who != "second"]
    assert leaving[-1].end - leaving[0].start >= plan.input.tables["minutes"]["pack"] - 1e-6
    assert isinstance(leaving[-1].detail, Mark | Wait)
    assert leaving[-1].end == pytest.approx(procedure.ends)


def test_beds_get_their_last_water_after_the_flush(tmp_path: Path) -> None:
    near = {"near": {"flower_beds": "200 ft2"}}
    plan = planned(tmp_path, {"chemicals": BLEACH, "hose_runs": {0: {"dosing": "panel"}}, **near})
    last = acts(plan, WaterBed)[-1]
    (flush,) = flushes(plan)
    assert plan.beds is not None
    assert last.start >= flush.end
    assert last.detail.volume == pytest.approx(plan.beds.after)


# ------------------------------------------------------------------------------------------------- before a mix


BLEACH_HEEL = {"heels": {"mix": {"stock": "bleach", "strength": "3 %", "volume": "3 gal"}}}


def test_a_tank_is_drained_into_pails_and_rinsed_as_often_as_the_plan_says_before_stock_comes_in(
    tmp_path: Path,
) -> None:
    plan = planned(tmp_path, {**WALL, "chemicals": ACID, "hose_runs": {0: PREMIX}}, day=BLEACH_HEEL)
    (change,) = plan.changes
    tank = change.tank
    assert tank is not None
    swills = [one for one in acts(plan, Stir, "flush_first") if one.detail.tank == "mix"]
    fills = [one for one in acts(plan, Fill, "flush_first") if one.detail.into == "mix"]
    assert len(swills) == len(fills) == tank.rinses
    assert math.fsum(one.detail.volume for one in fills) == pytest.approx(tank.volume)  # type: ignore[misc]
    caught = [one for one in acts(plan, Drain, "flush_first") if one.detail.source == "mix"]
    assert caught[0].detail.to.startswith("pail ")
    assert math.fsum(one.detail.volume for one in caught) == pytest.approx(tank.drained + (tank.volume or 0.0))  # type: ignore[misc]
    poured = [one for one in acts(plan, Mark) if one.detail.what == "lot_read"]
    (strip,) = acts(plan, Read, "flush_first")
    assert strip.expect is not None
    assert strip.expect.what == "strip_chlorine"
    assert max(one.end for one in caught) <= strip.start
    assert strip.end <= poured[0].start
    procedure = plan.procedure
    assert procedure is not None
    assert procedure.end.tanks["mix"].stock == "muriatic"


def test_a_rinse_too_strong_for_the_lawn_is_caught(tmp_path: Path) -> None:
    heel = {"heels": {"mix": {"stock": "citric", "strength": "30 g/L", "volume": "3 gal"}}}
    plan = planned(tmp_path, {**WALL, "chemicals": ACID, "hose_runs": {0: PREMIX}}, day=heel)
    (change,) = plan.changes
    assert change.drains_to == "lawn"
    tank = change.tank
    assert tank is not None
    strength, rinses = 30.0, [one for one in acts(plan, Fill, "flush_first") if one.detail.into == "mix"]
    for rinse in rinses:
        strength *= tank.holds / (tank.holds + tank.each)
        follows = next(one for one in acts(plan, Drain) if one.detail.source == "mix" and one.start >= rinse.end)
        to = follows.detail.to
        assert (to == "lawn") == (strength <= plan.input.limits["lawn_strength"])


def test_a_water_tank_that_holds_bleach_is_rinsed_and_filled_before_any_line_is_tried(tmp_path: Path) -> None:
    heel = {"heels": {"water": {"stock": "bleach", "strength": "1 %", "volume": "5 gal"}}}
    plan = planned(tmp_path, {}, day=heel)
    rinsed = [one for one in acts(plan, Stir, "flush_first") if one.detail.tank == "water"]
    assert rinsed
    procedure = plan.procedure
    assert procedure is not None
    draws = [one for one in acts(plan, DrawFrom) if one.detail.feed == "water"]
    assert max(one.end for one in rinsed) <= min(one.start for one in draws)
    assert procedure.begin.tanks["water"].stock == "hypochlorite"
    assert procedure.end.tanks["water"].stock == "water"
    brim = [one for one in acts(plan, Fill, "flush_first") if one.detail.into == "water"][-1]
    assert brim.detail.volume == pytest.approx(100 * GALLON)
