"""Roots against scipy's brentq, on equations written out afresh here."""

from __future__ import annotations

from dataclasses import replace
from math import log1p
from random import Random

import pytest
from scipy.optimize import brentq

from planner.physics import jets
from planner.physics.lines import Line, branch_flow, solve
from planner.physics.liquids import GRAVITY
from planner.physics.parts import total_head
from planner.physics.pumps import HeadPump
from tests.random_lines import Kind, draw


def _pressure_at_joint(line: Line, flow: float) -> float:
    """Pa above the rig's ground in the pumped liquid's own way of counting, from source to joint."""
    source, pumped = line.source, line.pumped
    given = source.tap.pressure(flow) if source.tap is not None else source.fluid.density * GRAVITY * source.level
    inlet = given - source.fluid.density * GRAVITY * (
        line.pump_height + total_head(source.parts, flow, source.fluid.kinematic)
    )
    raised = line.pump.curve(flow) if isinstance(line.pump, HeadPump) else 0.0
    return inlet + pumped.density * GRAVITY * (raised - total_head(line.trunk, flow, pumped.kinematic))


def _run_flow(line: Line, which: int, joint: float) -> float:
    branch = line.branches[which]
    available = joint / (line.sprayed.density * GRAVITY) + line.pump_height - branch.tip_height
    if available <= 0.0:
        return 0.0
    return float(
        brentq(
            lambda q: available - total_head(branch.parts, q, line.sprayed.kinematic) - (q / branch.coefficient) ** 2,
            0.0,
            branch.coefficient * available**0.5,
            xtol=1e-17,
        )
    )


@pytest.mark.parametrize("seed", range(30))
def test_the_operating_point_is_the_root_brentq_finds(seed: int) -> None:
    kinds: tuple[Kind, ...] = ("centrifugal", "diaphragm", "none")
    line = draw(Random(seed), kinds[seed % 3]).line
    if isinstance(line.pump, HeadPump):
        # Without its switch: a pump held at its cut-off has no root in flow.
        line = replace(line, pump=replace(line.pump, cut_off=None))
    point = solve(line)

    def surplus(flow: float) -> float:
        joint = _pressure_at_joint(line, flow)
        return sum(_run_flow(line, i, joint) for i in range(len(line.branches))) - flow * (1.0 + line.draw)

    flow = brentq(surplus, 0.0, 0.02, xtol=1e-17)
    assert point.pump_flow == pytest.approx(flow, rel=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_what_a_run_takes_from_a_joint_is_the_root_brentq_finds(seed: int) -> None:
    line = draw(Random(seed), "centrifugal").line
    for which, branch in enumerate(line.branches):
        for head in (0.5, 5.0, 40.0):
            joint = (head + branch.tip_height - line.pump_height) * line.sprayed.density * GRAVITY
            ours = branch_flow(branch, head + branch.tip_height, line.sprayed.kinematic)  # type: ignore[arg-type]
            assert ours == pytest.approx(_run_flow(line, which, joint), rel=1e-9)


@pytest.mark.parametrize("head", [2.0, 14.0, 28.0, 70.0, 700.0])
@pytest.mark.parametrize("orifice", [0.0012, 0.005, 0.00635, 0.02])
def test_the_drag_is_the_root_brentq_finds(head: float, orifice: float) -> None:
    share = jets.still_height(head, orifice) / head
    root = brentq(lambda x: log1p(x) / x - share, 1e-9, 1e7, xtol=1e-13)
    assert jets.drag(head, orifice) == pytest.approx(root / (2.0 * head), rel=1e-8)
