"""The day: its clock, the weather, the people.

Rain is held against the job's own hour, which follows the jobs before it, held ones too (`Carried.ends`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import atan, cos
from typing import Final

from planner.checks.model import CheckedJob, Finding, Level, check, over, under
from planner.checks.yard import bench
from planner.checks.yard import weather as bench_weather
from planner.inputs.models.day import Forecast
from planner.inputs.tables.chemicals import SOAP
from planner.inputs.tables.defaults import default
from planner.plan.line.drift import HARMED, exposure
from planner.plan.line.model import Drift
from planner.plan.mix.model import SurfaceWork
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.sky.daylight import daylight
from planner.plan.sky.weather import by_the_hour, gap_of, hours_of, met, of_run, on_visit
from planner.plan.water.drying import case_of
from planner.plan.water.timing import arrival_of, begins_at, end_of, home_after, lost_by


@check("time.day")
def time_day(plan: JobPlan) -> Iterator[Finding]:
    """From leaving the yard to driving off from this job, and home from the day's last.

    Without a time of leaving, the job alone; behind a drive that is missing or a job that cannot be read nothing is
    said of the hour, and that is asked for.
    """
    limit = plan.input.limits["day_length"]
    leaves = plan.input.day.leave_yard if plan.input.day is not None else None
    ends = end_of(plan.time)
    home = home_after(plan) or 0.0
    whole = leaves is not None and ends is not None
    length = sum(span.seconds for span in plan.time) + home
    if leaves is not None and ends is not None:
        length = ends - leaves + home
    waits = lost_by(plan.input, plan.found) if leaves is not None else ""
    level: Level = "none" if not plan.time else "caution" if over(length, limit) or waits else "ok"
    case = "none" if not plan.time else ("home" if home and whole else "day" if whole else "job")
    case += "_long" if level == "caution" else ""
    if waits and level != "none":
        case = "lost" if plan.found.lost else "no_drive"
    yield Finding(
        code="time.day",
        about="day",
        level=level,
        case=case,
        values={
            "length": Value(length, "time"),
            "limit": Value(limit, "time"),
            "home": Value(home, "time"),
            "waits": waits,
        },
        where=plan.where,
    )


def day_findings(jobs: Sequence[CheckedJob], waits: Sequence[str] = ()) -> tuple[Finding, ...]:
    """What is found of a day as a whole: how long it is when the last of its jobs is done.

    `waits`: the ids of jobs of it that cannot be planned, without which nobody knows.
    """
    ends = [
        finding for job in jobs for finding in job.findings if finding.code == "time.day" and finding.level != "none"
    ]
    page = jobs[0].plan.input.day if jobs else None
    if waits and page is not None and page.leave_yard is not None:
        names = " and ".join(name.rpartition("/")[2] for name in waits)
        ends = [replace(one, level="caution", case="lost", values={**one.values, "waits": names}) for one in ends]
    return tuple(replace(finding, about="day") for finding in ends[-1:])


@check("wall.dwell")
def wall_dwell(plan: JobPlan) -> Iterator[Finding]:
    """Each wall whose mix would stand too long, whatever the size of its sections; the plan has tried them."""
    where = {surface.name: surface.where for surface in plan.input.surfaces}
    for misfit in plan.procedure_misfits:
        yield Finding(
            code="wall.dwell",
            about=misfit.surface,
            level="stop",
            case="too_long",
            values={
                "surface": misfit.surface,
                "shortest": Value(misfit.shortest, "time"),
                "bound": Value(misfit.bound, "time"),
                "least": Value(misfit.least, "time"),
            },
            where=where.get(misfit.surface, plan.where),
        )
    if not plan.procedure_misfits:
        stands = any(work.dwell_bound > 0.0 for work in plan.work)
        level: Level = "ok" if stands else "none"
        yield Finding(code="wall.dwell", about="walls", level=level, case=level, values={}, where=plan.where)


@check("wall.dries")
def wall_dries(plan: JobPlan) -> Iterator[Finding]:
    """How long a film of mix stays wet on each wall, against how long its first strip waits for water or more mix."""
    limits = plan.input.limits
    told = False
    for work in plan.work:
        dries = work.dries
        if dries is None or work.apply <= 0.0:
            continue
        told = True
        stands = work.bare if work.bare is not None else work.pace.dwell
        case = case_of(plan.input, work, plan.mixes)
        level = _DRY.get(case, "ok")
        values: dict[str, Value | str] = {
            "surface": work.surface.name, "stands": Value(stands, "time"), "limit": Value(limits["dries_stop"], "time"),
        }  # fmt: skip
        values |= {name: Value(min(getattr(dries, name), _DAY), "time") for name in ("low", "nominal")}
        if level != "ok" and dries.shade is not None:
            case += "_shade"
            values |= {name: Value(at, "clock") for name, at in zip(("begins", "ends"), dries.shade, strict=True)}
        values |= {"every": Value(work.mists.every, "time")} if work.mists is not None else {}
        values |= {"sun": _sun_told(plan, work)} if level != "ok" else {}
        yield Finding(
            code="wall.dries", about=work.surface.name, level=level, case=case, values=values, where=work.surface.where
        )
    if not told:
        stands_any = any(work.apply > 0.0 for work in plan.work)
        no_high = met(plan.input, None).humidity is not None
        case = "none" if not stands_any else "no_high" if no_high else "untold"
        yield Finding(code="wall.dries", about="walls", level="none", case=case, values={}, where=plan.where)


def _sun_told(plan: JobPlan, work: SurfaceWork) -> str:
    """What to write so that a wall's own sun counts; nothing where it does, or the day has none."""
    placed, sided = plan.input.company.place is not None, work.surface.faces is not None
    if (placed and sided) or work.dries is None or work.dries.sun < default("shade_sun"):
        return ""
    if placed:
        return "Write which way the wall `faces`: it is planned as facing the sun. "
    then = "`faces` counts only then" if sided else "then which way the wall `faces`"
    return f"Write the company's `place`, {then}: until then it is planned in full sun. "


_DRY: Final[Mapping[str, Level]] = {
    "supposed": "caution", "supposed_heat": "caution", "keep_wet": "caution", "dries": "caution", "fast": "caution",
    "at_once": "stop",
}  # fmt: skip
_DAY = 86400.0


# ------------------------------------------------------------ weather
# The forecast against the work: wind and what it carries, frost, heat, rain on mix that still dwells.


_ABOUT = "forecast"
_NIGHT_ENDS = 6
"""Rows by the hour tell the night where they have all before this one (our choice)."""


def _forecast(plan: JobPlan) -> Forecast | None:
    return plan.input.day.forecast if plan.input.day is not None else None


def _of_the_day(code: str, plan: JobPlan, level: Level, case: str, **values: Value | str) -> Finding:
    return Finding(code=code, about=_ABOUT, level=level, case=case, values=values, where=plan.where)


@check("weather.wind")
def weather_wind(plan: JobPlan) -> Iterator[Finding]:
    """Wind and gusts of each run's hours against the limits; and what stands where the mix would drift to."""
    for run in plan.runs:
        weather = of_run(plan.input, run.name)
        wind, gust = weather.wind, weather.gust
        drift = next(
            (drift for drift in plan.drift if drift.run == run.name and drift.droplet == default("spots")), None
        )
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
    """The night's low: water left in pumps and hoses bursts them, and wet walks turn to ice.

    It is any hour's of the day, the rig stands in it. Rows that leave out the night say nothing of it, unless it
    freezes in them.
    """
    forecast, low = _forecast(plan), met(plan.input, None).low
    night = {int(row.hour // 3600.0) for row in forecast.hours if row.temp is not None} if forecast is not None else ()
    written = forecast is not None and (forecast.low is not None or set(range(_NIGHT_ENDS)) <= set(night))
    if low is None or not (written or under(low, plan.input.limits["freeze_caution"])):
        yield _of_the_day("weather.freeze", plan, "none", "none")
        return
    limit = plan.input.limits["freeze_caution"]
    level: Level = "caution" if under(low, limit) else "ok"
    pump = plan.yard.pump.name if plan.yard is not None else ""
    yield _of_the_day(
        "weather.freeze",
        plan,
        level,
        "bench" if pump and level == "caution" else level,
        pump=pump,
        low=Value(low, "temperature"),
        limit=Value(limit, "temperature"),
    )


@check("weather.heat")
def weather_heat(plan: JobPlan) -> Iterator[Finding]:
    """The high of the visit: mix dries on the wall before its time, stock ages, people tire."""
    high = on_visit(plan.input).high
    if high is None:
        yield _of_the_day("weather.heat", plan, "none", "none")
        return
    limit = plan.input.limits["heat_caution"]
    hot = over(high, limit)
    yield _of_the_day(
        "weather.heat",
        plan,
        "caution" if hot else "ok",
        ("bench" if plan.yard is not None else "mix" if plan.mixes else "water") if hot else "ok",
        high=Value(high, "temperature"),
        limit=Value(limit, "temperature"),
    )


@check("weather.rain")
def weather_rain(plan: JobPlan) -> Iterator[Finding]:
    """Rain against the hours in which mix is on a wall."""
    forecast = _forecast(plan)
    rain = forecast.rain if forecast is not None else None
    dwelling = {work.surface.name for work in plan.work if work.dwell_most > 0.0}
    if dwelling and forecast is not None and any(row.rain is not None for row in forecast.hours):
        yield _rain_by_hours(plan, forecast, dwelling)
        return
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


def _rain_by_hours(plan: JobPlan, forecast: Forecast, dwelling: set[str]) -> Finding:
    """The same where rain is written by the hour: the likeliest of the hours in which mix is on a wall."""
    limit, hours = plan.input.limits["rain_chance"], hours_of(plan.input, dwelling)
    chance = met(plan.input, hours).rain or 0.0
    wet = [row.hour for row in forecast.hours if row.rain is not None and over(row.rain, limit)]
    values: dict[str, Value | str] = {"chance": Value(chance, "fraction"), "limit": Value(limit, "fraction")}
    if hours is None:
        case = "no_clock" if wet else "unlikely" if chance > 0.0 else "dry"
        values |= {"start": Value(min(wet), "clock")} if wet else {}
        return _of_the_day("weather.rain", plan, "caution" if wet else "ok", case, **values)
    ends = _mix_is_off(plan, dwelling)
    within = [hour for hour in wet if int(hour // 3600.0) in hours]
    later = [hour for hour in wet if ends is not None and hour >= ends]
    case = "unlikely" if chance > 0.0 else "dry"
    if over(chance, limit):
        case = "in_dwell" if within and ends is not None else "gap"
    elif later and ends is not None:
        case = "after"
    if case in ("in_dwell", "after") and ends is not None:
        values |= {"start": Value(min(within or later), "clock"), "ends": Value(ends, "clock")}
    return _of_the_day("weather.rain", plan, "caution" if case in ("in_dwell", "gap") else "ok", case, **values)


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


@check("weather.hours")
def weather_hours(plan: JobPlan) -> Iterator[Finding]:
    """A forecast by the hour against the hours of the visit: what it lacks of them is taken at the day's worst."""
    if not by_the_hour(plan.input):
        yield _of_the_day("weather.hours", plan, "none", "none")
        return
    if plan.input.worked is None:
        yield _of_the_day("weather.hours", plan, "caution", "no_clock")
        return
    gap = gap_of(plan.input)
    if gap is None:
        yield _of_the_day("weather.hours", plan, "ok", "ok")
        return
    values: dict[str, Value | str] = {"start": Value(gap.start % _DAY, "clock"), "end": Value(gap.end % _DAY, "clock")}
    yield _of_the_day("weather.hours", plan, "caution", "gap", columns=", ".join(gap.columns), **values)


@check("time.light")
def time_light(plan: JobPlan) -> Iterator[Finding]:
    """Work against the day's light: before it is light enough to see, or after."""
    light, spans = daylight(plan.input), [span for span in plan.time if not span.road]
    begins, ends = arrival_of(plan.time), end_of(plan.time)
    known = begins_at(plan.input, plan.found) is not None
    if light is None or begins is None or ends is None or not known or not spans:
        case = "none" if not spans else "no_place" if light is None else "no_clock"
        yield _of_the_day("time.light", plan, "none", case)
        return
    early, late = under(begins, light.dawn), over(ends, light.dusk)
    dim = under(begins, light.rise) or over(ends, light.sets)
    case = "both" if early and late else "early" if early else "late" if late else "dim" if dim else "ok"
    values: dict[str, Value | str] = {
        "begins": Value(begins % _DAY, "clock"), "ends": Value(ends % _DAY, "clock"),
        "unsure": "yes" if light.unsure else "",
    }  # fmt: skip
    values |= {name: Value(getattr(light, name) % _DAY, "clock") for name in ("dawn", "rise", "sets", "dusk")}
    yield _of_the_day("time.light", plan, "caution" if early or late else "ok", case, **values)


# ------------------------------------------------------------ people
# Eyewash, who is alone with acid, roofs and ladders.


@check("site.eyewash")
def site_eyewash(plan: JobPlan) -> Iterator[Finding]:
    """Stock or acid aboard needs fifteen minutes of eyewash beside it."""
    carried = plan.input.rig.carried
    have = carried.eyewash if carried is not None and carried.eyewash is not None else 0.0
    need = plan.input.limits["eyewash_volume"]
    level: Level = "none"
    case = "none"
    held = {heel.chemical for heel in plan.found.tanks.values()}
    if ({mix.chemical for mix in plan.mixes} | held | set(bench.handled_of(plan))) - {SOAP, "water"}:
        short = under(have, need)
        level, case = ("stop", "short" if have > 0.0 else "missing") if short else ("ok", "ok")
    yield Finding(
        code="site.eyewash",
        about="rig",
        level=level,
        case=case,
        values={"have": Value(have, "volume"), "need": Value(need, "volume")},
        where=plan.where,
    )


@check("site.alone")
def site_alone(plan: JobPlan) -> Iterator[Finding]:
    """An acid bath wants a second person within call: the page asks for two initials before acid is opened."""
    crew = plan.input.day.crew if plan.input.day is not None else None
    level: Level = "none"
    case = "none"
    if bench.acids_of(plan):
        case = "unknown"
        if crew is not None:
            level, case = ("ok", "ok") if crew.count >= default("acid_hands") else ("stop", "alone")
    values: dict[str, Value | str] = {
        "crew": str(crew.count) if crew is not None else "",
        "chemical": ", ".join(bench.acids_of(plan)),
    }
    yield Finding(code="site.alone", about="crew", level=level, case=case, values=values, where=plan.where)


@check("crew.guns")
def crew_guns(plan: JobPlan) -> Iterator[Finding]:
    """Runs sprayed at once have two guns that work in step; the plan has tried."""
    for guns_misfit in plan.guns_misfits:
        yield Finding(
            code="crew.guns",
            about=guns_misfit.runs[0],
            level="stop",
            case=guns_misfit.why if guns_misfit.about or guns_misfit.why != "walls" else "counts",
            values={"runs": " and ".join(guns_misfit.runs), "about": guns_misfit.about},
            where=next((run.where for run in plan.input.runs if run.name == guns_misfit.runs[0]), plan.where),
        )
    if not plan.guns_misfits:
        level: Level = "ok" if any(run.input.same_time for run in plan.runs) else "none"
        yield Finding(code="crew.guns", about="crew", level=level, case=level, values={}, where=plan.where)


@check("site.roof")
def site_roof(plan: JobPlan) -> Iterator[Finding]:
    """Work on a roof without fall protection."""
    access = plan.input.job.access
    roof = access.roof_work if access is not None else None
    level: Level = "none"
    values: dict[str, Value | str] = {}
    if roof is not None:
        level = "ok" if roof.anchor else "stop"
        values = {"eave": Value(roof.eave, "length")}
    yield Finding(
        code="site.roof", about="roof", level=level, case=level, values=values,
        where=plan.input.places.get("access", plan.where),
    )  # fmt: skip


@check("site.ladder")
def site_ladder(plan: JobPlan) -> Iterator[Finding]:
    """Whether the ladder carried stands far enough above the edge it serves, at four to one."""
    access = plan.input.job.access
    carried = plan.input.rig.carried
    longest = carried.ladder if carried is not None else None
    above = plan.input.limits["ladder_above_edge"]
    slope = plan.input.limits["ladder_slope"]
    wanted = access.ladder if access is not None else None
    roof = access.roof_work if access is not None else None
    level: Level = "none"
    case = "none"
    values: dict[str, Value | str] = {"above": Value(above, "length")}
    if longest is not None:
        values["longest"] = Value(longest, "length")
    if longest is not None and roof is not None:
        serves = (longest - default("ladder_overlap")) * cos(atan(1.0 / slope)) - above
        values |= {"eave": Value(roof.eave, "length"), "serves": Value(max(serves, 0.0), "length")}
        short = over(roof.eave, serves)
        level, case = ("caution", "short_of_eave") if short else ("ok", "ok")
    if wanted is not None and longest is not None and case != "short_of_eave":
        values["wanted"] = Value(wanted, "length")
        short = under(longest, wanted)
        level, case = ("caution", "shorter") if short else ("ok", "carried")
    elif wanted is not None and longest is None:
        values["wanted"] = Value(wanted, "length")
        level, case = "caution", "none_carried"
    yield Finding(
        code="site.ladder", about="ladder", level=level, case=case, values=values,
        where=plan.input.places.get("access", plan.where),
    )  # fmt: skip


@check("line.pressure_on_ladder")
def line_pressure_on_ladder(plan: JobPlan) -> Iterator[Finding]:
    """High pressure in the hands of someone on a ladder."""
    access = plan.input.job.access
    limit = plan.input.limits["pressure_on_ladder"]
    for run in plan.runs:
        highest = max(run.pump_pressure, run.shut_off_pressure or 0.0)
        level: Level = "none"
        if access is not None and access.on_ladder:
            level = "stop" if over(highest, limit) else "ok"
        yield Finding(
            code="line.pressure_on_ladder",
            about=run.name,
            level=level,
            case=level,
            values={"pressure": Value(highest, "pressure"), "limit": Value(limit, "pressure")},
            where=run.input.where,
        )
