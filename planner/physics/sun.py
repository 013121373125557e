"""Where the sun stands, and what of it falls on a wall or roof under a clear sky.

Position: the low-precision formulas of the Astronomical Almanac (from memory; a hundredth of a degree), held against
a general library in the tests.  Beam: the air mass of Kasten and Young 1989 and a clear sky's exponential loss; a
tenth of it comes from the sky, and the ground throws back a fifth (from memory; within 3 % of another model's clear
sky).  A clear sky is the worst case for what dries.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import acos, asin, atan2, cos, degrees, pi, radians, sin
from typing import Final

_BEYOND_AIR: Final = 1353.0
"""The sun's power outside the air [W/m2], as the beam's equation was fitted (from memory)."""
_FROM_SKY: Final = 0.1
_FROM_GROUND: Final = 0.2
_EPOCH: Final = date(2000, 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sun:
    """`elevation` over the horizon and `azimuth` from north through east [rad]."""

    elevation: float
    azimuth: float


def declination(day: date) -> float:
    """The sun's declination [rad] at noon of `day`: asin(sin eps sin lambda).  Source: the module; 0.2 deg in a day."""
    _, ecliptic, slant = _apparent(day)
    return asin(sin(slant) * sin(ecliptic))


def solar_time(day: date, clock: float, longitude: float, zone: float) -> float:
    """Solar time [s from midnight] at `clock` [s from midnight] of a zone `zone` [h ahead of UTC],
    at `longitude` [deg east].

    Four minutes a degree, and the equation of time: mean longitude less right ascension.  Source: the module.
    """
    mean, ecliptic, slant = _apparent(day)
    ascension = atan2(cos(slant) * sin(ecliptic), cos(ecliptic))
    ahead = (mean - ascension + pi) % (2.0 * pi) - pi
    return clock + 60.0 * 4.0 * (longitude - 15.0 * zone + degrees(ahead))


def _apparent(day: date) -> tuple[float, float, float]:
    """Mean longitude, longitude along the ecliptic, and the ecliptic's slant [rad] at noon of `day`."""
    n = (day - _EPOCH).days
    mean, anomaly = 280.460 + 0.9856474 * n, radians(357.528 + 0.9856003 * n)
    along = mean + 1.915 * sin(anomaly) + 0.020 * sin(2.0 * anomaly)
    return radians(mean), radians(along), radians(23.439 - 4e-7 * n)


def position(day: date, solar: float, latitude: float) -> Sun:
    """Where the sun stands at `solar` time [s from midnight] at `latitude` [deg north].  Source: spherical triangle."""
    tilt, north = declination(day), radians(latitude)
    hour = pi * (solar / 43200.0 - 1.0)
    up = sin(north) * sin(tilt) + cos(north) * cos(tilt) * cos(hour)
    east = -cos(tilt) * sin(hour)
    northward = cos(north) * sin(tilt) - sin(north) * cos(tilt) * cos(hour)
    return Sun(elevation=asin(max(-1.0, min(1.0, up))), azimuth=atan2(east, northward) % (2.0 * pi))


def daylight(day: date, latitude: float) -> tuple[float, float] | None:
    """Solar time [s from midnight] of sunrise and sunset, the upper edge as air bends it; None where it does not set.

    cos H = (sin(-0.833 deg) - sin l sin d) / (cos l cos d).  Source: the almanac's definition, 50 minutes of arc under,
    from memory.  A day without sun gives noon twice.
    """
    tilt, north = declination(day), radians(latitude)
    part = (sin(radians(-0.833)) - sin(north) * sin(tilt)) / (cos(north) * cos(tilt))
    if part <= -1.0:
        return None
    half = acos(min(part, 1.0)) / pi * 43200.0
    return 43200.0 - half, 43200.0 + half


def on_surface(sun: Sun, *, faces: float, tilt: float) -> float:
    """Sun on a surface [W/m2] under a clear sky; it `faces` [rad from north through east] and leans `tilt` [rad],
    a wall pi/2, flat ground 0.

    Beam 1353 x 0.7^(AM^0.678), AM by Kasten and Young 1989; with a tenth from the sky and a fifth from the ground.
    Source: the module.  0 before sunrise.
    """
    if sun.elevation <= 0.0:
        return 0.0
    air = 1.0 / (sin(sun.elevation) + 0.50572 * (degrees(sun.elevation) + 6.07995) ** -1.6364)
    beam = _BEYOND_AIR * 0.7 ** (air**0.678)
    upon = sin(sun.elevation) * cos(tilt) + cos(sun.elevation) * sin(tilt) * cos(sun.azimuth - faces)
    sky = _FROM_SKY * beam * (1.0 + cos(tilt)) / 2.0
    ground = _FROM_GROUND * (beam * sin(sun.elevation) + _FROM_SKY * beam) * (1.0 - cos(tilt)) / 2.0
    return float(beam * max(upon, 0.0) + sky + ground)
