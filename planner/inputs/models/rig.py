"""A rig: its gear put together, and what is carried in it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Literal

from planner.inputs.models.base import SOME, Slip, Written, key, name_of_place, needs, twice
from planner.inputs.models.company import ChemicalName
from planner.inputs.models.gear import (
    Backflow,
    Hose,
    HoseChoice,
    HoseMaterial,
    Pump,
    Tank,
    Tip,
    TipChoice,
    hose_twice,
    quietly,
)
from planner.inputs.models.lists import Dial
from planner.inputs.models.quantities import (
    Bore,
    Called,
    Charge,
    Current,
    Date,
    EveryText,
    Height,
    Length,
    Mass,
    MaterialName,
    Name,
    Number,
    PositiveFlow,
    PositiveLength,
    PositiveNumber,
    PositivePressure,
    PositiveVolume,
    Power,
    Pressure,
    Share,
    Temperature,
    Volts,
    Volume,
    Words,
    YesNo,
)
from planner.inputs.tables.defaults import default


class Loss(Written):
    """What a dosing device costs. `pressure` in Pa at `flow` in m3/s."""

    what: ClassVar[str] = "a loss"
    pressure: Pressure = key("Pressure lost", "1 psi")
    flow: PositiveFlow = key("At this flow", "8 gpm")


_OF_PANELS = ("at", "again", "vacuum", "height", "drum_floor")


class PanelLevels(Written):
    """How high the tanks stood over a panel at a test [m], and the flow at the tip then [m3/s]."""

    what: ClassVar[str] = "a panel's test"
    water: Height = key("Surface of the water over the panel", "3 ft")
    stock: Height = key("Surface of the stock over the panel", "1 ft")
    flow: PositiveFlow = key("Flow at the tip then", "8 gpm")


class PanelTest(PanelLevels):
    """A second test of one mark, near empty."""

    dial: Number = key("The mark it was at", "2")
    share: Share = key("Share of stock in the flow", "12 %")


class Dosing(Written):
    """How stock gets into the water on the way: a metered panel before the pump, or an injector after it."""

    what: ClassVar[str] = "a dosing"
    name: Called = key("What the crew calls it", "panel")
    kind: Literal["metered", "injector"] = key("How it works", "metered")
    pump: Name | None = key("The pump a panel is plumbed to", "booster", None)
    dial: Dial | None = key("Bucket-tested settings and the share of stock in the flow", "[[1, 4 %], [2, 9 %]]", None)
    at: PanelLevels | None = key(
        "Levels and flow at which the dial was tested", "{water: 3 ft, stock: 1 ft, flow: 8 gpm}", None
    )
    again: PanelTest | None = key(
        "One mark tested again with the tank near empty",
        "{dial: 2, share: 12 %, water: 0.5 ft, stock: 1 ft, flow: 8 gpm}",
        None,
    )
    vacuum: PositivePressure | None = key(
        "A vacuum gauge at the panel during that test, at a middle mark", "2 psi", None
    )
    height: Height | None = key("Panel above the ground the rig is parked on; default its pump's", "2 ft", None)
    drum_floor: Height | None = key(
        "Inside floor of the drum a panel draws from, above the ground the rig is parked on", "1 ft", None
    )
    wetted_volume: Volume = key("Liquid in it", "0.1 gal", 0.0)
    wetted: tuple[MaterialName, ...] = key("What the liquid touches", "[plastic]", ())
    loss: Loss | None = key("Pressure it costs", "{pressure: 1 psi, flow: 8 gpm}", None)
    water_to_stock: PositiveNumber | None = key("Parts of water an injector takes to one of stock", "10", None)
    ratio_flow: PositiveFlow | None = key(
        "Flow at which its ratio was tested: at another flow it draws as much stock, so the ratio goes with the flow",
        "5.5 gpm",
        None,
    )
    max_back_pressure: PositivePressure | None = key(
        "Above this an injector draws nothing, at the flow of its loss; default twice its loss", "250 psi", None
    )
    full_draw: PositivePressure | None = key(
        "Up to this an injector draws fully, by gauge and jug; default 40 psi under its limit", "210 psi", None
    )
    jug: PositiveVolume | None = key(
        "What the jug an injector draws from holds, full: paper then says what goes into one", "5 gal", None
    )
    tested: Date | None = key("When it was last bucket-tested", "2026-05-01", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """A panel has a dial, an injector a ratio."""
        kind = raw.get("kind")
        if kind == "metered":
            yield from needs(raw, ("dial",), "a metered panel has one", {"dial": "[[1, 4 %], [2, 9 %], [3, 16 %]]"})
        if kind == "injector":
            yield from needs(raw, ("water_to_stock",), "an injector has one", {"water_to_stock": "10"})
            yield from cls._cannot_be(raw)
        wrong = {
            "metered": ("water_to_stock", "max_back_pressure", "full_draw", "ratio_flow", "jug"),
            "injector": ("dial", "pump", *_OF_PANELS),
        }
        for name in wrong.get(kind, ()) if isinstance(kind, str) else ():
            if name in raw:
                yield Slip(
                    code="key.clash", message=f"`{kind}` has no `{name}`", remedy=f"take `{name}` out", at=(name,)
                )
        if ("again" in raw or "vacuum" in raw) and "at" not in raw:
            because = "the second look says nothing without the first one's levels"
            yield from needs(raw, ("at",), because, {"at": "{water: 3 ft, stock: 1 ft, flow: 8 gpm}"})
        own = raw.get("name")
        if isinstance(own, str) and own.strip().casefold() in ("premix", "none"):
            yield Slip(
                code="name.reserved",
                message=f"`{own}` has a meaning of its own",
                remedy="give it another name",
                at=("name",),
            )

    @staticmethod
    def _cannot_be(raw: Mapping[str, Any]) -> Iterator[Slip]:
        """A limit and a loss no injector has, and a full draw beyond the limit."""
        limit = quietly(raw.get("max_back_pressure"), "pressure")
        full = quietly(raw.get("full_draw"), "pressure")
        loss: Any = raw.get("loss")
        lost = quietly(loss.get("pressure"), "pressure") if isinstance(loss, dict) else None
        least = default("injector_loss_least")
        if limit is not None and lost is not None and lost < least * limit * (1 - 1e-9):
            yield Slip(
                code="injector.loss",
                message=f"no injector that costs {loss['pressure']} draws against up to {raw['max_back_pressure']}",
                remedy=f"measure both at one flow: the loss is at least {least:.0%} of the pressure it stops at",
                at=("loss", "pressure"),
            )
        if limit is not None and full is not None and full > limit:
            yield Slip(
                code="injector.full_draw",
                message="an injector draws fully up to less than where it stops",
                remedy="write the lower gauge as `full_draw`, the higher as `max_back_pressure`",
                at=("full_draw",),
            )


class Setup(Written):
    """A named, ready combination."""

    what: ClassVar[str] = "a setup"
    name: Called = key("What the crew calls it", "house")
    pump: Name | None = key("Its pump; left out, the tap's own pressure, or the fall from a high tank", "booster", None)
    feed: Name = key("A tank's name, `tap` or `pond`", "water")
    dosing: Name | None = key("`premix`, or a dosing's name; left out, plain water", "panel", None)
    hoses: Annotated[tuple[HoseChoice, ...], SOME] = key("Hoses in order from the pump", "[red 1, red 2]")
    tip: Name = key("Its tip: for the mix, and for whatever has no tip of its own", "long throw")
    rinse_tip: TipChoice | None = key(
        "Tip it rinses through, or `{tip, hoses}` if its line differs; left out, `tip`", "fan 40", None
    )
    cleaner: TipChoice | None = key(
        "Surface cleaner that cleans flat work with plain water, or `{tip, hoses}`", "spinner", None
    )
    on_reel: Length | None = key("Hose left on the reel", "0 ft", None)
    fittings: dict[str, Number] = key("Fittings and how many", "{coupling: 3, ball_valve: 1}", {})
    tip_height: Height | None = key("Tip above the ground it is held over; default 4 ft", "4 ft", None)
    standoff: Length | None = key("Tip to wall; default half the target", "12 ft", None)
    hot: Temperature | None = key("Hot water at the tip, heated after the pump; left out, cold", "180 F", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Each hose once."""
        yield from hose_twice(raw)


class SupplyHose(Written):
    """The hose from the customer's tap to the rig."""

    what: ClassVar[str] = "a supply hose"
    bore: Bore = key("Inside diameter", "3/4 in")
    length: PositiveLength = key("Length", "100 ft")
    backflow: Backflow | None = key("What keeps chemical out of the tap", "air_gap", None)
    fittings: dict[str, Number] = key("Fittings on it and how many", "{coupling: 1}", {})
    material: HoseMaterial = key("What it is made of", "rubber", "rubber")
    roughness: Length | None = key("Measured wall roughness, instead of the material's", "0.01 mm", None)
    rated: PositivePressure | None = key("Working pressure printed on it", "200 psi", None)


class RigPower(Written):
    """Where the rig's electricity comes from."""

    what: ClassVar[str] = "a rig's power"
    generator: Power | None = key("What the generator gives", "3500 W", None)
    surge: Power | None = key("The most the generator gives while a motor starts, by its plate", "4400 W", None)
    breaker: Current | None = key("The outlet's breaker where there is no generator", "20 A", None)
    gfci: YesNo | None = key("Whether a GFCI is on it", "true", None)
    volts: Volts | None = key("Its voltage", "120", None)
    battery: Charge | None = key("What the battery holds, for pumps of 12 V", "100 Ah", None)
    others: Power | None = key("What else runs on the generator or breaker while a pump runs", "200 W", None)
    beside: tuple[Name, ...] = key("Pumps that run while another one does, to fill or transfer", "[transfer]", ())


class Weights(Written):
    """What the rig weighs and may weigh."""

    what: ClassVar[str] = "weights"
    empty: Mass = key("Weight with nothing in it", "2900 lb")
    rated: Mass = key("The most it may weigh", "7000 lb")


class Carried(Written):
    """What rides along."""

    what: ClassVar[str] = "what is carried"
    eyewash: Volume | None = key("Eyewash aboard", "6 gal", None)
    spill_kit: YesNo | None = key("Whether a spill kit is aboard", "true", None)
    ladder: Length | None = key("The longest ladder", "24 ft", None)
    apart: tuple[ChemicalName, ...] = key(
        "Chemicals that ride in a closed box with a tray of their own, one box each, or in another vehicle",
        "[muriatic]",
        (),
    )


class Service(Written):
    """What some part of the rig needs again and again, or by a date."""

    what: ClassVar[str] = "a service"
    part: Called = key("What it is for: a pump, a hose, a filter, strips", "washer")
    work: Words = key("What is to be done", "oil and filter")
    every: EveryText | None = key("How often: hours its pump runs, or time", "150 h", None)
    last: Date | None = key("When it was last done; left out, it is due", "2026-04-02", None)
    by: Date | None = key("The day it must be done by, or what it says on the box", "2027-01-31", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """It is due by something."""
        if "every" not in raw and "by" not in raw:
            yield from needs(raw, ("every",), "else nothing says when it is due", {"every": "150 h"})


class Rig(Written):
    """A trailer or truck with its tanks, pumps, hoses, tips and power."""

    what: ClassVar[str] = "a rig"
    rig: Called = key("The rig's name", "Heron")
    tanks: Annotated[tuple[Tank, ...], SOME] = key("Its tanks", "[{name: water, volume: 275 gal}]")
    pumps: tuple[Pump, ...] = key(
        "Its pumps", "[{name: transfer, kind: diaphragm, curve: [[0 gpm, 80 psi], [5.5 gpm, 0 psi]]}]", ()
    )
    hoses: tuple[Hose, ...] = key("Its hoses", "[{name: red 1, bore: 3/4 in, length: 100 ft}]", ())
    tips: Annotated[tuple[Tip, ...], SOME] = key("Its tips", "[{name: long throw, pattern: solid, orifice: 1/4 in}]")
    dosing: tuple[Dosing, ...] = key(
        "Its panels and injectors", "[{name: venturi, kind: injector, water_to_stock: 10}]", ()
    )
    setups: tuple[Setup, ...] = key(
        "Ready combinations", "[{name: house, pump: booster, feed: water, hoses: [red 1], tip: long throw}]", ()
    )
    supply_hose: SupplyHose | None = key("The hose to the customer's tap", "{bore: 3/4 in, length: 100 ft}", None)
    power: RigPower | None = key("Its electricity", "{generator: 3500 W, gfci: true}", None)
    weights: Weights | None = key(
        "What it weighs empty, and the most it may weigh", "{empty: 2900 lb, rated: 7000 lb}", None
    )
    carried: Carried | None = key("What rides along", "{eyewash: 6 gal, spill_kit: true}", None)
    service: tuple[Service, ...] = key(
        "What is due again and again: pumps by the hours they run, the rest by time",
        "[{part: red 1, work: pressure test, every: 12 months, last: 2026-04-02}]",
        (),
    )

    @property
    def name(self) -> str:
        """The rig's name."""
        return self.rig

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Each name once, and no tank or hose under a name that a job's steps have for something else."""
        for name, what in (
            ("tanks", "tanks"),
            ("pumps", "pumps"),
            ("hoses", "hoses"),
            ("tips", "tips"),
            ("dosing", "dosings"),
            ("setups", "setups"),
        ):
            yield from twice(raw, name, what)
        for gear, what in (("tanks", "tank"), ("hoses", "hose")):
            found = raw.get(gear)
            for place, row in enumerate(found if isinstance(found, list) else []):
                own = row.get("name") if isinstance(row, dict) else None
                yield from name_of_place(own, what, f"give the {what} another name", (gear, place, "name"))
        yield from _hours_of_no_pump(raw)


def _hours_of_no_pump(raw: Mapping[str, Any]) -> Iterator[Slip]:
    """A service after so many hours of what is no pump of the rig: nothing counts those."""
    pumps, services = raw.get("pumps"), raw.get("service")
    names = {row.get("name") for row in pumps if isinstance(row, dict)} if isinstance(pumps, list) else set()
    for place, row in enumerate(services if isinstance(services, list) else []):
        every = row.get("every") if isinstance(row, dict) else None
        by_hours = isinstance(every, str) and re.fullmatch(r" *[0-9]+ *h(?:ours?|rs?)? *", every, re.IGNORECASE)
        if by_hours and row.get("part") not in names:
            message = f"only pumps have hours, and `{str(row.get('part'))[:60]}` is not a pump of this rig"
            remedy = "write the pump's name, or how often in months"
            yield Slip(code="service.hours", message=message, remedy=remedy, at=("service", place, "every"))
