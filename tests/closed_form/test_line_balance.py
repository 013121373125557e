"""What must hold on every line whatever its gear: balance, continuity, and that loss never helps."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.physics.hoses import Hose
from planner.physics.lines import Branch, Line, Operating, solve
from planner.physics.liquids import GRAVITY
from planner.physics.parts import HosePart, MinorPart, Part, total_head
from planner.physics.pumps import HeadPump, PistonPump
from tests.random_lines import Kind, draw
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(80), deadline=None, derandomize=True, database=None)
SEEDS = st.integers(min_value=0, max_value=10**9)
HEAD_KINDS: tuple[Kind, ...] = ("centrifugal", "diaphragm", "none")
A_HAIR = 1.0 + 1e-9


def _line(seed: int, kind: Kind | None = None) -> Line:
    return draw(Random(seed), kind).line


def _pressures_along(line: Line, point: Operating, which: int) -> tuple[float, float]:
    """Pa put in and Pa spent between source and the tip of one run, added up part by part."""
    source, pumped, sprayed, branch = line.source, line.pumped, line.sprayed, line.branches[which]
    water, mixed, jetted = (fluid.density * GRAVITY for fluid in (source.fluid, pumped, sprayed))
    trunk = mixed * total_head(line.trunk, point.pump_flow, pumped.kinematic)
    own = jetted * total_head(branch.parts, point.flows[which], sprayed.kinematic)
    tip = jetted * (point.flows[which] / branch.coefficient) ** 2
    lift = jetted * (branch.tip_height - line.pump_height)
    if isinstance(line.pump, PistonPump) or point.cycling:
        return point.outlet, trunk + own + tip + lift
    given = source.tap.pressure(point.pump_flow) if source.tap is not None else water * source.level
    raised = mixed * line.pump.curve(point.pump_flow) if isinstance(line.pump, HeadPump) else 0.0
    suction = water * (line.pump_height + total_head(source.parts, point.pump_flow, source.fluid.kinematic))
    return given + raised, suction + trunk + own + tip + lift


@PROPERTY
@given(SEEDS)
def test_what_is_put_in_is_spent_to_the_last_part(seed: int) -> None:
    line = _line(seed)
    point = solve(line)
    for which, flow in enumerate(point.flows):
        if flow > 0.0:
            put_in, spent = _pressures_along(line, point, which)
            assert put_in == pytest.approx(spent, rel=1e-6, abs=1e-6)


@PROPERTY
@given(SEEDS)
def test_what_the_pump_passes_and_the_injector_draws_leaves_by_the_tips(seed: int) -> None:
    line = _line(seed)
    point = solve(line)
    assert sum(point.flows) == pytest.approx(point.pump_flow * (1.0 + line.draw), rel=1e-9, abs=1e-15)
    for branch, flow, head in zip(line.branches, point.flows, point.tip_heads, strict=True):
        if flow > 0.0:
            assert flow == pytest.approx(branch.coefficient * head**0.5, rel=1e-12)


@PROPERTY
@given(SEEDS)
def test_pump_head_is_the_difference_of_its_gauges(seed: int) -> None:
    line = _line(seed)
    point = solve(line)
    weight = line.pumped.density * GRAVITY
    assert point.outlet - point.inlet == pytest.approx(
        point.pump_head * weight if line.pump is not None else 0.0, rel=1e-9, abs=1e-6
    )
    if isinstance(line.pump, HeadPump) and not point.cycling:
        assert point.pump_head == pytest.approx(line.pump.curve(point.pump_flow), rel=1e-6)


def _guns(line: Line) -> tuple[Branch, ...]:
    """The guns of a line, none of which is forked."""
    return tuple(branch for branch in line.branches if isinstance(branch, Branch))


def _longer(branch: Branch, extra: float) -> Branch:
    first = next(part for part in branch.parts if isinstance(part, HosePart))
    hose = Hose(bore=first.hose.bore, length=extra, roughness=first.hose.roughness)
    return replace(branch, parts=(*branch.parts, HosePart(name="one more", hose=hose)))


@PROPERTY
@given(SEEDS, st.floats(min_value=0.01, max_value=200.0))
def test_more_hose_never_raises_flow(seed: int, extra: float) -> None:
    line = _line(seed)
    longer = replace(line, branches=(_longer(_guns(line)[0], extra), *line.branches[1:]))
    before, after = solve(line), solve(longer)
    assert after.flows[0] <= before.flows[0] * A_HAIR
    assert after.pump_flow <= before.pump_flow * A_HAIR


@pytest.mark.ci
@PROPERTY
@given(SEEDS, st.floats(min_value=0.0, max_value=500.0), st.booleans())
def test_more_loss_never_raises_the_tip_pressure_behind_it(seed: int, k: float, in_trunk: bool) -> None:
    line = _line(seed)
    loss: tuple[Part, ...] = (MinorPart(name="half-closed valve", k=k, bore=0.0127),)
    if in_trunk:
        worse = replace(line, trunk=(*line.trunk, *loss))
    else:
        branch = replace(line.branches[0], parts=(*line.branches[0].parts, *loss))
        worse = replace(line, branches=(branch, *line.branches[1:]))
    before, after = solve(line), solve(worse)
    # A tap that overruns a diaphragm pump is past the pump's curve, where a straight line stands in for it (noted as
    # pump.curve): there it brakes, and once its switch has opened it no longer does.
    assume(before.pump_head >= 0.0)
    behind = range(len(line.branches)) if in_trunk else (0,)
    for which in behind:
        assert after.tip_heads[which] <= before.tip_heads[which] * A_HAIR + 1e-9


@PROPERTY
@given(SEEDS, st.floats(min_value=0.0, max_value=30.0))
def test_a_higher_tip_never_gets_more(seed: int, higher: float) -> None:
    line = _line(seed)
    gun = _guns(line)[0]
    first = replace(gun, tip_height=gun.tip_height + higher)
    raised = replace(line, branches=(first, *line.branches[1:]))
    assert solve(raised).flows[0] <= solve(line).flows[0] * A_HAIR


@PROPERTY
@given(SEEDS, st.sampled_from(HEAD_KINDS))
def test_a_second_gun_never_helps_the_first(seed: int, kind: Kind) -> None:
    line = _line(seed, kind)
    alone = replace(line, branches=line.branches[:1])
    two = replace(line, branches=(line.branches[0], replace(_guns(line)[0], name="second gun")))
    one_gun, two_guns = solve(alone), solve(two)
    assert two_guns.flows[0] <= one_gun.flows[0] * A_HAIR
    assert two_guns.flows[0] == pytest.approx(two_guns.flows[1], rel=1e-9)
    assert two_guns.pump_flow >= one_gun.pump_flow / A_HAIR


@PROPERTY
@given(SEEDS)
def test_a_switch_or_unloader_holds_the_outlet_at_its_setting(seed: int) -> None:
    kind: Kind = "piston" if seed % 2 else "diaphragm"
    line = _line(seed, kind)
    point = solve(line)
    if isinstance(line.pump, PistonPump):
        assert line.pump.unloader is not None
        if point.bypassing:
            assert point.outlet == line.pump.unloader
            assert point.pump_flow <= line.pump.flow * A_HAIR
        else:
            assert point.pump_flow == line.pump.flow
            assert point.outlet <= line.pump.unloader
    else:
        assert isinstance(line.pump, HeadPump)
        assert line.pump.cut_off is not None
        assert point.outlet <= line.pump.cut_off * A_HAIR or line.source.tap is not None
        if point.cycling and line.source.tap is None:
            assert point.outlet == line.pump.cut_off
            assert line.pump.curve(point.pump_flow) > 0.0


def test_a_piston_pump_without_an_unloader_pushes_its_whole_flow_through_any_tip() -> None:
    line = _line(3, "piston")
    assert isinstance(line.pump, PistonPump)
    small = tuple(replace(branch, coefficient=branch.coefficient / 20.0) for branch in _guns(line))
    point = solve(replace(line, pump=replace(line.pump, unloader=None), branches=small))
    assert sum(point.flows) == pytest.approx(line.pump.flow * (1.0 + line.draw), rel=1e-9)
    assert not point.bypassing


def test_a_tip_above_what_the_pump_can_lift_passes_nothing_and_says_by_how_much() -> None:
    line = _line(1, "centrifugal")
    high = replace(line, branches=(replace(_guns(line)[0], tip_height=500.0),))
    point = solve(high)
    assert point.flows == (0.0,)
    assert point.pump_flow == 0.0
    assert point.tip_heads[0] < -300.0


def test_a_strong_tap_pushes_through_a_diaphragm_pump_whose_switch_is_open() -> None:
    seed = next(
        s
        for s in range(400)
        if (line := _line(s, "diaphragm")).source.tap is not None
        and isinstance(line.pump, HeadPump)
        and line.pump.cut_off is not None
        and solve(line).outlet > 1.05 * line.pump.cut_off
    )
    line = _line(seed, "diaphragm")
    point = solve(line)
    assert point.cycling
    assert point.flows == pytest.approx(solve(replace(line, pump=None)).flows, rel=1e-9)
