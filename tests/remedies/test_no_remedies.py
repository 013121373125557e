"""What is no remedy, because it can't be done, cures nothing, or brings trouble of its own."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from planner.checks.evaluate import check_plan
from planner.physics.lines import SolveError
from planner.plan.line.apparatus import branches_of
from planner.plan.make import make_plan
from planner.plan.mix.model import Carried
from planner.remedies.options import applied, options_for, parting
from planner.remedies.search import with_remedies
from planner.remedies.trial import new_trouble
from tests import workspaces
from tests.remedies.test_remedies import SPARE, _files, _level, _of, _run, _searched


def _guns_together(front: dict[str, Any], back: dict[str, Any], **rig: Any) -> dict[str, Any]:
    """Two runs of the booster sprayed at once, with their own keys."""
    run = {"pump": "booster", "feed": "water", "tip": "long throw", "tip_height": "4 ft", "standoff": "10 ft"}
    runs = [{"name": "front", **run, **front, "same_time": ["back"]}, {"name": "back", **run, **back}]
    return _files(rig={**SPARE, **rig}, job={"hose_runs": runs})


@pytest.mark.ci
def test_a_hose_that_lies_in_a_run_sprayed_at_once_is_not_laid_twice(tmp_path: Path) -> None:
    """The setup's hose is the other gun's, so it serves only where that one is closed."""
    setup = {"name": "wide", "pump": "booster", "feed": "water", "hoses": ["blue"], "tip": "slim"}
    files = _guns_together({"hoses": ["red"], "target": "28 ft"}, {"hoses": ["blue"], "target": "8 ft"}, setups=[setup])
    checked = _searched(tmp_path, files)
    assert _level(checked, "reach.short") == "stop"
    job = checked.plan.input
    (option,) = options_for(job, job.runs[0], frozenset({"setup"}))
    assert applied(job, "front", (option,)) is None
    (alone,) = options_for(job, job.runs[0], frozenset({"apart"}))
    assert applied(job, "front", (alone, option)) is not None
    for one in _of(checked, "reach.short"):
        assert one.run is not None
        assert one.run.input.same_time == () or "blue" not in {hose.name for hose in one.run.input.hoses}


def test_gear_that_parts_two_guns_says_that_one_is_sprayed_by_itself(tmp_path: Path) -> None:
    tanks = {
        "tanks": [
            {"name": "water", "floor": "0 ft", "volume": "100 gal"},
            {"name": "high", "floor": "25 ft", "volume": "100 gal", "holds": "water"},
        ]
    }
    files = _guns_together({"hoses": ["blue"], "target": "30 ft"}, {"hoses": ["green"], "target": "8 ft"}, **tanks)
    job = workspaces.checked(tmp_path, files).plan.input
    high = next(
        one for one in options_for(job, job.runs[0], frozenset({"feed_tank"})) if one.change.values["tank"] == "high"
    )
    alone = parting(job, "front", (high,))
    assert alone is not None
    assert alone.change.kind == "apart"
    nearer = options_for(job, job.runs[0], frozenset({"standoff"}))[0]
    assert parting(job, "front", (nearer,)) is None


@pytest.mark.parametrize("pump_rated", ["200 psi", None])
def test_a_hose_whose_rating_nobody_read_cures_no_rating(tmp_path: Path, pump_rated: str | None) -> None:
    hoses = [
        {"name": "red", "bore": "3/4 in", "length": "100 ft", "rated": "40 psi"},
        {"name": "old", "bore": "1 in", "length": "100 ft"},
    ]
    setup = {"name": "old hose", "pump": "booster", "feed": "water", "hoses": ["old"], "tip": "long throw"}
    checked = _searched(
        tmp_path, _files(rig={"hoses": hoses, "setups": [setup], "pumps": {0: {"max_pressure": pump_rated}}})
    )
    assert _level(checked, "line.rating") == "stop"
    told = _of(checked, "line.rating")
    assert [change.kind for one in told for change in one.changes] == ["get_rated"]


def test_a_motor_whose_cord_nobody_wrote_cures_no_cord(tmp_path: Path) -> None:
    thin = {"power": "1 hp", "volts": "115", "cord": {"gauge": "14 AWG", "length": "150 ft"}}
    as_strong = [["0 gpm", "80 psi"], ["14 gpm", "0 psi"]]
    pumps = {0: {"motor": thin}, 2: {"motor": {"power": "0.5 hp", "volts": "115"}, "curve": as_strong}}
    files = _files(rig={"pumps": pumps, "power": {"gfci": "true"}}, job=_run(target="8 ft"))
    checked = _searched(tmp_path / "unknown", files)
    assert _level(checked, "power.drop") == "caution"
    assert not [one for one in _of(checked, "power.drop") if one.changes[0].values["pump"] == "transfer"]
    short = {"rig": {"pumps": {2: {"motor": {"cord": {"gauge": "12 AWG", "length": "25 ft"}}}}}}
    checked = _searched(tmp_path / "known", workspaces.merged(files, short))
    assert [one for one in _of(checked, "power.drop") if one.changes[0].values["pump"] == "transfer"]


def test_no_plain_water_is_drawn_from_a_tank_that_mix_is_made_in(tmp_path: Path) -> None:
    run = {"tip": "fan", "target": "8 ft"}
    runs = [
        {
            "name": "mixed",
            "pump": "booster",
            "feed": "mix",
            "dosing": "premix",
            "hoses": ["red"],
            "surfaces": ["wall"],
            **run,
        },
        {"name": "rinse", "pump": "washer", "feed": "tap", "hoses": ["red"], "surfaces": ["other"], **run},
    ]
    surfaces = [{"name": name, "kind": "vinyl", "area": "500 ft2"} for name in ("wall", "other")]
    chemicals = [{"stock": "drum", "strength": "1 %", "surfaces": ["wall"]}]
    files = _files(rig={"tanks": {1: {"holds": None}}})
    files["job"] |= {"hose_runs": runs, "surfaces": surfaces, "chemicals": chemicals}
    job = workspaces.checked(tmp_path, files).plan.input
    tanks = [one.change.values["tank"] for one in options_for(job, job.runs[1], frozenset({"feed_tank"}))]
    assert tanks == ["water"]


def test_low_work_keeps_the_pattern_it_was_planned_with(tmp_path: Path) -> None:
    """A solid jet in place of a fan is for reach; on low work it marks what a fan washes."""
    low = workspaces.checked(tmp_path / "low", _files(rig=SPARE, job=_run(tip="fan", target="8 ft"))).plan.input
    assert not options_for(low, low.runs[0], frozenset({"tip"}))
    high = workspaces.checked(tmp_path / "high", _files(rig=SPARE, job=_run(tip="fan", target="20 ft"))).plan.input
    fitted = {one.change.values["tip"] for one in options_for(high, high.runs[0], frozenset({"tip"}))}
    assert fitted == {"long throw", "slim"}


def test_a_surface_cleaner_is_driven_by_no_weaker_kind_of_pump(tmp_path: Path) -> None:
    tips = [{"name": "spinner", "pattern": "surface_cleaner", "size": "7"}]
    hoses = [{"name": "red", "bore": "3/8 in", "length": "100 ft", "rated": "2000 psi"}]
    checked = _searched(
        tmp_path, _files(rig={"tips": tips, "hoses": hoses}, job=_run(pump="washer", tip="spinner", target="1 ft"))
    )
    assert _level(checked, "line.rating") == "stop"
    assert not [one for one in _of(checked, "line.rating") if one.on_rig]


@pytest.mark.parametrize(("own", "offered"), [("acid pump", []), ("transfer", ["booster", "washer"])])
def test_a_pump_kept_for_one_chemical_is_neither_left_nor_taken(tmp_path: Path, own: str, offered: list[str]) -> None:
    files = _files()
    files["rig"]["pumps"].append(
        copy.deepcopy(files["rig"]["pumps"][2]) | {"name": "acid pump", "dedicated": "muriatic"}
    )
    job = workspaces.checked(tmp_path, workspaces.merged(files, {"job": _run(pump=own)})).plan.input
    assert [one.change.values["pump"] for one in options_for(job, job.runs[0], frozenset({"pump"}))] == offered


@pytest.mark.parametrize(("strength", "asked"), [("1.3 %", True), ("3 %", False)])
def test_no_stock_is_asked_for_that_nobody_sells(tmp_path: Path, strength: str, asked: bool) -> None:
    """An injector of ten to one wants eleven times the wall's strength; bleach is sold up to 15 trade %."""
    job = {"chemicals": [{"stock": "drum", "strength": strength}], **_run(dosing="venturi")}
    rig = {
        "tanks": [{"name": "water", "floor": "0 ft", "volume": "100 gal", "holds": "water"}],
        "dosing": {0: {"dial": [["1", "0.1 %"], ["2", "0.2 %"]]}},
    }
    checked = _searched(tmp_path, _files(rig=rig, job=job))
    assert _level(checked, "mix.reach") == "stop"
    assert any(one.changes[0].kind == "get_stock" for one in _of(checked, "mix.reach")) == asked


@pytest.mark.parametrize(
    ("setup", "goes"),
    [
        ({"pump": "booster", "feed": "water", "dosing": "panel"}, True),
        ({"pump": "washer", "feed": "water", "dosing": "panel"}, False),
        ({"feed": "tap", "dosing": "panel"}, False),
        ({"pump": "washer", "feed": "tap", "dosing": "premix"}, False),
        ({"pump": "booster", "feed": "water", "dosing": "panel", "on_reel": "900 ft"}, False),
        ({"pump": "booster", "feed": "mix", "dosing": "panel"}, False),
        ({"pump": "booster", "feed": "mix", "dosing": "premix"}, True),
        ({"pump": "booster", "feed": "tub", "dosing": "premix"}, False),
    ],
)
def test_a_setup_that_does_not_go_together_is_no_remedy(tmp_path: Path, setup: dict[str, str], goes: bool) -> None:
    """The rig's file is only held to what a job uses: the panel's own pump, a tank for what is kept in it."""
    files = _files(
        rig={"setups": [{"name": "ready", "hoses": ["red"], "tip": "long throw", **setup}]},
        job={"chemicals": [{"stock": "drum", "strength": "1 %"}], **_run(dosing="venturi", feed="tap")},
    )
    files["rig"]["tanks"].append({"name": "tub", "volume": "20 gal", "holds": "muriatic"})
    job = workspaces.checked(tmp_path, files).plan.input
    options = options_for(job, job.runs[0], frozenset({"setup"}))
    assert any(applied(job, "front", (one,)) is not None for one in options) == goes


@pytest.mark.ci
def test_a_stop_that_wanders_from_one_gun_to_the_other_is_no_cure(tmp_path: Path) -> None:
    """Wide hose for the front gun draws down the pump both share, and then the back gun falls short."""
    thin = {"name": "red", "bore": "1/2 in", "length": "150 ft", "rated": "200 psi"}
    files = _guns_together(
        {"hoses": ["red"], "target": "28 ft"},
        {"hoses": ["green"], "target": "35 ft"},
        hoses=[thin, *SPARE["hoses"][1:]],
    )
    checked = _searched(tmp_path, files)
    levels = {one.about: one.level for one in checked.findings if one.code == "reach.short"}
    assert levels["front"] == "stop"
    assert levels["back"] != "stop"
    job = checked.plan.input
    wide = next(one for one in options_for(job, job.runs[0], frozenset({"swap"})) if one.change.values["new"] == "blue")
    altered = applied(job, "front", (wide,))
    assert altered is not None
    after = check_plan(make_plan(altered, tables=False))
    assert {one.about: one.level for one in after.findings if one.code == "reach.short"}["back"] == "stop"
    assert new_trouble(checked, after)[0] == 1
    for remedy in _of(checked, "reach.short"):
        assert remedy.about != "front" or [change.kind for change in remedy.changes] != ["swap"]


@pytest.mark.ci
@pytest.mark.parametrize("earlier", ["hypochlorite", "muriatic", None])
def test_no_acid_is_sent_through_a_hose_that_carried_bleach_today(tmp_path: Path, earlier: str | None) -> None:
    """The hose would be flushed, and no check stops it; a search still never asks for it."""
    job = {
        "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "200 ft2"}],
        "chemicals": [{"stock": "acid", "strength": "6 vol %"}],
        **_run(dosing="premix", feed="mix", hoses=["thin"], target="32 ft"),
    }
    hoses = [
        {"name": "thin", "bore": "1/2 in", "length": "100 ft", "rated": "200 psi"},
        {"name": "wide", "bore": "3/4 in", "length": "100 ft", "rated": "200 psi"},
    ]
    read = workspaces.loaded(tmp_path, _files(rig={"hoses": hoses}, job=job))
    assert not read.faults
    found = Carried(parts={} if earlier is None else {"wide": earlier})
    checked = with_remedies(check_plan(make_plan(read.jobs[0], found)))
    assert _level(checked, "reach.short") == "stop"
    laid = [one for one in _of(checked, "reach.short") if one.on_rig and one.changes[0].kind in ("swap", "hoses")]
    assert len(laid) == (0 if earlier == "hypochlorite" else 1)


@pytest.mark.ci
def test_no_cure_lays_one_hose_in_two_places_or_unreels_it_for_one_gun(tmp_path: Path) -> None:
    """Two guns behind the same two hoses: what one of them alone takes off the reel, or leaves out, the other has."""
    front, back = ({"hoses": ["red", "blue"], "on_reel": "60 ft", "target": target} for target in ("32 ft", "8 ft"))
    checked = _searched(tmp_path, _guns_together(front, back))
    assert _level(checked, "reach.short") == "stop"
    together = [one for one in _of(checked, "reach.short") if one.run is not None and one.run.input.same_time]
    for one in together:
        assert one.run is not None
        assert [hose.name for hose in one.run.input.hoses] != ["blue"]
        assert "unreel" not in {change.kind for change in one.changes}
    job = checked.plan.input
    (unreel,) = options_for(job, job.runs[0], frozenset({"unreel"}))
    altered = applied(job, "front", (unreel,))
    assert altered is not None
    with pytest.raises(SolveError, match="two places"):
        branches_of(altered.runs)


def test_a_ladder_is_not_cured_by_a_trickle(tmp_path: Path) -> None:
    """The booster would put a tenth of the push on the fan: that is no pressure wash any more."""
    job = {"access": {"on_ladder": "true"}, **_run(pump="washer", tip="fan", target="8 ft")}
    fan = {"name": "fan", "pattern": "fan", "flow": "5 gpm", "at": "2500 psi"}
    weak = {"name": "pin", "pattern": "fan", "flow": "0.7 gpm", "at": "40 psi"}
    hoses = [{"name": "red", "bore": "3/8 in", "length": "100 ft", "rated": "4000 psi"}]
    checked = _searched(tmp_path, _files(rig={"tips": [fan, weak], "hoses": hoses}, job=job))
    assert _level(checked, "line.pressure_on_ladder") == "stop"
    assert not [one for one in _of(checked, "line.pressure_on_ladder") if one.on_rig]


@pytest.mark.parametrize(("orifice", "told"), [("3/16 in", True), ("1/8 in", False)])
def test_a_hard_push_is_eased_by_no_tip_that_gives_under_half_the_water(
    tmp_path: Path, orifice: str, told: bool
) -> None:
    tips = [
        {"name": "wide", "pattern": "solid", "orifice": "1/4 in"},
        {"name": "small", "pattern": "solid", "orifice": orifice},
    ]
    files = _files(company={"limits": {"reaction": "3 lbf"}}, rig={"tips": tips}, job=_run(tip="wide", target="20 ft"))
    checked = _searched(tmp_path, files)
    assert _level(checked, "line.reaction") == "caution"
    fitted = [one for one in _of(checked, "line.reaction") if one.on_rig and one.changes[0].kind == "tip"]
    assert bool(fitted) == told


def test_a_fan_keeps_its_push(tmp_path: Path) -> None:
    """The booster drives the washer's fan with 48 psi: no answer to a hard push."""
    tips = [{"name": "fan", "pattern": "fan", "flow": "5 gpm", "at": "2500 psi"},
            {"name": "soft", "pattern": "fan", "flow": "5 gpm", "at": "40 psi"}]  # fmt: skip
    hoses = [{"name": "red", "bore": "3/8 in", "length": "100 ft", "rated": "4000 psi"}]
    files = _files(rig={"tips": tips, "hoses": hoses}, job=_run(pump="washer", tip="fan", target="8 ft"))
    checked = _searched(tmp_path, files)
    assert _level(checked, "line.reaction") == "caution"
    assert not [one for one in _of(checked, "line.reaction") if one.on_rig]


@pytest.mark.ci
def test_a_pump_of_which_nobody_wrote_what_it_needs_cures_no_suction(tmp_path: Path) -> None:
    """Unknown is not enough: only a pump whose need is written and met is offered."""
    files = _files(rig={"pumps": {0: {"npsh_required": "33 ft"}}})
    other = {**copy.deepcopy(files["rig"]["pumps"][0]), "name": "other"}
    other.pop("npsh_required")
    files["rig"]["pumps"].append(other)
    offered = []
    for number, need in enumerate((None, "10 ft")):
        if need is not None:
            other["npsh_required"] = need
        checked = _searched(tmp_path / str(number), files)
        assert _level(checked, "pump.suction") in ("stop", "caution")
        offered.append([one for one in _of(checked, "pump.suction") if one.changes[0].values.get("pump") == "other"])
    assert not offered[0]
    assert offered[1]


@pytest.mark.ci
def test_a_tank_that_runs_dry_is_not_cured_by_another_that_does(tmp_path: Path) -> None:
    tanks = [{"name": name, "floor": "0 ft", "volume": "60 gal", "holds": "water"} for name in ("water", "second")]
    big = [tanks[0], {**tanks[1], "volume": "900 gal"}]
    job = {
        "water": {"source": "tap", "static": "60 psi", "flow_test": {"flow": "1 gpm", "pressure": "40 psi"}},
        "surfaces": [{"name": "wall", "kind": "vinyl", "area": "3000 ft2"}],
        "chemicals": [{"stock": "drum", "strength": "1 %"}],
        **_run(dosing="panel"),
    }
    offered = []
    for number, rig in enumerate((tanks, big)):
        checked = _searched(tmp_path / str(number), _files(rig={"tanks": rig}, job=job))
        assert _level(checked, "supply.dry") in ("stop", "caution")
        told = _of(checked, "supply.dry")
        offered.append([one for one in told if one.on_rig and [c.kind for c in one.changes] == ["feed_tank"]])
    assert not offered[0]
    assert offered[1]
