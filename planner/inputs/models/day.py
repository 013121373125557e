"""A day: the folder of jobs one rig and crew work on one date."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any, ClassVar, Final, Literal

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from planner.frozen import dataclass
from planner.inputs.models.base import SOME, Slip, Written, at_most, key
from planner.inputs.models.gear import not_above, quietly
from planner.inputs.models.quantities import (
    Clock,
    Name,
    RainText,
    Share,
    Speed,
    StrengthText,
    Temperature,
    Time,
    Volume,
    person,
    read_rain,
)
from planner.inputs.reading.handwriting import read_clock
from planner.inputs.reading.letters import alike
from planner.inputs.tables.defaults import default
from planner.units import Unreadable


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """How many work, and their names where they are written."""

    count: int
    names: tuple[str, ...]


class _CrewText:
    """Reads `2`, one name, or a list of names."""

    def __call__(self, written: Any) -> Crew:
        """The crew, never an empty one."""
        if isinstance(written, Crew):
            return written
        names = written if isinstance(written, list) else [written]
        if len(names) == 1 and isinstance(names[0], str) and names[0].isascii() and names[0].strip().isdigit():
            count = int(names[0][:6])
            if 1 <= count <= 20:
                return Crew(count=count, names=())
        elif names and all(isinstance(name, str) and name.strip() for name in names):
            try:
                said = tuple(person(name) for name in names)
            except Unreadable as slip:
                raise Slip(
                    code=slip.code, message=slip.message, remedy="write each one's name, or how many"
                ).error() from None
            if len({alike(name) for name in said}) < len(said):
                raise Slip(
                    code="name.twice", message="a name is in the crew twice",
                    remedy="write each person once; if two share a name, tell them apart, such as `Ana B`",
                ).error()  # fmt: skip
            return Crew(count=len(said), names=said)
        raise Slip(
            code="value.crew",
            message="this is not a crew",
            remedy="write a number such as `2`, or names like `[Ana, Joe]`",
        ).error()

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Reading stands for pydantic's own handling of the type."""
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """A number, or names."""
        names = {"type": "array", "items": {"type": "string"}, "minItems": 1}
        return {"anyOf": [{"type": "string"}, {"type": "integer", "minimum": 1, "maximum": 20}, names]}


class Hour(Written):
    """The weather of one hour, from `hour` [s from midnight] on; what is left out is unknown, not calm."""

    what: ClassVar[str] = "an hour of the forecast"
    hour: Clock = key("The hour it begins with, on the hour", "13:00")
    temp: Temperature | None = key("How warm the air is", "72 F", None)
    humidity: Share | None = key("Relative humidity", "55 %", None)
    wind: Speed | None = key("Sustained wind", "7 mph", None)
    gust: Speed | None = key("Gusts", "12 mph", None)
    rain: Share | None = key("The chance of rain", "10 %", None)
    cloud: Share | None = key("How much of the sky is clouded over", "40 %", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """It begins on the hour, and no gust is under the wind it rises from."""
        begins = _clock(raw.get("hour"))
        if begins is not None and begins % 3600.0:
            yield Slip(
                code="value.hour", message=f"`{raw['hour']}` is not on the hour",
                remedy="write whole hours, such as `13:00`", at=("hour",),
            )  # fmt: skip
        yield from not_above(raw, "wind", "gust", "speed", "the gusts are under the wind")


def _clock(text: object) -> float | None:
    try:
        return read_clock(text) if isinstance(text, str) else None
    except Unreadable:
        return None


class _HoursOrFile:
    """In the schema, the name of a CSV may stand for the list: reading puts its rows in place of it."""

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"anyOf": [{"type": "string"}, handler(schema)]}


class Forecast(Written):
    """Tomorrow's weather. Temperatures in K, wind in m/s; `hours` are never worse than the day's own figures."""

    what: ClassVar[str] = "a forecast"
    low: Temperature | None = key("The night's low", "58 F", None)
    high: Temperature | None = key("The day's high", "79 F", None)
    wind: Speed | None = key("Sustained wind", "7 mph", None)
    gust: Speed | None = key("Gusts", "12 mph", None)
    rain: RainText | None = key("Rain: none, a chance, or from when", "30 % from 14:00", None)
    humidity: Share | None = key("Relative humidity at the day's high, for how soon mix dries", "40 %", None)
    sun: Literal["full", "part", "none"] | None = key("Sun on the walls: full, part or none", "full", None)

    hours: Annotated[tuple[Hour, ...], _HoursOrFile(), SOME, at_most("forecast_hours")] = key(
        "The same by the hour: a list, or the name of a CSV beside this file", "[{hour: 07:00, temp: 58 F}]", ()
    )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """No night's low above the day's high, no gust under the wind it rises from, no hour worse than its day."""
        yield from not_above(raw, "low", "high", "temperature", "the low is above the high")
        yield from not_above(raw, "wind", "gust", "speed", "the gusts are under the wind")
        rows = raw.get("hours")
        hours = [(n, one) for n, one in enumerate(rows if isinstance(rows, list) else ()) if isinstance(one, dict)]
        yield from _hours_twice(hours)
        for key_of_day, column, dimension, above in _WORSE:
            yield from _worse(raw, hours, key_of_day, column, dimension, above)
        yield from _humidity_of_hours(raw, hours)
        yield from _rain_of_hours(raw, hours)
        yield from _sky_of_hours(raw, hours)


_Hours = Sequence[tuple[int, Mapping[str, Any]]]
_WORSE: Final = (
    ("high", "temp", "temperature", True), ("low", "temp", "temperature", False),
    ("wind", "wind", "speed", True), ("gust", "gust", "speed", True),
)  # fmt: skip
"""A figure of the day, the column it bounds, and whether that may not be above it, or below."""


def _hours_twice(hours: _Hours) -> Iterator[Slip]:
    seen: set[float] = set()
    for n, one in hours:
        begins = _clock(one.get("hour"))
        if begins is not None and begins in seen:
            yield Slip(
                code="name.twice", message=f"the hour {one['hour']} is there twice", remedy="keep one of the two",
                at=("hours", n, "hour"),
            )  # fmt: skip
        seen |= {begins} if begins is not None else set()


def _clash(n: int, column: str, says: object, day_says: str) -> Slip:
    return Slip(
        code="key.clash", message=f"this hour's `{column}` is {says}, and the day's {day_says}",
        remedy="correct one of the two, or take the day's out", at=("hours", n, column),
    )  # fmt: skip


def _worse(
    raw: Mapping[str, Any], hours: _Hours, name: str, column: str, dimension: str, above: bool
) -> Iterator[Slip]:
    whole = quietly(raw.get(name), dimension)
    for n, one in hours if whole is not None else ():
        own = quietly(one.get(column), dimension)
        if own is not None and whole is not None and (own - whole) * (1.0 if above else -1.0) > 1e-6:
            yield _clash(n, column, one[column], f"`{name}` is {raw[name]}")


def _humidity_of_hours(raw: Mapping[str, Any], hours: _Hours) -> Iterator[Slip]:
    """The warmest hour is no drier than the day is at its high."""
    whole = quietly(raw.get("humidity"), "fraction")
    warm = [(at, n, one) for n, one in hours if (at := quietly(one.get("temp"), "temperature")) is not None]
    if whole is None or not warm:
        return
    _, n, one = max(warm, key=lambda found: found[0])
    own = quietly(one.get("humidity"), "fraction")
    if own is not None and own < whole - 1e-9:
        yield _clash(n, "humidity", one["humidity"], f"`humidity` is {raw['humidity']}")


def _rain_of_hours(raw: Mapping[str, Any], hours: _Hours) -> Iterator[Slip]:
    """No hour is likelier to be wet than the day, nor as likely before the day's rain is to begin."""
    written = raw.get("rain")
    try:
        day = read_rain(written) if isinstance(written, str) else None
    except Unreadable:
        day = None
    for n, one in hours if day is not None else ():
        chance, begins = quietly(one.get("rain"), "fraction"), _clock(one.get("hour"))
        if chance is None or day is None:
            continue
        early = day.start is not None and begins is not None and begins + 3600.0 <= day.start
        most = day.chance if day.chance is not None else 1.0
        if chance > most + 1e-9 or (early and chance > 0.0 and chance >= most - 1e-9):
            yield _clash(n, "rain", one["rain"], f"`rain` is {written}")


def _sky_of_hours(raw: Mapping[str, Any], hours: _Hours) -> Iterator[Slip]:
    """No sun on the walls all day, and an hour that is not overcast; full sun, and no hour that is not."""
    covered = [(n, one, quietly(one.get("cloud"), "fraction")) for n, one in hours]
    known = [(n, one, cloud) for n, one, cloud in covered if cloud is not None]
    for n, one, cloud in known if raw.get("sun") == "none" else ():
        if cloud < default("overcast_cloud") - 1e-9:
            yield _clash(n, "cloud", one["cloud"], "`sun` says `none`")
    if raw.get("sun") == "full" and known and all(cloud >= default("overcast_cloud") for *_, cloud in known):
        yield _clash(known[0][0], "cloud", known[0][1]["cloud"], "`sun` says `full`")


class Heel(Written):
    """What is left in a tank tonight; `stock: water` for plain water."""

    what: ClassVar[str] = "a heel"
    stock: Name = key("What it was made of", "bleach")
    strength: StrengthText | None = key("How strong it is; water has none", "3 %", None)
    volume: Volume = key("How much is left; `0 gal` is drained, with `stock: water` rinsed too", "2 gal")


class Day(Written):
    """One day of one rig. `leave_yard` in s from midnight, `drive` in s by job file stem."""

    what: ClassVar[str] = "day.yaml"
    rig: Name = key("The rig's name", "Heron")
    crew: Annotated[Crew | None, _CrewText()] = key("Who works", "[Ana, Joe]", None)
    leave_yard: Clock | None = key("When the rig leaves the yard", "07:00", None)
    forecast: Forecast | None = key("The weather", "{low: 58 F, high: 79 F, wind: 7 mph}", None)
    heels: dict[str, Heel] = key(
        "What is left in which tank", "{mix: {stock: bleach, strength: 3 %, volume: 2 gal}}", {}
    )
    drive: dict[str, Time] = key(
        "Drive to each job, by its file's name, and `home`", "{10-boathouse: 25 min, home: 20 min}", {}
    )
