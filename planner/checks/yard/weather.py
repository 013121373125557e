"""The forecast against work on the bench: wind over an open tub of acid, wind in a throw that is paced out."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level, over
from planner.plan.model import JobPlan, Value
from planner.plan.sky.weather import on_visit

BATH, TEST = "bath", "test"


def wind(plan: JobPlan) -> Iterator[Finding]:
    """weather.wind of a yard job: by its bath, and by its test where a throw is paced."""
    yard = plan.yard
    if yard is None:
        return
    weather = on_visit(plan.input)
    blows, gust = weather.wind, weather.gust
    limits = plan.input.limits
    values: dict[str, Value | str] = {
        name: Value(limits[key], "speed")
        for name, key in (("caution", "wind_caution"), ("gusty", "gust_caution"), ("stop", "wind_stop_strong"),
                          ("paced", "throw_wind"), ("throw_gust", "throw_gust"))
    }  # fmt: skip
    values |= {"wind": Value(blows, "speed")} if blows is not None else {}
    values |= {"gust": Value(gust, "speed")} if gust is not None else {}
    told: list[tuple[str, Level, str]] = []
    if yard.bath is not None:
        stop, caution, gusty = (limits[name] for name in ("wind_stop_strong", "wind_caution", "gust_caution"))
        told.append((BATH, *_bath(blows, gust, stop, caution, gusty)))
    if yard.test is not None and yard.test.after.ground is not None:
        told.append((TEST, *_paced(blows, gust, limits["throw_wind"], limits["throw_gust"])))
    for about, level, case in told:
        yield Finding(code="weather.wind", about=about, level=level, case=case, values=values, where=plan.where)


def _bath(wind: float | None, gust: float | None, stop: float, caution: float, gusty: float) -> tuple[Level, str]:
    """An open tub: spray and fumes go where the wind goes, and a gust takes a light tub or a cup of powder along."""
    if wind is None and gust is None:
        return "none", "none"
    if wind is not None and over(wind, stop):
        return "stop", "bench_bath_storm"
    if wind is not None and over(wind, caution):
        return "caution", "bench_bath"
    if gust is not None and over(gust, gusty):
        return "caution", "bench_bath_gust"
    return "ok", "bench_bath_ok" if wind is not None else "gusts_only"


def _paced(wind: float | None, gust: float | None, most: float, gusty: float) -> tuple[Level, str]:
    """A throw: above so much wind it says nothing of the pump."""
    if wind is None and gust is None:
        return "none", "none"
    if wind is not None and over(wind, most):
        return "caution", "bench_throw"
    if gust is not None and over(gust, gusty):
        return "caution", "bench_throw_gust"
    return "ok", "bench_throw_ok" if wind is not None else "gusts_only"
