"""Minutes until a film is dry.

The table's minutes: own work, the same balance solved by another program with Magnus's vapor pressure and 200 steps; wet
and dry bulb, the pool's formula and pure evaporation below are checks from outside.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from planner.inputs.tables.rows import rows
from planner.physics.drying import (
    Air,
    Face,
    Film,
    activity,
    convection,
    dry_temperature,
    drying_rate,
    drying_time,
    wind_at_wall,
)

MPH = 0.44704
VINYL, DARK = Face(takes=0.35, rough=1.11), Face(takes=0.75, rough=1.11)
STUCCO, BRICK = Face(takes=0.40, rough=2.17, stores=1100.0), Face(takes=0.65, rough=1.67, stores=1000.0)
GLASS, SHINGLE = Face(takes=0.15, rough=1.0), Face(takes=0.90, rough=2.17, roof=True)
FILMS = {"vinyl": 0.05, "dark": 0.05, "stucco": 0.3, "brick": 0.3, "glass": 0.03, "shingle": 0.8}
FACES = {"vinyl": VINYL, "dark": DARK, "stucco": STUCCO, "brick": BRICK, "glass": GLASS, "shingle": SHINGLE}

MINUTES = [
    (20, 0.5, 2, 0, {"vinyl": 72.9, "stucco": 300.2, "brick": 334.9, "glass": 44.7, "shingle": 1040.0}),
    (20, 0.5, 10, 0, {"vinyl": 31.3, "stucco": 91.1, "brick": 111.2, "glass": 20.0, "shingle": 313.3}),
    (25, 0.4, 5, 600, {"vinyl": 11.4, "dark": 6.0, "stucco": 30.4, "brick": 20.2, "glass": 11.6, "shingle": 83.2}),
    (35, 0.3, 10, 0, {"vinyl": 12.6, "stucco": 32.0, "brick": 38.5, "glass": 7.9, "shingle": 133.8}),
    (35, 0.3, 10, 750, {"vinyl": 6.1, "dark": 3.7, "stucco": 13.9, "brick": 10.7, "glass": 5.4, "shingle": 47.2}),
]


def air(celsius: float, humidity: float, mph: float, sun: float = 0.0) -> Air:
    return Air(temperature=celsius + 273.15, humidity=humidity, wind=wind_at_wall(mph * MPH, 3.0), sun=sun)


@pytest.mark.parametrize(("celsius", "humidity", "mph", "sun", "told"), MINUTES)
def test_minutes_until_it_is_dry(
    celsius: float, humidity: float, mph: float, sun: float, told: dict[str, float]
) -> None:
    for name, minutes in told.items():
        film = Film(mass=FILMS[name], salt=0.3)
        close = 0.07 if name == "shingle" else 0.02
        assert drying_time(film, FACES[name], air(celsius, humidity, mph, sun)) / 60.0 == pytest.approx(
            minutes, rel=close
        )


def test_in_damp_air_salt_keeps_some_and_the_rest_takes_hours() -> None:
    assert drying_time(Film(mass=0.05, salt=0.3), VINYL, air(10, 0.8, 5)) / 60.0 == pytest.approx(221.0, rel=0.12)
    assert drying_time(Film(mass=0.05, salt=4.2), VINYL, air(10, 0.8, 5)) == inf
    assert drying_time(Film(mass=0.05), VINYL, air(10, 1.0, 5)) == inf


def test_salt_makes_it_slower() -> None:
    shade = replace(air(25, 0.5, 5), sun=0.0)
    times = [drying_time(Film(mass=0.05, salt=salt), VINYL, shade) / 60.0 for salt in (0.0, 0.28, 0.86)]
    assert times == pytest.approx([36.0, 39.4, 44.5], rel=0.02)


def test_what_air_holds_back_over_salt_is_as_tables_of_sodium_chloride() -> None:
    # Activity of water over sodium chloride at 1, 3 and 6 mol/kg, tables, from memory.
    assert [activity(salt) for salt in (1.0, 3.0, 6.0)] == pytest.approx([0.9669, 0.8932, 0.7598], abs=1e-3)
    assert activity(20.0) == 0.753


def test_convection_is_that_of_the_model() -> None:
    # The table of the model at 5 K, worked out by hand from its equation; 2 to 20 mph of forecast wind.
    for mph, glass, stucco in ((0, 2.2, 2.2), (2, 2.8, 3.5), (5, 4.5, 7.2), (10, 7.6, 13.9), (20, 13.6, 27.0)):
        wind = wind_at_wall(mph * MPH, 3.0)
        assert convection(1.0, wind, -5.0) == pytest.approx(glass, abs=0.06)
        assert convection(2.17, wind, -5.0) == pytest.approx(stucco, abs=0.06)


def test_open_water_gives_off_between_a_third_and_all_of_what_a_pool_formula_says() -> None:
    # Carrier's formula for pools (ASHRAE Handbook, Applications): 0.552 mm/h at 25 C, 50 %, 5 mph; it is known to be high.
    held = replace(GLASS, stores=1e7)  # so much behind it that the water stays at 25 C
    open_wind = replace(air(25, 0.5, 5), wind=5 * MPH)
    rate = drying_rate(held, open_wind, 0.0, 298.15, 1.0) * 3600.0
    assert 0.552 / 3.0 < rate < 0.552


def test_a_wet_wall_in_the_shade_is_between_wet_bulb_and_air() -> None:
    # Wet bulb at 35 C and 30 %: 21.6 C (psychrometric chart, from memory). Warmth radiated keeps the wall above it.
    dry = air(35, 0.3, 10)
    assert dry_temperature(VINYL, dry) == pytest.approx(dry.temperature, abs=0.05)
    assert drying_rate(VINYL, dry, 0.0, 0.0, 1.0) > drying_rate(VINYL, air(25, 0.3, 10), 0.0, 0.0, 1.0)


def test_more_wind_sun_or_heat_dries_faster_and_dampness_slower() -> None:
    usual = air(25, 0.5, 5, 300)
    film = Film(mass=0.05, salt=0.3)
    base = drying_time(film, VINYL, usual)
    for faster in (replace(usual, sun=600.0), replace(usual, wind=usual.wind * 2), replace(usual, temperature=308.15)):
        assert drying_time(film, VINYL, faster) < base
    assert drying_time(film, VINYL, replace(usual, humidity=0.7)) > base
    assert drying_time(film, VINYL, usual, 1.8) < base < drying_time(film, VINYL, usual, 1.0 / 1.5)


def test_no_film_below_none() -> None:
    with pytest.raises(ValueError, match="no film"):
        drying_time(Film(mass=-0.1), VINYL, air(20, 0.5, 2))


def test_every_surface_of_the_table_has_a_film_of_its_own() -> None:
    known = {kind for row in rows("drying", "films") for kind in row["kinds"]}
    kinds = {row["kind"] for row in rows("surfaces")}
    assert kinds <= known, "a kind without a row is taken to dry first of all"
    assert known - kinds == {"other"}
