"""The day's light held to a general library, and on which clock it is told."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from astral import Observer
from astral.sun import dawn, dusk, noon, sunrise, sunset

from planner.inputs.models import Place
from planner.physics.drying import equation_of_time
from planner.plan.sky.daylight import daylight_of, noons

MINUTE = 60.0


def _clock(moment: datetime, day: date, zone: float) -> float:
    """A moment as seconds from the midnight of a zone's own clock."""
    return (moment - datetime(day.year, day.month, day.day, tzinfo=UTC)).total_seconds() + zone * 3600.0


def _place(latitude: float, summer: float, winter: float | None = None) -> Place:
    def text(seconds: float) -> str:
        return f"{int(seconds // 3600):02d}:{int(seconds % 3600 // 60):02d}"

    north = f"{abs(latitude)} {'N' if latitude >= 0.0 else 'S'}"
    both = {"winter_noon": text(winter)} if winter is not None else {}
    return Place.model_validate({"latitude": north, "noon": text(summer), **both})


@pytest.mark.parametrize("month", range(1, 13))
@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [(40.0, -80.0, -5.0), (28.0, -97.0, -6.0), (52.0, 5.0, 1.0), (-33.9, 151.2, 10.0)],
)
def test_light_is_that_of_a_general_library(month: int, latitude: float, longitude: float, zone: float) -> None:
    # astral, after the equations of Meeus; a noon written in one summer month is good to some minutes in the others.
    at, day = Observer(latitude, longitude), date(2026, month, 15)
    dates = (date(2026, 7, 1), date(2026, 1, 1))
    one, other = dates if latitude > 0.0 else reversed(dates)
    place = _place(latitude, _clock(noon(at, one), one, zone + 1.0), _clock(noon(at, other), other, zone))
    found = daylight_of(place, day)
    ahead = 1.0 if abs(noons(place, day)[0] - place.noon) < 1800.0 else 0.0
    told = [dawn(at, day), sunrise(at, day), sunset(at, day), dusk(at, day)]
    clocks = [_clock(moment, day, zone + ahead) % 86400.0 for moment in told]
    if not found.unsure:
        assert [found.dawn, found.rise, found.sets, found.dusk] == pytest.approx(clocks, abs=3.0 * MINUTE)


@pytest.mark.parametrize("month", range(1, 13))
def test_the_equation_of_time_is_the_librarys(month: int) -> None:
    day, at = date(2026, month, 10), Observer(0.0, 0.0)
    ahead = 12.0 * 3600.0 - _clock(noon(at, day), day, 0.0)
    assert equation_of_time(day) == pytest.approx(ahead, abs=30.0)


def test_in_months_of_two_clocks_the_day_is_the_shorter_of_both() -> None:
    place, day = _place(40.0, 13.25 * 3600.0), date(2026, 12, 21)
    found, sure = daylight_of(place, day), daylight_of(_place(40.0, 13.25 * 3600.0, 12.25 * 3600.0), day)
    assert found.unsure
    assert not sure.unsure
    assert found.rise >= sure.rise + 55.0 * MINUTE
    assert found.sets <= sure.sets + 5.0 * MINUTE
    assert daylight_of(_place(40.0, 13.25 * 3600.0, 12.25 * 3600.0), date(2026, 11, 1)).unsure
    assert not daylight_of(place, date(2026, 6, 9)).unsure


def test_a_sun_that_never_sets_or_never_rises_is_no_fault() -> None:
    place = _place(75.0, 13.0 * 3600.0, 12.0 * 3600.0)
    summer, winter = daylight_of(place, date(2026, 6, 21)), daylight_of(place, date(2026, 12, 21))
    assert summer.sets - summer.rise == pytest.approx(24.0 * 3600.0)
    assert winter.sets == winter.rise


def test_a_day_lasts_as_long_as_the_hours_between() -> None:
    # At the equator some seven minutes over twelve hours, by refraction and the sun's upper edge.
    found = daylight_of(_place(0.0, 12.0 * 3600.0, 12.0 * 3600.0), date(2026, 3, 20))
    assert timedelta(seconds=found.sets - found.rise) == pytest.approx(
        timedelta(hours=12, minutes=7), abs=timedelta(minutes=1)
    )
