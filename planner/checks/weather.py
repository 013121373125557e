"""The forecast against the work: wind and what it carries, frost, heat, rain on mix that still dwells."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks import bench_weather
from planner.checks.model import Finding, Level
from planner.checks.registry import check, over, under
from planner.inputs.models.day import Forecast
from planner.plan.drift import HARMED, SPOTS, exposure
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.strain_model import Drift

_ABOUT = "forecast"


def _forecast(plan: JobPlan) -> Forecast | None:
    return plan.input.day.forecast if plan.input.day is not None else None


def _of_the_day(code: str, plan: JobPlan, level: Level, case: str, **values: Value | str) -> Finding:
    return Finding(code=code, about=_ABOUT, level=level, case=case, values=values, where=plan.where)


@check("weather.wind")
def weather_wind(plan: JobPlan) -> Iterator[Finding]:
    """Sustained wind and gusts against the limits, run by run; and what stands where the mix would drift to."""
    forecast = _forecast(plan)
    wind = forecast.wind if forecast is not None else None
    gust = forecast.gust if forecast is not None else None
    for run in plan.runs:
        drift = next((one for one in plan.drift if one.run == run.name and one.droplet == SPOTS), None)
        level, case = _wind_level(plan, run, wind, gust, drift)
        limits = plan.input.limits
        values: dict[str, Value | str] = {
            "caution": Value(limits["wind_caution"], "speed"),
            "gusty": Value(limits["gust_caution"], "speed"),
            "stop": Value(limits["wind_stop_strong" if exposure(plan, run) else "wind_stop"], "speed"),
        }
        if wind is not None:
            values["wind"] = Value(wind, "speed")
        if gust is not None:
            values["gust"] = Value(gust, "speed")
        if drift is not None:
            values |= {
                "drop": Value(drift.droplet, "bore"),
                "carried": Value(drift.carried, "length"),
                "reaches": ", ".join(name.replace("_", " ") for name in _harmed(drift)),
            }
        yield Finding(code="weather.wind", about=run.name, level=level, case=case, values=values, where=run.input.where)
    yield from bench_weather.wind(plan)


def _harmed(drift: Drift) -> list[str]:
    return [name for name in drift.reaches if name in HARMED]


def _wind_level(
    plan: JobPlan, run: RunPlan, wind: float | None, gust: float | None, drift: Drift | None
) -> tuple[Level, str]:
    limits = plan.input.limits
    exposed = exposure(plan, run)
    if wind is None and gust is None:
        return "none", "none"
    if wind is not None and over(wind, limits["wind_stop"]):
        return "stop", "storm"
    if wind is not None and exposed is not None and over(wind, limits["wind_stop_strong"]):
        return "stop", exposed
    near = "_near" if drift is not None and _harmed(drift) else ""
    far = "_far" if drift is not None else ""
    if wind is not None and over(wind, limits["wind_caution"]):
        return "caution", f"wind{near or far}"
    if gust is not None and over(gust, limits["gust_caution"]):
        return "caution", f"gust{near}"
    if near:
        return "caution", "drift"
    return "ok", "ok" if drift is not None else "water" if wind is not None else "gusts_only"


@check("weather.freeze")
def weather_freeze(plan: JobPlan) -> Iterator[Finding]:
    """The night's low: water left in pumps and hoses bursts them, and wet walks turn to ice."""
    forecast = _forecast(plan)
    if forecast is None or forecast.low is None:
        yield _of_the_day("weather.freeze", plan, "none", "none")
        return
    limit = plan.input.limits["freeze_caution"]
    level: Level = "caution" if under(forecast.low, limit) else "ok"
    pump = plan.yard.pump.name if plan.yard is not None else ""
    yield _of_the_day(
        "weather.freeze",
        plan,
        level,
        "bench" if pump and level == "caution" else level,
        pump=pump,
        low=Value(forecast.low, "temperature"),
        limit=Value(limit, "temperature"),
    )


@check("weather.heat")
def weather_heat(plan: JobPlan) -> Iterator[Finding]:
    """The day's high: mix dries on the wall before its time, stock ages, people tire."""
    forecast = _forecast(plan)
    if forecast is None or forecast.high is None:
        yield _of_the_day("weather.heat", plan, "none", "none")
        return
    limit = plan.input.limits["heat_caution"]
    hot = over(forecast.high, limit)
    yield _of_the_day(
        "weather.heat",
        plan,
        "caution" if hot else "ok",
        ("bench" if plan.yard is not None else "mix" if plan.mixes else "water") if hot else "ok",
        high=Value(forecast.high, "temperature"),
        limit=Value(limit, "temperature"),
    )


@check("weather.rain")
def weather_rain(plan: JobPlan) -> Iterator[Finding]:
    """Rain against the hours in which mix is on a wall."""
    forecast = _forecast(plan)
    rain = forecast.rain if forecast is not None else None
    dwelling = {work.surface.name for work in plan.work if work.dwell_most > 0.0}
    if not dwelling or rain is None:
        yield _of_the_day("weather.rain", plan, "none", "none" if dwelling else "no_mix")
        return
    limit = plan.input.limits["rain_chance"]
    # A start without a chance is rain that is expected.
    chance = rain.chance if rain.chance is not None else 1.0
    values: dict[str, Value | str] = {"chance": Value(chance, "fraction"), "limit": Value(limit, "fraction")}
    if not over(chance, limit):
        yield _of_the_day("weather.rain", plan, "ok", "unlikely" if chance > 0.0 else "dry", **values)
        return
    if rain.start is None:
        yield _of_the_day("weather.rain", plan, "caution", "any_time", **values)
        return
    values["start"] = Value(rain.start, "clock")
    ends = _mix_is_off(plan, dwelling)
    if ends is None:
        yield _of_the_day("weather.rain", plan, "caution", "no_clock", **values)
        return
    late = over(ends, rain.start)
    values["ends"] = Value(ends, "clock")
    yield _of_the_day("weather.rain", plan, "caution" if late else "ok", "in_dwell" if late else "after", **values)


def _mix_is_off(plan: JobPlan, dwelling: set[str]) -> float | None:
    """When the last wall with mix on it is done [s from midnight]; None where the job's hour is not known.

    A job that is not its day's first has an hour only where the job before was planned with it.
    """
    place = plan.input.place_in_day
    if plan.found.ends is None and place is not None and place[0] > 1:
        return None
    done = [None if span.start is None else span.start + span.seconds for span in plan.time if span.what in dwelling]
    known = [end for end in done if end is not None]
    return max(known) if known and len(known) == len(done) else None
