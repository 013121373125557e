"""A yard job asked for: the pump, what is done to it, and what it is soaked in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, get_args

from planner.inputs.models import YardJob
from planner.inputs.models.lists import NO_SPACER, by_stage
from planner.inputs.models.yard import Work
from planner.inputs.reading.names import known_on
from planner.inputs.tables.defaults import default
from planner.interview.answers import Here, choice, key_of, numbered, several, unit_of
from planner.interview.asking import Question, Unfit, Walk
from planner.units import System, Unreadable, show_number

_WORKS: Final = tuple(str(work) for work in get_args(Work))


def yard(here: Here, rig: Mapping[str, Any]) -> Walk[dict[str, Any]]:
    """The keys of a yard job after its name and kind."""
    known = known_on(rig)
    pumps = sorted(known.pumps)
    raw: dict[str, Any] = {}
    raw["pump"] = yield Question(
        key="yard pump",
        about=f"Which pump to work on, of {known.rig}",
        read=choice(pumps, f"pump of rig {known.rig}"),
        blank=None,
        before=numbered(pumps),
    )
    works = yield Question(
        key="yard work",
        about=f"What is done, with commas: {', '.join(_WORKS)}",
        read=several(_WORKS),
        more="`descale` soaks its parts in an acid bath, `rebuild` takes it down and puts new parts in.\n"
        "`test` measures throw, gauge and bucket before and after.",
    )
    raw["work"] = works[0] if len(works) == 1 else list(works)
    if "descale" in works:
        raw |= yield from _bath(here.system)
    raw |= yield from _key("throw", "The throw you paced before", unit_of("length", here.system), "not paced")
    if "rebuild" in works:
        raw |= yield from _parts()
    raw |= yield from _key("notes", "What to know", "", "nothing")
    return raw


def _key(
    name: str, about: str, unit: str, blank: str, more: str = "", beside: Mapping[str, Any] | None = None
) -> Walk[dict[str, Any]]:
    """One key of the job, empty where it is left out."""
    read = key_of(YardJob, name, unit, beside)
    answer = yield Question(key=f"yard {name}", about=about, unit=unit, read=read, blank=blank, more=more)
    return {name: answer} if answer is not None else {}


def _bath(system: System) -> Walk[dict[str, Any]]:
    """How much bath is made, the tub it stands in, and what it is."""
    volume, side = unit_of("volume", system), unit_of("dip", system)
    more = "Water and acid together, as much as covers the parts."
    raw = yield from _key("tub", "How much bath is made (the tub holds more)", volume, _usual_tub(system), more)
    more = "With it the sheet says how high each pour comes on a stick."
    across = yield from _key("across", "Across the tub, inside", side, "not measured", more)
    raw |= across
    if across:
        more = "It shows the room left to the rim."
        raw |= yield from _key("tub_height", "Height of the tub, inside", side, "not measured", more, across)
    usual = f"{100.0 * default('bath_muriatic'):g} vol % muriatic"
    more = f"How strong, and which acid: `{usual}`, or `5 wt % citric`."
    return raw | (yield from _key("bath", "What it is soaked in", "", usual, more))


def _usual_tub(system: System) -> str:
    number, unit = show_number(default("bath_tub"), "volume", system)
    return f"{float(number):g} {unit}"


def _parts() -> Walk[dict[str, Any]]:
    raw: dict[str, Any] = {}
    for name, about, read, more in (
        ("replace", "Parts to replace, with commas", _words, "Such as `diffuser plates, shaft seal`."),
        (
            "spacers",
            "What is known about the spacers, stage by stage, with commas",
            _stages,
            f"From the root of the shaft, such as `2 thin, {NO_SPACER}, 1 thick`; or by number, `4: thick`.",
        ),
    ):
        parts = yield Question(key=f"yard {name}", about=about, read=read, blank="not known", more=more)
        if parts is not None:
            raw[name] = by_stage(", ".join(parts)) if name == "spacers" else list(parts)
    return raw


def _words(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip()) or (text,)


def _stages(text: str) -> tuple[str, ...]:
    """One place a stage, or all with their numbers."""
    try:
        by_stage(text)
    except Unreadable as slip:
        raise Unfit((slip.message, slip.remedy)) from None
    return tuple(part.strip() for part in text.split(","))
