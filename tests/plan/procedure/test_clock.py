"""What is read from the acts: the steps of a visit by the clock."""

from __future__ import annotations

from planner.plan.procedure import totals
from planner.plan.procedure.acts import (
    Fill,
    Relieve,
    Shut,
    WaterBed,
)
from tests.plan.procedure.by_hand import Settled, act, made, mark, spray

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
