"""What would cure a finding: every remedy, written into the files by hand, does what the search says it does."""

from __future__ import annotations

import copy
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from planner.checks.evaluate import check_plan
from planner.checks.model import LEVELS, CheckedJob, Remedy
from planner.physics import jets
from planner.physics.constants import GRAVITY
from planner.plan.apparatus import tip_orifice
from planner.plan.make import make_plan
from planner.plan.mix_model import Carried
from planner.plan.model import Value
from planner.remedies.options import applied, options_for, parting
from planner.remedies.search import CURABLE, MOST, with_remedies
from planner.remedies.trial import new_trouble
from planner.units import show
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


def _written(files: dict[str, Any], remedy: Remedy) -> dict[str, Any]:
    """The files with the remedy made by hand, as the owner would write it."""
    run: dict[str, Any] = {}
    now = files["job"]["hose_runs"][0]
    for change in remedy.changes:
        values = change.values
        if change.kind == "standoff":
            place = values["standoff"]
            assert isinstance(place, Value)
            run["standoff"] = show(place.amount, "length", "si", unit="m", digits=6)
        elif change.kind == "tip":
            run["tip"] = values["tip"]
        elif change.kind == "unreel":
            run["on_reel"] = "0 ft"
        elif change.kind == "nearer":
            run["hoses"] = [name for name in now["hoses"] if name != values["hose"]]
        elif change.kind == "swap":
            run["hoses"] = [values["new"] if name == values["old"] else name for name in now["hoses"]]
        elif change.kind == "hoses":
            run["hoses"] = str(values["hoses"]).split(" and ")
        elif change.kind == "pump":
            run["pump"] = values["pump"]
        elif change.kind == "feed_tap":
            run["feed"] = "tap"
        elif change.kind == "feed_tank":
            run["feed"] = values["tank"]
        elif change.kind == "dosing":
            run["dosing"] = values["dosing"]
        elif change.kind == "premix":
            run |= {"dosing": "premix", "feed": values["tank"]}
        else:
            raise AssertionError(change.kind)
    return workspaces.merged(files, {"job": _run(**run)})


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
        _files(company={"limits": {"reaction": "2.5 lbf"}}, rig=SPARE, job=_run(hoses=["blue"], target="20 ft")),
        "line.reaction",
    ),
}


@pytest.mark.parametrize("case", SHORT)
def test_each_remedy_written_into_the_files_gives_the_figures_it_was_told_with(case: str, tmp_path: Path) -> None:
    files, code = SHORT[case]
    checked = _searched(tmp_path / "as written", files)
    assert _level(checked, code) in ("stop", "caution")
    told = [one for one in _of(checked, code) if one.on_rig]
    assert 1 <= len(told) <= MOST
    for number, remedy in enumerate(told):
        by_hand = workspaces.checked(tmp_path / str(number), _written(files, remedy))
        assert remedy.after is not None
        assert _level(by_hand, code) == remedy.after.level
        assert LEVELS.index(remedy.after.level) > LEVELS.index(
            next(f.level for f in checked.findings if f.code == code)
        )  # type: ignore[arg-type]
        planned = by_hand.plan.runs[0]
        assert remedy.run is not None
        assert remedy.run.flow == pytest.approx(planned.flow, rel=1e-6)
        assert remedy.run.tip_pressure == pytest.approx(planned.tip_pressure, rel=1e-6)
        if planned.reach is not None:
            assert remedy.run.reach is not None
            assert remedy.run.reach.low == pytest.approx(planned.reach.low, abs=1e-5)
        assert new_trouble(checked, by_hand)[0] == 0


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


def test_wider_hose_from_a_shop_is_told_where_it_alone_would_do(tmp_path: Path) -> None:
    thin = [{"name": "red", "bore": "1/2 in", "length": "150 ft", "rated": "200 psi"}]
    checked = _searched(tmp_path, _files(rig={"hoses": thin}, job=_run(target="30 ft")))
    told = [one for one in _of(checked, "reach.short") if one.changes[0].kind == "get_hose"]
    assert len(told) == 1
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
    by_hand = workspaces.checked(tmp_path / "hand", _written(files, told[0]))
    assert _level(by_hand, "mix.reach") == "ok"


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


def _guns_together(front: dict[str, Any], back: dict[str, Any], **rig: Any) -> dict[str, Any]:
    """Two runs of the booster sprayed at once, with their own keys."""
    run = {"pump": "booster", "feed": "water", "tip": "long throw", "tip_height": "4 ft", "standoff": "10 ft"}
    runs = [{"name": "front", **run, **front, "same_time": ["back"]}, {"name": "back", **run, **back}]
    return _files(rig={**SPARE, **rig}, job={"hose_runs": runs})


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
    pumps = {0: {"motor": thin}, 2: {"motor": {"power": "0.5 hp", "volts": "115"}}}
    files = _files(rig={"pumps": pumps, "power": {"gfci": "true"}}, job=_run(target="8 ft"))
    checked = _searched(tmp_path / "unknown", files)
    assert _level(checked, "power.drop") == "stop"
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
