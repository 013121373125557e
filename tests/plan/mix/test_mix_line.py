"""A mix on its way through the hose: its test is drawn onto the wall, and it is chased with water, so that all of what
is drawn lands and nothing is drawn beside the walls."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.contract.planned import named_mix
from planner.contract.record import planned_of
from planner.plan.mix.mixing import shared_notes
from planner.plan.mix.model import MixPlan
from planner.plan.mix.names import told_apart
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Drain, Pour, Read, SetDosing, Spray
from planner.recording.questions import questions
from tests import workspaces
from tests.sampled import examples

GALLON = 231 * 0.0254**3
PANEL: dict[str, Any] = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}
VENTURI: dict[str, Any] = {
    "chemicals": [{"stock": "bleach", "strength": "0.8 %"}],
    "hose_runs": {0: {"pump": "washer", "dosing": "venturi", "tip": "fan"}},
}
PREMIX: dict[str, Any] = {
    "chemicals": PANEL["chemicals"],
    "hose_runs": {0: {"feed": "mix", "dosing": "premix"}},
}


def checked(folder: Path, *changes: dict[str, Any]) -> CheckedJob:
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, {"job": change})
    return workspaces.checked(folder, files)


def mixes_of(folder: Path, *changes: dict[str, Any]) -> tuple[MixPlan, ...]:
    return checked(folder, *changes).plan.mixes


def walls(*areas: float, kind: str = "vinyl") -> dict[str, Any]:
    return {
        "surfaces": [{"name": f"wall {n}", "kind": kind, "area": f"{area:.6f} ft2"} for n, area in enumerate(areas, 1)]
    }


def sprays(plan: JobPlan, use: str) -> list[Spray]:
    """Every spray of a use, in order."""
    assert plan.procedure is not None
    found = [act.detail for act in plan.procedure.acts if isinstance(act.detail, Spray)]
    return [one for one in found if one.use == use]


def jug_of(plan: JobPlan) -> tuple[float, float, float]:
    """Of the first jug: what is poured into it, what the test is said to take, what goes back into the lot [m3]."""
    assert plan.procedure is not None
    poured = down = back = 0.0
    for act in plan.procedure.acts:
        if isinstance(act.detail, Pour) and act.detail.into == "jug front":
            poured += act.detail.volume or 0.0
        if isinstance(act.detail, Read) and act.expect is not None and act.expect.what == "jug_down":
            down = act.expect.value
        if isinstance(act.detail, Drain) and act.detail.source == "jug front" and act.detail.to == "drum":
            back += act.detail.volume
    return poured, down, back


@pytest.mark.parametrize("area", [2000.0, 260.0, 110.0])
def test_the_draw_test_is_the_largest_whole_five_seconds_of_the_line_and_lands_on_the_wall(
    tmp_path: Path, area: float
) -> None:
    plan = checked(tmp_path, PANEL, walls(area)).plan
    (mix,), flow = plan.mixes, plan.runs[0].flow
    poured, down, back = jug_of(plan)
    assert mix.share is not None
    seconds = down / mix.share / flow
    # A section that takes less mix than the line holds has no more to draw.
    holds = min(mix.fill, mix.need / plan.work[0].sections) / flow
    assert seconds == pytest.approx(5.0 * (holds // 5.0) if holds >= 5.0 else holds // 1.0)
    assert any(one.seconds == pytest.approx(seconds) and one.onto == "section" for one in sprays(plan, "wet"))
    # The jug takes its lot neat, a little over where the mix takes much of it; what the test leaves goes back.
    assert down * (1 - 1e-9) <= poured <= 1.5 * down * (1 + 1e-9)
    assert (poured > down * (1 + 1e-9)) == (area == 2000.0)
    assert back == pytest.approx(poured - down, abs=1e-12)
    assert plan.left.taken["drum"] == pytest.approx(mix.pull)


# A panel and a tested injector draw a tenth too much at most, which the spare covers; a jug holds a twentieth over.
@pytest.mark.parametrize(("how", "spare"), [(PANEL, 0.15), (VENTURI, 0.05 + 0.15)])
def test_what_is_drawn_is_the_walls_own_and_loaded_with_its_spare(
    tmp_path: Path, how: dict[str, Any], spare: float
) -> None:
    job = checked(tmp_path, how)
    plan = job.plan
    (mix,) = plan.mixes
    assert mix.mix == pytest.approx(mix.need) == pytest.approx(sum(part.mix for part in mix.parts))
    assert mix.share is not None
    # Tested by a strip: loaded as if it read an eighth too much.
    assert mix.pull * 0.875 == pytest.approx((1.0 + spare) * mix.need * mix.share, rel=1e-6)
    assert plan.left.taken["drum"] == pytest.approx(mix.pull)
    told = job_json(job, "us")
    (made,), (active,) = told["mixes"], told["active"]
    assert made["test_m3"] == made["hose_primes_m3"] == made["test_push_m3"] == 0.0
    assert active["test_kg"] == active["line_kg"] == 0.0
    assert made["hose_fill_covers_m2"] == pytest.approx(mix.fill * mix.parts[0].coverage)


def test_a_drum_that_gives_too_little_is_not_the_first_on_a_panel(tmp_path: Path) -> None:
    drums = [{"name": name, "chemical": "bleach", "strength": "12.5 trade %", "made": made, "kept_at": "cool",
              "on_hand": on_hand} for name, made, on_hand in (("old", "2026-05-20", "2 fl oz"), ("new", "2026-06-01", "9 gal"))]  # fmt: skip
    files = workspaces.merged(workspaces.base(), {"job": PANEL, "stock": {"lots": drums}})
    (mix,) = workspaces.checked(tmp_path, files).plan.mixes
    assert mix.pours[0].lot.name == "new"


def test_a_tank_s_mix_has_no_draw_test_and_its_spare_alone(tmp_path: Path) -> None:
    plan = checked(tmp_path, PREMIX, walls(90.0)).plan
    (mix,) = plan.mixes
    assert mix.need == pytest.approx(1.15 * sum(part.mix for part in mix.parts))
    assert jug_of(plan) == (0.0, 0.0, 0.0)


def test_less_mix_than_the_hose_holds_goes_between_two_waters_and_nothing_is_left_of_it(tmp_path: Path) -> None:
    """A 9 by 10 ft wall takes 2 gal and a hundred feet of 3/4 in hold 2.29."""
    job = checked(tmp_path, PANEL, walls(90.0))
    (mix,) = job.plan.mixes
    assert sum(part.mix for part in mix.parts) < mix.fill
    assert sum(one.volume for one in sprays(job.plan, "mix")) == pytest.approx(mix.need)
    assert job_json(job, "us")["mixes"][0]["hose_small"] == []
    (finding,) = [one for one in job.findings if one.code == "mix.reach"]
    assert finding.level == "ok"


OWN_HOSE = {"bore": "3/4 in", "length": "100 ft", "rated": "200 psi", "material": "rubber", "name": "blue"}
RINSED = {"name": "rinse", "pump": "booster", "feed": "water", "hoses": [OWN_HOSE], "tip": "fan", "target": "6 ft",
          "standoff": "4 ft"}  # fmt: skip


def test_a_wall_is_told_in_the_sections_it_is_sprayed_in(tmp_path: Path) -> None:
    job = checked(tmp_path, PANEL, walls(1300.0, 60.0))
    (mix,) = job.plan.mixes
    told = job_json(job, "us")
    first, second = told["mixes"][0]["stretches"]
    assert (first["surfaces"], second["surfaces"]) == (["wall 1"], ["wall 2"])
    assert [first["times"], second["times"]] == [row["sections"] for row in told["work"]]
    assert first["times"] > 1
    for stretch, part in zip((first, second), mix.parts, strict=True):
        assert stretch["times"] * stretch["mix_m3"] == pytest.approx(part.mix)
        assert (stretch["lead_m3"], stretch["chased"]) == (0.0, True)


def test_each_section_is_wetted_with_what_was_asked_or_with_the_line_that_brings_its_mix(tmp_path: Path) -> None:
    """600 ft2 are wetted with 6 gal, more than the 2.29 in the hose; 60 ft2 with 0.6, so the line's is more."""
    plan = checked(tmp_path, PANEL, walls(600.0, 60.0)).plan
    (mix,) = plan.mixes
    assert plan.procedure is not None
    wetted: dict[tuple[str, int], float] = {}
    for act in plan.procedure.acts:
        if isinstance(act.detail, Spray) and act.detail.use == "wet" and act.section is not None:
            key = (act.section.surface, act.section.of)
            wetted[act.section.surface, act.section.number] = (
                wetted.get((act.section.surface, act.section.number), 0.0) + act.detail.volume
            )
            asked = next(one.wet_volume for one in plan.work if one.surface.name == key[0]) / key[1]
            assert act.detail.volume <= max(asked, mix.fill) * (1 + 1e-9)
    assert wetted["wall 2", 1] == pytest.approx(mix.fill)
    for (name, _), volume in wetted.items():
        row = next(one for one in plan.work if one.surface.name == name)
        assert volume == pytest.approx(max(row.wet_volume / row.sections, mix.fill))


def test_a_wall_less_than_its_hose_keeps_its_whole_rinse_and_its_runoff_has_no_hoseful(tmp_path: Path) -> None:
    plan = checked(tmp_path, PANEL, walls(60.0)).plan
    (mix,), (work,) = plan.mixes, plan.work
    assert work.rinse_volume == pytest.approx(60 * 0.12 * GALLON)
    assert sum(one.volume for one in sprays(plan, "rinse")) == pytest.approx(work.rinse_volume)
    assert plan.runoff is not None
    (wall,) = plan.runoff.surfaces
    assert wall.mix == pytest.approx(mix.parts[0].mix)


@pytest.mark.ci
@settings(max_examples=examples(25), deadline=None)
@given(areas=st.lists(st.floats(5.0, 3000.0), min_size=1, max_size=4), how=st.sampled_from([PANEL, VENTURI, PREMIX]),
       rinsed=st.booleans())  # fmt: skip
def test_what_is_drawn_as_mix_is_what_lands_as_mix(
    tmp_path_factory: pytest.TempPathFactory, areas: list[float], how: dict[str, Any], rinsed: bool
) -> None:
    files = workspaces.merged(workspaces.base(), {"job": how})
    files = workspaces.merged(files, {"job": walls(*areas)})
    if rinsed:
        files["job"]["hose_runs"].append(RINSED)
    plan = workspaces.checked(tmp_path_factory.mktemp("drawn"), files).plan
    (mix,) = plan.mixes
    on_walls = sum(part.mix for part in mix.parts)
    if mix.mix is None or plan.procedure_misfits:
        return
    assert sum(one.volume for one in sprays(plan, "mix")) == pytest.approx(on_walls)
    # What goes through the line while its stock is open: the front enters at the dosing, a line ahead of the tip.
    entered, stock = 0.0, False
    assert plan.procedure is not None
    # A dosing that is set while the gun is open counts from its end.
    for act in sorted(
        plan.procedure.acts, key=lambda one: one.end - 1e-6 if isinstance(one.detail, SetDosing) else one.start
    ):
        if isinstance(act.detail, SetDosing) and act.detail.run == mix.run.name:
            stock = bool(act.detail.draws)
        elif isinstance(act.detail, Spray) and act.detail.run == mix.run.name and stock:
            entered += act.detail.volume
    if mix.kind != "premix":
        assert entered == pytest.approx(on_walls)
        assert mix.mix == pytest.approx(on_walls)
    flow = plan.runs[0].flow
    own = [one for one in plan.work if one.run == mix.run.name]
    assert sum(one.pace.apply.least for one in own) * flow == pytest.approx(on_walls)


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
        "1: hypochlorite, front: wall 1",
        "2: hypochlorite, front: wall 2",
    ]
    asked = [
        question.about for question in questions(plan, planned_of(plan), "us") if question.path.startswith("mixes.")
    ]
    assert "2: hypochlorite, front: wall 2: dial" in asked
    assert len(asked) == len(set(asked))
