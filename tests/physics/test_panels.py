"""A panel's share of stock by levels, flow and setting.

Figures of the tables: worked out with a root finder of its own from the energy equation of each leg (own work, not a
published table); the identities below them hold for any panel.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics.metering import (
    NoPanel,
    PanelTest,
    share,
    stock_leg,
    water_leg,
    water_leg_by_gauge,
)
from tests.physics.legs import Leg, drawn

FT = 0.3048
GRAVITY = 9.80665
WATER, STOCK = 999.1, 1167.0
GPM = 3.785411784e-3 / 60.0
FLOW = 8.0 * GPM


def heads(water_ft: float, stock_ft: float) -> tuple[float, float]:
    return WATER * GRAVITY * water_ft * FT, STOCK * GRAVITY * stock_ft * FT


def panel(water_loss_ft: float) -> tuple[float, float]:
    """Losses of water and stock leg of a panel that draws 9 % at 3 ft of water and 1 ft of stock."""
    test = PanelTest(water=0.91 * FLOW, stock=0.09 * FLOW, heads=heads(3.0, 1.0))
    water = WATER * GRAVITY * water_loss_ft * FT / test.water**2
    return water, stock_leg(test, water)


def share_of(losses: tuple[float, float], water_ft: float, stock_ft: float, flow: float = FLOW) -> float:
    at = heads(water_ft, stock_ft)
    return drawn([Leg(loss=loss, head=head) for loss, head in zip(losses, at, strict=True)], flow).flows[1] / flow


@pytest.mark.parametrize(
    ("loss", "shares"),
    [
        (2.5, (9.00, 14.98, 19.47, 0.30, 16.06)),
        (5.0, (9.00, 10.71, 12.20, 7.45, 11.05)),
        (10.0, (9.00, 9.71, 10.38, 8.41, 9.86)),
        (20.0, (9.00, 9.33, 9.65, 8.74, 9.40)),
    ],
)
def test_a_panel_pulls_stronger_as_its_water_tank_falls(loss: float, shares: tuple[float, ...]) -> None:
    levels = ((3.0, 1.0), (1.5, 1.0), (0.0, 1.0), (3.0, 0.0), (0.0, 0.0))
    for (water, stock), told in zip(levels, shares, strict=True):
        assert 100.0 * share_of(panel(loss), water, stock) == pytest.approx(told, abs=0.006)


@pytest.mark.parametrize(("gpm", "told"), [(4, 0.0), (6, 7.074), (8, 9.0), (10, 9.781), (12, 10.184)])
def test_less_flow_draws_less_stock_from_a_lower_tank(gpm: float, told: float) -> None:
    assert 100.0 * share_of(panel(5.0), 3.0, 1.0, gpm * GPM) == pytest.approx(told, abs=0.001)


def test_where_both_surfaces_press_alike_the_flow_changes_nothing() -> None:
    losses = panel(5.0)
    level = 3.0 * WATER / STOCK
    first, *others = (share_of(losses, 3.0, level, gpm * GPM) for gpm in (4, 6, 8, 12))
    assert others == pytest.approx([first] * 3, rel=1e-9)


@pytest.mark.parametrize(("centipoise", "told"), [(10, 0.609), (50, 0.125), (200, 0.031)])
def test_thick_soap_through_a_thin_tube_comes_as_one_over_its_viscosity(centipoise: float, told: float) -> None:
    # 128 mu L / (pi d^4), Hagen and Poiseuille; 3 ft of 1/8 in tube.
    water, stock = panel(5.0)
    tube = 128.0 * centipoise * 1e-3 * 3.0 * FT / (3.141592653589793 * (0.125 * 0.0254) ** 4)
    at = heads(3.0, 1.0)
    legs = [
        Leg(loss=water, head=at[0]),
        Leg(loss=stock, head=at[1]),
        Leg(loss=1.0, head=at[1] / STOCK * WATER, laminar=tube),
    ]
    flows = drawn(legs, FLOW).flows
    assert sum(flows) == pytest.approx(FLOW, rel=1e-9)
    # fl oz of soap for each gallon of the flow: 128 times the share
    assert 128.0 * flows[2] / FLOW == pytest.approx(told, rel=0.12)


@given(
    losses=st.tuples(st.floats(1e9, 1e13), st.floats(1e9, 1e15)),
    surfaces=st.tuples(st.floats(-2.0, 6.0), st.floats(-2.0, 6.0)),
    gpm=st.floats(0.5, 15.0),
)
def test_the_closed_form_is_what_the_legs_give(
    losses: tuple[float, float], surfaces: tuple[float, float], gpm: float
) -> None:
    flow = gpm * GPM
    at = heads(*surfaces)
    by_legs = drawn([Leg(loss=loss, head=head) for loss, head in zip(losses, at, strict=True)], flow).flows[1] / flow
    beta, delta = (losses[0] / losses[1]) ** 0.5, (at[1] - at[0]) / (losses[0] * flow**2)
    assert share(beta=beta, delta=delta) == pytest.approx(by_legs, abs=2e-6)


@given(
    losses=st.tuples(st.floats(1e11, 1e12), st.floats(1e12, 1e14)),
    first=st.tuples(st.floats(2.0, 4.0), st.floats(0.5, 3.0)),
    second=st.tuples(st.floats(0.0, 0.5), st.floats(0.0, 3.0)),
    gpm=st.floats(6.0, 12.0),
)
def test_two_bucket_tests_give_the_panel_back(
    losses: tuple[float, float], first: tuple[float, float], second: tuple[float, float], gpm: float
) -> None:
    tests = []
    for at in (first, second):
        water, stock = drawn(
            [Leg(loss=loss, head=head) for loss, head in zip(losses, heads(*at), strict=True)], gpm * GPM
        ).flows
        tests.append(PanelTest(water=water, stock=stock, heads=heads(*at)))
    if min(test.stock for test in tests) <= 0.0 or min(test.water for test in tests) <= 0.0:
        return
    if abs(tests[0].lead - tests[1].lead) < 6000.0:
        with pytest.raises(NoPanel):
            water_leg(*tests, least=6000.0)
        return
    found = water_leg(tests[0], tests[1], least=6000.0)
    assert found == pytest.approx(losses[0], rel=1e-6)
    assert stock_leg(tests[0], found) == pytest.approx(losses[1], rel=1e-6)


def test_one_test_and_a_vacuum_gauge_give_it_back_as_well() -> None:
    losses = panel(5.0)
    at = heads(3.0, 1.0)
    drew = drawn([Leg(loss=loss, head=head) for loss, head in zip(losses, at, strict=True)], FLOW)
    test = PanelTest(water=drew.flows[0], stock=drew.flows[1], heads=at)
    assert water_leg_by_gauge(test, drew.vacuum) == pytest.approx(losses[0], rel=1e-6)


def test_tests_that_no_panel_gives_are_refused() -> None:
    # The stock tank fell and more stock came: no pair of legs does that.
    tests = [
        PanelTest(water=0.91 * FLOW, stock=0.09 * FLOW, heads=heads(3.0, 3.0)),
        PanelTest(water=0.85 * FLOW, stock=0.15 * FLOW, heads=heads(3.0, 0.0)),
    ]
    with pytest.raises(NoPanel, match="no panel"):
        water_leg(tests[0], tests[1], least=6000.0)
    with pytest.raises(NoPanel, match="no panel"):
        water_leg_by_gauge(tests[0], -50000.0)


def test_a_surface_that_stands_too_low_draws_nothing_and_one_too_high_alone() -> None:
    assert share(beta=0.5, delta=-1.0) == 0.0
    assert share(beta=2.0, delta=0.25) == 1.0
    legs = [Leg(loss=1e12, head=60000.0), Leg(loss=1e12, head=0.0)]
    assert drawn(legs, 0.5 * GPM).flows[1] == 0.0
