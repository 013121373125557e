"""Washing out tanks, pumps and hose."""

from __future__ import annotations

from math import exp, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from planner.chemistry.washout import (
    Part,
    flush_line,
    hose_residual,
    hose_volume,
    series_left,
    series_turnovers,
    stirred_residual,
    stirred_volume,
)
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(100), deadline=None, derandomize=True, database=None)

GALLON = 3.785411784e-3
GPM = GALLON / 60
MG_L = 1e-3
THREE_PERCENT = 30.0


@pytest.mark.parametrize(("target", "turnovers"), [(4, 8.92), (0.1, 12.61)])
def test_a_stirred_part_from_three_percent(target: float, turnovers: float) -> None:
    assert stirred_volume(2.0, THREE_PERCENT, target * MG_L) == pytest.approx(2 * turnovers, abs=0.01)


@pytest.mark.parametrize(("tanks", "turnovers"), [(5, 3.48), (20, 2.03), (100, 1.41)])
def test_tanks_in_series_from_three_percent_to_four_mg_per_litre(tanks: int, turnovers: float) -> None:
    assert series_turnovers(4 * MG_L / THREE_PERCENT, tanks) == pytest.approx(turnovers, abs=0.006)


def test_one_tank_in_series_is_a_stirred_tank() -> None:
    assert series_left(2.5, 1) == pytest.approx(exp(-2.5))


@pytest.mark.parametrize("tanks", [1, 5, 20, 100])
def test_the_series_is_the_balance_of_its_tanks_integrated(tanks: int) -> None:
    def balance(_volume: float, strengths: np.ndarray) -> np.ndarray:
        return tanks * (np.concatenate(([0.0], strengths[:-1])) - strengths)

    solved = solve_ivp(balance, (0, 2), np.ones(tanks), rtol=1e-9, atol=1e-13, t_eval=[0.5, 1, 1.5, 2])
    for turnovers, outlet in zip(solved.t, solved.y[-1], strict=True):
        assert series_left(turnovers, tanks) == pytest.approx(outlet, rel=1e-5, abs=1e-9)


@pytest.mark.ci
@given(st.floats(0, 8), st.integers(1, 200))
@PROPERTY
def test_the_series_is_poissons_sum(turnovers: float, tanks: int) -> None:
    from scipy.stats import poisson  # takes a second to load

    expected = float(poisson.cdf(tanks - 1, tanks * turnovers))
    assert series_left(turnovers, tanks) == pytest.approx(expected, rel=1e-8, abs=1e-300)


@given(st.floats(1e-9, 0.99), st.integers(1, 100))
@PROPERTY
def test_turnovers_and_what_is_left_turn_round(left: float, tanks: int) -> None:
    assert series_left(series_turnovers(left, tanks), tanks) == pytest.approx(left, rel=1e-6)


def test_a_hose_gets_three_volumes_at_least() -> None:
    # 200 ft of 1/2 in holds 2.04 gal; the model alone asks for 2.03 turnovers.
    volume = pi / 4 * 0.0127**2 * 60.96
    assert volume / GALLON == pytest.approx(2.04, abs=0.005)
    assert hose_volume(volume, THREE_PERCENT, 4 * MG_L) == pytest.approx(3 * volume)
    alone = hose_volume(volume, THREE_PERCENT, 4 * MG_L, least_volumes=0)
    assert alone == pytest.approx(2.03 * volume, rel=0.003)
    assert hose_residual(3 * volume, volume, THREE_PERCENT) < 4 * MG_L


def test_the_inlets_own_chlorine_makes_it_longer_and_then_impossible() -> None:
    clean = stirred_volume(1, THREE_PERCENT, 4 * MG_L)
    tap = stirred_volume(1, THREE_PERCENT, 4 * MG_L, inlet=1 * MG_L)
    assert clean is not None
    assert tap is not None
    assert tap > clean
    assert stirred_residual(tap, 1, THREE_PERCENT, 1 * MG_L) == pytest.approx(4 * MG_L)
    assert stirred_volume(1, THREE_PERCENT, 0.1 * MG_L, inlet=1 * MG_L) is None
    assert hose_volume(1, THREE_PERCENT, 1 * MG_L, inlet=1 * MG_L) is None
    assert stirred_volume(1, THREE_PERCENT, 1 * MG_L, inlet=1 * MG_L) is None


def test_the_inlets_own_chlorine_counts_in_a_hose() -> None:
    volume = hose_volume(1, THREE_PERCENT, 4 * MG_L, inlet=1 * MG_L, least_volumes=0)
    assert volume is not None
    assert hose_residual(volume, 1, THREE_PERCENT, 1 * MG_L) == pytest.approx(4 * MG_L, rel=1e-9)


def test_a_clean_part_costs_its_line_no_water() -> None:
    clean = Part(name="new hose", volume=1.0, strength=0.001, mixing="hose")
    dirty = Part(name="pump", volume=0.3, strength=8.0, mixing="stirred")
    flush = flush_line([clean, dirty], 4 * MG_L, 1.0)
    assert [part.volume for part in flush.parts] == [0, stirred_volume(0.3, 8.0, 4 * MG_L)]
    assert flush.parts[0].residual == 0.001
    assert flush_line([clean], 4 * MG_L, 1.0).volume == 0


def test_what_is_clean_already_needs_no_water() -> None:
    assert stirred_volume(1, 0.004, 0.004) == 0
    assert hose_volume(1, 0.003, 0.004, inlet=0.005) == 0


def house_line(strength: float = 8.0) -> list[Part]:
    hose = pi / 4 * 0.01905**2 * 45.72
    return [
        Part(name="booster", volume=0.3 * GALLON, strength=strength, mixing="stirred"),
        Part(name="panel", volume=0.1 * GALLON, strength=105.0, mixing="stirred"),
        Part(name="red 1", volume=hose, strength=strength, mixing="hose"),
    ]


def test_booster_panel_and_150_ft_of_three_quarter_take_two_minutes_at_8_gpm() -> None:
    flush = flush_line(house_line(), 4 * MG_L, 8 * GPM, inlet=1 * MG_L)
    assert flush.volume is not None
    assert flush.seconds is not None
    assert 13 <= flush.volume / GALLON <= 15
    assert flush.seconds == pytest.approx(flush.volume / (8 * GPM))
    assert 95 <= flush.seconds <= 115
    assert flush.volume == pytest.approx(sum(part.volume or 0 for part in flush.parts))
    assert flush.residual == pytest.approx(4 * MG_L)


def test_a_line_that_tap_water_cannot_clean_says_so() -> None:
    flush = flush_line(house_line(), 0.1 * MG_L, 8 * GPM, inlet=1 * MG_L)
    assert (flush.volume, flush.seconds, flush.residual) == (None, None, None)
    assert [part.volume for part in flush.parts] == [None, None, None]


def outlet_after(parts: list[Part], volume: float) -> float:
    """Strength at the end of the line by integrating every stirred volume of it, clean water in."""
    volumes, strengths = [], []
    for part in parts:
        tanks = 1 if part.mixing == "stirred" else 20
        volumes += [part.volume / tanks] * tanks
        strengths += [part.strength] * tanks
    sizes = np.array(volumes)

    def balance(_volume: float, c: np.ndarray) -> np.ndarray:
        return (np.concatenate(([0.0], c[:-1])) - c) / sizes

    solved = solve_ivp(balance, (0, volume), strengths, method="LSODA", rtol=1e-8, atol=1e-12)
    return float(np.max(solved.y[:, -1]))


@given(st.floats(0.2, 3), st.floats(0.05, 1), st.floats(1, 8), st.floats(1, 120), st.sampled_from([0.0001, 0.004]))
@settings(PROPERTY, max_examples=examples(20))
def test_added_volumes_clean_the_whole_line_in_whatever_order_it_runs(
    pump: float, panel: float, hose: float, strength: float, target: float
) -> None:
    parts = [
        Part(name="pump", volume=pump, strength=strength, mixing="stirred"),
        Part(name="panel", volume=panel, strength=120.0, mixing="stirred"),
        Part(name="hose", volume=hose, strength=strength, mixing="hose"),
    ]
    volume = flush_line(parts, target, 1.0).volume
    assert volume is not None
    assert outlet_after(parts, volume) <= target * 1.001
    assert outlet_after(parts[::-1], volume) <= target * 1.001


def test_what_cannot_be_flushed_is_refused() -> None:
    with pytest.raises(ValueError, match="does not flow"):
        flush_line([], 0.004, 0)
    with pytest.raises(ValueError, match="0 tanks"):
        series_left(1, 0)
    with pytest.raises(ValueError, match="last of it"):
        series_turnovers(0)
    with pytest.raises(ValueError, match="a part of 0"):
        stirred_residual(1, 0, 1)
