"""What is read from the acts: water by use, beds, pumps, the crew's steps; whole procedures and small ones by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from planner.plan.procedure import totals
from planner.plan.procedure.acts import (
    Act,
    Drain,
    Draw,
    Fill,
    Pour,
    Power,
    SetDosing,
    Stir,
    Wait,
    WaterBed,
)
from planner.plan.procedure.flows import flows, gun_seconds
from planner.plan.water.model import BedWater
from planner.plan.water.tap import open_flow
from tests.plan.procedure.by_hand import (
    EXACT,
    HOUSE,
    ROOF,
    Settled,
    Whole,
    act,
    bleach,
    both,
    feed,
    made,
    spray,
    stock,
    supply_of,
)
from tests.plan.procedure.test_levels import _washed


@both
def test_a_whole_procedure_takes_the_water_it_is_said_to_need(name: str, whole: dict[str, Whole]) -> None:
    assert totals.water(whole[name].procedure).need == pytest.approx(whole[name].need, abs=EXACT)


@both
def test_what_is_drawn_step_by_step_adds_up_to_the_need(name: str, whole: dict[str, Whole]) -> None:
    supply = whole[name].supply
    mixed = {tank.name for tank in supply.mix_tanks}
    drawn = sum(
        volume for phase in supply.phases for source, volume in phase.draws.items() if source not in mixed
    )  # fmt: skip
    assert drawn == pytest.approx(whole[name].need, abs=EXACT)


@both
def test_the_tanks_stand_at_the_end_as_the_procedure_leaves_them(name: str, whole: dict[str, Whole]) -> None:
    tanks = (*whole[name].supply.tanks, *whole[name].supply.mix_tanks)
    end = whole[name].procedure.end.tanks
    assert {tank.name for tank in tanks} == set(end)
    for tank in tanks:
        assert tank.end == pytest.approx(end[tank.name].volume, abs=EXACT)
        assert tank.start + tank.supplied - tank.drawn == pytest.approx(tank.end, abs=EXACT)
        assert tank.dry is None


@both
def test_the_steps_of_the_visit_follow_each_other_to_its_end(name: str, whole: dict[str, Whole]) -> None:
    one = whole[name]
    spans = totals.spans(one.job, one.procedure, one.procedure.starts - 60.0)
    assert spans[0].road
    assert spans[1].start == one.procedure.starts
    for before, after in pairwise(spans):
        assert before.start is not None
        assert before.start + before.seconds == pytest.approx(after.start, abs=EXACT)
    assert spans[-1].start is not None
    assert spans[-1].start + spans[-1].seconds == pytest.approx(one.procedure.ends, abs=EXACT)


def test_a_panels_stock_is_poured_in_set_up_and_a_tankful_has_a_step_of_its_own(whole: dict[str, Whole]) -> None:
    words = {
        name: [span.what for span in totals.spans(one.job, one.procedure, 0.0)] for name, one in whole.items()
    }  # fmt: skip
    assert words[HOUSE[0]] == ["drive", "walk-round", "set up", "vinyl 1", "vinyl 2", "flush", "pack"]
    assert words[ROOF[0]] == ["drive", "walk-round", "set up", "fill and mix", "south slope", "flush", "pack"]


def test_the_walks_are_those_the_acts_were_timed_with(whole: dict[str, Whole]) -> None:
    """From the wall to the rig 150 feet at 50 ft/min are 180 s; a minute spent on the grounds counts as walked."""
    one = whole[ROOF[0]]
    walks = one.walks
    found = {act.id: walks[act.id] for act in one.procedure.acts if walks[act.id] > 0.0}
    assert found == pytest.approx(
        {"t.2": 180, "t.6": 180, "a.6": 180, "a.13": 180, "a.14": 180, "r.1": 180, "r.5": 120, "r.8": 180, "r.9": 180,
         "r.10": 180}
    )  # fmt: skip


@both
def test_the_beds_get_while_mix_is_out_what_the_acts_give_them(name: str, whole: dict[str, Whole]) -> None:
    one = whole[name]
    beds = totals.beds(one.plan.beds, one.procedure, one.walks)
    assert beds is not None
    assert one.plan.beds is not None
    assert beds.during == pytest.approx({HOUSE[0]: 0.55, ROOF[0]: 0.1763882948340084}[name], abs=EXACT)
    assert beds.before + beds.during + beds.after == pytest.approx(totals.water(one.procedure).beds, abs=EXACT)
    assert one.supply.tap_owed is None


def test_a_diaphragm_pump_works_while_the_gun_is_open_any_other_while_it_has_power(whole: dict[str, Whole]) -> None:
    roof, house = whole[ROOF[0]], whole[HOUSE[0]]
    gun = sum(sum(uses.values()) for uses in gun_seconds(roof.procedure).values())
    assert totals.pump_seconds(roof.job, roof.plan.runs, roof.procedure) == pytest.approx({"roof pump": gun})
    on: float | None = None
    powered = 0.0
    for one in sorted(house.procedure.acts, key=lambda one: one.end):
        if isinstance(one.detail, Power):
            powered += one.end - (on or 0.0) if not one.detail.on else 0.0
            on = one.end if one.detail.on else on
    assert totals.pump_seconds(house.job, house.plan.runs, house.procedure) == pytest.approx({"booster": powered})


def test_the_level_falls_only_while_the_gun_is_open(whole: dict[str, Whole]) -> None:
    """The first wetting, 20 s with a tenth of it stock out of the jug, begins 305 s after set-up."""
    tank = whole[HOUSE[0]].supply.tanks[0]
    (at, before), (then, after) = [point for point in tank.points if point[0] > 0.0][:2]
    assert (at, then) == (pytest.approx(305.0), pytest.approx(325.0))
    assert before - after == pytest.approx(0.012247393723327286 * (1.0 - 0.09668933616100102), abs=EXACT)


# ------------------------------------------------------------------------------------------------ water by use


def test_water_with_the_stock_shut_counts_as_what_it_is_for_and_else_as_mix() -> None:
    lot = Draw(source="drum", share=0.25)
    found = totals.water(
        made(
            [
                feed("water"),
                act(spray(1.0, "line"), 10.0, 10.0, phase="test"),
                act(spray(2.0, "test"), 20.0, 10.0, phase="test"),
                act(spray(4.0, "wet"), 30.0, 10.0, wall="wall"),
                stock(lot, start=35.0),
                act(spray(8.0, "wet"), 40.0, 10.0, wall="wall"),
                act(spray(16.0, "mix"), 50.0, 10.0, wall="wall"),
                stock(start=55.0),
                act(spray(32.0, "mix"), 60.0, 10.0, wall="wall"),
                act(spray(64.0, "rinse"), 70.0, 10.0, wall="wall"),
                act(spray(128.0, "clean"), 80.0, 10.0, wall="wall"),
                act(spray(256.0, "flush"), 90.0, 10.0, phase="flush"),
                act(WaterBed(bed="flower_beds", source="tap", volume=512.0), 90.0, 10.0, who="second"),
                act(Fill(into="water", source="tap", volume=1024.0), 100.0, 10.0),
            ]
        )
    )
    assert (found.line, found.test, found.pre_wet, found.mix) == (1.0, 2.0, 4.0 + 32.0, 0.75 * (8.0 + 16.0))
    assert (found.rinse, found.clean, found.flush, found.beds) == (64.0, 128.0, 256.0, 512.0)
    assert found.need == 1.0 + 2.0 + 36.0 + 18.0 + 64.0 + 128.0 + 256.0 + 512.0
    assert found.seconds["pre_wet"] == 20.0
    assert found.seconds["mix"] == 20.0


def test_a_dosing_set_under_an_open_gun_parts_its_water() -> None:
    acts = [
        feed("water"),
        act(spray(10.0, "mix"), 10.0, 100.0, wall="wall"),
        act(SetDosing(run="front", to="mark", draws=(Draw(source="drum", share=0.5),)), 5.0, 5.0, who="second"),
        act(SetDosing(run="front", to="water"), 30.0, 5.0, who="second"),
    ]
    found = totals.water(made(acts))
    assert found.mix == pytest.approx(10.0 * 0.25 * 0.5)
    assert found.pre_wet == pytest.approx(10.0 * 0.75)
    assert found.need == pytest.approx(8.75)


def test_a_tank_a_jug_and_a_pail_count_when_they_are_filled() -> None:
    found = totals.water(
        made(
            [
                act(Fill(into="mix", source="tap", volume=10.0), 0.0, 10.0, phase="mix"),
                act(Pour(lot="drum", into="mix", volume=2.0, mass=None, order=2), 10.0, 10.0, phase="mix"),
                act(Stir(tank="mix", seconds=10.0), 20.0, 10.0, phase="mix"),
                act(Fill(into="jug front", source="tap", volume=3.0), 30.0, 10.0, phase="mix"),
                feed("mix", 40.0),
                act(spray(11.0, "mix"), 50.0, 10.0, wall="wall"),
                act(Fill(into="pail 1", source="tap", volume=5.0), 60.0, 10.0, phase="flush"),
                feed("pail 1", 70.0),
                act(spray(4.0, "flush"), 80.0, 10.0, phase="flush"),
            ]
        )
    )
    assert (found.mix, found.flush, found.need) == (13.0, 5.0, 18.0)


def test_what_a_suction_draws_out_of_a_pail_is_what_it_is_sprayed_for_and_the_rest_what_it_was_filled_for() -> None:
    found = totals.water(
        made(
            [
                act(Fill(into="pail 1", source="tap", volume=5.0), 0.0, 10.0, phase="set_up"),
                feed("pail 1", 10.0),
                act(spray(3.0, "line"), 20.0, 10.0, phase="test"),
                act(spray(1.0, "test"), 30.0, 10.0, phase="test"),
                act(Drain(source="pail 1", to="lawn", volume=1.0), 40.0, 10.0, phase="test"),
                act(Fill(into="pail 2", source="tap", volume=5.0), 50.0, 10.0),
                feed("pail 2", 60.0),
                act(Fill(into="pail 2", source="tap", volume=4.0), 70.0, 10.0, who="second"),
                act(spray(6.0, "rinse"), 70.0, 10.0, wall="wall"),
            ]
        )
    )
    assert (found.line, found.test, found.rinse, found.flush) == (3.0, 2.0, 6.0, 3.0)
    assert found.need == 14.0


def test_a_premix_line_tested_with_the_water_of_its_mix_tank_counts_that_once() -> None:
    found = totals.water(
        made(
            [
                act(Fill(into="mix", source="tap", volume=10.0), 0.0, 10.0, phase="test"),
                feed("mix", 10.0),
                act(spray(1.0, "test"), 20.0, 10.0, phase="test"),
                act(Pour(lot="drum", into="mix", volume=2.0, mass=None, order=2), 30.0, 10.0, phase="mix"),
                act(spray(11.0, "mix"), 50.0, 10.0, wall="wall"),
            ]
        )
    )
    assert (found.test, found.mix, found.need) == (1.0, 9.0, 10.0)


def test_a_tank_rinsed_of_its_heel_and_pumped_out_through_the_line_counts_that_once() -> None:
    """A tenth is filled to rinse it, drained, then a half that goes out through the line; then seven to draw three of.

    It does not begin clean, so that all that is filled into it counts.
    """
    found = totals.water(
        made(
            [
                act(Fill(into="water", source="tap", volume=0.1), 0.0, 10.0, phase="flush_first"),
                act(Drain(source="water", to="lawn", volume=0.1), 10.0, 10.0, phase="flush_first"),
                act(Fill(into="water", source="tap", volume=0.5), 20.0, 10.0, phase="flush_first"),
                feed("water", 30.0),
                act(spray(0.5, "flush"), 40.0, 10.0, phase="flush_first"),
                act(Fill(into="water", source="tap", volume=7.0), 50.0, 10.0, phase="set_up"),
                act(spray(3.0, "rinse"), 60.0, 10.0, wall="wall"),
            ],
            water=bleach(0.01),
        )
    )
    assert found.flush == pytest.approx(0.6 + 4.0)
    assert found.rinse == pytest.approx(3.0)
    assert found.need == pytest.approx(7.6)


def test_clean_water_drawn_through_a_dosing_leaves_the_feed_that_much_less() -> None:
    found = totals.water(
        made(
            [
                feed("water"),
                act(Fill(into="pail 1", source="tap", volume=2.0), 10.0, 10.0, phase="test"),
                stock(Draw(source="pail 1", share=0.1), start=20.0),
                act(spray(10.0, "test"), 30.0, 10.0, phase="test"),
            ]
        )
    )
    assert (found.test, found.need) == (pytest.approx(2.0 + 9.0), pytest.approx(11.0))


# ------------------------------------------------------------------------------------------------ beds


def _bed(volume: float, start: float) -> Act:
    return act(
        WaterBed(bed="beds", source="tap", volume=volume), start, 10.0, who="second", at="grounds", phase="grounds"
    )  # fmt: skip


ASKED = BedWater(area=1.0, before=0.1, during=0.0, after=0.3, every=40.0, each=0.05, seconds=0.0)


def test_beds_are_watered_before_mix_while_it_is_out_and_after() -> None:
    """Mix goes on from 110 s and is rinsed from 210 s."""
    procedure = _washed(0.01, _bed(0.1, 0.0), _bed(0.05, 120.0), _bed(0.06, 160.0), _bed(0.3, 310.0))
    found = totals.beds(ASKED, procedure, {})
    assert found is not None
    assert (found.before, found.during, found.after) == (0.1, pytest.approx(0.11), 0.3)
    assert found.seconds == pytest.approx(100.0)


def test_beds_that_ask_more_than_the_tap_gives_hold_the_job_while_mix_is_out(plan: Settled) -> None:
    """The open tap gives most a second; mix is out for 100 of the 200 s until the lead packs, packing lasts 90."""
    procedure = _washed(0.01, _bed(0.01, 120.0))
    most = open_flow(plan.job)
    assert most is not None
    for share, short in ((0.999, False), (1.001, True)):
        asked = replace(ASKED, before=0.0, each=share * most * 2 * 40.0, after=0.0)
        owed = supply_of(plan, procedure, asked).tap_owed
        assert (owed is not None) == short
        if owed is not None:
            assert owed.mix_on
            assert (owed.at, owed.what, owed.about) == (pytest.approx(100.0), "apply", "wall")
            assert owed.gives == pytest.approx(most * 200.0)
            assert owed.short == pytest.approx(0.001 * most * 200.0)
            assert owed.wait == pytest.approx(0.2)
        late = replace(ASKED, before=0.0, each=0.0, after=share * most * 90.0)
        owed = supply_of(plan, procedure, late).tap_owed
        assert (owed is not None) == short
        assert owed is None or not owed.mix_on


def test_a_wall_that_nobody_rinses_stands_until_the_lead_is_done_with_it() -> None:
    procedure = made(
        [
            feed("mix"),
            act(spray(0.1, "mix"), 10.0, 50.0, wall="roof", number=1, of=2),
            act(spray(0.1, "mix"), 60.0, 50.0, wall="roof", number=2, of=2),
            act(Wait(seconds=20.0), 110.0, 20.0),
            act(spray(0.1, "flush"), 130.0, 50.0, phase="flush"),
        ]
    )
    found = totals.standings(procedure, flows(procedure))
    assert [(one.start, one.rinsed, one.off) for one in found] == [(10.0, 130.0, 130.0), (60.0, 130.0, 130.0)]
