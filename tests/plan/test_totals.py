"""What is read from the acts: the clock, water by use, levels, beds, pumps; whole procedures and small ones by hand."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.inputs.joined import JobInput
from planner.inputs.workspace import load
from planner.locate import jobs
from planner.plan.between.heels import tonight
from planner.plan.line.hydraulics import plan_runs
from planner.plan.mix.mixing import plan_mixes
from planner.plan.model import RunPlan
from planner.plan.procedure import levels, totals
from planner.plan.procedure.acts import (
    Act,
    Detail,
    Drain,
    Draw,
    DrawFrom,
    Fill,
    Held,
    Mark,
    Pour,
    Power,
    Procedure,
    Relieve,
    Section,
    SetDosing,
    Shut,
    Spray,
    State,
    Stir,
    Wait,
    WaterBed,
)
from planner.plan.procedure.flows import flows, gun_seconds, walks_of
from planner.plan.water.model import BedWater, SupplyPlan, TankLevel
from planner.plan.water.tap import open_flow
from planner.plan.water.work import beds_of, plan_work
from tests import workspaces
from tests.acts_read import procedure_of

PUBLISHED = Path(__file__).parents[1] / "published"
EXACT = 1e-9
HOUSE = ("2026-06-09/10-millrace", "procedure_house.json")
ROOF = ("2026-06-09/20-granary", "procedure_roof_one_person.json")


@dataclass(frozen=True)
class Settled:
    """What is settled of a job before anything has an order."""

    job: JobInput
    runs: tuple[RunPlan, ...]
    beds: BedWater | None

    @classmethod
    def of(cls, job: JobInput) -> Settled:
        runs = plan_runs(job, (), curves=False)
        mixes, _ = plan_mixes(job, runs, tonight(job))
        return cls(job=job, runs=runs, beds=beds_of(job, plan_work(job, runs, mixes)))


@dataclass(frozen=True)
class Whole:
    """A whole procedure written out by hand, with its job."""

    plan: Settled
    procedure: Procedure
    walks: dict[str, float]
    need: float

    @property
    def job(self) -> JobInput:
        return self.plan.job

    @property
    def supply(self) -> SupplyPlan:
        found = levels.supply(self.job, self.procedure, self.plan.runs, self.plan.beds, self.walks)
        assert found is not None
        return found


# ------------------------------------------------------------------------------------------------ small ones by hand


def act(
    detail: Detail, start: float, lasts: float, *, phase: Any = "wash", who: Any = "lead", at: Any = "rig",
    wall: str = "", number: int = 1, of: int = 1, hands: float | None = None,
) -> Act:  # fmt: skip
    section = Section(surface=wall, number=number, of=of) if wall else None
    return Act(
        id=f"{phase}.{who}.{start!r}.{id(detail)}", phase=phase, who=who, at=at, detail=detail, start=start, lasts=lasts,
        hands=hands, section=section,
    )  # fmt: skip


def made(acts: Sequence[Act], **tanks: Held) -> Procedure:
    return Procedure(
        acts=tuple(sorted(acts, key=lambda one: one.start)), begin=State(tanks=tanks), end=State()
    )  # fmt: skip


def spray(volume: float, use: Any, seconds: float = 10.0, run: str = "front", onto: str = "section") -> Spray:
    return Spray(run=run, seconds=seconds, volume=volume, onto=onto, use=use)


def water(volume: float) -> Held:
    return Held(stock="water", volume=volume)


def bleach(volume: float) -> Held:
    return Held(stock="hypochlorite", volume=volume, strength=30.0)


def mark(what: str) -> Mark:
    return Mark(verb="look", what=what)


def feed(tank: str, start: float = 0.0) -> Act:
    return act(DrawFrom(run="front", feed=tank), start, 10.0, phase="set_up")


def stock(*draws: Draw, start: float) -> Act:
    to: Any = "mark" if draws else "water"
    return act(SetDosing(run="front", to=to, draws=draws), start, 5.0, who="second")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Settled:
    """The base job: 500 square feet of vinyl with plain water out of a tank of 100 gallons, a tap of 8 gpm."""
    files = workspaces.merged(workspaces.base(), {"job": {"near": {"flower_beds": "100 ft2"}}})
    read = workspaces.loaded(tmp_path_factory.mktemp("base"), files)
    return Settled.of(read.jobs[0])


def supply_of(plan: Settled, procedure: Procedure, asked: BedWater | None = None) -> SupplyPlan:
    found = levels.supply(plan.job, procedure, plan.runs, asked, {})
    assert found is not None
    return found


def tank_of(supply: SupplyPlan, name: str) -> TankLevel:
    return next(tank for tank in (*supply.tanks, *supply.mix_tanks) if tank.name == name)


# ------------------------------------------------------------------------------------------------ whole procedures


@pytest.fixture(scope="module")
def whole() -> dict[str, Whole]:
    loaded = load([jobs()])
    found = {}
    for name, file in (HOUSE, ROOF):
        job = next(job for job in loaded.jobs if job.id == name)
        procedure = procedure_of(PUBLISHED / file)
        lengths = {run.name: sum(hose.length for hose in run.hoses) for run in job.runs}
        need = json.loads((PUBLISHED / file).read_text(encoding="utf-8"))["job"]["water"]["need_m3"]
        found[name] = Whole(
            plan=Settled.of(job), procedure=procedure, need=need,
            walks=dict(walks_of(procedure, lengths, job.tables["minutes"]["walk_pace"])),
        )  # fmt: skip
    return found


both = pytest.mark.parametrize("name", [HOUSE[0], ROOF[0]])


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


# ------------------------------------------------------------------------------------------------ the clock


def test_mixing_between_walls_is_a_step_and_a_wall_gone_back_to_has_two(plan: Settled) -> None:
    batch = Fill(into="mix", source="tap", volume=0.1)
    acts = [
        act(mark("walk_round"), 0.0, 10.0, phase="walk"),
        act(mark("hoses"), 10.0, 10.0, phase="set_up"),
        act(batch, 20.0, 10.0, phase="mix"),
        act(mark("people_clear"), 30.0, 10.0),
        act(spray(0.1, "mix"), 40.0, 10.0, wall="wall"),
        act(WaterBed(bed="beds", source="tap", volume=0.1), 50.0, 10.0, phase="grounds"),
        act(spray(0.1, "mix"), 60.0, 10.0, wall="gable"),
        act(Shut(run="front"), 70.0, 10.0),
        act(batch, 80.0, 10.0, phase="mix"),
        act(mark("people_clear"), 90.0, 10.0),
        act(spray(0.1, "mix"), 100.0, 10.0, wall="gable"),
        act(spray(0.1, "rinse"), 110.0, 10.0, wall="wall"),
        act(spray(0.1, "flush"), 120.0, 10.0, phase="flush"),
        act(mark("drums"), 130.0, 10.0, phase="leave"),
        act(WaterBed(bed="beds", source="tap", volume=0.1), 130.0, 30.0, phase="grounds", who="second"),
    ]
    spans = totals.spans(plan.job, made(acts), None)
    assert [(span.what, span.seconds) for span in spans if not span.road] == [
        ("walk-round", 10.0), ("set up", 10.0), ("fill and mix", 10.0), ("wall", 30.0), ("gable", 20.0),
        ("fill and mix", 10.0), ("gable", 20.0), ("wall", 10.0), ("flush", 10.0), ("pack", 30.0),
    ]  # fmt: skip
    assert {span.start for span in spans} == {None}


def test_what_is_mixed_in_a_jug_before_the_first_wall_belongs_to_set_up(plan: Settled) -> None:
    acts = [
        act(mark("hoses"), 0.0, 10.0, phase="set_up"),
        act(Fill(into="jug front", source="tap", volume=0.01), 10.0, 10.0, phase="mix"),
        act(spray(0.1, "mix"), 20.0, 10.0, wall="wall"),
    ]
    spans = totals.spans(plan.job, made(acts), None)
    assert [(span.what, span.seconds) for span in spans] == [("set up", 20.0), ("wall", 10.0)]


def test_a_line_joined_again_is_a_part_of_its_wall_and_one_that_is_tried_first_is_not(plan: Settled) -> None:
    def spans(phase: str) -> list[tuple[str, float]]:
        acts = [
            act(spray(0.1, "wet"), 0.0, 10.0, wall="wall"),
            act(mark("gun front"), 10.0, 10.0, phase="set_up"),
            act(spray(0.1, "line"), 20.0, 10.0, phase=phase),
            act(mark("people_clear"), 30.0, 10.0),
            act(spray(0.1, "mix"), 40.0, 10.0, wall="wall"),
        ]
        return [(span.what, span.seconds) for span in totals.spans(plan.job, made(acts), None)]

    assert spans("wash") == spans("set_up") == [("wall", 50.0)]
    assert spans("test") == [("wall", 10.0), ("set up", 20.0), ("wall", 20.0)]


def test_a_line_that_carried_water_alone_is_let_down_while_the_crew_packs(plan: Settled) -> None:
    acts = [
        act(spray(0.1, "rinse"), 0.0, 10.0, wall="wall"),
        act(Relieve(run="front"), 10.0, 10.0, phase="flush"),
        act(mark("drums"), 20.0, 10.0, phase="leave"),
    ]
    spans = totals.spans(plan.job, made(acts), None)
    assert [(span.what, span.seconds) for span in spans] == [("wall", 10.0), ("pack", 20.0)]


def test_a_drum_changed_between_sections_of_a_wall_is_a_part_of_it(plan: Settled) -> None:
    acts = [
        act(spray(0.1, "mix"), 0.0, 10.0, wall="wall", number=1, of=2),
        act(mark("lot_read"), 10.0, 10.0, phase="mix"),
        act(spray(0.1, "mix"), 20.0, 10.0, wall="wall", number=2, of=2),
        act(mark("lot_read"), 30.0, 10.0, phase="mix"),
        act(spray(0.1, "mix"), 40.0, 10.0, wall="gable"),
    ]
    spans = totals.spans(plan.job, made(acts), None)
    assert [(span.what, span.seconds) for span in spans] == [("wall", 30.0), ("set up", 10.0), ("gable", 10.0)]


# ------------------------------------------------------------------------------------------------ levels


def _washed(volume: float, *more: Act, standing: float = 0.3) -> Procedure:
    """Set up in 10 s, then a wall wetted, mixed and rinsed in 300 s with `volume` each time."""
    return made(
        [
            feed("water"),
            act(spray(volume, "wet"), 10.0, 100.0, wall="wall"),
            act(spray(volume, "mix"), 110.0, 100.0, wall="wall"),
            act(spray(volume, "rinse"), 210.0, 100.0, wall="wall"),
            act(mark("drums"), 310.0, 90.0, phase="leave"),
            *more,
        ],
        water=water(standing),
    )


def test_a_level_is_a_straight_line_between_what_begins_and_ends(plan: Settled) -> None:
    filled = act(Fill(into="water", source="tap", volume=0.03), 150.0, 120.0, who="second", hands=30.0)
    tank = tank_of(supply_of(plan, _washed(0.05, filled)), "water")
    # The three sprays draw as much a second, so that the first corner is where water runs in, 140 s into the work.
    corners = [(-10.0, 0.3), (0.0, 0.3), (140.0, 0.23), (260.0, 0.2), (300.0, 0.18), (390.0, 0.18)]
    assert [value for point in tank.points for value in point] == pytest.approx(
        [value for point in corners for value in point], abs=EXACT
    )
    assert (tank.lowest, tank.lowest_at) == (pytest.approx(0.18), pytest.approx(300.0))
    assert (tank.wanted, tank.drawn, tank.supplied) == (
        pytest.approx(0.15), pytest.approx(0.15), pytest.approx(0.03),
    )  # fmt: skip
    assert tank.fills == ((pytest.approx(140.0), pytest.approx(260.0)),)
    assert tank.dry is None
    assert tank.alone is None


def test_a_tank_drawn_on_beyond_its_outlet_is_dry_and_mix_on_the_wall_is_said(plan: Settled) -> None:
    """Of 0.12 m3 the third spray finds 0.02: dry 40 s into it, 0.03 short, and a full tank of 100 gal would last."""
    supply = supply_of(plan, _washed(0.05, standing=0.12))
    tank = tank_of(supply, "water")
    assert tank.dry is not None
    assert tank.dry.at == pytest.approx(240.0)
    assert (tank.dry.what, tank.dry.about, tank.dry.mix_on) == ("rinse", "wall", True)
    assert tank.dry.short == pytest.approx(0.03)
    assert tank.dry.full_lasts
    assert tank.dry.room == pytest.approx(tank.volume - 0.12)
    assert tank.fill_flow
    assert tank.dry.wait == pytest.approx(0.03 / tank.fill_flow)
    assert tank.dry.fills == pytest.approx(tank.dry.room / tank.fill_flow)
    assert supply.dry_at == tank.dry.at
    assert tank.points[-1][1] == pytest.approx(tank.dead_volume)


def test_a_tank_that_only_its_fill_keeps_wet_is_dry_alone(plan: Settled) -> None:
    filled = act(Fill(into="water", source="tap", volume=0.06), 150.0, 50.0, who="second")
    tank = tank_of(supply_of(plan, _washed(0.05, filled, standing=0.12)), "water")
    assert tank.dry is None
    assert tank.alone == pytest.approx(240.0)
    assert tank.end == pytest.approx(0.03)


def test_water_alone_that_fails_before_any_mix_is_told_of_its_step(plan: Settled) -> None:
    procedure = made(
        [feed("water"), act(spray(0.2, "clean"), 10.0, 100.0, wall="wall")], water=water(0.1)
    )  # fmt: skip
    tank = tank_of(supply_of(plan, procedure), "water")
    assert tank.dry is not None
    assert (tank.dry.what, tank.dry.about, tank.dry.mix_on) == ("clean", "wall", False)
    assert tank.dry.at == pytest.approx(50.0)


def test_a_tank_is_drained_below_its_outlet_and_that_is_no_lack(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), {"rig": {"tanks": {0: {"dead_volume": "6 gal"}}}})
    job = Settled.of(workspaces.loaded(tmp_path, files).jobs[0])
    acts = [
        feed("water"),
        act(Drain(source="water", to="lawn", volume=0.1), 10.0, 50.0, phase="flush_first"),
        act(Fill(into="water", source="tap", volume=0.2), 60.0, 50.0, phase="set_up"),
        act(spray(0.1, "rinse"), 110.0, 50.0, wall="wall"),
    ]
    tank = tank_of(supply_of(job, made(acts, water=water(0.1))), "water")
    assert tank.dry is None
    assert tank.lowest == pytest.approx(0.0, abs=EXACT)
    assert tank.end == pytest.approx(0.1)


def test_a_mix_tank_rises_by_all_that_is_poured_and_its_water_is_the_taps(plan: Settled) -> None:
    acts = [
        act(Fill(into="mix", source="tap", volume=0.1), 0.0, 10.0, phase="mix"),
        act(Pour(lot="drum", into="mix", volume=0.02, mass=None, order=2), 10.0, 10.0, phase="mix"),
        feed("mix", 20.0),
        act(spray(0.11, "mix"), 30.0, 10.0, wall="wall"),
        act(Drain(source="mix", to="pail 1", volume=0.005), 40.0, 10.0, phase="flush"),
    ]
    supply = supply_of(plan, made(acts, mix=bleach(0.004)))
    tank = tank_of(supply, "mix")
    assert tank.mix
    assert (tank.start, tank.end) == (0.004, pytest.approx(0.009))
    assert supply.tanks == ()
    first = supply.phases[0]
    assert (first.what, first.about, first.start) == ("fill and mix", "front", 0.0)
    assert first.draws == {"tap": pytest.approx(0.1)}
    assert not first.mix_on


def test_a_job_without_tap_or_tank_is_told_how_much_is_wanted_of_nowhere(tmp_path: Path) -> None:
    nothing = {"source": "tank", "static": None, "flow_test": None, "backflow": None}
    files = workspaces.merged(workspaces.base(), {"job": {"water": nothing}})
    job = Settled.of(workspaces.loaded(tmp_path, files).jobs[0])
    supply = supply_of(job, made([feed("tap"), act(spray(0.2, "clean"), 10.0, 100.0, wall="wall")]))
    assert supply.nowhere == pytest.approx(0.2)
    assert supply.tanks == ()


def test_a_run_that_asks_more_of_the_tap_than_it_gives_is_named_with_its_step(plan: Settled) -> None:
    """8 gpm at 40 of 60 psi: the tap gives some 14 gpm open. A run of 20 gpm is too much for it, one of 5 is not."""
    acts = [
        act(DrawFrom(run="front", feed="tap"), 0.0, 10.0, phase="set_up"),
        act(spray(0.1, "mix"), 10.0, 100.0, wall="wall"),
    ]
    gpm = 231 * 0.0254**3 / 60
    (run,) = plan.runs
    for flow, short in ((5 * gpm, 0), (20 * gpm, 1)):
        found = levels.supply(plan.job, made(acts), [replace(run, pump_flow=flow)], None, {})
        assert found is not None
        assert len(found.tap_short) == short
        for one in found.tap_short:
            assert (one.run, one.at, one.what, one.about, one.mix_on) == ("front", 0.0, "apply", "wall", True)


def test_beds_watered_meanwhile_leave_a_run_on_the_tap_the_rest(plan: Settled) -> None:
    gpm = 231 * 0.0254**3 / 60
    (run,) = plan.runs
    beds = act(WaterBed(bed="beds", source="tap", volume=10 * gpm * 50.0), 30.0, 50.0, who="second", phase="grounds")
    acts = [
        act(DrawFrom(run="front", feed="tap"), 0.0, 10.0, phase="set_up"),
        act(spray(0.1, "clean"), 10.0, 100.0, wall="wall"),
    ]
    runs = [replace(run, pump_flow=8 * gpm)]
    alone = levels.supply(plan.job, made(acts), runs, None, {})
    beside = levels.supply(plan.job, made([*acts, beds]), runs, None, {})
    assert alone is not None
    assert beside is not None
    assert alone.tap_short == ()
    assert [(one.run, one.mix_on) for one in beside.tap_short] == [("front", False)]


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


# ------------------------------------------------------------------------------------------------ properties

_VOLUMES = st.floats(min_value=1e-4, max_value=0.05)
_SECONDS = st.floats(min_value=1.0, max_value=900.0)
_USES = st.sampled_from(["line", "test", "wet", "mix", "rinse", "clean", "flush"])
_LEADS = st.lists(
    st.tuples(_USES, _VOLUMES, _SECONDS, st.floats(min_value=0.0, max_value=0.3), st.sampled_from(["north", "south"])),
    min_size=1, max_size=12,
)  # fmt: skip
_SECONDS_ACTS = st.lists(st.tuples(st.booleans(), _VOLUMES, _SECONDS, _SECONDS), max_size=8)


def _random(leads: list[Any], seconds: list[Any]) -> Procedure:
    acts, now = [act(mark("walk_round"), 0.0, 60.0, phase="walk"), feed("water", 60.0)], 70.0
    for use, volume, lasts, share, wall in leads:
        draws = (Draw(source="drum", share=share),) if share > 0.05 else ()
        acts.append(act(SetDosing(run="front", to="mark", draws=draws), now, 5.0))
        phase = "flush" if use == "flush" else "wash"
        section = wall if phase == "wash" else ""
        acts.append(act(spray(volume, use), now + 5.0, lasts, wall=section, phase=phase))
        now += 5.0 + lasts
    acts.append(act(mark("drums"), now, 30.0, phase="leave"))
    end, now = now + 30.0, 0.0
    for fill, volume, lasts, pause in seconds:
        detail = (
            Fill(into="water", source="tap", volume=volume) if fill else WaterBed(bed="b", source="tap", volume=volume)
        )
        if now + pause + lasts <= end:
            acts.append(act(detail, now + pause, lasts, who="second", phase="grounds"))
        now += pause + lasts
    return made(acts, water=water(0.2))


@given(leads=_LEADS, seconds=_SECONDS_ACTS)
def test_any_order_of_acts_balances(plan: Settled, leads: list[Any], seconds: list[Any]) -> None:
    """Steps tile the visit, what is drawn is the need, and the level is what stood, came and went."""
    procedure = _random(leads, seconds)
    spans = totals.spans(plan.job, procedure, None)
    assert sum(span.seconds for span in spans) == pytest.approx(procedure.ends - procedure.starts, abs=EXACT)
    assert all(before.what != after.what for before, after in pairwise(spans))
    found = totals.water(procedure)
    supply = supply_of(plan, procedure)
    drawn = sum(volume for phase in supply.phases for volume in phase.draws.values())
    assert drawn == pytest.approx(found.need, abs=EXACT)
    for before, after in pairwise(supply.phases):
        assert before.start + before.seconds == pytest.approx(after.start, abs=EXACT)
    tank = tank_of(supply, "water")
    assert tank.start + tank.supplied - tank.drawn == pytest.approx(tank.end, abs=EXACT)
    assert tank.wanted == pytest.approx(found.need - found.beds, abs=EXACT)
    missing = tank.dry.short if tank.dry is not None else 0.0
    assert tank.wanted - tank.drawn == pytest.approx(missing, abs=1e-6)
    assert min(level for _, level in tank.points) >= 0.0
    assert max(level for _, level in tank.points) <= tank.volume * (1 + 1e-12)
