"""The place asked for: where the water comes from, how the crew gets to the work, what is near enough to be harmed."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import Any, Final

from planner.inputs.models.base import nearest
from planner.inputs.models.job import FlowTest, Water
from planner.inputs.models.site import Access, Near, RoofWork
from planner.inputs.tables.controls import control_named, controls
from planner.interview.answers import Here, Reader, choice, key_of, numbered, refuse_slips, slips_in, unit_of, yes
from planner.interview.asking import Question, Unfit, Walk
from planner.interview.rig.keys import several_keys

Raw = dict[str, Any]

_SOURCES: Final = ("tap", "hydrant", "tank", "pond")
_ANEW: Final = "new"
_RUNNING: Final = ("flow", "pressure")
_GROUND: Final = ("flat", "gentle", "steep")
_NOT_TESTED: Final = "not tested"

_NEAR: Final = {
    "flower_beds": ("flower beds", "beds", "bed", "flowers", "plants", "shrubs", "gardens", "garden"),
    "fish_pond": ("fish pond", "pond"),
    "stream": ("stream", "creek", "brook", "river"),
    "well": ("well",),
    "rain_barrel": ("rain barrel", "barrel"),
    "storm_drain": ("storm drain", "drain"),
    "downspouts": ("downspouts", "downspout"),
    "cars": ("cars", "car"),
    "open_windows": ("open windows", "windows"),
}
_FOOD: Final = re.compile(
    r"\b(vegetables?|veg|veggies?|herbs?|kitchen garden|food|crops?|lettuce|tomato(es)?|(straw)?berr(y|ies)|fruit)\b",
    re.I,
)
"""Words of beds in which food grows; a fruit tree is named so too."""

_FIGURE: Final = {
    "flower_beds": ("area", "Beds in the way of the runoff"),
    "downspouts": ("", "How many downspouts"),
    "open_windows": ("", "Whether windows are open"),
}
_BEDS: Final = re.compile(r"\b(beds?|gardens?|plants|shrubs)\b", re.I)
_RUNS_OFF_TO: Final = frozenset({"fish_pond", "stream", "well", "rain_barrel", "storm_drain"})


def kept_or_new(key: str, what: str, told: str) -> Walk[bool]:
    """Whether something stays as it was on the earlier job."""
    answer = yield Question(
        key=key,
        about=f"{what}: {told}. As then, or `{_ANEW}`",
        read=choice((_ANEW, "as then")),
        blank="as then",
        more=f"`{_ANEW}` asks for all of it again; as then, it is taken from the earlier job.",
    )
    return bool(answer != _ANEW)


def water(here: Here, then: Mapping[str, Any], feeds: Collection[str]) -> Walk[Raw]:
    """Where the water comes from; nothing where it is as it was, or a tap nobody tested."""
    was = _told_water(then)
    fits = "pond" not in feeds and not ("tap" in feeds and "source: " in was and "hydrant" not in was)
    if was and fits and (yield from kept_or_new("water as then", "Water", was)):
        return {}
    if "pond" in feeds:
        source: Any = "pond"
    else:
        sources = ("tap", "hydrant") if "tap" in feeds else _SOURCES
        source = yield Question(
            key="water",
            about=f"Where does the water come from: {', '.join(sources)}",
            read=_source(sources),
            blank="tap",
            more="`tank` is the rig's own water alone, filled before it leaves; a pond needs its level.",
        )
    if source == "tank":
        return {"water": {"source": "tank"}}
    if source == "pond":
        length = unit_of("length", here.system)
        level = yield Question(
            key="water level",
            about="The pond's level from the ground at the rig; below it with a minus",
            unit=length,
            read=key_of(Water, "level", length, {"source": "pond"}),
        )
        return {"water": {"source": "pond", "level": level}}
    tap = yield from _tap(here)
    if source == "hydrant":
        return {"water": {"source": "hydrant", **tap}}
    if tap.keys() == {"bucket"}:
        return {"tap": tap["bucket"]}
    # Of an earlier job's water nothing may come along where today's tap is another or was not looked at.
    return {"water": {"source": "tap", **tap}} if tap or was else {}


def _tap(here: Here) -> Walk[Raw]:
    found: Raw = {}
    pressure = unit_of("pressure", here.system)
    bucket = "5 gal in {} s" if here.system == "us" else "20 L in {} s"
    asked = (
        ("bucket", "Bucket held under the open tap, seconds to fill", bucket),
        ("static", "Gauge at the closed tap", pressure),
    )
    for name, about, unit in asked:
        answer = yield Question(
            key=f"water {name}",
            about=about,
            unit=unit,
            read=key_of(Water, name, unit),
            blank=_NOT_TESTED if name == "bucket" else "not read",
            more="If yours is another bucket, write its size too, such as `4 gal in 38 s`. An untested tap is "
            "planned with the default figures, with a caution.",
        )
        if answer is not None:
            found[name] = answer
    if "static" in found and "bucket" not in found:
        flow = unit_of("flow", here.system)
        running = yield Question(
            key="water flow_test", about="Gauge at the tap while it runs", unit=f"{flow} at {pressure}",
            read=_flow_test(found, flow, pressure), blank=_NOT_TESTED,
            more="A flow meter and a gauge at the faucet, such as `6 gpm at 31 psi`.",
        )  # fmt: skip
        if running is not None:
            found["flow_test"] = dict(zip(_RUNNING, running, strict=True))
    return found


def _flow_test(found: Raw, flow: str, pressure: str) -> Reader:
    halves = several_keys(FlowTest, _RUNNING, (flow, pressure), "6 gpm at 31 psi")

    def read(text: str) -> tuple[str, ...]:
        given: tuple[str, ...] = halves(text)
        refuse_slips(slips_in(Water, {**found, "flow_test": dict(zip(_RUNNING, given, strict=True))}))
        return given

    return read


def _source(sources: Collection[str]) -> Any:
    read = choice(tuple(sources))
    return lambda text: "tap" if text.casefold() in ("not known", "unknown") else read(text)


def _told_water(then: Mapping[str, Any]) -> str:
    if isinstance(then.get("tap"), str):
        return f"tap, {then['tap']}"
    return told_keys(then.get("water"))


def told_keys(raw: object) -> str:
    """A mapping in a few words."""
    if not isinstance(raw, Mapping):
        return ""
    told = []
    for name, value in raw.items():
        inner = f"({told_keys(value)})" if isinstance(value, Mapping) else str(value)
        told.append(f"{name.replace('_', ' ')}: {inner}")
    return ", ".join(told)


def access(here: Here, then: Mapping[str, Any], *, sloping: bool) -> Walk[Raw]:
    """How the crew gets to the work; `sloping`: the ground rises to where it stands."""
    was = told_keys(then.get("access"))
    if was and (yield from kept_or_new("access as then", "Access", was)):
        return {}
    length = unit_of("length", here.system)
    raw: Raw = {}
    line = yield Question(
        key="power line",
        about="Closest that wall, ladder, wand or jet comes to a power line",
        unit=length,
        read=key_of(Access, "power_line", length),
        blank="none near",
        more="Look up on every side. The house's own service line counts.",
    )
    if line is not None:
        raw["power_line"] = line
    ladder = yield Question(
        key="ladder", about="Ladder needed", unit=length, read=key_of(Access, "ladder", length), blank="none"
    )
    if ladder is not None:
        raw["ladder"] = ladder
        sprays = yield Question(key="on ladder", about="Does anyone spray from it", read=yes, blank="no")
        if sprays:
            raw["on_ladder"] = "true"
    if ladder is not None or sloping:
        slope = yield Question(
            key="slope", about="The ground rig and ladder are on: flat, gentle or steep", read=choice(_GROUND),
            blank="not looked at", more="On steep ground the packet asks for chocked wheels and nobody below the rig.",
        )  # fmt: skip
        if slope is not None:
            raw["slope"] = slope
    if (yield Question(key="roof work", about="Does anyone go onto the roof", read=yes, blank="no")):
        roof: Raw = {}
        roof["pitch"] = yield Question(
            key="roof pitch",
            about="The roof's pitch, rise over run",
            read=key_of(RoofWork, "pitch"),
            more="Such as `6/12`.",
        )
        roof["eave"] = yield Question(
            key="roof eave", about="The eave above the ground", unit=length, read=key_of(RoofWork, "eave", length)
        )
        anchor = yield Question(
            key="roof anchor", about="Is fall protection anchored", read=yes, blank="no, and the job is held"
        )
        roof["anchor"] = "true" if anchor else "false"
        raw["roof_work"] = roof
    return {"access": raw} if raw or was else {}


def near(here: Here, then: Mapping[str, Any]) -> Walk[Raw]:
    """What is near enough to be harmed: all of it in one answer, and a figure for each where none was said."""
    was = told_keys(then.get("near"))
    if was and (yield from kept_or_new("near as then", "Near", was)):
        return {}
    names = [name.replace("_", " ") for name in _NEAR]
    example = "beds 400 ft2, drain 40 ft" if here.system == "us" else "beds 40 m2, drain 12 m"
    said = yield Question(
        key="near",
        about="What is near? Numbers or names, with commas",
        read=lambda text: _near(text, here),
        blank="nothing",
        before=numbered(names, columns=3),
        more=f"With its figure it is not asked for again: `{example}`.",
    )
    raw: Raw = {}
    for name, figure in said or ():
        if name == "food":
            raw["food"] = "true"
            continue
        dimension, about = _FIGURE.get(name, ("length", f"Distance to the {name.replace('_', ' ')}"))
        unit = unit_of(dimension, here.system) if dimension else ""
        raw[name] = figure or (
            yield Question(key=f"near {name}", about=about, unit=unit, read=key_of(Near, name, unit))
        )
    if _RUNS_OFF_TO & raw.keys():
        control = yield Question(
            key="near control",
            about="How do you keep runoff out of it? Kinds, with commas",
            read=_control,
            blank="not at all",
            before=numbered(list(controls()), columns=3),
            more="Such as `berm, drain_cover`. Each keeps it out of some of these; flatwork water, or acid, needs one.",
        )
        if control is not None:
            raw["control"] = control.split(", ")
    return {"near": raw} if raw or was else {}


def _control(text: str) -> str:
    """Kinds of control by their names or numbers, with commas."""
    kinds = list(controls())
    parts = [part.strip() for part in text.split(",") if part.strip()] or [text]
    said = [kinds[int(one) - 1] if one.isdecimal() and 0 < int(one[:3]) <= len(kinds) else one for one in parts]
    refuse_slips(slip for slip in slips_in(Near, {"control": said}))
    return ", ".join(dict.fromkeys(control_named(one) or one for one in said))


def _near(text: str, here: Here) -> tuple[tuple[str, str | None], ...]:
    found: dict[str, str | None] = {}
    # A comma before three digits belongs to a number: `1,200 ft2`.
    for part in re.split(r",(?![0-9]{3}(?![0-9]))|;|\band\b", text, flags=re.I):
        words = " ".join(part.split())
        if not words:
            continue
        food = _FOOD.search(words) is not None
        name, figure = _thing(_FOOD.sub("beds", words, count=1) if food and not _BEDS.search(words) else words)
        if food and name == "flower_beds":
            found["food"] = "true"
        if name in found and "food" in found and name == "flower_beds":
            if figure and found[name]:
                raise Unfit(("beds are named twice", "write one area for all of them: `vegetable beds 500 ft2`"))
            if not figure:
                continue
        elif name in found:
            raise Unfit((f"`{name.replace('_', ' ')}` is named twice", "name each once, with the nearest of them"))
        if name == "open_windows":
            found[name] = "true"
        elif figure:
            dimension = _FIGURE.get(name, ("length", ""))[0]
            found[name] = key_of(Near, name, unit_of(dimension, here.system) if dimension else "")(figure)
        else:
            found[name] = None
    if not found:
        raise Unfit(("nothing is named here", "write what is near, or nothing at all"))
    return tuple(found.items())


def _thing(words: str) -> tuple[str, str]:
    """One thing and its figure, empty where none was said."""
    if words.isascii() and words.isdigit():
        names = list(_NEAR)
        if 1 <= int(words[:4]) <= len(names):
            return names[int(words[:4]) - 1], ""
        raise Unfit((f"there is no number {words[:20]} in the list", f"write 1 to {len(names)}, or names"))
    plain = words.replace("_", " ")
    aliases = {alias: name for name, others in _NEAR.items() for alias in others}
    for alias in sorted(aliases, key=len, reverse=True):
        at = re.search(rf"\b{alias}\b", plain, re.I)
        if at is not None:
            rest = " ".join(f"{plain[: at.start()]} {plain[at.end() :]}".split())
            if re.search(r"\b(no|not|none|without)\b", rest, re.I):
                raise Unfit((f"`{words[:60]}` says that it is not near", "leave out what is not near"))
            rest = re.sub(r"\b(away|off|from|the|of|at|a)\b", "", rest, flags=re.I).strip()
            # What kind of bed or pond it is stands before its figure; without a digit there is no figure.
            figure = re.search(r"[-+.]?[0-9½⅓¼¾⅛⅔⅜⅝⅞].*", rest)
            return aliases[alias], figure[0] if figure is not None else ""
    close = nearest(re.sub(r"[0-9].*", "", plain).strip() or plain, aliases)
    known = ", ".join(name.replace("_", " ") for name in _NEAR)
    meant = f"write `{close}` if that was meant; known here: " if close else "known here: "
    raise Unfit((f"this planner does not watch for `{words[:60]}`", f"{meant}{known}"))
