"""Minutes until a film of mix on a wall or roof is dry.

One balance of heat per area gives the wet film's temperature: sun taken up, the air's warmth and radiation, what the
wall behind gives, and what evaporating costs; the same air carries the vapor off (mass-transfer analogy).  Salt holds
water back more as the film shrinks.  Sources: convection of the DOE-2 model, roughness of walls, and wind at the wall
by the power law of heights (EnergyPlus engineering reference, outside surface heat balance, after ASHRAE 2005); vapor
pressure by IAPWS R7-97; the balance and the film's integral are derived here.  Wind at the wall, edges of shade and a
wall's color are the real unknowns, so a band goes with every figure.

The sun. Position: the low-precision formulas of the Astronomical Almanac (from memory; a hundredth of a degree), held
against a general library in the tests.  Beam: the air mass of Kasten and Young 1989 and a clear sky's exponential
loss; a tenth of it comes from the sky, and the ground throws back a fifth (from memory; within 3 % of another model's
clear sky).  A clear sky is the worst case for what dries.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import lru_cache
from math import asin, atan2, cos, degrees, inf, pi, radians, sin, sqrt
from typing import Final

from fluids.numerics import brenth

from planner.frozen import dataclass
from planner.physics.liquids import water_vapour_pressure

_STEFAN_BOLTZMANN: Final = 5.670374e-8
_EMITS: Final = 0.9  # of a wet surface, from memory
_LEWIS: Final = 0.855 ** (2.0 / 3.0)  # Lewis number of vapor in air, from memory
_AIR_HEAT: Final = 1006.0
_VAPOR_GAS: Final = 461.5
_ICE: Final = 273.15
_LEAST_ACTIVITY: Final = 0.753
"""Water's activity over saturated salt: it dries no wetter air than that (CRC table: 0.756 at 20 C; fit's end)."""
_STEPS: Final = 40
_CRAWLS: Final = 0.25
"""A film that dries at this share [-] of its first rate is as dry as it gets, our choice."""
_LONGEST: Final = 86400.0
"""A film that is wet after a day does not dry [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """The air at the wall: `temperature` [K], `humidity` [-], `wind` at the wall [m/s], `sun` on the surface [W/m2]."""

    temperature: float
    humidity: float
    wind: float
    sun: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """What is wet: `takes` of the sun [-], `rough` of the wind [-, glass 1], `stores` heat [W s^0.5/(m2 K)], a `roof`
    loses warmth to the sky."""

    takes: float
    rough: float
    stores: float = 0.0
    roof: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """`mass` of water on it [kg/m2] and `salt` in it [mol of ion pairs per kg of water]."""

    mass: float
    salt: float = 0.0


def wind_at_wall(forecast: float, height: float) -> float:
    """Wind at a wall [m/s] `height` [m] up in a wooded suburb, from a `forecast` [m/s] for 10 m of open country.

    v (270/10)^0.14 (z/370)^0.22.  Source: the module.
    """
    return float(forecast * 27.0**0.14 * (max(height, 0.1) / 370.0) ** 0.22)


def convection(rough: float, wind: float, apart: float) -> float:
    """Heat the air takes [W/(m2 K)] from a surface `rough` [-], in `wind` [m/s], `apart` [K] from it.

    h_n = 1.31 |dT|^(1/3); h = h_n + R (sqrt(h_n^2 + (3.26 v^0.89)^2) - h_n).  Source: the module.
    """
    still = 1.31 * abs(apart) ** (1.0 / 3.0)
    return float(still + rough * (sqrt(still**2 + (3.26 * wind**0.89) ** 2) - still))


def activity(salt: float) -> float:
    """Activity of water [-] over `salt` [mol of ion pairs per kg]: 1 - 0.0317 m - 0.00139 m^2, not below 0.753.

    Source: fit to tables of sodium chloride (from memory), within 0.001.
    """
    return max(1.0 - 0.0317 * salt - 0.00139 * salt**2, _LEAST_ACTIVITY)


def dry_temperature(face: Face, air: Air) -> float:
    """Temperature [K] of the dry surface in that air and sun."""
    return _root(lambda at: _warmth(face, air, at, 1.0), air)


def drying_rate(face: Face, air: Air, salt: float, wall: float, since: float, windier: float = 1.0) -> float:
    """What leaves the film [kg/(m2 s)], never below 0; `wall` [K] is the dry wall's, `since` [s] it was wetted."""

    def short(at: float) -> float:
        gives = face.stores * (wall - at) / sqrt(pi * max(since, 1.0)) if face.stores else 0.0
        return (
            _warmth(face, air, at, windier)
            + gives
            - _leaves(face, air, at, salt, windier) * (2.501e6 - 2361.0 * (at - _ICE))
        )

    return max(_leaves(face, air, _root(short, air), salt, windier), 0.0)


@lru_cache(maxsize=4096)  # a plan is made again at its own hours, with its sides in other orders, with each remedy
def drying_time(film: Film, face: Face, air: Air, windier: float = 1.0) -> float:
    """Time [s] until the `film` is gone, infinite where it stays wet for a day; convection taken `windier` times [-].

    t = integral of dw/m over what is left.  Source: the module.  Raises ValueError for a film or humidity below 0.
    """
    if film.mass < 0.0 or film.salt < 0.0 or not 0.0 <= air.humidity <= 1.0:
        raise ValueError(f"no film of {film.mass} kg/m2 in air of {air.humidity}")
    wall = dry_temperature(face, air) if face.stores else 0.0
    if not film.salt and not face.stores:
        rate = drying_rate(face, air, 0.0, wall, 1.0, windier)
        return film.mass / rate if rate * _LONGEST > film.mass else inf
    piece, gone, last, first = film.mass / _STEPS, 0.0, 0.0, 0.0
    for step in range(_STEPS):
        left = film.mass - (step + 0.5) * piece
        rate = drying_rate(face, air, film.salt * film.mass / left, wall, gone + last / 2.0, windier)
        first = first or rate
        if rate <= _CRAWLS * first:  # what salt holds of the air's own water never leaves; the rest is gone
            return gone if left < film.mass / 2.0 and gone < _LONGEST else inf
        last = piece / rate
        gone += last
    return gone if gone < _LONGEST else inf


def _warmth(face: Face, air: Air, at: float, windier: float) -> float:
    """What the surface takes up at temperature `at` [W/m2], but for what evaporates."""
    sky = (
        63.0 if face.roof and air.sun > 0.0 else 0.0
    )  # of a roof in the sun, ASHRAE's sol-air temperature, from memory
    apart = air.temperature - at
    shines = _EMITS * (_STEFAN_BOLTZMANN * (air.temperature**4 - at**4) - sky)
    return face.takes * air.sun + windier * convection(face.rough, air.wind, apart) * apart + shines


def _leaves(face: Face, air: Air, at: float, salt: float, windier: float) -> float:
    """Vapor carried off [kg/(m2 s)] at film temperature `at` [K]; below 0 where dew falls."""
    density = 1.19 * 293.15 / air.temperature
    carried = windier * convection(face.rough, air.wind, air.temperature - at) / (density * _AIR_HEAT * _LEWIS)
    over = activity(salt) * water_vapour_pressure(at) / at
    return carried * (over - air.humidity * water_vapour_pressure(air.temperature) / air.temperature) / _VAPOR_GAS


def _root(balance: Callable[[float], float], air: Air) -> float:
    low = max(air.temperature - 40.0, _ICE - 20.0)
    return float(brenth(balance, low, air.temperature + 80.0, xtol=1e-6))


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


def equation_of_time(day: date) -> float:
    """How far the sun is ahead of the clock [s] at noon of `day`: mean longitude less right ascension.

    Source: the module; within half a minute in a day.
    """
    mean, ecliptic, slant = _apparent(day)
    ahead = mean - atan2(cos(slant) * sin(ecliptic), cos(ecliptic))
    return ((ahead + pi) % (2.0 * pi) - pi) / (2.0 * pi) * _LONGEST


def _apparent(day: date) -> tuple[float, float, float]:
    """Mean longitude, longitude along the ecliptic, and the ecliptic's slant [rad], at noon of `day`."""
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


def incidence(sun: Sun, *, faces: float, tilt: float) -> float:
    """Cosine [-] of the angle between a surface's own direction and the sun's; below 0 the sun is behind it.

    It `faces` [rad from north through east] and leans `tilt` [rad], a wall pi/2. Source: spherical trigonometry.
    """
    return sin(sun.elevation) * cos(tilt) + cos(sun.elevation) * sin(tilt) * cos(sun.azimuth - faces)


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
    sky = _FROM_SKY * beam * (1.0 + cos(tilt)) / 2.0
    ground = _FROM_GROUND * (beam * sin(sun.elevation) + _FROM_SKY * beam) * (1.0 - cos(tilt)) / 2.0
    return float(beam * max(incidence(sun, faces=faces, tilt=tilt), 0.0) + sky + ground)
