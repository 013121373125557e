"""The owner's table of the weather at the hours of the job, with what is done in each, and the day's light."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor
from typing import Final

from planner.packet.blocks import Block, Cell, Heading, Span, Table, Text, said
from planner.packet.sections.reading import Reading
from planner.plan.sky.daylight import Daylight, daylight
from planner.plan.sky.weather import Met, by_the_hour, met
from planner.units import System, show
from planner.words.dates import MINUTE, clock_text
from planner.words.sides import sides_words

_DAY: Final = 86400.0
_HOUR: Final = 3600.0
_FIGURES: Final = (
    ("Air", "high", "temperature", "up"), ("Humidity", "humidity", "fraction", "down"),
    ("Wind", "wind", "speed", "up"), ("Gust", "gust", "speed", "up"),
    ("Rain", "rain", "fraction", "up"), ("Cloud", "cloud", "fraction", "down"),
)  # fmt: skip


def weather_blocks(reading: Reading) -> Iterator[Block]:
    """Nothing where the weather is not written by the hour and nobody knows the light."""
    plan, system = reading.checked.plan, reading.system
    light, worked = daylight(plan.input), plan.input.worked
    hourly = worked is not None and by_the_hour(plan.input)
    if light is not None or hourly:
        yield Heading(spans=said("Weather and light"))
    if light is not None:
        yield Text(spans=said(light_text(light, system)))
    if order := sides_words(plan, system):
        yield Text(spans=said(order))
    if worked is None or not hourly:
        return
    names = {surface.name: surface.called for surface in plan.input.surfaces}
    rows: list[tuple[Cell, ...]] = []
    for hour in sorted(worked.visit):
        at = met(plan.input, [hour])
        walls = [names.get(name, name) for name, hours in worked.walls.items() if hour in hours]
        clock = Span(text=clock_text(hour % 24 * _HOUR, system, step=MINUTE), strong=True)
        rows.append(((clock,), *(_shown(at, *figure[1:], system) for figure in _FIGURES), ", ".join(walls)))
    yield Table(
        head=("Hour", *(figure[0] for figure in _FIGURES), "Mix on"), rows=tuple(rows),
        widths=(1.4, 1.2, 1.5, 1.4, 1.4, 1.2, 1.2, 4.7),
    )  # fmt: skip


def light_text(light: Daylight, system: System) -> str:
    """When the sun is up and when it is light, on the safe side of the minute."""
    rise, dawn = (clock_text(at % _DAY, system, step=MINUTE, toward="up") for at in (light.rise, light.dawn))
    sets, dusk = (clock_text(at % _DAY, system, step=MINUTE, toward="down") for at in (light.sets, light.dusk))
    unsure = ". The clocks may change by then: this is the shorter of the two days" if light.unsure else ""
    return f"The sun is up from {rise} to {sets}; it is light from {dawn} to {dusk}{unsure}."


def _shown(at: Met, name: str, dimension: str, toward: str, system: System) -> str:
    value = getattr(at, name)
    if value is not None and dimension == "fraction":
        percent = 100.0 * value
        return f"{ceil(percent - 1e-6) if toward == 'up' else floor(percent + 1e-6)} %"
    return "" if value is None else show(value, dimension, system, toward="up" if toward == "up" else "down")
