"""A yard job as acts: water before acid, the pump flushed before it is opened, its bath ended before it is poured away."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.inputs.workspace import load
from planner.plan.between.heels import tonight
from planner.plan.between.matrix import matrix
from planner.plan.make import make_plan
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import (
    Act,
    Drain,
    DrawFrom,
    Fill,
    Join,
    Mark,
    Neutralise,
    Parting,
    Pour,
    Power,
    Prime,
    Relieve,
    Shut,
    Soak,
    Spray,
    StopPoint,
    Tap,
    Wait,
)
from planner.plan.procedure.book import PAIL
from planner.plan.procedure.state import hoses_of
from planner.plan.water.tap import usual_flow
from planner.rehearsal.from_plan import setting_of
from planner.rehearsal.play import rehearse
from tests import workspaces
from tests.plan.yard.benches import checked
from tests.plan.yard.test_yard_held import OPEN, only_mix, rig

DEMO = Path(__file__).parents[3] / "jobs" / "2026-06-10" / "90-booster.yaml"
CITRIC = {"stock": {"lots": [{"name": "bag", "chemical": "citric", "on_hand": "10 lb"},
                             {"name": "bicarb", "chemical": "bicarbonate", "on_hand": "40 lb"}]}}  # fmt: skip
OXALIC = {"stock": {"lots": [{"name": "ox", "chemical": "oxalic", "on_hand": "20 lb"},
                             {"name": "bicarb", "chemical": "bicarbonate", "on_hand": "40 lb"}]}}  # fmt: skip
THIO = {"stock": {"lots": [
    {"name": "drum", "chemical": "bleach", "strength": "12.5 trade %", "made": "2026-06-01", "kept_at": "cool"},
    {"name": "thio", "chemical": "thiosulfate", "on_hand": "20 lb"}]}}  # fmt: skip
BLEACHED = {"day": {"heels": {"water": {"stock": "bleach", "strength": "3 %", "volume": "9 gal"}}}}
HEEL = {"day": {"heels": {"mix": {"stock": "bleach", "strength": "4 %", "volume": "6 gal"}}}}


def demo() -> JobPlan:
    (job,) = load([DEMO]).jobs
    return make_plan(job, tables=False)


def plan_of(folder: Path, yard: dict[str, Any] | None = None, change: dict[str, Any] | None = None) -> JobPlan:
    return checked(folder, yard, change).plan


def dirty(
    folder: Path, pump: str = "washer", chemical: str = "muriatic", change: dict[str, Any] | None = None
) -> JobPlan:
    """A pump and its hose that a chemical went through, and no flush after it."""
    job: CheckedJob = checked(folder, {"pump": pump, "work": ["rebuild", "test"], "bath": None}, change)
    last = MappingProxyType({pump: chemical, "red": chemical})
    found = replace(tonight(job.plan.input), parts=last, unflushed=frozenset({pump, "red"}))
    return make_plan(job.plan.input, found, tables=False)


JOBS: dict[str, Callable[[Path], JobPlan]] = {
    "demo": lambda _: demo(),
    "descale, rebuild, test": lambda at: plan_of(at, None, {"rig": {"pumps": {"0": {"stages": "7"}}}}),
    "stainless": lambda at: plan_of(at, None, {"rig": {"pumps": {"0": {"wetted": ["plastic", "stainless"]}}}}),
    "nothing inside": lambda at: plan_of(at, None, {"rig": {"pumps": {"0": {"wetted": ["stainless"]}}}}),
    "rebuild without a bath": lambda at: plan_of(at, {"work": ["rebuild", "test"], "bath": None}),
    "piston": lambda at: plan_of(at, {"pump": "washer", "work": ["rebuild", "test"], "bath": None}),
    "diaphragm": lambda at: plan_of(at, OPEN, rig()),
    "kept for acid": lambda at: plan_of(at, OPEN, rig(dedicated="muriatic", holds="muriatic")),
    "unflushed": dirty,
    "unflushed bleach": lambda at: dirty(at, "booster", "hypochlorite", THIO),
    "unflushed, nothing to end it": lambda at: dirty(at, "booster", "hypochlorite"),
    "test only": lambda at: plan_of(at, {"work": "test", "bath": None}),
    "citric, alone": lambda at: plan_of(at, {"bath": "5 wt % citric"}, {**CITRIC, "day": {"crew": "1"}}),
    "oxalic": lambda at: plan_of(at, {"bath": "3 wt % oxalic"}, OXALIC),
    "big tub": lambda at: plan_of(at, {"tub": "9 gal", "work": "descale"}),
    "no line, test only": lambda at: plan_of(at, {"work": "test", "bath": None}, {"rig": {"setups": None}}),
    "foul water tank": lambda at: plan_of(
        at, {"work": "test", "bath": None}, {"rig": {"pumps": {"0": {"draws": ["water"]}}}, **BLEACHED, **THIO}
    ),
    "no line": lambda at: plan_of(at, {"work": "descale"}, {"rig": {"setups": None}}),
    "dry mix tank": lambda at: plan_of(at, OPEN, only_mix()),
    "foul mix tank": lambda at: plan_of(at, OPEN, only_mix(**HEEL)),
    "three people, liters": lambda at: plan_of(at, None, {"company": {"units": "si"}, "day": {"crew": "3"}}),
}


@pytest.fixture(scope="module", params=list(JOBS))
def plan(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> JobPlan:
    return JOBS[request.param](tmp_path_factory.mktemp("yard"))


def acts_of(plan: JobPlan, *kinds: type) -> list[Act]:
    return [act for act in plan.procedure.acts if isinstance(act.detail, kinds)]


def test_its_rehearsal_finds_no_breach(plan: JobPlan) -> None:
    assert plan.procedure is not None
    found = rehearse(setting_of(plan, matrix(), usual_flow(plan.input)), plan.procedure)
    assert not found, "\n".join(str(one) for one in found)


def test_acid_goes_into_water_and_no_water_comes_after_it(plan: JobPlan) -> None:
    acts = plan.procedure.acts
    poured = [n for n, act in enumerate(acts) if isinstance(act.detail, Pour)]
    filled = [n for n, act in enumerate(acts) if isinstance(act.detail, Fill) and act.detail.into == "tub"]
    bath = plan.yard.bath if plan.yard is not None else None
    if bath is None:
        assert not poured
        assert not filled
        return
    assert len(filled) == 1
    assert poured
    assert filled[0] < poured[0]
    assert math.fsum(acts[n].detail.volume or acts[n].detail.mass for n in poured) == pytest.approx(  # type: ignore[misc]
        bath.stock or bath.stock_mass
    )
    assert all(acts[n].stop_point is not None for n in poured)


def test_a_pump_is_opened_only_behind_its_flush_its_strip_and_its_stop_point(plan: JobPlan) -> None:
    acts = plan.procedure.acts
    assert plan.yard is not None
    opens = [n for n, act in enumerate(acts) if isinstance(act.detail, StopPoint) and act.detail.before == "open"]
    if not (plan.yard.opened or plan.yard.bath):
        assert not opens
        assert all(act.phase in ("test", "leave") for act in acts)
        return
    (at,) = opens
    strip = max(n for n, act in enumerate(acts[:at]) if act.expect is not None and act.expect.what == "strip_chlorine")
    flushes = [n for n, act in enumerate(acts) if isinstance(act.detail, Spray) and act.detail.use == "flush"]
    assert all(n < strip for n in flushes)
    if plan.yard.held and plan.yard.test is not None:
        assert flushes
    down = [n for n, act in enumerate(acts) if act.phase == "take_down" and act.stop_point is not None]
    assert min(down) > at
    assert {"residual", "power_off", "no_pressure", "locked"} <= set(acts[at].detail.asks)


def test_what_is_poured_away_was_neutralized_before(plan: JobPlan) -> None:
    treated: set[str] = set()
    acid: set[str] = set()
    for act in plan.procedure.acts:
        match act.detail:
            case Pour(into=vessel):
                acid.add(vessel)
            case Spray(onto=vessel, use="flush") if vessel == "pail 1":
                acid.add(vessel)
            case Soak(into=vessel) if vessel in ("tub", "pail 1"):
                acid.add(vessel)
            case Neutralise(what=vessel):
                treated.add(vessel)
            case Drain(source=vessel, to="sanitary"):
                assert vessel not in acid - treated, act.id
            case _:
                pass


def test_every_stop_point_asks_what_an_earlier_act_made_true(plan: JobPlan) -> None:
    done: set[str] = set()
    on, pressed, primed, flushed = False, False, False, True
    for act in plan.procedure.acts:
        match act.detail:
            case Mark(what=what):
                done.add(what)
            case Prime():
                primed = True
            case Parting():
                primed = False
            case Power(on=turned):
                on = turned
                pressed = pressed or turned
            case Relieve():
                pressed = False
            case Spray(use="flush"):
                flushed = False
            case StopPoint(asks=asks):
                states = {"primed": primed, "power_off": not on, "no_pressure": not pressed, "residual": flushed}
                for ask in asks:
                    assert states.get(ask, ask in done), (act.id, ask)
                continue
            case _:
                pass
        if act.expect is not None:
            done.add(act.expect.what)
            flushed = flushed or act.expect.what == "strip_chlorine"


def test_a_stop_point_is_over_before_what_it_guards(plan: JobPlan) -> None:
    over: dict[int, float] = {}
    for act in plan.procedure.acts:
        if isinstance(act.detail, StopPoint):
            over[act.detail.number] = act.end
        elif act.stop_point is not None:
            assert over[act.stop_point] <= act.start + 1e-9
        guarded = isinstance(act.detail, Pour) or (isinstance(act.detail, Power) and act.detail.on)
        guarded |= isinstance(act.detail, Mark) and act.detail.verb == "coil"
        assert not guarded or act.stop_point is not None
    assert sorted(over) == list(range(1, len(over) + 1))


def test_the_leads_acts_leave_no_gap_and_meet_the_clock(plan: JobPlan) -> None:
    lead = [act for act in plan.procedure.acts if act.who != "second"]
    for one, following in pairwise(lead):
        assert following.start == pytest.approx(one.end)
    spans = [span for span in plan.time if not span.road]
    assert sum(span.seconds for span in spans) == pytest.approx(plan.procedure.ends - plan.procedure.starts)
    assert not [act for act in plan.procedure.acts if isinstance(act.detail, Wait)]


def test_vessels_tank_and_lots_balance_and_none_runs_over_or_dry(plan: JobPlan) -> None:
    procedure, job = plan.procedure, plan.input
    held = {name: state.volume or 0.0 for name, state in procedure.begin.tanks.items()}
    lots = dict(procedure.begin.lots)
    brim = {tank.name: tank.volume for tank in job.rig.tanks}
    dead = {tank.name: tank.dead_volume for tank in job.rig.tanks}
    feed, air = "", 0.0
    for run in plan.yard.runs[:1] if plan.yard is not None else ():
        air = math.fsum(
            one for name, one in hoses_of(run, plan.yard.runs).items() if procedure.begin.hoses[name].stock == "air"
        )
    for act in procedure.acts:
        match act.detail:
            case Fill(into=into, volume=volume):
                held[into] = held.get(into, 0.0) + volume
            case Pour(into=into, lot=lot, volume=volume, mass=mass):
                held[into] += volume or 0.0
                lots[lot] -= volume or mass or 0.0
            case Neutralise(lot=lot, mass=mass):
                lots[lot] -= mass
            case DrawFrom(feed=feed):
                pass
            case Spray(volume=volume, onto=onto):
                if feed in held:
                    held[feed] -= volume
                    assert held[feed] >= dead[feed] - 1e-9
                pushed = min(air, volume)
                air -= pushed
                if onto.startswith(("pail", "bucket")):
                    held[onto] = held.get(onto, 0.0) + volume - pushed
            case Drain(source=source, to=to, volume=volume) if source not in procedure.begin.hoses:
                held[source] -= volume
                if to.startswith("pail ") or to in brim:
                    held[to] = held.get(to, 0.0) + volume
            case _:
                pass
        assert all(volume >= -1e-9 for volume in held.values())
        assert all(held[name] <= PAIL * 1.0001 for name in held if name.startswith("pail "))
        assert all(held[name] <= brim[name] + 1e-9 for name in held if name in brim)
        assert all(left >= -1e-9 for left in lots.values())
    end = {name: state.volume or 0.0 for name, state in procedure.end.tanks.items()}
    assert {name: volume for name, volume in held.items() if volume > 1e-9 or name in end} == pytest.approx(end)
    assert lots == pytest.approx(dict(procedure.end.lots))


def test_a_line_is_joined_primed_and_powered_with_its_gun_shut_and_coiled_at_the_end(plan: JobPlan) -> None:
    joined, opened, coiled = "", False, set()
    hoses: set[str] = set()
    for act in plan.procedure.acts:
        match act.detail:
            case Join(run=joined):
                pass
            case Spray(run=run, seconds=seconds, volume=volume):
                assert run == joined
                flow = next(one.flow for one in plan.yard.runs if one.name == run)
                assert volume == pytest.approx(seconds * flow, rel=1e-9)
                opened = True
            case Shut():
                opened = False
            case Power():
                assert not opened
            case Parting(run=run):
                assert run == joined
                joined = ""
            case Mark(verb="coil", what=hose):
                coiled.add(hose)
            case _:
                pass
    hoses = set(plan.procedure.begin.hoses)
    assert coiled == hoses
    assert not joined
    assert not opened


def test_the_demo_takes_about_three_hours_in_the_words_of_its_clock() -> None:
    plan = demo()
    minutes = {span.what: round(span.seconds / 60) for span in plan.time}
    assert minutes == {
        "drive": 20, "test before": 32, "take down": 30, "mix the bath": 11, "soak": 15, "wipe and rinse": 20,
        "neutralise": 16, "build up": 60, "test after": 17,
    }  # fmt: skip
    asked = {act.detail.before: act.detail.asks for act in acts_of(plan, StopPoint)}
    assert set(asked) == {"power", "open", "acid", "coil"}
    assert {"acid_gloves", "face_shield", "no_aluminium", "eyewash", "lot_read", "company"} <= set(asked["acid"])


def test_a_crew_of_one_tells_the_office_and_nobody_else_is_in_it(tmp_path: Path) -> None:
    plan = JOBS["citric, alone"](tmp_path)
    assert {act.who for act in plan.procedure.acts} == {"lead"}
    (acid,) = [act.detail for act in acts_of(plan, StopPoint) if act.detail.before == "acid"]
    assert "office_knows" in acid.asks
    assert "company" not in acid.asks
    (pour,) = acts_of(plan, Pour)
    assert pour.detail.mass == pytest.approx(plan.yard.bath.stock_mass)


def test_two_dress_together_and_everything_else_is_one_persons(tmp_path: Path) -> None:
    plan = JOBS["three people, liters"](tmp_path)
    both = {act.detail.verb for act in acts_of(plan, Mark) if act.who == "both"}
    assert both == {"wear"}
    assert not [act for act in plan.procedure.acts if act.who == "second"]
    (bucket, _) = [act for act in acts_of(plan, Spray) if act.detail.onto == "bucket"]
    assert bucket.detail.volume == pytest.approx(0.010)


def test_what_is_known_to_be_in_it_goes_into_pails_before_anything_is_thrown(tmp_path: Path) -> None:
    plan = dirty(tmp_path)
    assert plan.procedure.begin.hoses["red"].stock == "muriatic"
    first, *_ = acts_of(plan, Spray)
    assert (first.detail.use, first.detail.onto) == ("flush", "pail 1")
    strips = [act.expect.what for act in plan.procedure.acts if act.expect is not None and "strip" in act.expect.what]
    assert strips == ["strip_chlorine", "strip_ph"]
    assert plan.procedure.end.hoses["red"].stock == "air"


def test_what_comes_out_strong_is_thinned_in_its_pails_and_kept_where_nothing_ends_it(tmp_path: Path) -> None:
    ended, kept = (
        JOBS[name](tmp_path / f"{n}") for n, name in enumerate(("unflushed bleach", "unflushed, nothing to end it"))
    )
    thinned = {act.detail.into for act in acts_of(ended, Fill) if act.detail.into.startswith("pail ")}
    treated = {act.detail.what for act in acts_of(ended, Neutralise)}
    assert len(thinned) > 2
    assert thinned == treated
    assert not acts_of(kept, Neutralise)
    assert {act.detail.to for act in acts_of(kept, Drain)} >= {"carried_home"}


def test_any_clean_tank_in_reach_is_drawn_from_before_a_mix_tank_is_emptied_for_it(tmp_path: Path) -> None:
    clean, dry, foul = (
        JOBS[name](tmp_path / f"{n}") for n, name in enumerate(("diaphragm", "dry mix tank", "foul mix tank"))
    )
    assert {act.detail.feed for act in acts_of(clean, DrawFrom)} == {"water"}
    assert [act.detail.what for act in dry.procedure.acts[:2]] == ["gloves_goggles", "dry mix"]
    assert {act.detail.feed for act in acts_of(dry, DrawFrom)} == {"mix"}
    given = [act for act in acts_of(foul, Drain) if act.detail.to == "mix"]
    assert [act.phase for act in given] == ["leave", "leave"]
    left = foul.procedure.end.tanks["mix"]
    assert left.volume == pytest.approx(foul.procedure.begin.tanks["mix"].volume)
    assert (left.stock, left.strength) == ("hypochlorite", pytest.approx(40.0)), "its own back"


@pytest.mark.parametrize(("work", "phases"), [
    ("test", ["test", "leave"]),
    (["rebuild", "test"], ["test", "take_down", "build_up", "test", "leave"]),
    ("descale", ["test", "take_down", "mix", "soak", "build_up", "test", "leave"]),
])  # fmt: skip
def test_what_is_asked_decides_which_phases_there_are(work: Any, phases: list[str], tmp_path: Path) -> None:
    plan = plan_of(tmp_path, {"work": work, "bath": "15 vol % muriatic" if work == "descale" else None})
    found = [act.phase for act in plan.procedure.acts]
    assert [one for n, one in enumerate(found) if n == 0 or found[n - 1] != one] == phases


def test_a_company_may_write_the_yards_minutes_too(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, None, {"company": {"minutes": {"take_down": "45 min", "build_up": "80 min"}}})
    of = {span.what: span.seconds for span in plan.time}
    assert (of["take down"], of["build up"]) == (pytest.approx(2700.0), pytest.approx(4800.0 + 1800.0))


@pytest.mark.parametrize("job", ["booster", "washer", "bleach in it"])
def test_a_tap_that_feeds_the_bench_is_shut_before_the_pressure_is_let_out_and_open_before_power(
    tmp_path: Path, job: str
) -> None:
    fed = {"rig": {"setups": {n: {"feed": "tap"} for n in range(3)}}}
    if job == "bleach in it":
        made = dirty(tmp_path, "booster", "hypochlorite", workspaces.merged(THIO, fed))
    else:
        made = plan_of(tmp_path, {"pump": job, "work": ["rebuild", "test"], "bath": None}, fed)
    assert made.procedure is not None
    assert made.yard is not None
    assert made.yard.feed == "tap"
    assert not rehearse(setting_of(made, matrix(), 1.0), made.procedure)
    running = False
    for act in made.procedure.acts:
        match act.detail:
            case Prime():
                running = True
            case Tap(on=on):
                assert on != running
                running = on
            case Relieve() | Parting():
                assert not running
            case Power(on=True) | Spray():
                assert running
            case _:
                pass
    acts = made.procedure.acts
    shut = next(n for n, act in enumerate(acts) if isinstance(act.detail, Tap) and not act.detail.on)
    left = replace(acts[shut], detail=Wait(seconds=acts[shut].lasts))
    spoiled = replace(made.procedure, acts=(*acts[:shut], left, *acts[shut + 1 :]))
    found = rehearse(setting_of(made, matrix(), 1.0), spoiled)
    assert any("with its tap open" in one.state for one in found)


@pytest.mark.parametrize(
    "job", ["demo", "diaphragm", "rebuild without a bath", "test only", "unflushed", "kept for acid"]
)
def test_a_pump_of_which_nobody_knows_what_it_held_is_flushed_low_by_people_dressed_before_it_is_tested(
    job: str, tmp_path: Path
) -> None:
    plan = JOBS[job](tmp_path)
    acts = list(plan.procedure.acts)
    sprays = [n for n, act in enumerate(acts) if isinstance(act.detail, Spray)]
    strip = next(n for n, act in enumerate(acts) if act.expect is not None and act.expect.what == "strip_chlorine")
    first = [acts[n].detail for n in sprays if n < strip]
    assert first
    assert all(one.use == "flush" and one.onto.startswith("pail ") for one in first)
    worn = next(n for n, act in enumerate(acts) if isinstance(act.detail, Mark) and act.detail.verb == "wear")
    assert worn < sprays[0]
    for spoiled, says in (
        ([one for one in acts if not isinstance(one.detail, Spray) or one.detail.use != "flush"], "before its flush"),
        ([one for one in acts if not isinstance(one.detail, Mark) or one.detail.verb != "wear"], "dressed"),
    ):
        spoiled = [one for one in spoiled if one.expect is None or one.expect.what != "strip_chlorine"]
        assert plan.procedure is not None
        found = rehearse(
            setting_of(plan, matrix(), usual_flow(plan.input)), replace(plan.procedure, acts=tuple(spoiled))
        )
        assert any(says in one.state for one in found), says


def test_what_a_flush_is_said_to_have_taken_out_is_flushed_out_here_too(tmp_path: Path) -> None:
    job = checked(tmp_path, {"pump": "washer", "work": "test", "bath": None}).plan.input
    first = [make_plan(job, replace(tonight(job), parts=MappingProxyType({"washer": "hypochlorite"} if held else {})),
                       tables=False) for held in (True, False)]  # fmt: skip
    sprays = [acts_of(plan, Spray)[0].detail for plan in first]
    assert [(one.use, one.onto) for one in sprays] == [("flush", "pail 1"), ("line", "ground")]


@pytest.mark.parametrize("work", ["test", ["rebuild"], ["rebuild", "test"]])
@pytest.mark.parametrize("volume", ["5 gal", "8 gal", "15 gal"])
def test_a_tank_too_small_for_all_the_tests_is_filled_again(work: Any, volume: str, tmp_path: Path) -> None:
    small = rig(dedicated="muriatic", holds="muriatic")
    small["rig"]["tanks"] = {"1": {"holds": "muriatic", "volume": volume, "dead_volume": "1 qt"}}
    plan = plan_of(tmp_path, {"pump": "transfer", "work": work, "bath": None}, small)
    assert {act.detail.feed for act in acts_of(plan, DrawFrom)} == {"mix"}
    found = rehearse(setting_of(plan, matrix(), usual_flow(plan.input)), plan.procedure)  # type: ignore[arg-type]
    assert not found, "\n".join(str(one) for one in found)
    fills = [act for act in acts_of(plan, Fill) if act.detail.into == "mix"]
    assert len(fills) > (2 if volume != "15 gal" or work == ["rebuild", "test"] else 1), "rinsed, filled, filled again"


@pytest.mark.parametrize("job", ["demo", "unflushed bleach", "kept for acid"])
def test_every_pail_the_strong_water_may_come_into_gets_agent_for_all_of_it(job: str, tmp_path: Path) -> None:
    plan = JOBS[job](tmp_path)
    flushed = [act.detail for act in acts_of(plan, Spray) if act.detail.use == "flush"]
    test, pump = plan.yard.test, plan.yard.pump
    assert test is not None
    held = math.fsum(hoses_of(plan.yard.runs[0], plan.yard.runs).values()) + 5 * pump.wetted_volume
    past, reached = 0.0, []
    for one in flushed:
        reached += [one.onto] if past < held - 1e-9 else []
        past += one.volume
    doses = {act.detail.what: act.detail.mass for act in acts_of(plan, Neutralise) if act.phase == "test"}
    home = {act.detail.source for act in acts_of(plan, Drain) if act.detail.to == "carried_home"}
    assert set(reached) == set(doses) or set(reached) <= home
    assert len(reached) == (2 if job == "demo" else len(reached)) > 0
    assert len({round(dose, 12) for dose in doses.values()}) <= 1, "the first is no weaker than the next"  # type: ignore[arg-type]
