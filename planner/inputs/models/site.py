"""The place of a job: its site, how the crew gets to the work, and what is near enough to be harmed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from planner.inputs.models.base import Slip, Written, key, listed, needs, refuse
from planner.inputs.models.gear import quietly
from planner.inputs.models.quantities import Area, Count, Height, Length, Name, Person, Pitch, Reason, Words, YesNo
from planner.inputs.tables.controls import control_named, controls, meant


class Site(Written):
    """Where the job is."""

    what: ClassVar[str] = "a site"
    address: Words = key("The address, as you would say it on the phone", "14 Alder Lane")
    contact: Words | None = key("Who to ask for", "Mrs Hale, 555 0142", None)
    notes: Words | None = key("What to know", "gate code at the desk", None)
    altitude: Height = key("Height above sea level", "600 ft", 0.0)


class Building(Written):
    """The building; `height` is the default target of its hose runs, above the ground at the tip."""

    what: ClassVar[str] = "a building"
    height: Length = key("Highest point to wash, above the ground below it", "27 ft")


class RoofWork(Written):
    """Work on a roof."""

    what: ClassVar[str] = "roof work"
    pitch: Pitch = key("Rise over run", "6/12")
    eave: Length = key("Eave above the ground", "18 ft")
    anchor: YesNo = key("Whether fall protection is anchored", "true", False)


class Access(Written):
    """How the crew gets to the work. `power_line` is the closest any wall, ladder, wand or jet comes to one."""

    what: ClassVar[str] = "access"
    ladder: Length | None = key("Ladder needed", "24 ft", None)
    on_ladder: YesNo = key("Whether anyone sprays from it", "false", False)
    power_line: Length | None = key("Closest this job comes to a power line", "22 ft", None)
    slope: Literal["flat", "gentle", "steep"] | None = key("The ground: flat, gentle or steep", "gentle", None)
    roof_work: RoofWork | None = key("Work on the roof", "{pitch: 6/12, eave: 18 ft, anchor: true}", None)


class _Controls:
    """Reads kinds of the table of controls: a list, one alone, or words with commas; `pumped_to` with its place."""

    def __call__(self, written: Any) -> tuple[str, ...]:
        """The kinds by their names in the table, each once."""
        if isinstance(written, tuple):
            return written
        if isinstance(written, str) and control_named(written) is None:
            parts = re.split(r"[,;\n]", written)
            if not all(map(control_named, parts)):
                raise _no_control(written, ()).error()
            written = parts
        said = written if isinstance(written, list) else [written]
        slips, found = [], []
        for place, one in enumerate(said):
            pair = isinstance(one, dict) and len(one) == 1 and all(isinstance(half, str) for half in one.values())
            text = ": ".join(*one.items()) if pair else one
            kind = control_named(text) if isinstance(text, str) else None
            if kind is None:
                slips.append(_no_control(text, (place,) if isinstance(written, list) else ()))
            else:
                found.append(kind)
        if slips:
            raise refuse("control", slips)
        if not found:
            raise Slip(code="value.few", message="this list is empty", remedy="write at least one item in it").error()
        return tuple(dict.fromkeys(found))

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Reading stands for pydantic's own handling of the type."""
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """The kinds of the table, one or a list of them."""
        to = [kind.partition(": ")[2] for kind in controls() if ": " in kind]
        pumped = {"type": "object", "additionalProperties": False, "required": ["pumped_to"]}
        one = [
            {"enum": list(controls())},
            {
                **pumped,
                "properties": {"pumped_to": {"description": "Where it is pumped", "examples": to[:1], "enum": to}},
            },
        ]
        return {"anyOf": [*one, {"type": "array", "minItems": 1, "items": {"anyOf": one}}, {"type": "string"}]}


def _no_control(written: Any, at: tuple[int, ...]) -> Slip:
    """A text that is no kind of control, with what was meant."""
    if not isinstance(written, str):
        return Slip(
            code="key.shape", message="kinds of control are needed here",
            remedy="write them like `[berm, drain_cover, pumped_to: lawn]`", at=at,
        )  # fmt: skip
    close = meant(written)
    likely = f"write `[{', '.join(close)}]` if that was meant; known here: " if close else "known here: "
    return Slip(
        code="name.unknown",
        message=f"`{written.strip()[:60]}` is not a way to keep runoff out that this planner knows",
        remedy=likely + listed(controls(), 20),
        at=at,
    )


class Near(Written):
    """What is near enough to be harmed."""

    what: ClassVar[str] = "what is near"
    also_written: ClassVar[Mapping[str, str]] = dict.fromkeys(
        ("beds", "vegetable_beds", "vegetables", "food_beds", "garden"), "flower_beds"
    )
    flower_beds: Area | None = key("Beds in the way of the runoff, those with food too", "400 ft2", None)
    food: YesNo | None = key("Whether food grows in the beds", "true", None)
    fish_pond: Length | None = key("Distance to a fish pond", "25 ft", None)
    stream: Length | None = key("Distance to a stream", "90 ft", None)
    well: Length | None = key("Distance to a well", "80 ft", None)
    rain_barrel: Length | None = key("Distance to a rain barrel", "10 ft", None)
    storm_drain: Length | None = key("Distance to a storm drain", "40 ft", None)
    downspouts: Count | None = key("How many downspouts", "4", None)
    cars: Length | None = key("Distance to cars", "30 ft", None)
    open_windows: YesNo | None = key("Whether windows are open", "true", None)
    control: Annotated[tuple[str, ...] | None, _Controls()] = key(
        "How runoff is kept out of drains and water: kinds from a table", "[berm, drain_cover, pumped_to: lawn]", None
    )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Food grows in beds, which are watered and covered by how large they are."""
        if str(raw.get("food")).casefold() in ("true", "yes"):
            yield from needs(raw, ("flower_beds",), "`food` grows in the beds", {"flower_beds": "400 ft2"})

    @property
    def distances(self) -> dict[str, float]:
        """How far off is what was written with a distance [m], by its key, the most easily harmed first."""
        far = {
            "fish_pond": self.fish_pond, "storm_drain": self.storm_drain, "stream": self.stream, "well": self.well,
            "cars": self.cars, "rain_barrel": self.rain_barrel,
        }  # fmt: skip
        return {name: away for name, away in far.items() if away is not None}


class Accept(Written):
    """A finding someone takes on, with the reason."""

    what: ClassVar[str] = "an acceptance"
    finding: Name = key("The finding's code", "weather.wind")
    about: Name | None = key("The run, mix, lot or part it is about; default all", "lake side", None)
    reason: Reason = key("Why", "sheltered courtyard")
    by: Person = key("Who accepts it", "owner")


def higher_than_the_building(raw: Mapping[str, Any]) -> Iterator[Slip]:
    """Walls, gables and eaves above the highest point of the building: with 2.7 ft for 27 ft no reach is checked."""
    building, access = raw.get("building"), raw.get("access")
    top = quietly(building.get("height"), "length") if isinstance(building, dict) else None
    if top is None or not isinstance(building, dict):
        return
    parts = [
        (mapping.get("name") or "wall", mapping.get("height"), mapping.get("gable"))
        for mapping in _mappings(raw.get("surfaces"))
    ]
    roof = access.get("roof_work") if isinstance(access, dict) else None
    if isinstance(roof, dict):
        parts.append(("eave", roof.get("eave"), None))
    for name, height, gable in parts:
        told = height if height is not None else re.split("[xX×]", str(gable))[-1].strip()
        part = quietly(told, "length")
        if part is not None and part > top * (1 + 1e-9):
            what = "gable" if height is None else name
            yield Slip(
                code="building.height",
                message=f"the building is {building['height']} high and its {what} {told}",
                remedy="write the height of its highest point, or fix the other: one lost its decimal point or unit",
                at=("building", "height"),
            )
            return


def _mappings(written: Any) -> list[dict[str, Any]]:
    return [one for one in written if isinstance(one, dict)] if isinstance(written, list) else []
