"""A wash job: one visit to one site. Every number is SI; the file's keys are the field names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Tag

from planner.inputs.models.base import (
    KEYS_TAG,
    LIST_TAG,
    SOME,
    TEXT_TAG,
    Slip,
    Written,
    at_most,
    key,
    nearest,
    needs,
    only_one,
    twice,
)
from planner.inputs.models.gear import Backflow, HoseChoice, TipChoice, hose_twice, quietly, text_or_keys
from planner.inputs.models.quantities import (
    Area,
    Bearing,
    BucketText,
    Called,
    Concentration,
    Date,
    Dose,
    Footprint,
    Height,
    Length,
    MaterialName,
    Money,
    Name,
    Number,
    Pitch,
    PositiveArea,
    PositiveCount,
    PositiveFlow,
    PositiveLength,
    PositivePressure,
    Pressure,
    Reason,
    Rectangle,
    Share,
    SideName,
    Squares,
    StrengthText,
    Temperature,
    Words,
)
from planner.inputs.models.rig import Rig
from planner.inputs.models.site import Accept, Access, Building, Near, Site, higher_than_the_building
from planner.inputs.tables.chemicals import CHEMICALS, chemical_named, refused_name

Soil = Literal["light", "medium", "heavy"]
SIZES = ("area", "width", "around", "gable", "footprint", "squares")


def text_or_list(written: Any) -> str:
    """Which of a text-or-list union was written."""
    return TEXT_TAG if isinstance(written, str) else LIST_TAG


class WallBefore(Written):
    """What was on a surface before this job."""

    what: ClassVar[str] = "what was on it before"
    stock: Name = key("Which chemical it was", "bleach")
    on: Date | None = key("The day it was on; left out, today", "2026-06-08", None)
    strip: Number | None = key("The pH a strip read on the rinsed wall since", "7", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """A chemical we know, and a pH there is."""
        stock, strip = raw.get("stock"), quietly(raw.get("strip"), "number")
        refused = refused_name(stock) if isinstance(stock, str) and chemical_named(stock) is None else None
        if refused is not None:
            yield Slip(code="chemical.refused", message=refused[0], remedy=refused[1], at=("stock",))
        elif isinstance(stock, str) and chemical_named(stock) is None:
            near = nearest(stock, CHEMICALS)
            yield Slip(
                code="name.unknown",
                message=f"`{stock[:60]}` is not a chemical this planner knows",
                remedy=f"write `{near}` if that was meant" if near else "write a chemical, such as `bleach`",
                at=("stock",),
            )
        if strip is not None and not 0.0 <= strip <= 14.0:
            yield Slip(
                code="quantity.range",
                message=f"no strip reads pH {raw['strip']}",
                remedy="write the pH it reads, such as `7`",
                at=("strip",),
            )


class SurfaceInput(Written):
    """One surface and its size, written in one of several ways."""

    what: ClassVar[str] = "a surface"
    name: Called | None = key("What the crew calls it; default its kind", "lake wall", None)
    kind: Name = key("What it is made of, a row of the surface table", "vinyl")
    side: SideName | None = key("Where it is, as said from the street: what paper calls it", "left gable", None)
    faces: Bearing | None = key(
        "Which way it faces, for the sun on it once the company has a `place`: a point of the compass or degrees; "
        "left out, as its `side` says",
        "south",
        None,
    )
    tone: Literal["light", "dark"] | None = key("Whether it is light or dark in the sun; left out, dark", "light", None)
    soil: Soil = key("How dirty: light, medium or heavy", "medium", "medium")
    area: PositiveArea | None = key("Its area", "1200 ft2", None)
    width: PositiveLength | None = key("Width of a wall, with height", "48 ft", None)
    around: PositiveLength | None = key("Length all the way around, with height", "160 ft", None)
    height: PositiveLength | None = key("Height of the wall", "18 ft", None)
    gable: Rectangle | None = key("Base and height of a gable's triangle", "35 ft x 9 ft", None)
    count: PositiveCount = key("How many gables like it", "2", 1)
    footprint: Footprint | None = key("Ground a roof covers, with pitch", "40 ft x 30 ft", None)
    pitch: Pitch | None = key("A roof's rise over run", "6/12", None)
    squares: Squares | None = key("A roof in squares of 100 ft2", "24", None)
    less: Area = key("Area of windows and doors to take off", "120 ft2", 0.0)
    rinse: Literal["now", "leave"] | None = key("Rinse it now, or leave it to the rain", "now", None)
    trim: tuple[MaterialName, ...] = key(
        "What else the mix will meet here: metals, stone, cloth, paint", "[aluminum gutters, copper]", ()
    )
    before: WallBefore | None = key("What was on it last, on another job", "{stock: bleach, on: 2026-06-08}", None)
    notes: Words | None = key("What to know", "loose paint by the door", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """One size with its partner, and not more taken off than there is."""
        yield from only_one(raw, SIZES, "the size", "area: 1200 ft2")
        if "width" in raw or "around" in raw:
            yield from needs(raw, ("height",), "a width or a length around needs one", {"height": "18 ft"})
        elif "height" in raw and any(size in raw for size in SIZES):
            yield Slip(
                code="key.clash",
                message="`height` goes with `width` or `around`",
                remedy="take `height` out",
                at=("height",),
            )
        if "footprint" in raw:
            yield from needs(raw, ("pitch",), "a footprint needs one", {"pitch": "6/12"})
        if "count" in raw and "gable" not in raw:
            yield Slip(code="key.clash", message="`count` goes with `gable`", remedy="take `count` out", at=("count",))


class RunKeys(Written):
    """What a hose run and a short job both may say. Heights in m above the ground at the tip."""

    fittings: dict[str, Number] | None = key("Fittings and how many", "{coupling: 3, ball_valve: 1}", None)
    on_reel: Length | None = key("Hose left on the reel", "40 ft", None)
    uphill: Height | None = key("Ground at the tip above the ground at the rig", "6 ft", None)
    tip_height: Height | None = key("Tip above the ground it is held over; default 4 ft", "4 ft", None)
    standoff: Length | None = key("Tip to wall; default half the target, 10 to 20 ft", "12 ft", None)
    hot: Temperature | None = key("Hot water at the tip, heated after the pump; left out, cold", "180 F", None)
    past_eave: Length | None = key("How far beyond the wall line the mix must land", "10 ft", None)
    target: Length | None = key("Highest point to reach; default the building's height", "31 ft", None)


class HoseRun(RunKeys):
    """The path from pump to tip for one part of the job."""

    what: ClassVar[str] = "a hose run"
    name: Called = key("What the crew calls it", "lake side")
    pump: Name | None = key(
        "A pump of the rig; left out, the tap's own pressure, or the fall from a high tank", "booster", None
    )
    feed: Name = key("A tank's name, `tap` or `pond`", "water")
    dosing: Name | None = key("`premix`, or a dosing's name; left out, plain water", "panel", None)
    hoses: Annotated[tuple[HoseChoice, ...], SOME] = key("Hoses in order from the pump", "[red 1, red 2]")
    tip: Name = key("A tip of the rig: for the mix, and for whatever has no tip of its own", "long throw")
    rinse_tip: TipChoice | None = key(
        "Tip it rinses through, or `{tip, hoses}` if its line differs; left out, `tip`", "fan 40", None
    )
    cleaner: TipChoice | None = key(
        "Surface cleaner that cleans flat work with plain water, or `{tip, hoses}`", "spinner", None
    )
    same_time: tuple[Name, ...] = key("Runs sprayed at once from the same pump", "[garden side]", ())
    surfaces: Annotated[tuple[Name, ...], SOME] | None = key("Surfaces it washes; default all", "[lake wall]", None)
    share: Share | None = key("Its share of surfaces other runs name too", "60 %", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """A share is at most the whole, and each hose there once."""
        yield from hose_twice(raw)
        share = quietly(raw.get("share"), "fraction")
        if share is not None and not 0 < share <= 1:
            yield Slip(
                code="quantity.range",
                message="a share is above 0 % and at most 100 %",
                remedy="write it like `60 %`",
                at=("share",),
            )


class ChemicalUse(Written):
    """One chemical of the job: `strength` on the wall, or `dose` per volume of finished mix."""

    what: ClassVar[str] = "a chemical"
    stock: Name = key("A lot's name, or a chemical's", "bleach")
    strength: StrengthText | None = key("Strength on the wall", "1.0 %", None)
    dose: Dose | None = key("Volume for each volume of mix", "1 fl oz/gal", None)
    surfaces: Annotated[tuple[Name, ...], SOME] | None = key("Surfaces it goes on; default all", "[lake wall]", None)
    reason: Reason | None = key("Why it is stronger than usual", "black lichen, owner agrees", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """A strength or a dose, not both."""
        yield from only_one(raw, ("strength", "dose"), "how strong it is", "strength: 1.0 %", required=False)
        dose = quietly(raw.get("dose"), "dose")
        if dose is not None and dose >= 0.5:
            yield Slip(
                code="quantity.range", message="that is more soap than mix",
                remedy="write a dose such as `1 fl oz/gal`", at=("dose",),
            )  # fmt: skip


class FlowTest(Written):
    """The tap while it runs. `flow` in m3/s at `pressure` in Pa."""

    what: ClassVar[str] = "a flow test"
    flow: PositiveFlow = key("Flow out of the tap", "6 gpm")
    pressure: Pressure = key("Gauge at the tap while it runs", "31 psi")


class Water(Written):
    """Where the water comes from."""

    what: ClassVar[str] = "water"
    source: Literal["tap", "hydrant", "tank", "pond"] = key("Where from", "tap", "tap")
    static: PositivePressure | None = key("Gauge at the closed tap", "58 psi", None)
    flow_test: FlowTest | None = key("The tap while it runs", "{flow: 6 gpm, pressure: 31 psi}", None)
    bucket: BucketText | None = key("A bucket held under the open tap", "5 gal in 50 s", None)
    temperature: Temperature | None = key("Water temperature; default by month", "61 F", None)
    level: Height | None = key("A pond's level from the ground at the rig", "-4 ft", None)
    backflow: Backflow | None = key("What keeps chemical out of the tap", "air_gap", None)
    chlorine: Concentration | None = key("Chlorine in the tap water; default 1 mg/L", "1 mg/L", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Keys that fit the source, and a running tap below the closed one."""
        source = raw.get("source", "tap")
        if source == "pond":
            yield from needs(raw, ("level",), "a pond has one, measured from the ground at the rig", {"level": "-4 ft"})
        for name in ("static", "flow_test", "bucket"):
            if name in raw and source in ("tank", "pond"):
                yield Slip(
                    code="key.clash", message=f"a {source} has no `{name}`", remedy=f"take `{name}` out", at=(name,)
                )
        if "level" in raw and source in ("tap", "hydrant", "tank"):
            yield Slip(code="key.clash", message=f"a {source} has no `level`", remedy="take `level` out", at=("level",))
        yield from only_one(raw, ("flow_test", "bucket"), "the tap's flow", "bucket: 5 gal in 50 s", required=False)
        test = raw.get("flow_test")
        if "flow_test" in raw and "static" not in raw:
            yield from needs(raw, ("static",), "a flow test needs the closed gauge too", {"static": "58 psi"})
        if isinstance(test, dict):
            still, running = quietly(raw.get("static"), "pressure"), quietly(test.get("pressure"), "pressure")
            if still is not None and running is not None and running >= still:
                yield Slip(
                    code="water.flow_test",
                    message="the running tap's pressure is not below the closed one's",
                    remedy="write the lower gauge under `flow_test`, the higher as `static`",
                    at=("flow_test", "pressure"),
                )


RigChoice = Annotated[Annotated[Name, Tag(TEXT_TAG)] | Annotated[Rig, Tag(KEYS_TAG)], Discriminator(text_or_keys)]
SetupChoice = Annotated[
    Annotated[Name, Tag(TEXT_TAG)] | Annotated[tuple[Name, ...], SOME, Tag(LIST_TAG)],
    Discriminator(text_or_list),
]


class Job(RunKeys):
    """One visit to one site."""

    what: ClassVar[str] = "a job"
    job: Name = key("What the job is called", "Boathouse, lake side and gable")
    kind: Literal["wash", "yard"] = key("wash, or yard for work on the rig's own gear", "wash", "wash")
    like: Name | None = key("An earlier job that gives what is left out here", "2025-06-02/20-boathouse", None)
    rig: RigChoice | None = key("The rig's name, or a whole rig", "Heron", None)
    site: Site = key("Where it is", "{address: 14 Alder Lane}")
    building: Building | None = key("The building", "{height: 31 ft}", None)
    surfaces: Annotated[tuple[SurfaceInput, ...], SOME, at_most("surfaces_most")] = key(
        "What is washed", "[{kind: vinyl, around: 160 ft, height: 18 ft}]"
    )
    setup: SetupChoice | None = key("A setup of the rig, or several", "house", None)
    hose_runs: Annotated[tuple[HoseRun, ...], SOME, at_most("hose_runs_most")] | None = key(
        "Hose runs, written out", "[{name: lake side, feed: water, hoses: [red 1], tip: long throw}]", None
    )
    chemicals: tuple[ChemicalUse, ...] | None = key(
        "What goes on; default the surface table's own, `[]` for water only", "[{stock: bleach, strength: 1.0 %}]", None
    )
    water: Water | None = key("Where the water comes from", "{source: tap, static: 58 psi}", None)
    tap: BucketText | None = key("A bucket held under the open tap", "5 gal in 50 s", None)
    strength: StrengthText | None = key("Strength on every wall of a short job", "0.8 %", None)
    temperature: Temperature | None = key("Water temperature of a short job", "61 F", None)
    access: Access | None = key("How the crew gets to the work", "{ladder: 24 ft, power_line: 22 ft}", None)
    order: Literal["written"] | None = key(
        "Wash the walls in the order written; left out, those next to each other may change places for shade",
        "written", None,
    )  # fmt: skip
    price: Money | None = key("What the customer pays, in your own money; for the owner's summary", "640", None)
    near: Near | None = key("What is near enough to be harmed", "{flower_beds: 400 ft2, storm_drain: 40 ft}", None)
    accept: tuple[Accept, ...] = key(
        "Findings someone accepts", "[{finding: weather.wind, reason: sheltered courtyard, by: owner}]", ()
    )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """A setup or hose runs; short keys only where they go somewhere."""
        yield from only_one(raw, ("setup", "hose_runs"), "how it is sprayed (`setup` or `hose_runs`)", "setup: house")
        yield from twice(raw, "hose_runs", "hose runs")
        yield from twice(raw, "surfaces", "surfaces")
        if "hose_runs" in raw:
            for name in RunKeys.model_fields:
                if name in raw:
                    yield Slip(
                        code="key.clash",
                        message=f"`{name}` is outside `hose_runs`, so it applies to no run",
                        remedy=f"write `{name}` inside the hose run it is for",
                        at=(name,),
                    )
        yield from _two_ways(raw)
        yield from higher_than_the_building(raw)

    @property
    def setups(self) -> tuple[str, ...]:
        """The setups it names, none if its hose runs are written out."""
        if self.setup is None:
            return ()
        return (self.setup,) if isinstance(self.setup, str) else self.setup


def _two_ways(raw: Mapping[str, Any]) -> Iterator[Slip]:
    """A short key and the long way of saying the same."""
    water = raw.get("water")
    if isinstance(water, dict):
        if "temperature" in raw and "temperature" in water:
            yield Slip(
                code="key.clash",
                message="the water's temperature appears twice",
                remedy="keep one of them",
                at=("temperature",),
            )
        other = next((name for name in ("flow_test", "bucket") if name in water), None)
        if "tap" in raw and (other or water.get("source", "tap") not in ("tap", "hydrant")):
            said = f"`water.{other}`" if other else f"`source: {water.get('source')}`"
            yield Slip(
                code="key.clash", message=f"`tap` and {said} do not go together", remedy="keep one of them", at=("tap",)
            )
    if "strength" in raw and "chemicals" in raw:
        yield Slip(
            code="key.clash",
            message="`strength` is next to `chemicals`, where it does nothing",
            remedy="write it on the chemical it is for",
            at=("strength",),
        )
