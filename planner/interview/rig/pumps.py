"""Pumps of a new rig, off their plates. What is asked of a kind follows from its record, a new kind's too."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from planner.inputs.models.gear import Cord, Motor, Pump, Suction
from planner.inputs.tables.pumps import PumpKind, pump_kinds
from planner.interview.answers import (
    Here,
    Reader,
    choice,
    key_of,
    loose,
    numbered,
    pick,
    refuse_slips,
    slips_in,
    unit_of,
)
from planner.interview.asking import Question, Unfit, Walk, with_unit
from planner.interview.rig.keys import NO_MORE, NOT_KNOWN, Raw, made_of, named, one, several_keys, together

_DRIVES: Final = {
    "battery": "12 or 24 V",
    "mains": "a plug: generator or house outlet",
    "engine": "gas or diesel, its own engine",
}
_NONE: Final = "none"
_UNITS: Final = {"flow": "flow", "shut_off": "pressure", "pressure": "pressure"}
_ASKED: Final = {
    "flow": ("Its plate: flow", "The most it gives, with nothing against it."),
    "shut_off": (
        "Its plate: pressure",
        "What it gets to with its outlet shut. If the plate has only one pressure, write that.",
    ),
    "pressure": ("Its plate: pressure", "The working pressure it is sold by."),
}


def pumps(here: Here, rig: Raw) -> Walk[None]:
    """Every pump; a rig may have none, and spray by the tap."""
    rig["pumps"] = []
    sold = {row["called"]: (kind, row) for kind in pump_kinds().values() for row in kind.sold_as}
    notes = {name: str(row["note"]) for name, (_, row) in sold.items()} | {_NONE: "the faucet's own pressure"}
    while True:
        count = len(rig["pumps"]) + 1
        at = f"pump {count}"
        called = yield Question(
            key=at,
            about="Another pump" if count > 1 else "First pump, the main one",
            read=_sold(sold) if count > 1 else _sold({**sold, _NONE: None}),
            blank=NO_MORE if count > 1 else None,
            before=numbered(notes, notes) if count == 1 else (),
            more="\n".join(numbered(sold if count > 1 else notes)),
        )
        if called in (None, _NONE):
            break
        rig["pumps"].append((yield from _pump(here, rig, at, *sold[called])))
    yield from together(here, rig, "pumps")


def _sold(sold: Mapping[str, tuple[PumpKind, Mapping[str, Any]] | None]) -> Reader:
    """Reads what a pump is called: by name or number, or by another word for just one of them."""
    read = choice(tuple(sold))

    def either(text: str) -> str:
        said = f" {loose(text)} "
        found = {
            name
            for name, row in sold.items()
            for word in (row[1]["words"] if row is not None else ())
            if f" {loose(word)} " in said
        }
        return found.pop() if pick(text, tuple(sold)) is None and len(found) == 1 else str(read(text))

    return either


def _pump(here: Here, rig: Raw, at: str, kind: PumpKind, row: Mapping[str, Any]) -> Walk[Raw]:
    pump: Raw = {"name": (yield from named(here, rig, "pumps", at, row["name"])), "kind": kind.kind}
    yield from _plate(here, pump, at, kind)
    drive = row.get("drive") or (
        yield Question(
            key=f"{at} drive", about="What turns it", read=choice(tuple(_DRIVES)),
            before=numbered(_DRIVES, _DRIVES), more="It settles cords, breaker, exhaust and fuel on paper.",
        )
    )  # fmt: skip
    pump["drive"] = drive
    yield from _relief(here, pump, at, kind)
    if drive != "engine":
        yield from _motor(here, pump, at, mains=drive == "mains")
    yield from _place(here, rig, pump, at)
    yield from made_of(Pump, pump, "wetted", at, "What the liquid touches in it")
    return pump


def _plate(here: Here, pump: Raw, at: str, kind: PumpKind) -> Walk[None]:
    """A curve where somebody has one; else what the plate says."""
    flow, rise = unit_of("flow", here.system), unit_of("pressure", here.system)
    if kind.curve == "bent":
        curve = yield Question(
            key=f"{at} curve", about="Points off its sheet, as `0 at 70, 8 at 58, 16 at 31`", unit=f"{flow} at {rise}",
            read=_curve(flow, rise), blank="only its plate",
            more="Flow and pressure, the shut gun first. Measured: close the valve a little, read the gauge,\n"
            "time a bucket. Two points do; three are better, and then no band is added for its plate.",
        )  # fmt: skip
        if curve is not None:
            pump["curve"] = [list(point.split(" at ")) for point in curve]
            return
    for name in kind.plate:
        if name == "best":
            yield from one(
                Pump, pump, name, at, "Its best point, as `10 gpm at 45 psi`", blank=None, read=_best(pump, flow, rise),
                more="The flow and pressure it is sold by, or where its sheet has the best efficiency.",
            )  # fmt: skip
            continue
        about, more = _ASKED[name]
        yield from one(Pump, pump, name, at, about, unit=unit_of(_UNITS[name], here.system), blank=None, more=more)


def _curve(flow: str, rise: str) -> Reader:
    def read(text: str) -> tuple[str, ...]:
        points = []
        for part in text.split(","):
            halves = [half.strip() for half in part.replace("@", " at ").split(" at ")]
            if len(halves) != 2:
                raise Unfit((f"`{part.strip()[:40]}` is not a flow at a pressure", "write `0 at 70, 8 at 58`"))
            points.append([with_unit(halves[0], flow), with_unit(halves[1], rise)])
        refuse_slips(slip for slip in slips_in(Pump, {"curve": points}) if slip.at[:1] == ("curve",))
        return tuple(" at ".join(point) for point in points)

    return read


def _best(pump: Raw, flow: str, rise: str) -> Reader:
    key = key_of(Pump, "best", "", pump)

    def read(text: str) -> str:
        halves = [half.strip() for half in text.replace("@", " at ").split(" at ")]
        if len(halves) == 2:
            text = f"{with_unit(halves[0], flow)} at {with_unit(halves[1], rise)}"
        given: str = key(text)
        return given

    return read


def _relief(here: Here, pump: Raw, at: str, kind: PumpKind) -> Walk[None]:
    """What takes it when the gun shuts. Left out it stays unknown, and what follows from that a stop or a caution."""
    pressure = unit_of("pressure", here.system)
    if kind.relief == "cut_off":
        yield from one(
            Pump, pump, "cut_off", at, "Where its switch stops it", unit=pressure,
            more="Often the plate's own pressure. Without a switch it runs on against a shut gun and gets hot.",
        )  # fmt: skip
    elif kind.relief == "unloader":
        yield from one(
            Pump, pump, "unloader", at, f"Has it {kind.relief_called}: `yes`, `no`, or where it opens", unit=pressure,
            read=_unloader(pump, pressure), more="`yes` is one set to the plate's pressure. Without one it is a stop.",
        )  # fmt: skip
        if pump.get("unloader") == "no":
            del pump["unloader"]


def _unloader(pump: Raw, unit: str) -> Reader:
    key = key_of(Pump, "unloader", unit, pump)

    def read(text: str) -> str:
        word = text.casefold()
        if word in ("y", "yes"):
            return str(pump["pressure"])
        return "no" if word in ("n", "no", "none") else str(key(text))

    return read


def _motor(here: Here, pump: Raw, at: str, *, mains: bool) -> Walk[None]:
    """Its plate; a battery's may be left out, and then its cable is not judged."""
    motor: Raw = {}
    blank = None if mains else NOT_KNOWN
    found = yield Question(
        key=f"{at} draws",
        about="Its motor's plate: `13.8 A`, or `0.75 hp`" if mains else "What it draws by its plate",
        unit="A",
        read=_amps_or_power(),
        blank=blank,
        more="Amps are better. A 12 V pump's fuse is the next best figure.",
    )
    if found is None:
        return
    motor["amps" if found.endswith("A") else "power"] = found
    yield from one(Motor, motor, "volts", at, "Its volts", unit="V", blank=None, read=_volts(pump, motor))
    cord = yield Question(
        key=f"{at} cord",
        about="Its cord: wire gauge x length" if mains else "The cable to it: wire gauge x length",
        unit=f"AWG x {unit_of('length', here.system)}",
        read=several_keys(Cord, ("gauge", "length"), ("AWG", unit_of("length", here.system)), "12 AWG x 50 ft"),
        blank=NOT_KNOWN,
        more="Such as `12 AWG x 50 ft`, one way. At 12 V every foot counts.",
    )
    if cord is not None:
        motor["cord"] = {"gauge": cord[0], "length": cord[1]}
    pump["motor"] = motor


def _volts(pump: Raw, motor: Raw) -> Reader:
    key = key_of(Motor, "volts", "V", motor)

    def read(text: str) -> str:
        given: str = key(text)
        slips = slips_in(Pump, {**pump, "motor": {**motor, "volts": given}})
        refuse_slips(slip for slip in slips if slip.at[:1] == ("drive",))
        return given

    return read


def _amps_or_power() -> Reader:
    amps, power = key_of(Motor, "amps", "A"), key_of(Motor, "power", "hp")

    def read(text: str) -> str:
        is_power = text.casefold().rstrip().endswith(("hp", "w", "kw"))
        return str(power(text)) if is_power else str(amps(with_unit(text, "A").replace("amps", "A")))

    return read


def _place(here: Here, rig: Raw, pump: Raw, at: str) -> Walk[None]:
    """Where it is and what it draws through."""
    floor = next((tank["floor"] for tank in rig["tanks"] if "floor" in tank), None)
    length = unit_of("length", here.system)
    height = yield Question(
        key=f"{at} height", about="How high it sits above the ground", unit=length, read=key_of(Pump, "height", length),
        blank=f"{floor}, level with the tank" if floor else "on the ground",
    )  # fmt: skip
    if height or floor:
        pump["height"] = height or floor
    bore = unit_of("bore", here.system)
    suction = yield Question(
        key=f"{at} suction", about="Its suction hose: inside x length", unit=f"{bore} x {length}",
        read=several_keys(Suction, ("bore", "length"), (bore, length), "1 in x 6 ft"),
        blank="not measured",
        more="Such as `1 in x 6 ft`, tank to pump. Left out it costs nothing in the plan, so measure it.",
    )  # fmt: skip
    if suction is not None:
        pump["suction"] = {"bore": suction[0], "length": suction[1]}


def of(raw: Mapping[str, Any], name: object) -> PumpKind | None:
    """The kind of a rig's pump, as written."""
    kind = next((one.get("kind") for one in raw.get("pumps", ()) if one.get("name") == name), None)
    return pump_kinds().get(str(kind))
