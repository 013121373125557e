"""How long a mix stays wet on each surface, in the driest air and the most sun of the hours it is there.

Where the forecast says how warm and humid the air is; of acid and strong bleach else too, in hot dry air. Without a
place the sun is taken as high as it gets, without a side as facing it, without a tone as dark: what is not written
dries sooner. The band is the film's and the wind's own (data/defaults.yaml).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from math import ceil, pi, radians
from typing import Any, Final

from planner.inputs.joined import JobInput, Surface
from planner.inputs.tables.chemicals import ACIDS, BLEACH
from planner.inputs.tables.defaults import default, default_list
from planner.inputs.tables.rows import rows
from planner.physics.drying import Air, Face, Film, drying_time, incidence, on_surface, position, wind_at_wall
from planner.plan.mix.model import MixPlan, SurfaceWork
from planner.plan.mix.wetted import stands_most
from planner.plan.sky.daylight import daylight, noons
from planner.plan.sky.model import Dries, Mists
from planner.plan.sky.weather import Met, hours_of, met, of_walls

_HOUR: Final = 3600.0
_STEP: Final = 1800.0
_TICK: Final = 600.0
_NOON: Final = 43200.0
_HIGH: Final = 3.0
"""Wind is taken so high up the wall [m]."""
_SALT_OF_BLEACH: Final = 0.028
"""Ion pairs per kg of mix for each g/L of available chlorine: 0.28 mol at 1 trade % (from memory)."""


def plan_drying(job: JobInput, mixes: Sequence[MixPlan], begins: float | None) -> Mapping[str, Dries]:
    """When a mix would be dry on each surface, by its name; nothing where nobody wrote how warm and humid it gets, but
    for what `burns`.

    `begins` [s from midnight]: when the rig is there, None where no clock is written.
    """
    found: dict[str, Dries] = {}
    for mix in mixes:
        for part in mix.parts:
            dries = dries_in(job, mix, part.surface, _hours(job, part.surface, begins))
            known = found.get(part.surface.name)
            if dries is not None and (known is None or dries.low < known.low):
                shade = _shade(job, part.surface, _row(part.surface.kind))
                found[part.surface.name] = replace(dries, shade=shade)
    return found


def dries_in(job: JobInput, mix: MixPlan, surface: Surface, hours: Sequence[int]) -> Dries | None:
    """When a mix would be dry on a surface in the worst of these hours; None where that cannot be told."""
    row, salt = _row(surface.kind), _SALT_OF_BLEACH * mix.target if mix.chemical == BLEACH else 0.0
    whole = met(job, hours)
    supposed = whole.high is None or whole.humidity is None
    if supposed and not burns(mix, job.limits):
        return None
    airs = {_air(job, surface, row, hour) for hour in hours}
    return replace(min((_dries(row, surface, salt, air) for air in airs), key=lambda one: one.low), supposed=supposed)


def mists_of(job: JobInput, mixes: Sequence[MixPlan], drying: Mapping[str, Dries]) -> Mapping[str, Mists]:
    """Surfaces whose mix may be dry before it has stood the least it should: how often it is wetted again.

    The wait goes from the first strip's mix to its rinse. What dries too soon for anybody to keep up is a finding, and
    so is what two guns at once would have to wet again.
    """
    found: dict[str, Mists] = {}
    for mix in mixes:
        for part in mix.parts:
            dries = drying.get(part.surface.name)
            if dries is None or not misted(job, mix, part.surface, dries):
                continue
            every = dries.low // 60.0 * 60.0 or dries.low
            least = min(part.surface.row["dwell"][0], stands_most(job, mix, part.surface))
            count = ceil((least + default("mist_least")) / every - 1e-9)
            known = found.get(part.surface.name)
            if known is None or every < known.every:
                found[part.surface.name] = Mists(count=count, every=every)
    return found


def misted(job: JobInput, mix: MixPlan, surface: Surface, dries: Dries) -> bool:
    """Whether a surface is to be wetted again while its mix stands."""
    least = min(surface.row["dwell"][0], stands_most(job, mix, surface)) + default("mist_least")
    able = surface.rinse == "now" and not mix.run.same_time and not dries.supposed
    return able and job.limits["dries_stop"] <= dries.low < least


def case_of(job: JobInput, work: SurfaceWork, mixes: Sequence[MixPlan]) -> str:
    """What comes of a film's drying on a surface with mix, by the case of its finding; `mixes` are all of the job's."""
    dries, stands = work.dries, work.bare if work.bare is not None else work.pace.dwell
    case = "ok" if work.mists is None else "misted"
    if dries is None:
        return ""
    if work.surface.rinse != "now":
        return "left"
    if dries.supposed:
        heat = of_walls(job, [work.surface.name]).high is None
        return ("supposed_heat" if heat else "supposed") if _over(stands, dries.low) else "ok"
    if _over(job.limits["dries_stop"], dries.low):
        own = [mix for mix in mixes if work.surface.name in mix.surfaces and mix.run.name == work.run]
        return "at_once" if any(burns(mix, job.limits) for mix in own) else "fast"
    return "dries" if _over(stands, dries.nominal) else "keep_wet" if _over(stands, dries.low) else case


def _over(value: float, limit: float) -> bool:
    return value > limit + 1e-9 * max(abs(value), abs(limit))


def burns(mix: MixPlan, limits: Mapping[str, float]) -> bool:
    """Whether a mix that dries on a wall does harm at once: acid, or strong bleach."""
    return mix.chemical in ACIDS or (mix.chemical == BLEACH and mix.target > limits["dries_strong"] * (1.0 + 1e-9))


def _hours(job: JobInput, surface: Surface, begins: float | None) -> list[int]:
    """The hours in which mix is on a surface; until they are known the six from when the rig is there, and without a
    clock those of all the day."""
    on = hours_of(job, [surface.name])
    if on is not None:
        return sorted(on)
    first, last = (6, 20) if begins is None else (int(begins // _HOUR), int(begins // _HOUR) + 6)
    return list(range(first, last + 1))


def _air(job: JobInput, surface: Surface, row: Mapping[str, Any], hour: int) -> Air:
    """The air on a surface in an hour, and the most sun of its half hours."""
    at = met(job, [hour])
    wind = max(at.wind or 0.0, at.gust or 0.0) or default("drying_wind")
    return Air(
        temperature=at.high if at.high is not None else default("drying_heat"),
        humidity=at.humidity if at.humidity is not None else default("drying_humidity"),
        wind=wind_at_wall(wind, _HIGH),
        sun=max(_sun(job, surface, row, hour * _HOUR + part * _STEP, at) for part in (0, 1, 2)),
    )


def _row(kind: str) -> Mapping[str, Any]:
    table = rows("drying", "films")
    return next((row for row in table if kind in row["kinds"]), table[-1])


def _sun(job: JobInput, surface: Surface, row: Mapping[str, Any], clock: float, at: Met) -> float:
    """Sun on a surface [W/m2] at a time by the clock [s from midnight]."""
    overcast = at.cloud is not None and at.cloud >= default("overcast_cloud") - 1e-9
    return (default("overcast_sun") if overcast else 1.0) * _clear_sun(job, surface, row, clock)


def _shade(job: JobInput, surface: Surface, row: Mapping[str, Any]) -> tuple[float, float] | None:
    """The longest time [s from midnight] from when it is light to when it is dark in which a surface has no sun."""
    light = daylight(job)
    if light is None or surface.faces is None:
        return None
    clocks = [ceil(light.dawn / _STEP) * _STEP + n * _STEP for n in range(int((light.dusk - light.dawn) / _STEP))]
    longest: list[float] = []
    for shaded, stretch in groupby(clocks, key=lambda at: _clear_sun(job, surface, row, at) < default("shade_sun")):
        longest = max(longest, list(stretch) if shaded else [], key=len)
    return (longest[0], longest[-1]) if len(longest) > 1 else None


def sunless(job: JobInput, surface: Surface, begins: float, ends: float) -> tuple[float, float] | None:
    """The time [s from midnight] around this one with the sun behind a surface; None where some of it has sun."""
    light, place = daylight(job), job.company.place
    if light is None or place is None or job.date is None or surface.faces is None:
        return None
    tilt, faces, day = radians(float(_row(surface.kind)["tilt"])), surface.faces, job.date

    def shaded(clock: float) -> bool:
        suns = (position(day, clock - noon + _NOON, place.latitude.degrees) for noon in noons(place, day))
        return all(incidence(sun, faces=faces, tilt=tilt) <= 0.0 for sun in suns if sun.elevation > 0.0)

    clocks = [ceil(light.dawn / _TICK) * _TICK + n * _TICK for n in range(int((light.dusk - light.dawn) / _TICK))]
    for behind, stretch in groupby(clocks, key=shaded):
        times = list(stretch)
        if behind and times[0] <= begins and ends <= times[-1]:
            return times[0], times[-1]
    return None


def _clear_sun(job: JobInput, surface: Surface, row: Mapping[str, Any], clock: float) -> float:
    """The same under a clear sky; as much as there may be where nobody wrote the place."""
    tilt = radians(float(row["tilt"]))
    place = job.company.place
    if place is None or job.date is None:
        return default("sun_on_wall") if tilt > pi / 4.0 else default("sun_on_roof")
    suns = [position(job.date, clock - noon + _NOON, place.latitude.degrees) for noon in noons(place, job.date)]
    return max(
        on_surface(sun, faces=surface.faces if surface.faces is not None else sun.azimuth, tilt=tilt) for sun in suns
    )


def _dries(row: Mapping[str, Any], surface: Surface, salt: float, air: Air) -> Dries:
    takes = float(row["light"] if surface.tone == "light" else row["dark"])
    face = Face(
        takes=takes, rough=float(row["rough"]), stores=float(row["stores"]), roof=0.0 < float(row["tilt"]) < 60.0
    )  # fmt: skip
    film, apart = float(row["film"]), default("drying_film")
    slow, fast = default_list("drying_wind_band")
    return Dries(
        nominal=drying_time(Film(mass=film, salt=salt), face, air),
        low=drying_time(Film(mass=film / apart, salt=salt), face, air, fast),
        high=drying_time(Film(mass=film * apart, salt=salt), face, air, slow),
        sun=air.sun,
    )
