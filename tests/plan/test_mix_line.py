"""What a mix is drawn for beside the walls, and when its hose goes on water: all of it is loaded, none of it promised."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.checks.model import CheckedJob
from planner.commands.as_json import job_json
from planner.commands.record_json import planned_of
from planner.commands.record_questions import questions
from planner.plan.mix_model import MixPlan
from planner.plan.mix_names import named_mix, told_apart
from planner.plan.mixing import shared_notes
from tests import workspaces

GALLON = 231 * 0.0254**3
PANEL: dict[str, Any] = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}
VENTURI: dict[str, Any] = {
    "chemicals": [{"stock": "bleach", "strength": "0.8 %"}],
    "hose_runs": {0: {"pump": "washer", "dosing": "venturi", "tip": "fan"}},
}


def checked(folder: Path, *changes: dict[str, Any]) -> CheckedJob:
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, {"job": change})
    return workspaces.checked(folder, files)


def mixes_of(folder: Path, *changes: dict[str, Any]) -> tuple[MixPlan, ...]:
    return checked(folder, *changes).plan.mixes


def walls(*areas: float, kind: str = "vinyl") -> dict[str, Any]:
    return {"surfaces": [{"name": f"wall {n}", "kind": kind, "area": f"{area:.6f} ft2"} for n, area in enumerate(areas, 1)]}


@pytest.mark.parametrize(("area", "gallons"), [(2000.0, 2.0), (260.0, 1.0), (110.0, 0.5), (20.0, 0.25)])
def test_the_test_at_the_tip_is_no_more_than_a_quarter_of_the_mix(tmp_path: Path, area: float, gallons: float) -> None:
    (mix,) = mixes_of(tmp_path, PANEL, walls(area))
    assert mix.line.test == pytest.approx(gallons * GALLON)
    if gallons > 0.25:  # the smallest measure is taken whatever the mix
        assert mix.line.test <= 0.25 * mix.need * (1 + 1e-9)


def test_a_company_that_writes_si_measures_in_litres(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), {"company": {"units": "si"}, "job": PANEL})
    (mix,) = workspaces.checked(tmp_path, files).plan.mixes
    assert mix.line.test == pytest.approx(8e-3)


# A panel and a tested injector draw a tenth too much at most, which the spare covers.
@pytest.mark.parametrize(("how", "spare"), [(PANEL, 0.15), (VENTURI, 0.15)])
def test_what_the_test_draws_is_poured_loaded_off_the_shelf_and_made_harmless(
    tmp_path: Path, how: dict[str, Any], spare: float
) -> None:
    job = checked(tmp_path, how)
    plan = job.plan
    (mix,) = plan.mixes
    assert mix.mix == pytest.approx(mix.need + mix.line.test)
    assert mix.share is not None
    assert mix.stock == pytest.approx(mix.mix * mix.share)
    # Tested by a strip: loaded as if it read an eighth too much.
    assert mix.pull * 0.875 == pytest.approx(mix.stock + spare * mix.need * mix.share, rel=1e-6)
    assert plan.left.taken["drum"] == pytest.approx(mix.pull)
    assert plan.water.mix == pytest.approx(mix.water)
    purposes = {one.purpose.partition(" of ")[0]: one.volume for one in plan.neutralisers}
    assert purposes["the test bucket"] == pytest.approx(mix.line.test)
    told = job_json(job, "us")
    assert told["mixes"][0]["test_m3"] == mix.line.test
    assert told["active"][0]["test_kg"] == pytest.approx(mix.line.test * mix.wall)


def test_a_drum_that_the_test_alone_would_empty_is_not_the_first_on_a_panel(tmp_path: Path) -> None:
    drums = [{"name": name, "chemical": "bleach", "strength": "12.5 trade %", "made": made, "kept_at": "cool",
              "on_hand": on_hand} for name, made, on_hand in (("old", "2026-05-20", "18 fl oz"), ("new", "2026-06-01", "9 gal"))]  # fmt: skip
    files = workspaces.merged(workspaces.base(), {"job": PANEL, "stock": {"lots": drums}})
    (mix,) = workspaces.checked(tmp_path, files).plan.mixes
    first = mix.pours[0]
    assert first.lot.name == "new"
    assert first.stock > mix.line.test * (first.share or 0.0)


def test_a_tank_s_mix_is_not_tested_at_the_tip(tmp_path: Path) -> None:
    premix = {"chemicals": PANEL["chemicals"], "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}
    (mix,) = mixes_of(tmp_path, premix)
    assert mix.line.test == 0.0
    assert mix.need == pytest.approx(1.15 * sum(part.mix for part in mix.parts))


def test_more_mix_than_the_hose_holds_is_chased_and_nothing_is_lost(tmp_path: Path) -> None:
    (mix,) = mixes_of(tmp_path, PANEL, walls(500.0))
    assert mix.line.primes == 0.0
    assert mix.line.covers == pytest.approx(mix.fill * mix.parts[0].coverage)
    assert mix.line.covers <= mix.parts[0].area


def test_less_mix_than_the_hose_holds_is_not_switched_early_but_runs_first(tmp_path: Path) -> None:
    """A 10 by 10 ft wall takes 2.26 gal and a hundred feet of 3/4 in hold 2.29: the hose is filled for nothing."""
    job = checked(tmp_path, PANEL, walls(90.0))
    (mix,) = job.plan.mixes
    assert sum(part.mix for part in mix.parts) < mix.fill
    assert mix.line.covers == 0.0
    assert mix.line.small == ("wall 1",)
    assert mix.line.primes == pytest.approx(mix.fill)
    assert mix.mix == pytest.approx(mix.need + mix.line.test + mix.fill)
    (finding,) = [one for one in job.findings if one.code == "mix.reach"]
    assert (finding.level, finding.case) == ("caution", "in_hose")


def test_a_tank_has_the_hose_s_own_on_top_of_its_spare(tmp_path: Path) -> None:
    premix = {"chemicals": PANEL["chemicals"], "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}
    (mix,) = mixes_of(tmp_path, premix, walls(90.0))
    assert mix.need == pytest.approx(1.15 * sum(part.mix for part in mix.parts) + mix.fill)


OWN_HOSE = {"bore": "3/4 in", "length": "100 ft", "rated": "200 psi", "material": "rubber", "name": "blue"}
RINSED = {"name": "rinse", "pump": "booster", "feed": "water", "hoses": [OWN_HOSE], "tip": "fan", "target": "6 ft",
          "standoff": "4 ft"}  # fmt: skip


def test_walls_that_another_line_rinses_are_one_stretch_and_the_chase_may_begin_on_the_one_before(tmp_path: Path) -> None:
    runs = [workspaces.base()["job"]["hose_runs"][0] | {"dosing": "panel"}, RINSED]
    (mix,) = mixes_of(tmp_path, {"chemicals": PANEL["chemicals"], "hose_runs": None}, {"hose_runs": runs}, walls(400.0, 60.0))
    (stretch,) = mix.line.stretches
    assert stretch.walls == ("wall 1", "wall 2")
    assert stretch.last == ("wall 1", "wall 2")
    assert stretch.area == pytest.approx((mix.fill - mix.parts[1].mix) * mix.parts[0].coverage)
    assert mix.line.primes == 0.0


def test_walls_rinsed_through_their_own_line_fill_it_anew_section_by_section(tmp_path: Path) -> None:
    (mix,) = mixes_of(tmp_path, PANEL, walls(1300.0, 60.0))
    first, second = mix.line.stretches
    assert (first.times, second.times) == (3, 1)
    assert first.mix == pytest.approx(mix.parts[0].mix / 3)
    assert mix.line.small == ("wall 2",)
    assert mix.line.primes == pytest.approx(mix.fill)
    # It goes into a bucket before the rinse, so that the rinse is water from the first drop.


def test_the_mix_enters_while_as_much_is_still_to_wet_as_the_hose_holds(tmp_path: Path) -> None:
    """600 ft2 are wetted with 6 gal, more than the 2.29 in the hose; 60 ft2 with 0.6, so 1.69 go into a bucket first."""
    job = checked(tmp_path, PANEL, walls(600.0, 60.0))
    (mix,) = job.plan.mixes
    big, small = mix.line.stretches
    assert big.lead == 0.0
    assert small.lead == pytest.approx(mix.fill - 0.6 * GALLON)
    assert mix.line.push == pytest.approx(mix.fill)
    assert mix.line.water == (pytest.approx(mix.fill), pytest.approx(small.lead))
    assert job.plan.water.line == pytest.approx(mix.fill + small.lead)
    uses = job_json(job, "us")["water"]
    assert uses["need_m3"] == pytest.approx(sum(uses["by_use_m3"].values()))
    # The gun is open for the buckets too.
    first, second = job.plan.work
    flow = job.plan.runs[0].flow
    assert first.trigger * flow == pytest.approx(mix.parts[0].mix + mix.line.test)
    assert second.trigger * flow == pytest.approx(mix.parts[1].mix + mix.fill)
    at_pace = max(mix.parts[1].mix / flow / 0.35, 60 / (100 / 60))
    assert second.apply == pytest.approx(at_pace + (mix.fill + small.lead) / flow)


def test_a_wall_less_than_its_hose_keeps_its_whole_rinse_and_its_runoff_has_no_hoseful(tmp_path: Path) -> None:
    plan = checked(tmp_path, PANEL, walls(60.0)).plan
    (mix,), (work,) = plan.mixes, plan.work
    assert work.rinse_volume == pytest.approx(60 * 0.12 * GALLON)
    assert plan.runoff is not None
    (wall,) = plan.runoff.surfaces
    assert wall.mix == pytest.approx(mix.parts[0].mix)


def test_a_rinser_on_the_mix_s_own_hoses_is_water_between(tmp_path: Path) -> None:
    runs = [workspaces.base()["job"]["hose_runs"][0] | {"dosing": "panel"}, RINSED | {"hoses": ["red"]}]
    (mix,) = mixes_of(tmp_path, {"chemicals": PANEL["chemicals"], "hose_runs": None}, {"hose_runs": runs}, walls(2400.0, 60.0))
    big, _ = mix.line.stretches
    assert (big.times, big.lead) == (4, 0.0)
    assert mix.line.small == ("wall 2",)
    assert mix.line.primes == pytest.approx(mix.fill)


@settings(max_examples=40, deadline=None)
@given(areas=st.lists(st.floats(5.0, 3000.0), min_size=1, max_size=4), how=st.sampled_from([PANEL, VENTURI]),
       rinsed=st.booleans())  # fmt: skip
def test_what_is_drawn_is_on_walls_in_the_bucket_or_in_the_hose(
    tmp_path_factory: pytest.TempPathFactory, areas: list[float], how: dict[str, Any], rinsed: bool
) -> None:
    files = workspaces.merged(workspaces.base(), {"job": how})
    files = workspaces.merged(files, {"job": walls(*areas)})
    if rinsed:
        files["job"]["hose_runs"].append(RINSED)
    plan = workspaces.checked(tmp_path_factory.mktemp("drawn"), files).plan
    (mix,) = plan.mixes
    assert mix.mix == pytest.approx(sum(part.mix for part in mix.parts) + mix.line.test + mix.line.primes)
    assert sum(mix.line.beside) == pytest.approx(mix.line.test + mix.line.primes)
    assert mix.line.covers <= max(part.area for part in mix.parts) * (1 + 1e-9)
    for stretch in mix.line.stretches:
        assert (stretch.area > 0.0) == (stretch.mix >= mix.fill * (1 - 1e-9))
    # The supply draws what the plan mixes, no more and no less.
    assert plan.supply is not None
    draws = sum(sum(phase.draws.values()) for phase in plan.supply.phases if phase.what == "apply")
    if plan.beds is None:
        assert draws == pytest.approx(mix.water + plan.water.line, rel=1e-9)
    # What leaves the tip is what goes in: the hose is full of water before and after.
    flow = plan.runs[0].flow
    own = [one for one in plan.work if one.run == mix.run.name]
    assert sum(one.pace.apply.least for one in own) * flow == pytest.approx(mix.mix + plan.water.line)
    assert plan.water.seconds["mix"] * flow == pytest.approx(mix.mix)
    for stretch in mix.line.stretches:
        assert 0.0 <= stretch.lead <= mix.fill


def test_mixes_called_alike_are_told_by_number_and_walls() -> None:
    mixes = [("bleach", "house", ("vinyl", "gables")), ("bleach", "house", ("plinth",)), ("bleach", "roof", ("slope",))]
    assert told_apart(mixes, 1) == "1: bleach, house: vinyl, gables"
    assert told_apart(mixes, 2) == "2: bleach, house: plinth"
    assert told_apart(mixes, 3) == "bleach, roof"


def test_setups_that_share_walls_say_so(tmp_path: Path) -> None:
    runs = [workspaces.base()["job"]["hose_runs"][0] | {"name": name, "dosing": "panel"} for name in ("front", "back")]
    plan = checked(tmp_path, {"hose_runs": runs, "chemicals": PANEL["chemicals"]}).plan
    assert "wall: half by front and half by back" in plan.notes
    written = [run | {"share": share} for run, share in zip(runs, ("70 %", "30 %"), strict=True)]
    assert shared_notes(checked(tmp_path / "written", {"hose_runs": written}).plan.input) == ()


def test_what_is_asked_and_compared_of_mixes_called_alike_says_which(tmp_path: Path) -> None:
    chemicals = [{"stock": "bleach", "strength": f"{percent} %", "surfaces": [f"wall {n}"]}
                 for n, percent in ((1, 0.8), (2, 1.2))]  # fmt: skip
    job = checked(tmp_path, PANEL, walls(900.0, 600.0), {"chemicals": chemicals})
    plan = job_json(job, "us")
    assert [named_mix(plan, number) for number in (1, 2)] == [
        "1: hypochlorite, front: wall 1", "2: hypochlorite, front: wall 2"
    ]
    asked = [question.about for question in questions(plan, planned_of(plan), "us") if question.path.startswith("mixes.")]
    assert "2: hypochlorite, front: wall 2: dial" in asked
    assert len(asked) == len(set(asked))
