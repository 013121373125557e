"""A panel of a new rig: its dial as it was tested, at which levels, and once more near empty."""

from __future__ import annotations

from typing import Final

from planner.inputs.models.gear import Tank, quietly
from planner.inputs.models.rig import Dosing, PanelLevels, PanelTest
from planner.inputs.tables.defaults import default
from planner.interview.answers import Here, Reader, choice, refuse_slips, slips_in, unit_of
from planner.interview.asking import Question, Unfit, Walk, with_unit
from planner.interview.rig.keys import NOT_KNOWN, Raw, one, several_keys
from planner.physics.liquids import REFERENCE_DENSITY
from planner.physics.metering import NoPanel
from planner.physics.tanks import full_depth
from planner.plan.mix.panel import TESTED_WITH, legs_of, within
from planner.plan.mix.pouring import tank_volumes
from planner.units import System, show

_LEVELS: Final = ("water", "stock", "flow")
_AGAIN: Final = ("dial", "share", *_LEVELS)


def panel(here: Here, rig: Raw, device: Raw, at: str) -> Walk[None]:
    """The panel's pump and dial, and what its tests were like; without a tested dial it is left out."""
    names = [pump["name"] for pump in rig["pumps"]]
    device["pump"] = names[0]
    if len(names) > 1:
        about = f"Its pump: {', '.join(names)}"
        yield from one(Dosing, device, "pump", at, about, blank=names[0], read=choice(names))
    dial = yield Question(
        key=f"{at} dial", about="Its tested dial marks, as `1 at 4 %, 2 at 9 %`", read=_dial(),
        blank="not tested; the panel is left out",
        more="Two or more, with the tank full: run it into a bucket, and note how much of that came out of the\n"
        "stock jug. Nothing can be planned with an untested dial.",
    )  # fmt: skip
    if dial is None:
        return
    device["dial"] = [point.split(" at ") for point in dial]
    yield from _levels(here, rig, device, at)


def _dial() -> Reader:
    def read(text: str) -> tuple[str, ...]:
        points = []
        for part in text.split(","):
            halves = [half.strip() for half in part.replace("@", " at ").split(" at ")]
            if len(halves) != 2:
                raise Unfit((f"`{part.strip()[:40]}` is not a mark and its share", "write `1 at 4 %, 2 at 9 %`"))
            points.append([halves[0], with_unit(halves[1], "%")])
        refuse_slips(slip for slip in slips_in(Dosing, {"dial": points}) if slip.at[:1] == ("dial",))
        return tuple(" at ".join(point) for point in points)

    return read


def _levels(here: Here, rig: Raw, device: Raw, at: str) -> Walk[None]:
    """How high it sits and what it was tested at: with them paper says how its share moves as tank and drum fall."""
    length, flow = unit_of("length", here.system), unit_of("flow", here.system)
    usual = _pump(rig, device).get("height")
    yield from one(
        Dosing, device, "height", at, "How high the panel sits above the ground", unit=length,
        blank=f"{usual}, as its pump" if usual else "on the ground, as its pump",
    )  # fmt: skip
    yield from one(
        Dosing, device, "drum_floor", at, "How high the floor of its stock drum is above the ground", unit=length,
        blank="not measured",
        more="A panel draws less as its drum empties. Left out, the drum is planned both full and empty.",
    )  # fmt: skip
    levels = yield Question(
        key=f"{at} levels", about="At the test: water and stock over the panel, flow",
        unit=f"{length}, {length}, {flow}", read=_first(here, rig, device), blank=NOT_KNOWN,
        more="How high water and stock were over the panel, such as `3 ft, 1 ft, 8 gpm`; below it with a minus.\n"
        "A panel draws stronger as its water tank falls: with them the packet says how much.",
    )  # fmt: skip
    if levels is None:
        return
    device["at"] = dict(zip(_LEVELS, levels, strict=True))
    again = yield Question(
        key=f"{at} again", about="Near empty: mark at share, water, stock, flow", unit=f"%, {length}, {length}, {flow}",
        read=_second(here, rig, device), blank="not tested again",
        more="One mark tested again with the water 2 ft lower or more, such as\n"
        "`2 at 12 %, 0.5 ft, 1 ft, 8 gpm`. That shows best what the panel loses.",
    )  # fmt: skip
    if again is not None:
        device["again"] = dict(zip(_AGAIN, again, strict=True))


def _first(here: Here, rig: Raw, device: Raw) -> Reader:
    length, flow = unit_of("length", here.system), unit_of("flow", here.system)
    keys = several_keys(PanelLevels, _LEVELS, (length, length, flow), "3 ft, 1 ft, 8 gpm")

    def read(text: str) -> tuple[str, ...]:
        found: tuple[str, ...] = keys(text)
        _refuse_levels(here.system, rig, device, *found[:2])
        return found

    return read


def _second(here: Here, rig: Raw, device: Raw) -> Reader:
    length, flow = unit_of("length", here.system), unit_of("flow", here.system)
    keys = several_keys(PanelTest, _AGAIN, ("", "%", length, length, flow), "2 at 12 %, 0.5 ft, 1 ft, 8 gpm")

    def read(text: str) -> tuple[str, ...]:
        found: tuple[str, ...] = keys(text)
        _refuse_levels(here.system, rig, device, *found[2:4])
        refuse_tests({**device, "again": dict(zip(_AGAIN, found, strict=True))})
        return found

    return read


def refuse_tests(device: Raw) -> None:
    """Raises Unfit for tests, or a loss beside one of them, that no panel can have given."""
    try:
        legs_of(Dosing.model_validate(device), REFERENCE_DENSITY, TESTED_WITH * REFERENCE_DENSITY)
    except NoPanel as wrong:
        if "again" not in device:
            told = "that is too little for a panel that drew so at the levels of its test"
            raise Unfit((told, "read the loss again, or go `back` to the levels")) from None
        told = f"no panel can have given both tests: {wrong}"
        raise Unfit((told, "test again, the water at least 2 ft lower than the first time")) from None


def _refuse_levels(system: System, rig: Raw, device: Raw, water: str, stock: str) -> None:
    """A level over the panel where tank or drum have none: most often the panel's own height is off."""
    tanks = [Tank.model_validate(tank) for tank in rig["tanks"] if tank["holds"] == "water"]
    ground = quietly(_pump(rig, device).get("height"), "length") or 0.0
    over = quietly(device.get("height"), "length")
    over = ground if over is None else over
    depths = [(tank.floor if tank.floor is not None else ground, full_depth(tank_volumes(tank))) for tank in tanks]
    stands = [(floor - over, deep) for floor, deep in depths if deep is not None]
    if len(stands) == len(tanks):  # one without a shape may have been as deep as any
        _refuse_level(system, "water", water, stands, "the tank's floor")
    drum = quietly(device.get("drum_floor"), "length")
    if drum is not None:
        _refuse_level(system, "stock", stock, [(drum - over, default("drum_deep"))], "the drum's floor")


def _refuse_level(system: System, what: str, said: str, stands: list[tuple[float, float]], floor: str) -> None:
    level = quietly(said, "height")
    if level is None or not stands or any(within(level, *one) for one in stands):
        return
    ends = min(low for low, _ in stands), max(low + deep for low, deep in stands)
    low, high = (show(end, "height", system, digits=2) for end in ends)
    raise Unfit(
        (
            f"the {what} was {said} over the panel, and can be only {low} to {high} over it",
            f"measure from the panel up, or go `back` to the panel's height or {floor}",
        )
    )


def _pump(rig: Raw, device: Raw) -> Raw:
    found: Raw = next(pump for pump in rig["pumps"] if pump["name"] == device["pump"])
    return found
