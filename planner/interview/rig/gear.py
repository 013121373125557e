"""Tanks, hoses and tips of a new rig."""

from __future__ import annotations

import re
from typing import Any, Final

from planner.inputs.models.bounds import of_stamp
from planner.inputs.models.gear import Hose, Shape, Tank, Tip
from planner.interview.answers import Here, Reader, choice, key_of, numbered, refuse_slips, slips_in, unit_of
from planner.interview.asking import Question, Unfit, Walk
from planner.interview.rig.keys import NO_MORE, Raw, made_of, named, one, several_keys, together

_SHAPES: Final = {
    "upright": ("upright_cylinder", ("diameter",), "Inside diameter", "31 in"),
    "lying": ("horizontal_cylinder", ("diameter", "length"), "Inside diameter x length", "38 in x 56 in"),
    "box": ("box", ("length", "width"), "Inside length x width", "56 in x 40 in"),
}
_TIPS: Final = {
    "solid": ("solid", "throw", "a straight jet: this one reaches"),
    "fan": ("fan", "fan", "it rinses, it never reaches"),
    "surface cleaner": ("surface_cleaner", "spinner", "for flat work"),
}


def tanks(here: Here, rig: Raw) -> Walk[None]:
    """The water tanks, then those for mix."""
    rig["tanks"] = []
    for what, about in (("water", "Water tank: how much it holds, full"), ("mix", "Mix tank, for batches mixed ahead")):
        count = 1
        while True:
            blank = NO_MORE if count > 1 else "none" if what == "water" or rig["tanks"] else None
            at, gallons = f"{what} tank {count}", unit_of("volume", here.system)
            volume = yield Question(
                key=at,
                about=about if count == 1 else f"Another {what} tank",
                unit=gallons,
                read=key_of(Tank, "volume", gallons),
                blank=blank,
                more="By its maker, or by its own marks. A premix is batched in a mix tank; a panel or an\n"
                "injector needs none.",
            )
            if volume is None:
                break
            tank = {"name": (yield from named(here, rig, "tanks", at, what)), "volume": volume, "holds": what}
            yield from _tank(here, tank, at)
            rig["tanks"].append(tank)
            count += 1
    yield from together(here, rig, "tanks")


def _tank(here: Here, tank: Raw, at: str) -> Walk[None]:
    length = unit_of("length", here.system)
    yield from one(
        Tank, tank, "floor", at, f"Its inside floor above the ground ({tank['name']})", unit=length,
        blank="not measured", more="The ground the rig is parked on. Left out, it is planned level with its pump.",
    )  # fmt: skip
    shape = yield Question(
        key=f"{at} shape",
        about=f"Its shape ({tank['name']}): {', '.join(_SHAPES)}",
        read=choice(tuple(_SHAPES)),
        blank="no dipstick",
        more="With it the packet says how many inches each pour is on the stick. `upright` and `lying` are round.",
    )
    if shape is not None:
        kind, sides, about, example = _SHAPES[shape]
        inches = unit_of("dip", here.system)
        found = yield Question(
            key=f"{at} sides",
            about=f"{about} ({tank['name']})",
            unit=" x ".join([inches] * len(sides)),
            read=_sides(tank, kind, sides, inches, example),
            blank="not measured",
            more=f"Such as `{example}`. It must hold what the tank holds, to 3 %.",
        )
        if found is not None:
            tank["shape"] = {"kind": kind, **dict(zip(sides, found, strict=True))}
    if tank["holds"] != "water":
        yield from made_of(Tank, tank, "wetted", at, "What it is made of")


def _sides(tank: Raw, kind: str, sides: tuple[str, ...], unit: str, example: str) -> Reader:
    halves = several_keys(Shape, sides, [unit] * len(sides), example)

    def read(text: str) -> tuple[str, ...]:
        found: tuple[str, ...] = halves(text)
        shape = {"kind": kind, **dict(zip(sides, found, strict=True))}
        refuse_slips(slip for slip in slips_in(Tank, {**tank, "shape": shape}) if slip.at[:1] == ("shape",))
        return found

    return read


def hoses(here: Here, rig: Raw) -> Walk[None]:
    """Every hose between a pump and a tip."""
    rig["hoses"] = []
    bore, length = unit_of("bore", here.system), unit_of("length", here.system)
    while True:
        count = len(rig["hoses"]) + 1
        at = f"hose {count}"
        size = yield Question(
            key=at,
            about="Another hose" if count > 1 else "First hose, pump to gun: inside x length",
            unit=f"{bore} x {length}",
            read=several_keys(Hose, ("bore", "length"), (bore, length), "3/4 in x 200 ft"),
            blank=NO_MORE if count > 1 else None,
            more="Such as `3/4 in x 200 ft`. Bore is the inside. Several lengths joined are one hose.",
        )
        if size is None:
            break
        hose: Raw = {"name": (yield from named(here, rig, "hoses", at, "hose")), "bore": size[0], "length": size[1]}
        yield from one(
            Hose, hose, "rated", at, "Working pressure printed on it", unit=unit_of("pressure", here.system),
            blank="not readable", more="`WP` or `max`, never the burst pressure. Unknown, it cannot be trusted.",
        )  # fmt: skip
        yield from made_of(Hose, hose, "couplings", at, "What its couplings are made of")
        rig["hoses"].append(hose)
    yield from together(here, rig, "hoses")


def tips(here: Here, rig: Raw) -> Walk[None]:
    """Every tip."""
    rig["tips"] = []
    while True:
        count = len(rig["tips"]) + 1
        at = f"tip {count}"
        pattern = yield Question(
            key=at,
            about="Another tip" if count > 1 else "First tip, the main one",
            read=choice(tuple(_TIPS)),
            blank=NO_MORE if count > 1 else None,
            before=numbered(_TIPS, {name: note for name, (_, _, note) in _TIPS.items()}) if count == 1 else (),
        )
        if pattern is None:
            break
        word, usual, _ = _TIPS[pattern]
        tip: Raw = {"name": (yield from named(here, rig, "tips", at, usual)), "pattern": word}
        tip |= yield from _size(here, at, word)
        rig["tips"].append(tip)
    yield from together(here, rig, "tips")


def _size(here: Here, at: str, pattern: str) -> Walk[Raw]:
    drilled = pattern == "solid"
    found: Any = yield Question(
        key=f"{at} size",
        about="Its hole, as `1/4 in`" if drilled else "Its size: `5.5`, or `5 gpm at 40 psi`",
        unit=unit_of("bore", here.system) if drilled else "gpm at 4000 psi",
        read=_sized(here, drilled),
        more="The hole's bore such as `1/4 in`, a rated flow such as `5 gpm at 40 psi`, or `size 5.5`: gpm at\n"
        "4000 psi, as the trade sizes tips. Of `4006` it is what comes after the angle: 6. A surface cleaner's is\n"
        "that of all its nozzles together.",
    )
    names = ("flow", "at") if len(found) > 1 else ("size",) if found[0].replace(".", "").isdigit() else ("orifice",)
    return dict(zip(names, found, strict=True))


def _sized(here: Here, drilled: bool) -> Reader:
    flow, pressure = unit_of("flow", here.system), unit_of("pressure", here.system)
    rated = several_keys(Tip, ("flow", "at"), (flow, pressure), "5 gpm at 40 psi")
    hole, size = key_of(Tip, "orifice", unit_of("bore", here.system)), key_of(Tip, "size")

    def read(text: str) -> tuple[str, ...]:
        plain = text.casefold()
        if re.search(r"\bat\b|@|,", plain):
            return rated(text)  # type: ignore[no-any-return]
        if re.fullmatch(r"[0-9]{4,5}", plain):
            raise Unfit(of_stamp(plain))
        number = re.fullmatch(r"(?:size|no\.?|#)\s*([0-9.]+)", plain)
        if number is not None or (not drilled and re.fullmatch(r"[0-9.]+", plain)):
            return (size(number[1] if number is not None else plain),)
        return (hole(text),)

    return read
