"""What the rehearsal works out for itself, and does not take from whoever made the acts."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.chemistry.dosing import DialPoint
from planner.plan.procedure import acts as of
from planner.plan.procedure.acts import Act, Procedure
from planner.rehearsal.play import rehearse
from planner.rehearsal.setting import Setting
from tests.rehearsal.jobs import JOBS
from tests.rehearsal.reading import BY_HAND, by_hand
from tests.rehearsal.test_made_jobs import ACID, PREMIX, played

HOUSE, ROOF = BY_HAND
RESIDUAL = {"hypochlorite": 0.004, "muriatic": 0.004}


def each(procedure: Procedure, change: Callable[[Act], Act]) -> Procedure:
    """A procedure with every act changed."""
    return replace(procedure, acts=tuple(map(change, procedure.acts)))


def waited(procedure: Procedure, *left_out: str) -> Procedure:
    """A procedure in which somebody waits instead of some acts."""
    return each(procedure, lambda act: replace(act, detail=of.Wait(seconds=act.lasts)) if act.id in left_out else act)


def told(setting: Setting, procedure: Procedure, rule: str) -> str:
    """All that is found against a rule."""
    return "; ".join(f"{one.act} {one.state}" for one in rehearse(setting, procedure) if one.rule == rule)


def acts_of(procedure: Procedure | None, kind: Any) -> list[Act]:
    """The acts of a kind."""
    assert procedure is not None
    return [act for act in procedure.acts if isinstance(act.detail, kind)]


# ------------------------------------------------------------------------------------------- walls and beds


def test_a_wetted_wall_does_not_wait_for_its_mix_longer_than_it_may() -> None:
    setting, procedure = JOBS["acid"]()
    assert not rehearse(setting, procedure)
    assert "plinth 1 was wetted" in told(replace(setting, wetted=1.0), procedure, "section")


@pytest.mark.parametrize("crew", ["1", "2"])
def test_a_line_that_has_the_washers_hose_wets_its_own_wall(tmp_path: Path, crew: str) -> None:
    plain = {"pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan", "target": "9 ft", "standoff": "5 ft"}
    runs = [
        {**plain, "name": "house", "dosing": "panel", "surfaces": ["wall"]},
        {**plain, "name": "rinse", "surfaces": ["wall"]},
    ]
    walls = [{"name": "wall", "kind": "vinyl", "area": "300 ft2"}]
    job = played(tmp_path, PREMIX, {"job": {"hose_runs": runs, "surfaces": walls}, "day": {"crew": crew}})
    wets = {act.detail.run for act in acts_of(job.plan.procedure, of.Spray) if act.detail.use == "wet"}
    rinses = {act.detail.run for act in acts_of(job.plan.procedure, of.Spray) if act.detail.use == "rinse"}
    assert "rinse" not in wets
    assert rinses == {"rinse"}


def test_somebody_alone_waters_the_beds_as_often_as_anybody() -> None:
    setting, procedure = by_hand(ROOF)
    assert "the beds were dry" in told(setting, waited(procedure, "g.1", "g.2"), "order")


def test_what_the_beds_are_owed_while_mix_is_out_is_no_sum_of_what_they_get() -> None:
    setting, procedure = by_hand(HOUSE)
    assert setting.beds is not None
    assert setting.water_need is not None

    def less(act: Act) -> Act:
        bed = act.detail
        if isinstance(bed, of.WaterBed) and act.phase == "grounds" and act.id != "g.13":
            return replace(act, detail=replace(bed, volume=0.01))
        return act

    gone = setting.beds.during - 0.11
    printed = replace(setting, beds=replace(setting.beds, during=0.11), water_need=setting.water_need - gone)
    found = rehearse(printed, each(procedure, less))
    assert {one.rule for one in found} == {"order"}
    assert "the beds get" in found[0].state


# ------------------------------------------------------------------------------------------- what is unknown


def test_no_water_comes_out_of_a_tank_that_nobody_says_holds_any() -> None:
    setting, procedure = by_hand(ROOF)
    unsaid = replace(setting, tanks={**setting.tanks, "water": replace(setting.tanks["water"], holds=None)})
    assert "nobody says that water holds water" in told(unsaid, procedure, "clean")
    assert not rehearse(replace(unsaid, told=frozenset({"water"})), procedure)


def test_a_tank_nobody_says_holds_water_is_looked_into_before_it_gives_any(tmp_path: Path) -> None:
    job = played(tmp_path / "unsaid", PREMIX)
    looks = [act for act in acts_of(job.plan.procedure, of.Mark) if act.detail.what == "dry water"]
    draws = [act for act in acts_of(job.plan.procedure, of.DrawFrom) if act.detail.feed == "water"]
    assert looks[0].end <= draws[0].start
    said = played(tmp_path / "said", PREMIX, {"rig": {"tanks": {0: {"holds": "water"}}}})
    assert not [act for act in acts_of(said.plan.procedure, of.Mark) if act.detail.what == "dry water"]


def test_a_hose_nobody_vouches_for_does_not_begin_drained() -> None:
    setting, procedure = by_hand(HOUSE)
    strange = replace(setting, strange=frozenset({"red 1"}))
    assert "red 1 begins with air, and nobody knows that it does" in told(strange, procedure, "end")


# ------------------------------------------------------------------------------------------- pumps, dials, dress


def test_what_a_pump_of_which_nobody_knows_bears_is_what_the_company_says() -> None:
    setting, procedure = by_hand(HOUSE)
    runs = {name: replace(run, shut_off=None) for name, run in setting.runs.items()}
    assert not rehearse(replace(setting, runs=runs), procedure)
    assert "with its gun shut" in told(replace(setting, runs=runs, shut_unknown=5.0), procedure, "pump")


def test_a_dial_gives_what_it_was_tested_to_give() -> None:
    setting, procedure = by_hand(HOUSE)
    share = next(act.detail.draws[0].share for act in acts_of(procedure, of.SetDosing) if act.detail.draws)
    dial = (DialPoint(setting=1.0, share=share / 2), DialPoint(setting=3.0, share=share * 1.5))
    dialled = replace(setting, runs={"house": replace(setting.runs["house"], dials=(dial,))})

    def at(mark: float | None) -> Procedure:
        return each(procedure, lambda act: replace(act, detail=replace(act.detail, mark=mark))
                    if isinstance(act.detail, of.SetDosing) and act.detail.draws else act)  # fmt: skip

    assert not rehearse(dialled, at(2.0))
    assert "mark 2.5" in told(dialled, at(2.5), "balance")
    assert "no mark" in told(dialled, at(None), "balance")


def test_acid_is_poured_behind_a_face_shield() -> None:
    setting, procedure = JOBS["acid"]()

    def bare(act: Act) -> Act:
        if isinstance(act.detail, of.StopPoint):
            asks = tuple(key for key in act.detail.asks if key != "face_shield")
            return replace(act, detail=replace(act.detail, asks=asks))
        shield = isinstance(act.detail, of.Mark) and act.detail.what == "face_shield"
        return replace(act, detail=of.Wait(seconds=act.lasts)) if shield else act

    assert told(setting, each(procedure, bare), "order").endswith("M-1 is poured without face_shield")


def test_a_flush_washes_out_what_is_in_pump_and_panel() -> None:
    setting, procedure = by_hand(HOUSE)

    def of_booster(volume: float) -> Setting:
        stirred = {"booster": volume, "panel": 0.00037854}
        return replace(setting, residual=RESIDUAL, runs={"house": replace(setting.runs["house"], stirred=stirred)})

    assert not rehearse(of_booster(0.0011356), procedure)
    assert "booster is not flushed" in told(of_booster(0.2), procedure, "order")


# ------------------------------------------------------------------------------------------- what is let go


def _raw(names: Iterable[str], to: str) -> Procedure:
    """The roof's procedure, its pails let go without an agent."""
    _, procedure = by_hand(ROOF)

    def change(act: Act) -> Act:
        if isinstance(act.detail, of.Drain) and act.detail.source in names:
            return replace(act, detail=replace(act.detail, to=to))
        return act

    return waited(each(procedure, change), "g.5", "g.7")


def test_no_drain_gets_what_its_agent_was_not_put_into() -> None:
    setting, _ = by_hand(ROOF)
    assert "goes onto the sanitary" in told(setting, _raw(("pail 2", "pail 3"), "sanitary"), "end")
    assert "goes onto" not in told(setting, _raw(("pail 2", "pail 3"), "carried_home"), "end")


def test_the_lawn_gets_what_is_thin_enough_for_it_and_never_lye() -> None:
    setting, _ = by_hand(ROOF)
    raw = _raw(("pail 2", "pail 3"), "lawn")
    assert "goes onto the lawn" in told(replace(setting, lawn=19.0), raw, "end")
    assert "goes onto the lawn" not in told(replace(setting, lawn=20.0), raw, "end")
    assert setting.too_strong({"caustic": 0.1}) == ["caustic"]


@pytest.mark.parametrize("job", [PREMIX, ACID], ids=["bleach", "acid"])
def test_water_with_chlorine_of_its_own_flushes_all_the_same(tmp_path: Path, job: dict[str, Any]) -> None:
    done = played(tmp_path, job, {"job": {"water": {"chlorine": "12 mg/L"}}})
    sprays = acts_of(done.plan.procedure, of.Spray)
    assert [act for act in sprays if act.detail.use == "flush"]


def test_a_panel_is_flushed_with_chlorinated_water_and_its_pails_are_harmless(tmp_path: Path) -> None:
    run = {"pump": "booster", "feed": "water", "dosing": "panel", "tip": "fan", "target": "9 ft"}
    played(tmp_path, PREMIX, {"job": {"hose_runs": {0: run}, "water": {"chlorine": "12 mg/L"}}})
