"""A day: the folder of jobs one rig and crew work on one date."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from planner.inputs.models.base import Slip, Written, key
from planner.inputs.models.gear import not_above
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
)
from planner.inputs.reading.letters import alike
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
                    remedy="write each person once, two of one name apart, such as `Ana B`",
                ).error()  # fmt: skip
            return Crew(count=len(said), names=said)
        raise Slip(
            code="value.crew",
            message="this is no crew",
            remedy="write a number such as `2`, or names like `[Ana, Joe]`",
        ).error()

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Reading stands for pydantic's own handling of the type."""
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """A number, or names."""
        names = {"type": "array", "items": {"type": "string"}, "minItems": 1}
        return {"anyOf": [{"type": "string"}, {"type": "integer", "minimum": 1, "maximum": 20}, names]}


class Forecast(Written):
    """Tomorrow's weather. Temperatures in K, wind in m/s."""

    what: ClassVar[str] = "a forecast"
    low: Temperature | None = key("The night's low", "58 F", None)
    high: Temperature | None = key("The day's high", "79 F", None)
    wind: Speed | None = key("Sustained wind", "7 mph", None)
    gust: Speed | None = key("Gusts", "12 mph", None)
    rain: RainText | None = key("Rain: none, a chance, or from when", "30 % from 14:00", None)
    humidity: Share | None = key("Relative humidity at the day's high, for how soon mix dries", "40 %", None)
    sun: Literal["full", "part", "none"] | None = key("Sun on the walls: full, part or none", "full", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """No night's low above the day's high, no gust under the wind it rises from."""
        yield from not_above(raw, "low", "high", "temperature", "the low is above the high")
        yield from not_above(raw, "wind", "gust", "speed", "the gusts are under the wind")


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
