"""Rinsing tanks with the least water, alone or through their line."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import minimize

from planner.chemistry.washout import (
    LEAST_VOLUMES,
    MOST_RINSES,
    TANKS_IN_SERIES,
    Part,
    Through,
    rinsed_through,
    rinsed_with_least,
    series_left,
)
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(80), deadline=None, derandomize=True, database=None)

GALLON = 3.785411784e-3
GPM = GALLON / 60
MG_L = 1e-3
HEELS = st.floats(0.01, 3.0).map(lambda gallons: gallons * GALLON)
TANKS = st.floats(10.0, 100.0).map(lambda gallons: gallons * GALLON)
STARTS = st.floats(0.1, 150.0)
INLETS = st.floats(0.0, 3.5).map(lambda milligrams: milligrams * MG_L)
LEASTS = st.floats(0.0, 0.1)
HOSE = Part(name="hose", volume=2.04 * GALLON, strength=30.0, mixing="hose")
PUMP = Part(name="pump", volume=0.3 * GALLON, strength=30.0, mixing="stirred")


def test_half_a_gallon_in_ten_filled_full_takes_three_rinses_and_smaller_ones_take_less_water() -> None:
    # Filled up and drained, a twentieth of 30 kg/m3 is left each time: 1.5, 0.075, 0.00375.
    full = 3 * 9.5 * GALLON
    least = rinsed_with_least(0.5 * GALLON, 10 * GALLON, 30.0, 4 * MG_L, least=0.5 * GALLON)
    assert least.volume is not None
    assert least.volume < full / 3
    assert least.residual == pytest.approx(4 * MG_L)


@given(HEELS, TANKS, STARTS, INLETS, LEASTS)
@PROPERTY
def test_the_balance_of_each_rinse_ends_at_the_residual_told(
    heel: float, tank: float, start: float, inlet: float, least: float
) -> None:
    rinses = rinsed_with_least(heel, tank, start, 4 * MG_L, inlet, least * tank)
    assert rinses.count is not None
    assert rinses.residual is not None
    held, water = heel * start, 0.0
    for _ in range(rinses.count):
        held = (held + rinses.each * inlet) * heel / (heel + rinses.each)
        water += rinses.each
    assert held / heel == pytest.approx(rinses.residual, rel=1e-9)
    assert rinses.residual <= 4 * MG_L
    assert water == pytest.approx(rinses.volume)
    assert heel + rinses.each <= tank * (1 + 1e-9)
    assert rinses.each >= least * min(tank, tank - heel) - 1e-12


@given(HEELS, TANKS, STARTS, INLETS, LEASTS)
@PROPERTY
def test_no_other_number_of_rinses_takes_less(
    heel: float, tank: float, start: float, inlet: float, least: float
) -> None:
    rinses = rinsed_with_least(heel, tank, start, 4 * MG_L, inlet, least * tank)
    fall = (start - inlet) / (4 * MG_L - inlet)
    lowest = min(least * tank, tank - heel)
    fits = []
    for count in range(1, MOST_RINSES + 1):
        for each in np.linspace(max(lowest, 1e-9), tank - heel, 400):
            if ((heel + each) / heel) ** count >= fall:
                fits.append(count * each)
                break
    assert rinses.volume is not None
    assert rinses.volume <= min(fits, default=float("inf")) + 1e-9


@pytest.mark.parametrize("count", [2, 3, 4])
def test_unequal_rinses_take_no_less_than_equal_ones(count: int) -> None:
    fall = 30.0 / (4 * MG_L)
    equal = count * (fall ** (1 / count) - 1)
    found = minimize(
        lambda logs: float(np.sum(np.exp(logs))),
        np.log(np.linspace(5, 30, count)),
        constraints={"type": "eq", "fun": lambda logs: float(np.sum(np.log1p(np.exp(logs))) - np.log(fall))},
        method="SLSQP",
    )
    assert found.fun >= equal * (1 - 1e-6)


@given(HEELS, TANKS, STARTS, st.floats(1.01, 3.0))
@PROPERTY
def test_a_larger_heel_or_a_stronger_one_never_takes_less(heel: float, tank: float, start: float, more: float) -> None:
    def water(heel: float, start: float) -> float:
        volume = rinsed_with_least(heel, tank, start, 4 * MG_L, 1 * MG_L, 0.05 * tank).volume
        assert volume is not None
        return volume

    once = water(heel, start)
    assert water(heel, start * more) >= once - 1e-12
    assert water(min(heel * more, 0.8 * tank), start) >= once - 1e-12


def test_what_is_clean_takes_nothing_and_what_the_inlet_brings_cannot_be_rinsed_out() -> None:
    assert rinsed_with_least(1.0, 10.0, 0.003, 0.004).volume == 0.0
    assert rinsed_with_least(1.0, 10.0, 30.0, 0.004, 0.004).count is None
    assert rinsed_through(1.0, 10.0, 30.0, 0.004, [HOSE], GPM, 0.004) is None


def test_a_dry_tank_takes_one_rinse_that_wets_it() -> None:
    rinses = rinsed_with_least(0.0, 10.0, 30.0, 0.004, least=0.5)
    assert (rinses.count, rinses.each, rinses.volume, rinses.residual) == (1, 0.5, 0.5, 0.0)


def _through(start: float = 30.0, inlet: float = 1 * MG_L, heel: float = 1 * GALLON) -> Through:
    found = rinsed_through(heel, 100 * GALLON, start, 4 * MG_L, [PUMP, HOSE], 3 * GPM, inlet, 5 * GALLON)
    assert found is not None
    return found


def _line(strengths: np.ndarray, incoming: float, volume: float) -> np.ndarray:
    """Pump and hose as a row of stirred tanks that `volume` of a liquid is pushed through, integrated."""
    sizes = np.array([PUMP.volume, *[HOSE.volume / TANKS_IN_SERIES] * TANKS_IN_SERIES])

    def balance(_pushed: float, held: np.ndarray) -> np.ndarray:
        return (np.concatenate(([incoming], held[:-1])) - held) / sizes

    solved = solve_ivp(balance, (0.0, volume), strengths, method="LSODA", rtol=1e-9, atol=1e-12)
    return np.asarray(solved.y[:, -1])


@pytest.mark.parametrize("start", [10.0, 30.0, 120.0])
def test_tank_and_line_washed_by_one_stream_both_end_at_the_target_in_a_simulation(start: float) -> None:
    through = _through(start)
    tank, inlet, heel = start, 1 * MG_L, 1 * GALLON
    line = np.full(TANKS_IN_SERIES + 1, 30.0)
    for rinse in [through.each] * (through.count - 1) + [through.last]:
        tank = (heel * tank + rinse * inlet) / (heel + rinse)
        line = _line(line, tank, rinse)
    assert tank == pytest.approx(through.residual, rel=1e-6)
    assert tank <= 4 * MG_L * (1 + 1e-9)
    assert line.max() <= 4 * MG_L * (1 + 1e-6)


@pytest.mark.ci
def test_no_grid_of_rinses_through_the_line_takes_less() -> None:
    through = _through()
    heel, inlet, target, start = 1 * GALLON, 1 * MG_L, 4 * MG_L, 30.0
    best = float("inf")
    for count in range(1, MOST_RINSES + 1):
        for last in np.linspace(5 * GALLON, 60 * GALLON, 300):
            for each in [0.0] if count == 1 else np.linspace(5 * GALLON, 30 * GALLON, 60):
                fall = ((heel + each) / heel) ** (count - 1) * (heel + last) / heel
                left = inlet + (start - inlet) / fall
                if (count - 1) * each + last >= best or left >= target:
                    continue
                # The line's own rule, written out: the pump by the exponential, then the hose by its series.
                pump = PUMP.volume * np.log((start - left) / (target - left))
                turnovers = (last - pump) / HOSE.volume
                if turnovers >= LEAST_VOLUMES and series_left(turnovers) * (start - left) + left <= target:
                    best = (count - 1) * each + last
    assert through.volume <= best * (1 + 1e-9)
    assert through.volume >= best * 0.97


def test_one_stream_takes_less_than_tank_and_line_apart_where_the_heel_is_small() -> None:
    apart = rinsed_with_least(1 * GALLON, 100 * GALLON, 30.0, 4 * MG_L, 1 * MG_L, 5 * GALLON).volume
    assert apart is not None
    assert _through().volume < apart + LEAST_VOLUMES * HOSE.volume


def test_impossible_tanks_are_refused() -> None:
    with pytest.raises(ValueError, match="heel"):
        rinsed_with_least(10.0, 10.0, 1.0, 0.1)
    with pytest.raises(ValueError, match="heel"):
        rinsed_through(-1.0, 10.0, 1.0, 0.1, [HOSE], GPM)
