"""Electricity: what must hold whatever the numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from planner.inputs.tables.electric import electric_tables
from planner.physics import electric

positive = some.floats(min_value=1e-3, max_value=1e3)
TABLE = electric_tables().columns[0].points


@given(length=positive, amps=positive, ohm=positive, times=some.floats(min_value=0.1, max_value=10))
def test_a_cord_loses_in_proportion_to_length_current_and_resistance(
    length: float, amps: float, ohm: float, times: float
) -> None:
    once = electric.cord_drop(length, amps, ohm)
    assert electric.cord_drop(length * times, amps, ohm) == pytest.approx(times * once)
    assert electric.cord_drop(length, amps * times, ohm) == pytest.approx(times * once)
    assert electric.cord_drop(length, amps, ohm * times) == pytest.approx(times * once)


@given(length=positive, amps=positive, ohm=positive)
def test_what_a_cord_loses_is_the_heat_in_both_its_wires(length: float, amps: float, ohm: float) -> None:
    assert electric.cord_drop(length, amps, ohm) * amps == pytest.approx(amps**2 * ohm * 2 * length)


@given(drop=positive, amps=positive, ohm=positive)
def test_the_longest_cord_loses_just_what_it_may(drop: float, amps: float, ohm: float) -> None:
    assert electric.cord_drop(electric.longest_cord(drop, amps, ohm), amps, ohm) == pytest.approx(drop)


def test_copper_at_the_tables_own_temperature_is_the_table() -> None:
    assert electric.resistance_at(5.21e-3, 293.15) == 5.21e-3
    assert electric.resistance_at(5.21e-3, 348.15) == pytest.approx(5.21e-3 * 1.21615)


@given(low=some.floats(min_value=125, max_value=7400), more=some.floats(min_value=1.0001, max_value=1.5))
def test_a_stronger_motor_never_draws_less(low: float, more: float) -> None:
    weak, strong = electric.full_load_current(low, TABLE), electric.full_load_current(min(low * more, 7456.0), TABLE)
    assert weak is not None
    assert strong is not None
    assert strong >= weak


def test_between_two_rows_the_current_lies_on_the_straight_line() -> None:
    (below, few), (above, many) = TABLE[4], TABLE[5]
    assert electric.full_load_current((below + above) / 2, TABLE) == pytest.approx((few + many) / 2)


def test_outside_the_table_nothing_is_said() -> None:
    assert electric.full_load_current(TABLE[0][0] * 0.99, TABLE) is None
    assert electric.full_load_current(TABLE[-1][0] * 1.01, TABLE) is None


@given(power=positive, volts=positive, efficiency=some.floats(min_value=0.1, max_value=1.0))
def test_a_battery_gives_the_shaft_power_and_what_the_motor_wastes(
    power: float, volts: float, efficiency: float
) -> None:
    current = electric.direct_current(power, volts, efficiency)
    assert volts * current * efficiency == pytest.approx(power)
    assert volts * current >= power * (1 - 1e-12)


loads = some.lists(
    some.tuples(some.floats(min_value=1, max_value=500), positive, some.floats(min_value=1, max_value=8)), min_size=1
)


@given(loads=loads)
def test_a_start_lies_between_all_running_and_all_starting_at_once(loads: list[tuple[float, float, float]]) -> None:
    at_once = [(volts, amps, amps * times) for volts, amps, times in loads]
    running = electric.running_power((volts, amps) for volts, amps, _ in at_once)
    every_one = sum(volts * start for volts, _, start in at_once)
    start = electric.starting_power(at_once)
    assert running * (1 - 1e-12) <= start <= every_one * (1 + 1e-12)
    if len(loads) == 1:
        assert start == pytest.approx(every_one)


def test_the_motor_whose_start_takes_most_is_the_one_that_counts() -> None:
    # 120 V x 13.8 A x 6 = 9,936 VA; the small pump meanwhile runs at 120 V x 5 A.
    assert electric.starting_power([(120.0, 5.0, 30.0), (120.0, 13.8, 82.8)]) == pytest.approx(9936.0 + 600.0)


def test_fifty_amp_hours_run_a_nine_amp_pump_five_hours_and_a_half() -> None:
    assert electric.battery_time(50 * 3600.0, 9.0) == pytest.approx(5.5556 * 3600, rel=1e-4)
