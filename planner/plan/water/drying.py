"""How long a mix stays wet on each surface, in the driest air and the most sun of the job's hours.

Where the forecast says how humid the air is; of acid and strong bleach else too, in dry air. Without a place the sun is
taken as high as it gets, without a side as facing it, without a tone as dark: what is not written dries sooner. The
band is the film's and the wind's own (data/defaults.yaml).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import pi, radians
from typing import Any, Final

from planner.inputs.joined import JobInput, Surface
from planner.inputs.tables.chemicals import ACIDS, BLEACH
from planner.inputs.tables.defaults import default, default_list
from planner.inputs.tables.rows import rows
from planner.physics.drying import Air, Face, Film, drying_time, on_surface, position, wind_at_wall
from planner.plan.mix.model import Dries, MixPlan

_STEP: Final = 1800.0
_NOON: Final = 43200.0
_HIGH: Final = 3.0
"""Wind is taken so high up the wall [m]."""
_SALT_OF_BLEACH: Final = 0.028
"""Ion pairs per kg of mix for each g/L of available chlorine: 0.28 mol at 1 trade % (from memory)."""


def plan_drying(job: JobInput, mixes: Sequence[MixPlan], begins: float | None) -> Mapping[str, Dries]:
    """When a mix would be dry on each surface, by its name; nothing where nobody wrote how warm it gets.

    `begins` [s from midnight]: when the rig is there, None where no clock is written.
    """
    forecast = job.day.forecast if job.day is not None else None
    if forecast is None or forecast.high is None:
        return {}
    hours = _hours(begins)
    found: dict[str, Dries] = {}
    for mix in mixes:
        if forecast.humidity is None and not burns(mix, job.limits):
            continue
        humidity = forecast.humidity if forecast.humidity is not None else default("drying_humidity")
        salt = _SALT_OF_BLEACH * mix.target if mix.chemical == BLEACH else 0.0
        for part in mix.parts:
            row = _row(part.surface.kind)
            air = Air(
                temperature=forecast.high,
                humidity=humidity,
                wind=wind_at_wall(max(forecast.wind or 0.0, forecast.gust or 0.0) or default("drying_wind"), _HIGH),
                sun=max((_sun(job, part.surface, row, hour) for hour in hours), default=0.0),
            )
            dries = replace(_dries(row, part.surface, salt, air), supposed=forecast.humidity is None)
            known = found.get(part.surface.name)
            if known is None or dries.low < known.low:
                found[part.surface.name] = dries
    return found


def burns(mix: MixPlan, limits: Mapping[str, float]) -> bool:
    """Whether a mix that dries on a wall does harm at once: acid, or strong bleach."""
    return mix.chemical in ACIDS or (mix.chemical == BLEACH and mix.target > limits["dries_strong"] * (1.0 + 1e-9))


def _hours(begins: float | None) -> list[float]:
    """Every half hour [s from midnight] of the six from when the rig is there; without a clock of all the day."""
    start, ends = (begins, begins + 6.0 * 3600.0) if begins is not None else (6.0 * 3600.0, 20.0 * 3600.0)
    return [start + step * _STEP for step in range(int((ends - start) / _STEP) + 1)]


def _row(kind: str) -> Mapping[str, Any]:
    table = rows("drying", "films")
    return next((row for row in table if kind in row["kinds"]), table[-1])


def _sun(job: JobInput, surface: Surface, row: Mapping[str, Any], hour: float) -> float:
    """Sun on a surface [W/m2] at `hour` [s from midnight] by the clock."""
    forecast = job.day.forecast if job.day is not None else None
    share = default("overcast_sun") if forecast is not None and forecast.sun == "none" else 1.0
    tilt = radians(float(row["tilt"]))
    place = job.company.place
    if place is None or job.date is None:
        return share * (default("sun_on_wall") if tilt > pi / 4.0 else default("sun_on_roof"))
    sun = position(job.date, hour - place.noon + _NOON, place.latitude.degrees)
    faces = surface.faces if surface.faces is not None else sun.azimuth
    return share * on_surface(sun, faces=faces, tilt=tilt)


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
