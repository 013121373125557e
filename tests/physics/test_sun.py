"""The sun's place, its power on a wall, and the length of the day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from math import degrees, pi, radians

import pytest
from astral import Observer
from astral.sun import azimuth, elevation, noon

from planner.physics.drying import on_surface, position

JUNE, SEPTEMBER = date(2025, 6, 21), date(2025, 9, 21)
SOUTH, WEST, EAST, NORTH = pi, 1.5 * pi, 0.5 * pi, 0.0
WALL = pi / 2.0
HOUR = 3600.0


@pytest.mark.parametrize(
    ("day", "hour", "faces", "tilt", "clear_sky"),
    [
        (JUNE, 16, WEST, WALL, 749),
        (JUNE, 12, SOUTH, WALL, 410),
        (JUNE, 8, EAST, WALL, 751),
        (JUNE, 12, NORTH, WALL, 150),
        (JUNE, 12, SOUTH, radians(25.0), 1012),
        (SEPTEMBER, 12, SOUTH, WALL, 694),
    ],
)
def test_a_clear_sky_is_that_of_a_general_library(
    day: date, hour: float, faces: float, tilt: float, clear_sky: float
) -> None:
    # pvlib, clear sky of Ineichen with a Linke turbidity of 3, isotropic sky, 40 deg north, worked out once.
    sun = position(day, hour * HOUR, 40.0)
    assert on_surface(sun, faces=faces, tilt=tilt) == pytest.approx(clear_sky, rel=0.03)


@pytest.mark.parametrize("month", range(1, 13))
@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"), [(40.0, -80.0, -5.0), (28.0, -97.0, -6.0), (52.0, 5.0, 1.0)]
)
def test_the_sun_stands_where_a_general_library_has_it(
    month: int, latitude: float, longitude: float, zone: float
) -> None:
    # astral, after the equations of Meeus; half a degree of it moves a wall's sun by about one in a hundred.
    day = date(2026, month, 15)
    at = Observer(latitude, longitude)
    for clock in (9.0, 12.0, 15.5):
        moment = datetime(2026, month, 15, tzinfo=UTC) + timedelta(hours=clock - zone)
        solar = 12 * HOUR + (moment - noon(at, date=day)).total_seconds()
        sun = position(day, solar, latitude)
        up = elevation(at, moment, with_refraction=False)
        assert degrees(sun.elevation) == pytest.approx(up, abs=0.5)
        if up > 5.0:
            turned = (degrees(sun.azimuth) - azimuth(at, moment) + 180.0) % 360.0 - 180.0
            assert abs(turned) < 1.0


def test_no_sun_falls_before_it_is_up() -> None:
    assert on_surface(position(JUNE, 2 * HOUR, 40.0), faces=SOUTH, tilt=WALL) == 0.0
