"""Hose friction: the figures it first gave, EPANET hose by hose, and the coil on its reel."""

from __future__ import annotations

from itertools import pairwise
from math import log10
from pathlib import Path

import pytest
from fluids.friction import friction_factor_curved, helical_Re_crit
from scipy.optimize import brentq

from planner.physics.hoses import (
    Hose,
    coil_extra_head,
    coiled_friction_factor,
    friction_factor,
    reynolds,
    straight_head,
    velocity,
    volume,
)
from planner.physics.lines import Branch, Fluid, Line, Source, solve
from planner.physics.parts import HosePart
from planner.physics.pumps import PistonPump
from planner.physics.tips import bore_coefficient
from tests.oracle import epanet
from tests.published.tables import half_last_digit

GPM = 6.30901964e-5
PSI = 6894.757293168
INCH = 0.0254
WATER = Fluid(density=998.2060924679477, viscosity=1.0033968558002877e-06 * 998.2060924679477)
SMOOTH = 1.5e-6

_LINES = (Path(__file__).parent / "friction_table.tsv").read_text(encoding="utf-8").splitlines()
_FLOWS = _LINES[2].split("\t")[1:]
TABLE = [
    (float(row.split("\t")[0]), float(flow), printed)
    for row in _LINES[3:]
    for flow, printed in zip(_FLOWS, row.split("\t")[1:], strict=True)
]


def _hose(bore: float) -> Hose:
    return Hose(bore=bore * INCH, length=30.48, roughness=SMOOTH)


@pytest.mark.parametrize(("bore", "flow", "first"), TABLE)
def test_friction_stays_what_it_was_first_worked_out_to_be(bore: float, flow: float, first: str) -> None:
    lost = straight_head(_hose(bore), flow * GPM, WATER.kinematic) * WATER.density * 9.80665 / PSI
    # At 2 gpm in 1-1/4 in (Re 4,978) and all else above Re 4000 the blend plays no part.
    assert lost == pytest.approx(float(first), abs=2.0 * half_last_digit(first))


@pytest.mark.parametrize("bore", [0.5, 0.625, 0.75, 1.0, 1.25])
@pytest.mark.parametrize("flow", [2.0, 4.0, 6.0, 8.0, 10.0])
def test_one_hose_loses_what_epanet_says(bore: float, flow: float) -> None:
    number = reynolds(flow * GPM, bore * INCH, WATER.kinematic)
    assert number > 4000.0
    tip = Branch(
        name="run",
        parts=(HosePart(name="hose", hose=_hose(bore)),),
        coefficient=bore_coefficient(0.00635, 0.95),
        tip_height=0.0,
    )
    line = Line(
        source=Source(fluid=WATER),
        pump=PistonPump(flow=flow * GPM, unloader=None),
        pump_height=0.0,
        trunk=(),
        branches=(tip,),
        pumped=WATER,
        sprayed=WATER,
    )
    ours, theirs = solve(line), epanet(line)
    weight = WATER.density * 9.80665
    lost, epanets = (answer.outlet / weight - answer.tip_heads[0] for answer in (ours, theirs))
    assert lost == pytest.approx(epanets, rel=0.01 if number >= 1e4 else 0.015)


@pytest.mark.parametrize("relative_roughness", [0.0, 1e-5, 1e-4, 1e-3, 5e-3, 0.02, 0.05])
def test_loss_rises_with_every_step_of_flow_through_the_laminar_blend(relative_roughness: float) -> None:
    numbers = [10.0 * 1.004**i for i in range(2700)]
    assert numbers[0] < 2000.0 < 4000.0 < numbers[-1]
    losses = [friction_factor(number, relative_roughness) * number**2 for number in numbers]
    assert all(a < b for a, b in pairwise(losses))


@pytest.mark.parametrize("at", [2000.0, 4000.0])
def test_the_laminar_blend_joins_both_ends_without_a_jump(at: float) -> None:
    below, above = friction_factor(at * (1.0 - 1e-9), 1e-3), friction_factor(at * (1.0 + 1e-9), 1e-3)
    assert below == pytest.approx(above, rel=1e-6)


def test_half_way_through_the_blend_both_laws_count_half() -> None:
    turbulent = friction_factor_colebrook(3000.0, 1e-3)
    assert friction_factor(3000.0, 1e-3) == pytest.approx(0.5 * (64.0 / 3000.0 + turbulent), rel=1e-6)


def test_above_the_blend_the_friction_factor_solves_colebrooks_equation() -> None:
    for number, roughness in ((4000.0, 0.0), (1e4, 1e-4), (1e5, 1e-3), (1e6, 0.02)):
        assert friction_factor(number, roughness) == pytest.approx(
            friction_factor_colebrook(number, roughness), rel=1e-6
        )


def friction_factor_colebrook(number: float, roughness: float) -> float:
    """Colebrook's equation 1/sqrt f = -2 log10(e/3.7 + 2.51/(Re sqrt f)) by scipy's root."""
    return float(
        brentq(lambda f: f**-0.5 + 2.0 * log10(roughness / 3.7 + 2.51 / (number * f**0.5)), 1e-4, 1.0, xtol=1e-15)
    )


def test_laminar_flow_is_hagen_poiseuilles() -> None:
    hose = Hose(bore=0.01, length=20.0, roughness=SMOOTH)
    flow, viscosity = 5e-6, 1e-6
    # h = 128 nu L Q / (pi g d^4)
    assert straight_head(hose, flow, viscosity) == pytest.approx(
        128.0 * viscosity * 20.0 * flow / (3.141592653589793 * 9.80665 * 0.01**4), rel=1e-9
    )


COILS = [(bore, drum) for bore in (0.375, 0.5, 0.625, 0.75, 1.0) for drum in (0.25, 0.35, 0.4572, 0.6)]


@pytest.mark.parametrize(("bore", "drum"), COILS)
@pytest.mark.parametrize("roughness", [SMOOTH, 1e-5, 3e-5])
def test_loss_on_the_reel_rises_with_every_step_of_flow_and_never_undercuts_straight_hose(
    bore: float, drum: float, roughness: float
) -> None:
    width, across = bore * INCH, drum + bore * INCH
    numbers = [60.0 * 1.02**i for i in range(400)]
    critical = helical_Re_crit(width, across)
    assert numbers[0] < 0.8 * critical < 1.6 * critical < numbers[-1]
    coiled = [coiled_friction_factor(number, width, across, roughness) for number in numbers]
    losses = [factor * number**2 for factor, number in zip(coiled, numbers, strict=True)]
    assert all(a < b for a, b in pairwise(losses))
    assert all(f > friction_factor(number, roughness / width) for f, number in zip(coiled, numbers, strict=True))


def test_the_library_alone_is_not_monotone_there_so_the_bridge_is_needed() -> None:
    # 3/4 in on 0.35 m: loss falls 9 % at Re 7,638.
    width, across = 0.75 * INCH, 0.35
    below, above = (friction_factor_curved(n, width, across, SMOOTH) * n**2 for n in (7630.0, 7650.0))
    assert above < 0.95 * below


def test_outside_the_bridge_a_coil_is_the_librarys() -> None:
    width, across = 0.75 * INCH, 0.476
    for number in (500.0, 30000.0):
        ours = coiled_friction_factor(number, width, across, 1e-5)
        assert ours == pytest.approx(friction_factor_curved(number, width, across, 1e-5), rel=1e-12)


def test_what_the_reel_adds_is_the_coil_less_the_straight_hose_over_the_coiled_length() -> None:
    hose = Hose(bore=0.019, length=30.0, roughness=1e-5, coiled=12.0, coil_diameter=0.476)
    flow, viscosity = 6e-4, 1e-6
    number = reynolds(flow, 0.019, viscosity)
    factor = friction_factor_curved(number, 0.019, 0.476, 1e-5)
    whole_coil = factor * 12.0 / 0.019 * velocity(flow, 0.019) ** 2 / (2.0 * 9.80665)
    straight_part = straight_head(Hose(bore=0.019, length=12.0, roughness=1e-5), flow, viscosity)
    assert coil_extra_head(hose, flow, viscosity) == pytest.approx(whole_coil - straight_part, rel=1e-9)
    assert coil_extra_head(Hose(bore=0.019, length=30.0, roughness=1e-5), flow, viscosity) == 0.0


def test_a_hose_holds_its_bore_times_its_length() -> None:
    # 100 ft of 3/4 in holds 2.295 gal: 0.0229 gal per foot.
    assert volume(Hose(bore=0.75 * INCH, length=30.48, roughness=SMOOTH)) / 3.785411784e-3 == pytest.approx(
        2.295, abs=5e-4
    )


def test_a_true_bore_of_six_tenths_costs_a_fifth_more_than_the_nominal_five_eighths() -> None:
    lost = [straight_head(_hose(bore), 8.0 * GPM, WATER.kinematic) for bore in (0.600, 0.625)]
    assert lost[0] / lost[1] == pytest.approx(1.215, abs=0.005)
