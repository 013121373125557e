"""Motors and wire against tables printed elsewhere, and the worked figures of our own brief."""

from __future__ import annotations

from math import pi

import pytest

from planner.inputs.tables.electric import MotorColumn, Wire, electric_tables
from planner.physics import electric
from planner.units import read
from tests.published.tables import half_last_digit, rows

FOOT = 0.3048
HOT = 75.0 + 273.15
ANNEALED_COPPER = 1 / 58e6  # ohm m at 20 C: International Annealed Copper Standard, IEC 60028


def column(volts: float) -> MotorColumn:
    return next(one for one in electric_tables().columns if one.least <= volts <= one.most)


def wire(gauge: float) -> Wire:
    return next(one for one in electric_tables().wires if one.gauge == gauge)


def drop(amps: float, feet: float, gauge: float) -> float:
    return electric.cord_drop(feet * FOOT, amps, wire(gauge).resistance)


@pytest.mark.parametrize("row", rows("motor_full_load_amps.tsv"), ids=lambda row: f"{row['hp']} hp")
def test_a_motor_draws_what_the_national_electrical_code_prints(row: dict[str, str]) -> None:
    power = read(f"{row['hp']} hp", "power")
    for volts in ("115", "200", "208", "230"):
        assert electric.full_load_current(power, column(float(volts)).points) == pytest.approx(float(row[volts]))


@pytest.mark.parametrize("row", rows("copper_wire_75c.tsv"), ids=lambda row: f"{row['gauge']} AWG")
def test_copper_warmed_from_20_to_75_c_has_the_resistance_the_code_prints(row: dict[str, str]) -> None:
    # The code works from areas it prints rounded (2580 circular mils for a 16 AWG wire of 2583): that much may be off
    # beside half the last digit.
    gauge, printed = float(row["gauge"]), row["ohm_per_1000_ft"]
    warm = electric.resistance_at(wire(gauge).resistance, HOT) * 1000 * FOOT
    rounded = abs(float(row["circular_mils"]) / (5.0 * 92.0 ** ((36.0 - gauge) / 39.0)) ** 2 - 1.0)
    assert warm == pytest.approx(float(printed), abs=half_last_digit(printed) + rounded * warm)


@pytest.mark.parametrize("one", electric_tables().wires, ids=lambda one: f"{one.gauge:g} AWG")
def test_the_wire_table_is_annealed_copper_drawn_to_the_american_gauge(one: Wire) -> None:
    # ASTM B258: 36 AWG is 0.005 in, 0000 is 0.46 in, 39 equal ratios between.
    diameter = 0.005 * 0.0254 * 92.0 ** ((36.0 - one.gauge) / 39.0)
    assert one.resistance == pytest.approx(ANNEALED_COPPER / (pi / 4 * diameter**2), rel=3e-4)


def test_three_quarters_of_a_horsepower_through_a_hundred_feet_loses_what_an_electrician_expects() -> None:
    amps = electric.full_load_current(read("3/4 hp", "power"), column(115.0).points)
    assert amps == 13.8
    assert drop(amps, 100, 14) == pytest.approx(6.97, abs=0.005)
    assert drop(amps, 100, 14) / 120 == pytest.approx(0.058, abs=0.0005)
    assert drop(amps, 100, 12) / 120 == pytest.approx(0.037, abs=0.0005)


def test_a_12_volt_pump_on_thirty_feet_loses_an_eighth_of_its_battery() -> None:
    assert drop(15.0, 30, 12) == pytest.approx(1.4, abs=0.05)
    assert drop(15.0, 30, 12) / 12 == pytest.approx(0.12, abs=0.005)
