"""Walls of a job that nothing is done to, and mix left on one for a rain that does not come."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding
from planner.checks.registry import check, over
from planner.plan.model import JobPlan, Value


@check("wall.idle")
def wall_idle(plan: JobPlan) -> Iterator[Finding]:
    """Walls that no run wets, sprays, cleans or rinses."""
    done = {work.surface.name for work in plan.work}
    idle = [surface for surface in plan.input.surfaces if surface.name not in done]
    if plan.kind != "wash":
        yield Finding(code="wall.idle", about="walls", level="none", case="none", values={}, where=plan.where)
    elif not done:
        yield Finding(code="wall.idle", about="job", level="stop", case="nothing", values={}, where=plan.where)
    elif not idle:
        yield Finding(code="wall.idle", about="walls", level="ok", case="ok", values={}, where=plan.where)
    else:
        for surface in idle:
            case = "left" if surface.rinse == "leave" else "idle"
            values: dict[str, Value | str] = {"surface": surface.name}
            yield Finding(
                code="wall.idle", about=surface.name, level="caution", case=case, values=values, where=surface.where
            )


@check("weather.rinse")
def weather_rinse(plan: JobPlan) -> Iterator[Finding]:
    """Walls whose mix is left to the rain, and whether any is forecast."""
    left = [work.surface for work in plan.work if work.apply > 0.0 and work.surface.rinse == "leave"]
    walls = list({surface.name: surface for surface in left}.values())
    if not walls:
        yield Finding(code="weather.rinse", about="walls", level="none", case="none", values={}, where=plan.where)
    forecast = plan.input.day.forecast if plan.input.day is not None else None
    rain = forecast.rain if forecast is not None else None
    limit = plan.input.limits["rain_chance"]
    for surface in walls:
        values: dict[str, Value | str] = {"surface": surface.name, "limit": Value(limit, "fraction")}
        case = "unknown"
        if rain is not None:
            # A start without a chance is rain that is expected.
            chance = rain.chance if rain.chance is not None else 1.0
            values["chance"] = Value(chance, "fraction")
            case = "ok" if over(chance, limit) else "unlikely" if chance > 0.0 else "dry"
        yield Finding(
            code="weather.rinse", about=surface.name, level="ok" if case == "ok" else "caution", case=case,
            values=values, where=surface.where,
        )  # fmt: skip
