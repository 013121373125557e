"""The company's own page, its shelf of stock, and its table of surfaces."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AfterValidator, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from planner.frozen import dataclass
from planner.inputs.models.base import (
    Slip,
    Written,
    key,
    key_from,
    listed,
    name_of_place,
    nearest,
    needs,
    not_one_of,
    refuse,
    twice,
)  # fmt: skip
from planner.inputs.models.gear import Shape, holds_as_much, not_above, quietly
from planner.inputs.models.quantities import (
    AmountText,
    Called,
    Clock,
    Date,
    Latitude,
    MaterialName,
    Money,
    Name,
    Pace,
    PositiveArea,
    PositiveNumber,
    Reads,
    Reason,
    Spread,
    StrengthText,
    Time,
    WeightShare,
    Words,
    YesNo,
    quantity,
    read_date,
)
from planner.inputs.reading.strengths import Strength, read_strength, stock_slip
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, chemical_named, refused_name
from planner.inputs.tables.defaults import default, minute_dimensions, read_minute
from planner.inputs.tables.spelled import table_kind
from planner.units import Unreadable, read


@dataclass(frozen=True, slots=True, kw_only=True)
class Minute:
    """One of a company's own minutes in SI: `basis` is its dimension, by which data/bounds.yaml holds it."""

    basis: str
    amount: float


class _Minutes:
    """Reads own minutes by the names of data/minutes.yaml, all slips at once."""

    def __call__(self, written: Any) -> dict[str, Minute]:
        if not isinstance(written, dict):
            raise Slip(
                code="key.shape", message="keys are needed here", remedy="write it like `minutes: {set_up: 25 min}`"
            ).error()
        slips, found, known = [], {}, minute_dimensions()
        for name, text in written.items():
            if name not in known:
                near = nearest(name, known)
                remedy = f"write `{near}` if that was meant" if near else f"known here: {listed(known, 80)}"
                message = f"`{name[:60]}` is not one of the minutes"
                slips.append(Slip(code="key.unknown", message=message, remedy=remedy, at=(name,)))
            elif isinstance(text, Minute):
                found[name] = text
            else:
                try:
                    found[name] = Minute(basis=known[name], amount=read_minute(name, _text(text)))
                except Unreadable as fault:
                    slips.append(Slip(code=fault.code, message=fault.message, remedy=fault.remedy, at=(name,)))
        if slips:
            raise refuse("minutes", slips)
        return found

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Reading stands for pydantic's own handling of the type."""
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """Text by name, for an editor perhaps a number."""
        return {"type": "object", "additionalProperties": {"type": ["string", "number"]}}


def _text(written: Any) -> str:
    if isinstance(written, str):
        return written
    raise Unreadable("key.shape", "one value is needed here", "write it like `25 min`")


class Place(Written):
    """Where the company works: how high the sun gets there, and when by the clock."""

    what: ClassVar[str] = "a place"
    latitude: Latitude = key("How far north, or south, of the equator", "40.2 N")
    noon: Clock = key("When the sun is highest by the clock in summer", "13:15")
    winter_noon: Clock | None = key("The same in winter, whether or not clocks go back", "12:15", None)


class Company(Written):
    """The company: its words, its paper, its own limits and minutes.

    `limits` is text until the limits table reads it.
    """

    what: ClassVar[str] = "company.yaml"
    name: Name = key("The company's name", "Heron Wash")
    units: Literal["us", "si"] = key("Units on paper: us or si", "us", "us")
    paper: Literal["letter", "a4"] | None = key("Paper; default letter for us, a4 for si", "letter", None)
    percent: Literal["trade", "wt_naocl", "wt_cl2"] = key("What `1 %` on the wall means", "trade", "trade")
    phones: dict[str, Words] = key("Who to call", "{owner: 555 0100, poison: 555 0101}", {})
    limits: dict[str, Words] = key("Your own limits; they may only tighten a regulation", "{wind_caution: 8 mph}", {})
    minutes: Annotated[dict[str, Minute], _Minutes()] = key(
        "Your own minutes for phases and acts, walking pace, share of the time a gun is open", "{set_up: 25 min}", {}
    )
    archive: Words | None = key("Where results are kept; default a file beside this one", "sqlite:///archive.db", None)
    branch: Called | None = key(
        "Which branch this is, where several keep their results in one archive; each sees its own", "north", None
    )
    owner_pages: Literal["asked", "always"] = key(
        "When packets come with the owner's file: asked, with --owner, or always", "always", "asked"
    )
    pay: Money | None = key("What an hour of one person costs, in your own money", "28.50", None)
    place: Place | None = key("Where it works, for the sun on a wall", "{latitude: 40.2 N, noon: 13:15}", None)
    transport: Reason | None = key("How hazardous loads are handled", "papers carried, drivers trained", None)

    @property
    def page(self) -> Literal["letter", "a4"]:
        """The paper packets are printed on."""
        return self.paper or ("a4" if self.units == "si" else "letter")


class Tested(Written):
    """A measured strength and its date."""

    what: ClassVar[str] = "a test"
    strength: StrengthText = key("What the test read", "10.5 trade %")
    on: Date = key("When it was read", "2026-06-08")
    by: Literal["strip", "titration", "hydrometer"] = key(
        "How it was read: strip, titration, or a hydrometer in acid or caustic; default strip", "titration", "strip"
    )


def _chemical(text: str) -> str:
    chemical = chemical_named(text)
    if chemical is None:
        refused = refused_name(text)
        if refused is not None:
            raise Unreadable("chemical.refused", *refused)
        slip = not_one_of(text, [name for row in CHEMICALS.values() for name in (row.name, *row.aliases)])
        raise Unreadable("name.unknown", f"`{text[:60]}` is not a chemical this planner knows", slip.remedy)
    return chemical.name


ChemicalName = Annotated[str, Reads(_chemical, (), "a chemical's name", "`bleach`")]


class _KeptAt:
    """Reads `cool`, `shed`, `hot_van`, one temperature, or twelve by month, to a tuple of K."""

    words = ("cool", "shed", "hot_van")

    def __call__(self, written: Any) -> tuple[float, ...]:
        """One temperature, or twelve from January on [K]."""
        if isinstance(written, tuple):
            return written
        if isinstance(written, str):
            if written in self.words:
                return (default(f"kept_{written}"),)
            if not any(letter.isdigit() for letter in written):
                slip = not_one_of(written, self.words)
                raise Slip(code=slip.code, message=slip.message, remedy=slip.remedy + ", or a temperature").error()
            try:
                return (read(written, "temperature"),)
            except Unreadable as fault:
                raise Slip(code=fault.code, message=fault.message, remedy=fault.remedy).error() from None
        if not isinstance(written, list) or len(written) != 12:
            raise Slip(
                code="key.shape",
                message="a temperature, a word, or twelve temperatures are needed here",
                remedy="write `72 F`, `shed`, or a list from January to December",
            ).error()
        slips, temperatures = [], []
        for place, text in enumerate(written):
            try:
                temperatures.append(read(text, "temperature"))
            except Unreadable as fault:
                slips.append(Slip(code=fault.code, message=fault.message, remedy=fault.remedy, at=(place,)))
        if slips:
            raise refuse("kept_at", slips)
        return tuple(temperatures)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Reading stands for pydantic's own handling of the type."""
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """Text, or twelve texts."""
        many = {"type": "array", "items": {"type": "string"}, "minItems": 12, "maxItems": 12}
        return {"anyOf": [{"type": "string"}, many]}


class Lot(Written):
    """One container of stock. `kept_at` is one temperature or twelve by month, K; `chemical` its table name."""

    what: ClassVar[str] = "a lot"
    bounded_by: ClassVar[str] = "chemical"
    name: Called = key("What the container says", "drum 14")
    chemical: Annotated[str, Reads(_chemical, (), "a chemical's name", "`bleach`")] = key("What is in it", "bleach")
    strength: StrengthText | None = key("Strength when made, in the percent its label uses", "12.5 trade %", None)
    made: Date | None = key("When it was made", "2026-05-20", None)
    kept_at: Annotated[tuple[float, ...] | None, _KeptAt()] = key(
        "Where it is kept: cool, shed, hot_van, a temperature, or twelve by month", "shed", None
    )
    tested: Tested | None = key("The last test strip or titration", "{strength: 10.5 trade %, on: 2026-06-08}", None)
    excess_caustic: WeightShare = key_from(
        "Excess lye in it; default 0.2 wt %", "0.2 wt %", lambda: default("excess_caustic")
    )
    container: AmountText | None = key("What the container holds, full", "15 gal", None)
    on_hand: AmountText | None = key("What is left of it", "12 gal", None)
    shape: Shape | None = key(
        "Its shape inside, for how high it is over a panel; default a drum's usual one",
        "{kind: upright_cylinder, diameter: 22 in}",
        None,
    )
    cost: Words | None = key("What it cost", "4.10 a gal", None)
    bought: Date | None = key("When it was bought, for the month's sums", "2026-05-22", None)
    bleach_stable: YesNo | None = key("Whether its maker says this soap may go in bleach", "true", None)
    acid_stable: YesNo | None = key("Whether its maker says this soap may go in acid", "true", None)
    kind: Literal["anionic", "nonionic", "cationic", "amphoteric"] | None = key(
        "Of a soap: which kind, as its data sheet says", "nonionic", None
    )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Every strength says which percent, in words that fit the chemical."""
        written = raw.get("chemical")
        chemical = chemical_named(written) if isinstance(written, str) else None
        if chemical is None:
            return
        yield from _named_otherwise(raw.get("name"), chemical.name)
        for at, text in (
            (("strength",), raw.get("strength")),
            (("tested", "strength"), _inner(raw, "tested", "strength")),
        ):
            try:
                strength = (
                    text if isinstance(text, Strength) else read_strength(text) if isinstance(text, str) else None
                )
            except Unreadable:
                continue
            slip = stock_slip(strength, chemical.name) if strength else None
            if slip:
                yield Slip(code=slip[0], message=slip[1], remedy=slip[2], at=at)
        for name in ("kind", "acid_stable") if chemical.kind != "soap" else ():
            if name in raw:
                yield Slip(code="key.clash", message=f"`{name}` is of a soap", remedy=f"take `{name}` out", at=(name,))
        if chemical.label.asked and "strength" not in raw and "tested" not in raw:
            yield Slip(
                code="key.missing",
                message="`strength` and `tested` are both missing",
                remedy=f"add `strength: {chemical.label.example}`, as its paper says",
                at=("",),
                cured_by=("strength", "tested"),
            )
        if "shape" in raw:
            yield from needs(raw, ("container",), "its shape says nothing without it", {"container": "55 gal"})
            yield from holds_as_much(raw["shape"], quietly(raw.get("container"), "volume"), raw, "container")
        yield from _tested_before(raw)
        if chemical.name == BLEACH and _inner(raw, "tested", "by") == "hydrometer":
            yield Slip(
                code="key.clash",
                message="a hydrometer cannot see lost strength: what bleach turns to weighs the same",
                remedy="test it by `strip` or `titration`",
                at=("tested", "by"),
            )


def _named_otherwise(name: Any, chemical: str) -> Iterator[Slip]:
    """A container called by another chemical's name: whoever writes that name gets what is in this one."""
    meant = chemical_named(name) if isinstance(name, str) else None
    other = meant.name if meant is not None else str(name).strip().casefold()
    if (meant is not None and other != chemical) or other in ("water", "mix"):
        yield Slip(
            code="name.reserved",
            message=f"a lot of {chemical} cannot be called `{str(name)[:60]}`: that name is for something else",
            remedy="write what is on its label, such as `drum 14`",
            at=("name",),
        )
    refused = refused_name(name, anywhere=True) if isinstance(name, str) else None
    if refused is not None:
        yield Slip(code="chemical.refused", message=refused[0], remedy=refused[1], at=("name",))
    yield from name_of_place(name, "lot", "write what is on its label, such as `drum 14`", ("name",))


def _tested_before(raw: Mapping[str, Any]) -> Iterator[Slip]:
    """A container is filled anew and keeps its name: a test from before says nothing of what is in it now."""
    made, on = _day(raw.get("made")), _day(_inner(raw, "tested", "on"))
    if made is not None and on is not None and on < made:
        yield Slip(
            code="key.clash",
            message=f"tested {on.isoformat()}, before it was made, {made.isoformat()}: that was another fill",
            remedy="take `tested` out until this fill is tested, or correct one of the dates",
            at=("tested", "on"),
        )


def _day(written: object) -> datetime.date | None:
    """The date where one can be read, None where another fault already speaks of it."""
    if isinstance(written, datetime.date):
        return written
    try:
        return read_date(written) if isinstance(written, str) else None
    except Unreadable:
        return None


def _inner(raw: Mapping[str, Any], name: str, inner: str) -> object:
    found = raw.get(name)
    return found.get(inner) if isinstance(found, dict) else None


class Stock(Written):
    """The shelf: every lot on hand."""

    what: ClassVar[str] = "stock.yaml"
    lots: tuple[Lot, ...] = key(
        "Every container on hand", "[{name: drum 14, chemical: bleach, strength: 12.5 trade %}]", ()
    )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Each lot's name once."""
        yield from twice(raw, "lots", "lots")


def _span(reads: Reads, example: str) -> Any:
    """A range from the light to the heavy end: two texts, or one for both."""

    class Span:
        def __call__(self, written: Any) -> Any:
            if isinstance(written, tuple):
                return written
            ends = written if isinstance(written, list) else [written, written]
            if len(ends) != 2:
                raise Slip(
                    code="key.shape", message="one value or two are needed here", remedy=f"write it like `{example}`"
                ).error()
            return (reads(ends[0]), reads(ends[1]))

        def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
            return core_schema.no_info_plain_validator_function(self)

        def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
            many = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
            return {"anyOf": [{"type": "string"}, many], "description": f"such as {example}"}

    return Span()


_STRENGTHS = _span(Reads(read_strength, (Strength,), "a strength", "`0.5 trade %`"), "[0.5 trade %, 1.5 trade %]")
_TIMES = _span(quantity("time"), "[5 min, 10 min]")
_COVERAGES = _span(quantity("coverage", positive=True), "[125 ft2/gal, 75 ft2/gal]")
_DOSES = _span(quantity("dose"), "[0.5 fl oz/gal, 1 fl oz/gal]")

Two = tuple[float, float]


class SurfaceRow(Written):
    """One kind of surface and how it is washed; in surfaces.yaml only what differs need be written.

    Pairs run from light soil to heavy.  `strength` as written; `dwell` s; `wet` and `rinse` m3 per m2;
    `apply` m2/s of elapsed time for a crew of two; `section`, `section_hot` m2; `cover` m2 per m3, None: by gun
    flow; `soap` volume in volume of mix.
    """

    what: ClassVar[str] = "a row of surfaces"
    kind: Annotated[Called, AfterValidator(table_kind)] = key("What it is called in a job", "vinyl")
    material: MaterialName | None = key("What it is made of, if its kind does not say", "limestone", None)
    family: Literal["wall", "flat", "roof", "trim"] | None = key("What sort of surface it is", "wall", None)
    porous: YesNo = key("Whether its pores keep what was on it past a rinse; a new kind is porous", "false", True)
    chemical: Annotated[str, Reads(_chemical, (), "a chemical's name", "`bleach`")] | None = key(
        "What washes it", "bleach", None
    )
    strength: Annotated[tuple[Strength, Strength] | None, _STRENGTHS] = key(
        "Strength on the wall, light to heavy soil", "[0.5 trade %, 1.5 trade %]", None
    )
    dwell: Annotated[Two | None, _TIMES] = key("How long it stays wet", "[5 min, 10 min]", None)
    dwell_times: PositiveNumber = key("How many times its longest dwell bleach may stay on it at most", "2", 1.0)
    wet: Spread | None = key("Water before", "0.01 gal/ft2", None)
    apply: Pace | None = key("Pace of putting mix on, crew of two", "100 ft2/min", None)
    rinse: Spread | None = key("Water after", "0.12 gal/ft2", None)
    leave: YesNo | None = key("Whether it is left to the rain unless a job says `rinse: now`", "true", None)
    section: PositiveArea | None = key("How much is done in one go", "600 ft2", None)
    section_hot: PositiveArea | None = key("How much is done in one go in hot sun", "250 ft2", None)
    section_time: Time | None = key("How long one section takes, if that is fixed", "18 min", None)
    cover: Annotated[Two | None, _COVERAGES] = key(
        "Area that a volume of mix covers; left out, by gun flow", "[125 ft2/gal, 75 ft2/gal]", None
    )
    soap: Annotated[Two | None, _DOSES] = key("Soap in the mix", "[0.5 fl oz/gal, 1 fl oz/gal]", None)
    source: Words | None = key("Where the figures come from", "our own records", None)
    note: Words | None = key("What to know about it", "never on light brick", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Pairs run from light soil to heavy; hot sun makes no section larger."""
        for name, dimension in (("dwell", "time"), ("soap", "dose"), ("cover", "coverage")):
            pair = raw.get(name)
            if not isinstance(pair, list) or len(pair) != 2:
                continue
            light, heavy = (quietly(one, dimension) for one in pair)
            if light is not None and heavy is not None and (light < heavy if name == "cover" else light > heavy):
                yield Slip(
                    code="key.clash",
                    message=f"`{name}` runs from heavy soil to light: {pair[0]}, then {pair[1]}",
                    remedy=f"write the light end first: `{name}: [{pair[1]}, {pair[0]}]`",
                    at=(name,),
                )
        yield from not_above(
            raw, "section_hot", "section", "area", "the section in hot sun is larger than the usual one"
        )


class SurfaceTable(Written):
    """Rows that override or add to the built-in table."""

    what: ClassVar[str] = "surfaces.yaml"
    surfaces: tuple[SurfaceRow, ...] = key("The rows", "[{kind: vinyl, rinse: 0.15 gal/ft2}]", ())

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Each kind once."""
        yield from twice(raw, "surfaces", "rows", "kind")
