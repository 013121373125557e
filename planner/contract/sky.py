"""Weather and light in the JSON of a plan: what the job is judged by, and when."""

from __future__ import annotations

from typing import Final, NotRequired, TypedDict

from planner.plan.model import JobPlan
from planner.plan.sky.daylight import daylight
from planner.plan.sky.weather import by_the_hour, met
from planner.units import System
from planner.words.sides import sides_words

_DAY: Final = 86400.0


class HourJson(TypedDict):
    """One hour of the visit, from `hour` [0 to 23, from 24 on the next day's]; null is what nobody wrote."""

    hour: int
    temperature_k: float | None
    humidity: float | None
    wind_m_per_s: float | None
    gust_m_per_s: float | None
    rain: float | None
    cloud: float | None
    runs: list[str]
    walls: list[str]


class LightJson(TypedDict):
    """Civil twilight and the sun, s from midnight; `unsure` where two clocks may be right."""

    dawn_s: float
    sunrise_s: float
    sunset_s: float
    dusk_s: float
    unsure: bool


class SidesJson(TypedDict):
    """Walls in the `order` they are washed in where that is not as listed.

    It helps `surface` most: there mix stays wet `wet_s` at worst, and `listed_s` as listed.
    """

    order: list[str]
    surface: str
    wet_s: float
    listed_s: float
    message: str


class OfSides(TypedDict):
    """The part of a plan that is left out where walls are washed as listed."""

    sides: NotRequired[SidesJson]


def of_sides(plan: JobPlan, system: System) -> OfSides:
    """Why walls are washed in another order than listed; empty where they are not."""
    moved = plan.moved
    if moved is None:
        return {}
    return {
        "sides": {
            "order": list(moved.order), "surface": moved.wall, "wet_s": min(moved.low, _DAY),
            "listed_s": min(moved.written, _DAY), "message": sides_words(plan, system),
        }
    }  # fmt: skip


def weather_json(plan: JobPlan) -> list[HourJson]:
    """The weather of each hour of the visit; empty where it is not written by the hour, or nobody knows the hours."""
    worked = plan.input.worked
    if worked is None or not by_the_hour(plan.input):
        return []
    found: list[HourJson] = []
    for hour in sorted(worked.visit):
        at = met(plan.input, [hour])
        found.append(
            {
                "hour": hour,
                "temperature_k": at.high,
                "humidity": at.humidity,
                "wind_m_per_s": at.wind,
                "gust_m_per_s": at.gust,
                "rain": at.rain,
                "cloud": at.cloud,
                "runs": sorted(name for name, hours in worked.runs.items() if hour in hours),
                "walls": sorted(name for name, hours in worked.walls.items() if hour in hours),
            }
        )
    return found


def light_json(plan: JobPlan) -> LightJson | None:
    """The light of the job's day; null without a place or a date."""
    light = daylight(plan.input)
    if light is None:
        return None
    return {
        "dawn_s": light.dawn, "sunrise_s": light.rise, "sunset_s": light.sets, "dusk_s": light.dusk,
        "unsure": light.unsure,
    }  # fmt: skip
