"""The gear a hose run is made of: tanks, pumps, hoses, tips."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import pi
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Tag

from planner.inputs.models.base import KEYS_TAG, SOME, TEXT_TAG, Slip, Written, key, key_from, needs, only_one
from planner.inputs.models.lists import Curve
from planner.inputs.models.quantities import (
    Best,
    BestText,
    Bore,
    Called,
    Current,
    Gauge,
    Head,
    Height,
    Length,
    MaterialName,
    Name,
    Number,
    PositiveCount,
    PositiveFlow,
    PositiveLength,
    PositiveNumber,
    PositivePressure,
    PositiveVolume,
    Power,
    Rotation,
    Temperature,
    Volts,
    Volume,
    YesNo,
    read_best,
)
from planner.inputs.reading.letters import alike
from planner.inputs.tables.defaults import default
from planner.inputs.tables.pumps import PumpKind, pump_kinds
from planner.units import Unreadable, read, show

if TYPE_CHECKING:
    PumpKindName = str
else:
    PumpKindName = Literal[tuple(pump_kinds())]
_WEIGHT = 9789.0
"""A meter of water at 68 F presses so hard [Pa]: 998.2 kg/m3 by 9.80665 m/s2."""
Drive = Literal["battery", "mains", "engine"]
HoseMaterial = Literal["plastic", "rubber", "worn"]
Backflow = Literal["air_gap", "rpz", "vacuum_breaker", "none"]


def quietly(text: object, dimension: str) -> float | None:
    """The SI value where text can be read, None where another fault already speaks of it."""
    if isinstance(text, int | float):
        return float(text)
    try:
        return read(text, dimension) if isinstance(text, str) else None
    except Unreadable:
        return None


def quietly_best(text: object) -> Best | None:
    """The same of a best point."""
    if isinstance(text, Best):
        return text
    try:
        return read_best(text) if isinstance(text, str) else None
    except Unreadable:
        return None


def _is_yes(written: object) -> bool:
    return written is True or (isinstance(written, str) and written.strip().lower() in ("yes", "true", "on"))


def not_above(raw: Mapping[str, Any], low: str, high: str, dimension: str, message: str) -> Iterator[Slip]:
    """Two keys of which the first is at most the second."""
    least, most = quietly(raw.get(low), dimension), quietly(raw.get(high), dimension)
    if least is not None and most is not None and least > most + 1e-9 * abs(most):
        yield Slip(
            code="key.clash",
            message=f"{message}: `{low}` is {raw[low]}, `{high}` {raw[high]}",
            remedy="check the decimal point and the unit of both",
            at=(high,),
        )


def text_or_keys(written: Any) -> str:
    """Which of a text-or-mapping union was written."""
    return TEXT_TAG if isinstance(written, str) else KEYS_TAG


class Shape(Written):
    """What a tank is shaped like inside."""

    what: ClassVar[str] = "a tank's shape"
    kind: Literal["horizontal_cylinder", "upright_cylinder", "box"] = key("The shape", "upright_cylinder")
    diameter: PositiveLength | None = key("Inside diameter of a cylinder", "31 in", None)
    length: PositiveLength | None = key("Inside length of a box or a lying cylinder", "56 in", None)
    width: PositiveLength | None = key("Inside width of a box", "40 in", None)
    height: PositiveLength | None = key("Inside height of a box or an upright cylinder", "36 in", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Each kind with its own sides and no others."""
        kind = raw.get("kind")
        wanted = _SIDES.get(kind) if isinstance(kind, str) else None
        if wanted is None:
            return
        examples = {"diameter": "31 in", "length": "56 in", "width": "40 in"}
        yield from needs(raw, wanted, f"{str(kind).replace('_', ' ')} has one", examples)
        for side in ("diameter", "length", "width"):
            if side in raw and side not in wanted:
                yield Slip(
                    code="key.clash", message=f"`{kind}` has no `{side}`", remedy=f"take `{side}` out", at=(side,)
                )

    @classmethod
    def full_volume(cls, raw: Mapping[str, Any]) -> float | None:
        """Volume the sides give [m3], None where they do not say."""
        size = {side: quietly(raw.get(side), "length") for side in ("diameter", "length", "width", "height")}
        kind = raw.get("kind")
        if kind == "box":
            sides = (size["length"], size["width"], size["height"])
        elif kind in ("horizontal_cylinder", "upright_cylinder") and size["diameter"]:
            round_area = pi / 4 * size["diameter"] ** 2
            sides = (round_area, 1.0, size["length" if kind == "horizontal_cylinder" else "height"])
        else:
            return None
        a, b, c = sides
        return a * b * c if a and b and c else None


_SIDES = {
    "horizontal_cylinder": ("diameter", "length"),
    "upright_cylinder": ("diameter",),
    "box": ("length", "width"),
}


class Tank(Written):
    """One tank of the rig."""

    what: ClassVar[str] = "a tank"
    name: Called = key("What the crew calls it", "water")
    floor: Height | None = key(
        "Inside floor above the ground the rig is parked on; default the pump's height", "2 ft", None
    )
    volume: PositiveVolume = key("What it holds, full", "275 gal")
    shape: Shape | None = key("Its shape, for the dipstick", "{kind: upright_cylinder, diameter: 31 in}", None)
    holds: Name | None = key("What is kept in it: water, mix, a chemical or a lot", "water", None)
    dead_volume: Volume = key("What stays below the outlet", "6 gal", 0.0)
    wetted: tuple[MaterialName, ...] = key("What the liquid touches", "[plastic]", ())

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """The shape must hold what the tank is said to hold, and dead volume must leave some."""
        volume, shape = quietly(raw.get("volume"), "volume"), raw.get("shape")
        dead = quietly(raw.get("dead_volume"), "volume")
        if volume and dead and dead >= volume:
            yield Slip(
                code="tank.dead_volume",
                message="no more than the dead volume fits into this tank",
                remedy="write what stays below the outlet, such as `6 gal`",
                at=("dead_volume",),
            )
        if raw.get("name") is not None:
            yield from holds_as_much(shape, volume, raw, "volume")


def holds_as_much(shape: object, volume: float | None, raw: Mapping[str, Any], name: str) -> Iterator[Slip]:
    """A shape must hold what the key `name` says, `volume` [m3]."""
    full = Shape.full_volume(shape) if isinstance(shape, dict) else None
    if not volume or not full or abs(full - volume) <= default("tank_shape") * volume * (1 + 1e-9):
        return
    system: Literal["us", "si"] = "us" if "gal" in str(raw[name]) else "si"
    yield Slip(
        code="tank.shape",
        message=f"the shape holds {show(full, 'volume', system)} and `{name}` says {raw[name]}",
        remedy="measure both again: they may differ by 3 %, because dips are scaled to the volume",
        at=("shape",),
    )


class Suction(Written):
    """The line from the tank or pond to the pump."""

    what: ClassVar[str] = "a suction line"
    bore: Bore = key("Inside diameter", "1 in")
    length: PositiveLength = key("Length", "6 ft")
    fittings: dict[str, Number] = key("Fittings on it and how many", "{foot_valve: 1, elbow: 2}", {})
    material: HoseMaterial = key("What it is made of", "plastic", "rubber")
    roughness: Length | None = key("Measured wall roughness, instead of the material's", "0.01 mm", None)


class Cord(Written):
    """The cord to a motor."""

    what: ClassVar[str] = "a cord"
    gauge: Gauge = key("Copper wire gauge", "12 AWG")
    length: PositiveLength = key("Length, one way", "50 ft")


class Motor(Written):
    """The motor of a pump."""

    what: ClassVar[str] = "a motor"
    power: Power | None = key("Shaft power on its plate; needed if `amps` is missing", "0.75 hp", None)
    volts: Volts | None = key("Voltage on its plate", "115", None)
    amps: Current | None = key("Current on its plate, instead of the table's", "13.8 A", None)
    start_amps: Current | None = key(
        "Locked-rotor current on its plate; default by table, or six times `amps`", "60 A", None
    )
    cord: Cord | None = key("The cord to it, or the cable from a battery", "{gauge: 12 AWG, length: 50 ft}", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """What it draws must follow from its power or its plate's current; it starts on no less than it runs on."""
        if "amps" not in raw:
            yield from needs(raw, ("power",), "without it or `amps` what it draws is not known", {"power": "0.75 hp"})
        amps, start = quietly(raw.get("amps"), "current"), quietly(raw.get("start_amps"), "current")
        if amps and start and start < amps:
            yield Slip(
                code="motor.start",
                message="no motor starts on less than it runs on",
                remedy="read both currents off the plate again, or take `start_amps` out",
                at=("start_amps",),
            )


class Pump(Written):
    """One pump of the rig. Pressures are gauge, in Pa; heights in m above the ground the rig is parked on."""

    what: ClassVar[str] = "a pump"
    bounded_by: ClassVar[str] = "kind"
    name: Called = key("What the crew calls it", "booster")
    kind: PumpKindName = key("How it works", "centrifugal")
    curve: Curve | None = key(
        "Pressure or head at each flow, on water at 68 F; left out, from its plate",
        "[[0 gpm, 70 psi], [8 gpm, 58 psi]]",
        None,
    )
    shut_off: PositivePressure | None = key("By its plate: pressure with its outlet shut", "60 psi", None)
    best: BestText | None = key("By a centrifugal pump's plate: its best point", "10 gpm at 45 psi", None)
    pressure: PositivePressure | None = key("By a piston pump's plate: the pressure it is rated for", "3000 psi", None)
    curve_speed: Rotation | None = key("Speed the curve was measured at", "3450 rpm", None)
    speed: Rotation | None = key("Speed it runs at", "3450 rpm", None)
    condition: PositiveNumber = key("Head left of a new pump's, from throw and bucket tests", "1.0", 1.0)
    npsh_required: Head = key_from("Suction head it needs; default 8 ft", "8 ft", lambda: default("npsh_required"))
    max_pressure: PositivePressure | None = key("The highest pressure its case may see", "125 psi", None)
    hot: Temperature | None = key("Hottest water its maker allows in it", "140 F", None)
    wetted_volume: PositiveVolume = key_from(
        "Liquid in it; default 0.3 gal", "0.3 gal", lambda: default("wetted_volume")
    )
    wetted: tuple[MaterialName, ...] = key("What the liquid touches", "[stainless, plastic]", ())
    height: Height = key("Above the ground the rig is parked on", "2 ft", 0.0)
    suction: Suction | None = key("Its suction line; left out, lossless", "{bore: 1 in, length: 6 ft}", None)
    drive: Drive | None = key("What turns it; left out, by its motor, or as is usual for its kind", "engine", None)
    motor: Motor | None = key("Its electric motor", "{power: 0.75 hp, volts: 115}", None)
    stages: PositiveCount | None = key("Stages, for a yard job", "7", None)
    flow: PositiveFlow | None = key("What it delivers by its plate, with nothing against it", "5.5 gpm", None)
    unloader: PositivePressure | None = key(
        "Where its unloader or relief valve opens, at its outlet; `yes`, at `pressure`", "3000 psi", None
    )
    cut_off: PositivePressure | None = key("Where its pressure switch stops it", "60 psi", None)
    dedicated: Name | None = key("The one chemical this pump is kept for", "muriatic", None)
    bypass: YesNo = key("Whether water goes back to the tank while its gun is shut", "true", False)
    draws: Annotated[tuple[Name, ...] | None, SOME] = key(
        "Tanks its suction reaches; left out, any tank, or a pail", "[water]", None
    )

    @classmethod
    def spelled_out(cls, raw: dict[Any, Any]) -> dict[Any, Any]:
        """`unloader: yes` is one set to the plate's pressure."""
        if not _is_yes(raw.get("unloader")):
            return raw
        # Without the plate's pressure that is the one thing told.
        return {name: value for name, value in raw.items() if name != "unloader"} | (
            {"unloader": raw["pressure"]} if "pressure" in raw else {}
        )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """A curve, or its plate's figures, by kind; nothing that belongs to another kind."""
        if ("speed" in raw) != ("curve_speed" in raw):
            lone, other = ("speed", "curve_speed") if "speed" in raw else ("curve_speed", "speed")
            yield Slip(
                code="key.missing", message=f"`{lone}` says nothing without `{other}`",
                remedy=f"add `{other}: 3450 rpm`", at=(other,),
            )  # fmt: skip
        for name in ("unloader", "cut_off"):
            yield from not_above(raw, name, "max_pressure", "pressure", "it opens above what the pump can take")
        kind = pump_kinds().get(written) if isinstance(written := raw.get("kind"), str) else None
        if kind is None:
            return
        yield from cls._plate(raw, kind)
        if _is_yes(raw.get("unloader")) and kind.relief == "unloader":
            yield from needs(raw, ("pressure",), "`unloader: yes` opens at its plate's", {"pressure": "3000 psi"})
        yield from cls._driven(raw)
        for name in ("flow", "unloader", "cut_off", "curve", "shut_off", "best", "pressure"):
            if name in raw and name not in (*kind.gives, *kind.plate, kind.relief):
                yield Slip(
                    code="key.clash",
                    message=f"a {kind.kind} pump has no `{name}`",
                    remedy=f"take `{name}` out, or check `kind`",
                    at=(name,),
                )

    @classmethod
    def _plate(cls, raw: Mapping[str, Any], kind: PumpKind) -> Iterator[Slip]:
        """Its curve, or else all that a plate of its kind says."""
        examples = {
            "curve": "[[0 gpm, 70 psi], [8 gpm, 58 psi], [16 gpm, 31 psi]]",
            "flow": "5.5 gpm", "shut_off": "60 psi", "best": "10 gpm at 45 psi",
        }  # fmt: skip
        plate = [name for name in kind.plate if name != "pressure"]
        written = [name for name in plate if name in raw]
        if "curve" in raw and written and "curve" in kind.gives:
            yield Slip(
                code="key.clash", message=f"`curve` and `{written[0]}` both say what it gives",
                remedy=f"keep the curve, and take `{written[0]}` out", at=(written[0],),
            )  # fmt: skip
        elif written and "curve" not in raw:
            yield from needs(raw, plate, f"with `{written[0]}` it gives the curve", examples)
        elif "curve" in kind.gives and "curve" not in raw:
            both = " and ".join(f"`{name}: {examples[name]}`" for name in plate)
            yield Slip(
                code="key.missing", message=f"`curve` is missing: a {kind.kind} pump has one",
                remedy=f"add `curve: {examples['curve']}`, or by its plate {both}", at=("curve",),
                cured_by=("curve", *plate),
            )  # fmt: skip
        elif "curve" not in kind.gives:
            yield from needs(raw, kind.gives, f"a {kind.kind} pump has one", examples)
        best = quietly_best(raw.get("best"))
        shut = quietly(raw.get("shut_off"), "pressure")
        pressed = None if best is None else best.pressure if best.pressure is not None else (best.head or 0.0) * _WEIGHT
        if pressed is not None and shut is not None and pressed >= shut:
            yield Slip(
                code="key.clash", message="no pump makes more pressure at its best point than with its outlet shut",
                remedy="check `best` and `shut_off`", at=("best",),
            )  # fmt: skip

    @classmethod
    def _driven(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """What turns it and its motor say the same; a motor on mains has a plate to read."""
        drive, motor = raw.get("drive"), raw.get("motor")
        written = str(motor.get("volts", "")).removesuffix("V").strip() if isinstance(motor, dict) else ""
        volts = quietly(f"{written} V", "voltage")
        low = volts is not None and volts < default("mains_from")
        if drive == "mains" and motor is None:
            because = "cord, breaker and generator are checked against it"
            yield from needs(raw, ("motor",), because, {"motor": "{power: 0.75 hp, volts: 115}"})
        told = (drive == "engine" and isinstance(motor, dict)) or (
            volts is not None and ((drive == "battery" and not low) or (drive == "mains" and low))
        )
        if told:
            yield Slip(
                code="key.clash", message=f"`drive: {drive}` does not go with its motor",
                remedy="check what turns it, and take the other out", at=("drive",),
            )  # fmt: skip

    @property
    def driven_by(self) -> Drive | None:
        """What turns it: as written, by its motor's volts, or as is usual for its kind; None where nobody says."""
        if self.drive is not None:
            return self.drive
        if self.motor is not None:
            low = self.motor.volts is not None and self.motor.volts < default("mains_from")
            return "battery" if low else "mains"
        usual = self.of_kind.driven_by
        return None if usual == "motor" else usual

    @property
    def by_plate(self) -> bool:
        """Whether its curve is made from what its plate says."""
        return self.curve is None and self.shut_off is not None

    @property
    def of_kind(self) -> PumpKind:
        """What holds of every pump of its kind."""
        return pump_kinds()[self.kind]

    @property
    def share(self) -> float:
        """What is planned of its sound self [-]: of head its condition, of a flow all that is written."""
        return self.condition if self.of_kind.wears == "head" else 1.0


class HoseSize(Written):
    """A hose written out in a run. `bore`, `length`, `roughness`, `coil` in m, `rated` in Pa."""

    what: ClassVar[str] = "a hose"
    name: Called | None = key("What the crew calls it", "red 1", None)
    bore: Bore = key("Inside diameter, measured if it can be", "3/4 in")
    length: PositiveLength = key("Length", "100 ft")
    rated: PositivePressure | None = key("Working pressure printed on it", "200 psi", None)
    hot: Temperature | None = key("Hottest water printed on it, at that pressure", "250 F", None)
    material: HoseMaterial = key("What it is made of: plastic, rubber, or worn", "rubber", "rubber")
    roughness: Length | None = key("Measured wall roughness, instead of the material's", "0.01 mm", None)
    coil: PositiveLength = key_from("Drum diameter of its reel; default 18 in", "18 in", lambda: default("coil"))
    couplings: tuple[MaterialName, ...] = key("What its couplings are made of", "[brass]", ())


class Hose(HoseSize):
    """A hose of the rig."""

    name: Called = key("What the crew calls it", "red 1")


def hose_twice(raw: Mapping[str, Any]) -> Iterator[Slip]:
    """The same hose at two places of one line."""
    seen: set[str] = set()
    hoses = raw.get("hoses")
    for place, hose in enumerate(hoses if isinstance(hoses, list) else []):
        name = hose.get("name") if isinstance(hose, dict) else hose
        if not isinstance(name, str):
            continue
        if alike(name) in seen:
            yield Slip(
                code="hose.twice",
                message=f"`{name[:60]}` is in this line twice",
                remedy="name each hose once; give a second one like it a name of its own on the rig",
                at=("hoses", place),
            )
        seen.add(alike(name))


HoseChoice = Annotated[Annotated[Name, Tag(TEXT_TAG)] | Annotated[HoseSize, Tag(KEYS_TAG)], Discriminator(text_or_keys)]


class Tip(Written):
    """A nozzle. `orifice` in m, `flow` in m3/s at `at` Pa, `size` the trade number at 4000 psi."""

    what: ClassVar[str] = "a tip"
    name: Called = key("What the crew calls it", "long throw")
    pattern: Literal["solid", "fan", "cone", "surface_cleaner"] = key("How the water leaves it", "solid", "solid")
    orifice: Bore | None = key("Bore of its hole", "1/4 in", None)
    discharge_coefficient: PositiveNumber = key_from(
        "Share of the ideal flow; default 0.95", "0.95", lambda: default("discharge_coefficient")
    )
    flow: PositiveFlow | None = key("Rated flow on water", "5 gpm", None)
    at: PositivePressure | None = key("Pressure of the rated flow", "40 psi", None)
    size: PositiveNumber | None = key(
        "Trade size: gpm at 4000 psi. Of a stamp like 4006 it is what comes after the angle: 6", "5.5", None
    )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """One size, and a rated flow with its pressure."""
        yield from only_one(raw, ("orifice", "flow", "size"), "the tip's size", "orifice: 1/4 in")
        if "flow" in raw:
            yield from needs(raw, ("at",), "a rated flow holds at one pressure", {"at": "40 psi"})
        elif "at" in raw:
            yield from needs(raw, ("flow",), "`at` is the pressure of a rated flow", {"flow": "5 gpm"})
        coefficient = quietly(raw.get("discharge_coefficient"), "number")
        if coefficient and coefficient > 1.2:
            yield Slip(
                code="quantity.range",
                message="no tip passes that much more than the ideal flow",
                remedy="write a coefficient near 0.95",
                at=("discharge_coefficient",),
            )


class RoleTip(Written):
    """A tip of a run with a line of its own: what lies behind the hoses it shares with the run's is changed with it."""

    what: ClassVar[str] = "a tip with its hoses"
    tip: Name = key("A tip of the rig", "spinner")
    hoses: Annotated[tuple[Name, ...], SOME] = key(
        "Its hoses in order from the pump, beginning with the run's first", "[red 1, whip]"
    )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Each hose once."""
        yield from hose_twice(raw)


TipChoice = Annotated[Annotated[Name, Tag(TEXT_TAG)] | Annotated[RoleTip, Tag(KEYS_TAG)], Discriminator(text_or_keys)]
