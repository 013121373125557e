"""The sun by the clock of the place: its noon on a date, and the day's light.

A company writes when the sun stands highest in summer, and may write it for winter; the noon of a date follows the
equation of time from there, and is good to some minutes. On a date that may be of either clock both are asked. Where
nobody wrote winter's, the clock may have been set back by an hour or not.
"""

from __future__ import annotations

from datetime import date
from math import acos, cos, pi, radians, sin
from typing import Final

from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.models import Place
from planner.inputs.tables.defaults import default
from planner.inputs.tables.rows import rows
from planner.physics.drying import declination, equation_of_time

_HOUR: Final = 3600.0
_DAY: Final = 24.0 * _HOUR


@dataclass(frozen=True, slots=True, kw_only=True)
class Daylight:
    """Light of a date by the clock [s from midnight]: the sun is up from `rise` to `sets`; from `dawn` to `dusk`, civil
    twilight with it, it is light enough to see. `unsure`: two clocks may be right, and it is the shorter day of both.
    """

    dawn: float
    rise: float
    sets: float
    dusk: float
    unsure: bool


def noons(place: Place, day: date) -> tuple[float, ...]:
    """When the sun stands highest on a day [s from midnight], by each clock that may be right."""
    north = place.latitude.degrees >= 0.0
    summer, winter = (date(day.year, 7 if north else 1, 1), date(day.year, 1 if north else 7, 1))
    season = next(row for row in rows("daylight", "seasons") if row["hemisphere"] == ("north" if north else "south"))
    high = place.noon + equation_of_time(summer) - equation_of_time(day)
    if _within(day, season["summer"]):
        return (high,)
    if place.winter_noon is None:
        return high - _HOUR, high
    low = place.winter_noon + equation_of_time(winter) - equation_of_time(day)
    return (low,) if _within(day, season["winter"]) else (low, high)


def _within(day: date, ends: tuple[str, str]) -> bool:
    first, last = ends
    at = f"{day:%m-%d}"
    return first <= at <= last if first <= last else at >= first or at <= last


def daylight(job: JobInput) -> Daylight | None:
    """The light of the job's day; None where nobody wrote the place or the date."""
    place = job.company.place
    return daylight_of(place, job.date) if place is not None and job.date is not None else None


def daylight_of(place: Place, day: date) -> Daylight:
    """The light of a day at a place; a sun that never sets is up all day, one that never rises not at all."""
    at = noons(place, day)
    up, seen = (_half(place.latitude.degrees, day, default(name)) for name in ("sunrise_angle", "twilight_angle"))
    return Daylight(
        dawn=max(at) - seen, rise=max(at) - up, sets=min(at) + up, dusk=min(at) + seen, unsure=len(at) > 1
    )  # fmt: skip


def _half(latitude: float, day: date, below: float) -> float:
    """Half of how long the sun is less than `below` [rad] under the horizon [s]."""
    tilt, north = declination(day), radians(latitude)
    flat = cos(north) * cos(tilt)
    share = (-sin(below) - sin(north) * sin(tilt)) / flat if abs(flat) > 1e-9 else 0.0
    return acos(max(-1.0, min(1.0, share))) / (2.0 * pi) * _DAY
