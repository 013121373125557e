"""What else a new rig has: its supply hose, its power, what is carried and what it weighs."""

from __future__ import annotations

from typing import Final

from planner.inputs.models.rig import Carried, RigPower, SupplyHose, Weights
from planner.interview.answers import Here, choice, numbered, unit_of, yes
from planner.interview.asking import Question, Walk
from planner.interview.rig.keys import NOT_KNOWN, Raw, one, several_keys, together

_BACKFLOW: Final = {
    "air_gap": "the supply hose ends above the tank's rim",
    "rpz": "a reduced pressure backflow preventer, tested",
    "vacuum_breaker": "on the faucet or in the line",
    "none": "nothing",
}


def aboard(here: Here, rig: Raw) -> Walk[None]:
    """All of it; each part may be passed over, and is then not known."""
    yield from _supply(here, rig)
    yield from _power(here, rig)
    yield from _carried(here, rig)
    yield from _weights(here, rig)


def _supply(here: Here, rig: Raw) -> Walk[None]:
    bore, length = unit_of("bore", here.system), unit_of("length", here.system)
    size = yield Question(
        key="supply",
        about="Supply hose to the faucet: inside x length",
        unit=f"{bore} x {length}",
        read=several_keys(SupplyHose, ("bore", "length"), (bore, length), "3/4 in x 100 ft"),
        blank=NOT_KNOWN,
        more="Such as `3/4 in x 100 ft`. It says how fast the tank fills.",
    )
    if size is None:
        return
    supply: Raw = {"bore": size[0], "length": size[1]}
    backflow = yield Question(
        key="supply backflow",
        about="What keeps chemical out of the faucet",
        read=choice(tuple(_BACKFLOW)),
        blank=NOT_KNOWN,
        before=numbered(_BACKFLOW, _BACKFLOW),
        more="If not known, a run fed straight from the faucet is held, and a tank filled from it is a caution.",
    )
    if backflow is not None:
        supply["backflow"] = backflow
    rig["supply_hose"] = supply
    yield from together(here, rig, "supply_hose")


def _power(here: Here, rig: Raw) -> Walk[None]:
    drives = {pump.get("drive") for pump in rig["pumps"]}
    power: Raw = {}
    if "mains" in drives:
        yield from one(
            RigPower, power, "generator", "power", "What the generator gives all day", unit="W",
            blank="none, or not known", more="Its running watts, not the larger figure it is sold by.",
        )  # fmt: skip
        if not power:
            yield from one(RigPower, power, "breaker", "power", "The outlet's breaker", unit="A")
        yield from one(
            RigPower, power, "gfci", "power", "Is a GFCI on it: yes or no", read=_truth,
            more="Without one every job with this pump is held; if not known, it is a caution.",
        )  # fmt: skip
        yield from one(RigPower, power, "volts", "power", "Its volts", unit="V")
    if "battery" in drives:
        yield from one(
            RigPower, power, "battery", "power", "The battery", unit="Ah",
            more="Amp hours on its label; half of it may be drawn. All of them together.",
        )  # fmt: skip
    if power:
        rig["power"] = power
        yield from together(here, rig, "power")


def _truth(text: str) -> str:
    return "true" if yes(text) else "false"


def _carried(here: Here, rig: Raw) -> Walk[None]:
    carried: Raw = {}
    about = "Eyewash aboard, how much"
    more = "Such as `6 gal`, or `32 fl oz`: sealed bottles count. Stock or acid aboard without any holds every job."
    yield from one(
        Carried, carried, "eyewash", "carried", about, unit=unit_of("volume", here.system), blank="none", more=more
    )
    yield from one(Carried, carried, "spill_kit", "carried", "A spill kit aboard: yes or no", read=_truth)
    yield from one(
        Carried, carried, "ladder", "carried", "The longest ladder", unit=unit_of("length", here.system), blank="none"
    )
    if carried:
        rig["carried"] = carried
        yield from together(here, rig, "carried")


def _weights(here: Here, rig: Raw) -> Walk[None]:
    pounds = unit_of("mass", here.system)
    found = yield Question(
        key="weights",
        about="Weight empty, and the most it may weigh",
        unit=f"{pounds}, {pounds}",
        read=several_keys(Weights, ("empty", "rated"), (pounds, pounds), "3200 lb, 7000 lb"),
        blank="not weighed",
        more="Empty is weighed with dry tanks and all gear aboard, at a scale; the rating is on the plate. Such as\n"
        "`3200, 7000`. If not weighed, no load is checked: 275 gal of water alone weigh 2,300 lb.",
    )
    if found is not None:
        rig["weights"] = {"empty": found[0], "rated": found[1]}
        yield from together(here, rig, "weights")
