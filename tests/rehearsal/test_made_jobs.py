"""Jobs an owner may write, each of which plays: YAML in, nothing held, and the rehearsal refuses no act."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.days.rehearsing import rehearsed
from planner.plan.between.matrix import matrix
from planner.plan.procedure.acts import DrawFrom, Fill, Mark, Pour, Power, Read, Spray, Stir, Tap
from planner.plan.procedure.book import PAIL
from planner.rehearsal.from_plan import setting_of
from planner.rehearsal.play import rehearse
from tests import workspaces
from tests.sampled import in_ci

BLEACH = [{"stock": "drum", "strength": "1 %"}]
PREMIX: dict[str, Any] = {
    "job": {
        "surfaces": [{"name": "wall", "kind": "painted_wood", "area": "120 ft2"}],
        "chemicals": [{"stock": "bleach", "strength": "0.6 %"}],
        "hose_runs": {0: {"pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan", "target": "9 ft"}},
    },
}
ACID = workspaces.merged(
    PREMIX,
    {
        "rig": {"pumps": {2: {"dedicated": "muriatic", "wetted": ["plastic"]}}},
        "job": {
            "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "120 ft2"}],
            "chemicals": [{"stock": "acid", "strength": "1:10"}],
        },
    },
)


def played(folder: Path, *changes: dict[str, Any]) -> CheckedJob:
    """A job that nothing holds, rehearsed as `check` does it; any breach fails."""
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, change)
    job = rehearsed(workspaces.checked(folder, json.loads(json.dumps(files))))  # our reader takes no aliases
    assert not job.held_by, [one.values for one in job.findings if one.level == "stop"]
    assert not job.breaches, job.breaches[:5]
    return job


def _tap(flow: str) -> dict[str, Any]:
    return {"job": {"water": {"flow_test": {"flow": flow}}}}


TAP = {"job": {"chemicals": [], "hose_runs": {0: {"feed": "tap", "pump": None}}}}


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize(
    "change",
    [
        {},
        {"job": {"hose_runs": {0: {"pump": "booster"}}}},
        {"job": {"hose_runs": {0: {"pump": "booster", "dosing": "panel"}}, "chemicals": BLEACH}},
        {"job": {"hose_runs": {0: {"dosing": "venturi"}}, "chemicals": [{"stock": "drum", "strength": "0.5 %"}]}},
    ],
    ids=["hose", "pump", "panel", "injector"],
)
def test_a_line_off_the_tap_plays_and_a_tap_left_as_it_is_does_not(
    tmp_path: Path, change: dict[str, Any], crew: str
) -> None:
    job = played(tmp_path, TAP, change, {"day": {"crew": crew}})
    procedure = job.plan.procedure
    assert procedure is not None
    taps = [act for act in procedure.acts if isinstance(act.detail, Tap)]
    said = {True: "its tap is shut", False: "is let out with its tap open"}
    assert [act.detail.on for act in taps if isinstance(act.detail, Tap)] in ([True, False], [False])
    for one in taps:
        # Whoever should turn it looks on instead, as long.
        looks = replace(one, detail=Mark(verb="look", what="people_clear"))
        acts = tuple(looks if act is one else act for act in procedure.acts)
        spoiled = rehearsed(replace(job, plan=replace(job.plan, procedure=replace(procedure, acts=acts))))
        assert isinstance(one.detail, Tap)
        assert any(said[one.detail.on] in state for _, _, state in spoiled.breaches)


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize("flow", ["1 gpm", "8 gpm"])
def test_acid_out_of_a_tub_wets_and_rinses_its_wall_out_of_one_pail_that_never_runs_dry(
    tmp_path: Path, crew: str, flow: str
) -> None:
    job = played(tmp_path, ACID, _tap(flow), {"day": {"crew": crew}})
    procedure = job.plan.procedure
    assert procedure is not None
    assert {one.detail.feed for one in procedure.acts if isinstance(one.detail, DrawFrom)} == {"mix", "pail 1"}
    sprays = [one.detail for one in procedure.acts if isinstance(one.detail, Spray)]
    wetted = sum(one.volume for one in sprays if one.use == "wet")
    fills = [one.detail for one in procedure.acts if isinstance(one.detail, Fill)]
    filled = sum(one.volume for one in fills if one.into == "pail 1")
    assert filled > wetted


@pytest.mark.parametrize("crew", ["1", "2"])
def test_clean_water_comes_from_the_tank_that_the_suction_gets_to(tmp_path: Path, crew: str) -> None:
    spare = {"name": "spare", "floor": "0 ft", "volume": "100 gal", "holds": "water"}
    rig = {"tanks": [*workspaces.base()["rig"]["tanks"], spare], "pumps": {2: {"draws": ["mix", "spare"]}}}
    job = played(tmp_path, PREMIX, {"rig": rig, "day": {"crew": crew}})
    assert job.plan.procedure is not None
    feeds = {one.detail.feed for one in job.plan.procedure.acts if isinstance(one.detail, DrawFrom)}
    assert feeds == {"mix", "spare"}


@pytest.mark.parametrize("crew", ["1", "2"])
def test_a_rig_without_a_water_tank_wets_and_rinses_out_of_a_pail(tmp_path: Path, crew: str) -> None:
    rig = {"tanks": [workspaces.base()["rig"]["tanks"][1]]}
    played(tmp_path, PREMIX, {"rig": rig, "day": {"crew": crew}})


# ------------------------------------------------------------------------------------------- what is mixed

VENTURI: dict[str, Any] = {
    "rig": {
        "pumps": {1: {"flow": "4 gpm", "bypass": "yes"}},
        "hoses": {0: {"rated": "4000 psi"}},
        "tips": {1: {"flow": None, "at": None, "size": "60"}},
        "dosing": {1: {"max_back_pressure": "1500 psi", "loss": {"pressure": "500 psi", "flow": "4 gpm"}}},
    },
    "stock": {"lots": [*workspaces.base()["stock"]["lots"], {"name": "suds", "chemical": "soap", "on_hand": "5 gal"}]},
    "job": {"hose_runs": {0: {"pump": "washer", "dosing": "venturi", "tip": "fan", "target": "9 ft"}}},
}
PANEL: dict[str, Any] = {"job": {"hose_runs": {0: {"dosing": "panel", "target": "9 ft"}}}}
TWO_WALLS: dict[str, Any] = {
    "job": {
        "surfaces": [
            {"name": "wall", "kind": "vinyl", "area": "120 ft2"},
            {"name": "gable", "kind": "stucco", "area": "120 ft2"},
            {"name": "porch", "kind": "vinyl", "area": "120 ft2"},
        ],
        "chemicals": [
            {"stock": "bleach", "strength": "0.6 %", "surfaces": ["wall", "porch"]},
            {"stock": "bleach", "strength": "0.8 %", "surfaces": ["gable"]},
        ],
    },
}
SOAP = {"job": {"chemicals": [{"stock": "soap", "dose": "1 fl oz/gal"}]}}


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize("line", [PREMIX, VENTURI], ids=["premix", "venturi"])
def test_soap_alone_is_poured_and_stands_as_long_as_its_wall_bears(
    tmp_path: Path, line: dict[str, Any], crew: str
) -> None:
    job = played(tmp_path, VENTURI, {"job": {"hose_runs": {0: {"dosing": None}}}}, line, SOAP, {"day": {"crew": crew}})
    assert job.plan.procedure is not None
    poured = sum(one.detail.volume or 0.0 for one in job.plan.procedure.acts if isinstance(one.detail, Pour))
    (mix,) = job.plan.mixes
    assert poured == pytest.approx(mix.soap)
    assert all(work.dwell_bound == work.dwell_most > 0.0 for work in job.plan.work)


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize("line", [PREMIX, PANEL, VENTURI], ids=["premix", "panel", "venturi"])
def test_two_strengths_through_one_line_are_drawn_one_after_the_other_with_one_draw_test(
    tmp_path: Path, line: dict[str, Any], crew: str
) -> None:
    job = played(tmp_path, line, TWO_WALLS, {"day": {"crew": crew}})
    assert job.plan.procedure is not None
    read = [one.expect.what for one in job.plan.procedure.acts if one.expect is not None]
    assert read.count("jug_down") == (0 if line is PREMIX else 1)
    order = [one.section.surface for one in job.plan.procedure.acts if one.section is not None]
    assert list(dict.fromkeys(order)) == ["wall", "porch", "gable"], "one mix is used up before the next"


@pytest.mark.parametrize("hoses", [["red"], [{"bore": "3/4 in", "length": "60 ft"}]], ids=["shared", "unnamed"])
def test_a_panel_is_flushed_through_its_own_line_though_another_has_its_hose_and_pump(
    tmp_path: Path, hoses: list[Any]
) -> None:
    walls = [{"name": name, "kind": "vinyl", "area": "120 ft2"} for name in ("wall", "gable")]
    house = {**workspaces.base()["job"]["hose_runs"][0], "target": "9 ft", "hoses": hoses}
    runs = [{**house, "dosing": "panel", "surfaces": ["wall"]},
            {**house, "name": "water", "tip": "fan", "surfaces": ["gable"]}]  # fmt: skip
    uses = [{"stock": "bleach", "strength": "0.8 %", "surfaces": ["wall"]}]
    job = played(tmp_path, {"job": {"surfaces": walls, "hose_runs": runs, "chemicals": uses}})
    assert job.plan.procedure is not None
    sprays = [one.detail for one in job.plan.procedure.acts if isinstance(one.detail, Spray)]
    assert {one.run for one in sprays if one.use == "flush"} == {"front"}


@pytest.mark.parametrize("crew", ["1", "2"])
def test_two_lines_that_share_a_wall_put_as_much_mix_on_each_of_its_sections(tmp_path: Path, crew: str) -> None:
    house = {**workspaces.base()["job"]["hose_runs"][0], "target": "9 ft"}
    rig = {"hoses": [*workspaces.base()["rig"]["hoses"], {"name": "blue", "bore": "1/2 in", "length": "50 ft"}]}
    runs = [{**house, "dosing": "panel"},
            {**house, "name": "tank", "pump": "transfer", "feed": "mix", "dosing": "premix", "hoses": ["blue"], "tip": "fan"}]  # fmt: skip
    walls = [{"name": "wall", "kind": "painted_wood", "area": "240 ft2"}]
    uses = [{"stock": "bleach", "strength": "0.6 %"}]
    job = played(tmp_path, {"rig": rig, "job": {"surfaces": walls, "hose_runs": runs, "chemicals": uses},
                            "day": {"crew": crew}})  # fmt: skip
    assert len({part.mix / part.area for mix in job.plan.mixes for part in mix.parts}) == 1


# ------------------------------------------------------------------------------------------- pumps


@pytest.mark.parametrize("line", [PANEL, PREMIX], ids=["panel", "premix"])
def test_a_pump_that_bears_a_shut_gun_for_seconds_only_is_off_for_every_call(
    tmp_path: Path, line: dict[str, Any]
) -> None:
    hot = {"motor": {"power": "2 hp"}, "wetted_volume": "0.02 gal", "cut_off": None}
    played(tmp_path, line, {"rig": {"pumps": {0: hot, 2: hot}}, "day": {"crew": "2"}})


@pytest.mark.parametrize("crew", ["1", "2"])
def test_an_injector_on_the_taps_own_pressure_is_set_only_once_mix_may_be_out(tmp_path: Path, crew: str) -> None:
    rig = {"hoses": {0: {"length": "50 ft"}},
           "dosing": {1: {"max_back_pressure": "130 psi", "full_draw": "120 psi", "water_to_stock": "6",
                          "loss": {"pressure": "40 psi", "flow": "5 gpm"}}}}  # fmt: skip
    tap = {"static": "80 psi", "flow_test": {"flow": "6 gpm", "pressure": "50 psi"}}
    run = {"pump": None, "feed": "tap", "dosing": "venturi", "tip": "fan", "target": "9 ft"}
    walls = [{"name": "wall", "kind": "vinyl", "area": "2500 ft2"}]
    uses = [{"stock": "bleach", "strength": "0.5 %"}]
    job = {"surfaces": walls, "chemicals": uses, "hose_runs": {0: run}, "water": tap}
    played(tmp_path, {"rig": rig, "job": job, "day": {"crew": crew}})


_ROOF = {"job": {"hose_runs": {0: {"pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan", "target": "9 ft"}},
                 "chemicals": [{"stock": "drum", "strength": "1 %"}]}}  # fmt: skip
_PANEL = {"job": {"hose_runs": {0: {"dosing": "panel"}}, "chemicals": BLEACH}}


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize("line", [_ROOF, _PANEL], ids=["premix", "panel"])
@pytest.mark.parametrize("rinses", [("leave", "now"), ("now", "leave"), ("leave", "leave"), ("leave", "leave", "now")])
@pytest.mark.parametrize("kinds", [in_ci((("asphalt_shingle",),)), in_ci((("vinyl",),)), ("asphalt_shingle", "vinyl")])
def test_walls_that_are_left_and_walls_that_are_rinsed_share_a_line(
    tmp_path: Path, kinds: tuple[str, ...], rinses: tuple[str, ...], line: dict[str, Any], crew: str
) -> None:
    walls = [{"name": f"wall {n}", "kind": kinds[n % len(kinds)], "area": f"{90 + 10 * n} ft2", "rinse": rinse}
             for n, rinse in enumerate(rinses)]  # fmt: skip
    played(tmp_path, line, {"job": {"surfaces": walls}, "day": {"crew": crew}})


def test_what_stands_in_a_line_after_a_wall_that_is_left_goes_on_the_next(tmp_path: Path) -> None:
    walls = [{"name": name, "kind": "asphalt_shingle", "area": "90 ft2", "rinse": "leave"} for name in ("a", "b")]
    job = played(tmp_path, _ROOF, {"job": {"surfaces": [*walls, {**walls[0], "name": "c", "rinse": "now"}]}})
    assert job.plan.procedure is not None
    acts = [act for act in job.plan.procedure.acts if isinstance(act.detail, Spray) and act.phase == "wash"]
    mixes = [n for n, act in enumerate(acts) if act.section is not None and act.detail.use == "mix"]
    last = next(n for n in mixes if acts[n].section.surface == "c")
    assert all(act.section is not None for act in acts[mixes[0] : last]), "nothing goes into a pail between them"


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize("area", ["60 ft2", "300 ft2"])
def test_a_pail_that_a_suction_is_in_takes_no_more_than_a_pail_unless_somebody_stands_there(
    tmp_path: Path, crew: str, area: str
) -> None:
    slab = {"name": "wall", "kind": "concrete", "area": area}
    job = played(tmp_path, ACID, {"job": {"surfaces": [slab]}, "day": {"crew": crew}})
    procedure = job.plan.procedure
    assert procedure is not None
    fills = [act for act in procedure.acts if isinstance(act.detail, Fill) and act.detail.into == "pail 1"]
    more = [act for act in fills if act.detail.volume > PAIL]
    assert fills
    assert bool(more) == (crew == "2")
    for act in more:
        assert (act.who, act.hands) == ("second", None), "all of the time"
        left = tuple(replace(one, hands=30.0) if one is act else one for one in procedure.acts)
        found = rehearse(setting_of(job.plan, matrix(), 1.0), replace(procedure, acts=left))
        assert any("nobody keeps it full" in one.state for one in found)


@pytest.mark.parametrize("crew", ["1", "2"])
def test_a_pump_that_a_switch_holds_is_off_while_another_line_sprays(tmp_path: Path, crew: str) -> None:
    base = workspaces.base()["job"]["hose_runs"][0]
    acid = {**base, **ACID["job"]["hose_runs"][0], "name": "acid", "hoses": ["own"]}
    files = {"rig": {"hoses": [*workspaces.base()["rig"]["hoses"], {"name": "own", "bore": "1/2 in", "length": "50 ft"}],
                     **{key: ACID["rig"][key] for key in ACID["rig"]}},
             "job": {**ACID["job"], "hose_runs": [acid, {**base, "name": "water", "tip": "fan", "target": "9 ft"}],
                     "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "120 ft2"}]},
             "day": {"crew": crew}}  # fmt: skip
    job = played(tmp_path, files)
    assert job.plan.procedure is not None
    on: set[str] = set()
    for act in job.plan.procedure.acts:
        if isinstance(act.detail, Power):
            (on.add if act.detail.on else on.discard)(act.detail.pump)
        elif isinstance(act.detail, Spray):
            assert len(on) == 1, act.id


# ------------------------------------------------------------------------------------------- what nothing cures


def _held(folder: Path, *changes: dict[str, Any]) -> set[tuple[str, str]]:
    """Code and case of every stop that holds a job."""
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, change)
    found = workspaces.checked(folder, json.loads(json.dumps(files))).findings
    return {(one.code, one.case) for one in found if one.level == "stop" and one.accepted is None}


@pytest.mark.ci
def test_a_tank_that_no_waiting_for_the_tap_makes_last_is_a_stop(tmp_path: Path) -> None:
    rinse = {"job": {"surfaces": [{"name": "drive", "kind": "concrete", "area": "4000 ft2"}],
                     "hose_runs": {0: {"target": "9 ft"}}}}  # fmt: skip
    small = {"rig": {"tanks": {0: {"volume": "4 gal"}}}}
    assert ("supply.dry", "dry_wait") in _held(tmp_path, rinse, small, _tap("0.5 gpm"))


def test_a_line_that_nothing_leaves_holds_the_job_whoever_accepts_its_reach(tmp_path: Path) -> None:
    high = {"job": {"hose_runs": {0: {"uphill": "190 ft"}},
                    "accept": [{"finding": "reach.short", "reason": "seen before", "by": "Ana"}]}}  # fmt: skip
    assert ("reach.short", "no_flow") in _held(tmp_path, high)


def test_mix_that_stands_too_long_by_the_acts_themselves_is_a_stop(tmp_path: Path) -> None:
    far = {"rig": {"hoses": {0: {"length": "150 ft"}}, "pumps": {2: {"bypass": "yes"}}}, "day": {"crew": "1"}}
    assert ("wall.dwell", "too_long") in _held(tmp_path, ACID, far)


@pytest.mark.parametrize("crew", ["2", in_ci("1")])
def test_mixes_out_of_one_tank_on_shared_walls_are_each_used_up_before_the_next(crew: str, tmp_path: Path) -> None:
    """Two lines share two walls and one tank: whoever makes a mix sprays all of it before the tank has another."""
    low = {"pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan", "target": "9 ft", "standoff": "5 ft"}
    blue = {"name": "blue", "bore": "5/8 in", "length": "50 ft", "rated": "200 psi"}
    walls = [{"name": "wall", "kind": "vinyl", "area": "400 ft2"}, {"name": "roof", "kind": "asphalt_shingle",
             "area": "200 ft2", "rinse": "leave"}]  # fmt: skip
    uses = [{"stock": "drum", "strength": "1 %", "surfaces": ["wall"]},
            {"stock": "drum", "strength": "3.5 %", "surfaces": ["roof"]}]  # fmt: skip
    files = workspaces.base()
    files["rig"]["hoses"].append(blue)
    files["day"]["crew"] = crew
    files["job"] |= {
        "surfaces": walls, "chemicals": uses, "building": {"height": "9 ft"},
        "hose_runs": [{"name": "front", "hoses": ["red"], **low}, {"name": "back", "hoses": ["blue"], **low}],
        "access": {"roof_work": {"pitch": "6/12", "eave": "9 ft", "anchor": "true"}},
    }  # fmt: skip
    job = played(tmp_path, files)
    assert job.plan.procedure is not None
    made: list[list[tuple[str, str, int]]] = []
    for act in job.plan.procedure.acts:
        if isinstance(act.detail, Stir):
            made.append([])
        elif isinstance(act.detail, Spray) and act.detail.use == "mix" and act.section is not None:
            made[-1].append((act.detail.run, act.section.surface, act.section.number))
    told = [[(mix.run.name, part.surface.name) for part in mix.parts] for mix in job.plan.mixes]
    assert [list(dict.fromkeys((run, wall) for run, wall, _ in one)) for one in made] == told
    assert [one[0][2] for one in made] == [1, 1, 2, 2]


@pytest.mark.parametrize("crew", ["2", in_ci("1")])
@pytest.mark.parametrize(
    ("mixes", "runs"), [("soap soap bleach", "010"), in_ci(("soap bleach soap", "011")), ("bleach soap soap", "001")]
)
def test_soap_alone_and_bleach_take_turns_out_of_one_tank_through_one_hose(
    mixes: str, runs: str, crew: str, tmp_path: Path
) -> None:
    """Between them tank and line are flushed; no strip shows the soap that may be left, and the last line had only soap."""
    low = {"pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan", "target": "9 ft", "standoff": "3 ft"}
    sides = dict(zip(("front", "back", "left"), mixes.split(), strict=True))
    lines = {name: [side for side, own in zip(sides, runs, strict=True) if own == name] for name in sorted(set(runs))}
    files = workspaces.base()
    files["stock"]["lots"] += [{"name": "suds", "chemical": "soap", "on_hand": "5 gal", "bleach_stable": "true"}]
    files["day"]["crew"] = crew
    files["job"] |= {
        "surfaces": [{"name": side, "side": side, "kind": "vinyl", "area": "300 ft2"} for side in sides],
        "chemicals": [{"stock": "drum", "strength": "1 %", "surfaces": [one for one in sides if sides[one] == "bleach"]},
                      {"stock": "suds", "dose": "2 fl oz/gal", "surfaces": [one for one in sides if sides[one] == "soap"]}],
        "hose_runs": [{"name": f"line {name}", "hoses": ["red"], "surfaces": own, **low} for name, own in lines.items()],
    }  # fmt: skip
    job = played(tmp_path, files)
    procedure = job.plan.procedure
    assert procedure is not None
    between = [act for act in procedure.acts if act.phase == "flush_first"]
    strips = [act for act in between if isinstance(act.detail, Read)]
    if mixes.startswith("bleach"):  # without its strip the last stop point has to ask
        acts = tuple(act for act in procedure.acts if act is not strips[-1])
        spoiled = rehearsed(replace(job, plan=replace(job.plan, procedure=replace(procedure, acts=acts))))
        assert any("before coil, does not ask residual" in state for _, _, state in spoiled.breaches)
