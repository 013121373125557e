"""The forecast at the hours a thing lasts, the worst of them; without rows by the hour, the day's figures at any hour.

An hour without a row, or whose row lacks the figure, has the worst that is written: the day's own, else the worst
row's. What nobody wrote at all is unknown, None. Where the clock is not known, all of the day counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.models import Day, Forecast, Hour

_HOUR: Final = 3600.0
COLUMNS: Final = tuple(name for name in Hour.model_fields if name != "hour")


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """The worst of some hours: `low` and `high` K, `wind` and `gust` m/s, the chance of `rain`, the least `humidity`
    and `cloud`, as shares."""

    low: float | None
    high: float | None
    wind: float | None
    gust: float | None
    rain: float | None
    humidity: float | None
    cloud: float | None


_NOTHING: Final = Met(low=None, high=None, wind=None, gust=None, rain=None, humidity=None, cloud=None)


def forecast_of(day: Day | None) -> Forecast | None:
    """The day's forecast, where one is written."""
    return day.forecast if day is not None else None


def by_the_hour(job: JobInput) -> bool:
    """Whether the job's weather is written by the hour."""
    forecast = forecast_of(job.day)
    return forecast is not None and bool(forecast.hours)


def met(job: JobInput, hours: Iterable[int] | None) -> Met:
    """The worst of these hours [from midnight; from 24 on the next day's, of which nothing is written]."""
    forecast = forecast_of(job.day)
    if forecast is None:
        return _NOTHING
    rows = {int(row.hour // _HOUR): row for row in forecast.hours}
    at = sorted(hours) if hours is not None and rows else None

    def worst(column: str, whole: float | None, of: Callable[[Iterable[float]], float]) -> float | None:
        written = [value for row in rows.values() if (value := getattr(row, column)) is not None]
        instead = whole if whole is not None or not written else of(written)
        asked = [getattr(rows.get(hour), column, None) for hour in at] if at else [*written, instead]
        known = [instead if value is None else value for value in asked]
        return of([value for value in known if value is not None]) if None not in known else None

    rain = forecast.rain
    return Met(
        low=worst("temp", forecast.low, min),
        high=worst("temp", forecast.high, max),
        wind=worst("wind", forecast.wind, max),
        gust=worst("gust", forecast.gust, max),
        # A start without a chance is rain that is expected.
        rain=worst("rain", None if rain is None else 1.0 if rain.chance is None else rain.chance, max),
        humidity=worst("humidity", forecast.humidity, min),
        cloud=worst("cloud", None if forecast.sun is None else 1.0 if forecast.sun == "none" else 0.0, min),
    )


def on_visit(job: JobInput) -> Met:
    """While the rig is there."""
    return met(job, job.worked.visit if job.worked is not None else None)


def of_run(job: JobInput, run: str) -> Met:
    """While a run sprays; one that sprays no wall may be on at any hour of the visit."""
    worked = job.worked
    return met(job, (worked.runs.get(run) or worked.visit) if worked is not None else None)


def of_walls(job: JobInput, walls: Iterable[str]) -> Met:
    """While mix is on any of these walls."""
    return met(job, hours_of(job, walls))


def hours_of(job: JobInput, walls: Iterable[str]) -> frozenset[int] | None:
    """The hours in which mix is on any of these walls; None where the clock is not known."""
    worked = job.worked
    if worked is None:
        return None
    found = [worked.walls.get(wall) for wall in walls]
    return frozenset().union(*(hours or worked.visit for hours in found))


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Hours of the visit for which `columns` that other hours have are not written, from `start` to `end` [s]."""

    columns: tuple[str, ...]
    start: float
    end: float


def gap_of(job: JobInput) -> Gap | None:
    """What a forecast by the hour lacks of the visit; None where it lacks nothing, or nobody knows the hours."""
    forecast, worked = forecast_of(job.day), job.worked
    if forecast is None or worked is None:
        return None
    rows = {int(row.hour // _HOUR): row for row in forecast.hours}
    used = [name for name in COLUMNS if any(getattr(row, name) is not None for row in rows.values())]
    lacking = {
        hour: [name for name in used if getattr(rows.get(hour), name, None) is None] for hour in sorted(worked.visit)
    }
    short = [hour for hour, names in lacking.items() if names]
    if not short:
        return None
    columns = tuple(name for name in used if any(name in names for names in lacking.values()))
    return Gap(columns=columns, start=short[0] * _HOUR, end=(short[-1] + 1) * _HOUR)
