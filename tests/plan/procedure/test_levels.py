"""What is read from the acts: how the tanks stand, and what a source cannot give."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.plan.procedure import levels, totals
from planner.plan.procedure.acts import (
    Act,
    Drain,
    Draw,
    DrawFrom,
    Fill,
    Pour,
    Procedure,
    SetDosing,
    WaterBed,
)
from tests import workspaces
from tests.plan.procedure.by_hand import EXACT, Settled, act, bleach, feed, made, mark, spray, supply_of, tank_of, water

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
