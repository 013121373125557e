"""Surfaces asked for: their kind, their size in whichever way it was measured, their soil."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from planner.inputs.joining.walls import on_the_wall, row_strength
from planner.inputs.models import Job, SurfaceRow
from planner.inputs.models.base import Slip
from planner.inputs.models.job import ChemicalUse, SurfaceInput
from planner.inputs.reading.sizes import net_area, sides_alike, sides_misspelled, surface_names
from planner.inputs.reading.strengths import read_strength
from planner.inputs.tables.chemicals import BLEACH, SOAP, chemical_named
from planner.inputs.tables.spelled import table_kind
from planner.inputs.tables.whole import surface_rows
from planner.interview.answers import (
    Choice,
    Here,
    Reader,
    choice,
    key_of,
    loose,
    numbered,
    refuse_slips,
    slips_in,
    unit_of,
)
from planner.interview.asking import Question, Unfit, Walk, with_unit
from planner.units import System, Unreadable, read, read_rectangle, show
from planner.words.spelling import spelled

Raw = dict[str, Any]

_WALL: Final = {
    "us": "`48 x 22 ft`, `160 ft around x 18 ft`, `gable 35 x 9 ft`, `2 gables 35 x 9 ft`, `1200 ft2`",
    "si": "`14 x 6.5 m`, `48 m around x 5.5 m`, `gable 10 x 3 m`, `2 gables 10 x 3 m`, `110 m2`",
}
_ROOF: Final = {
    "us": "`40 x 30 ft pitch 6/12` (the ground it covers), `8 squares`, `800 ft2` (measured on the slope)",
    "si": "`12 x 9 m pitch 6/12` (the ground it covers), `8 squares`, `75 m2` (measured on the slope)",
}
_FLAT: Final = {"us": "`40 x 20 ft`, `800 ft2`", "si": "`12 x 6 m`, `75 m2`"}
_SOIL: Final = ("light", "medium", "heavy")
_NO_MORE: Final = "no more"
_MATERIAL: Final = key_of(SurfaceRow, "material")


def surfaces(here: Here) -> Walk[list[Raw]]:
    """All surfaces of a job, at least one."""
    rows = here.desk.rows or {}
    shown = {spelled(kind, here.system) if kind in surface_rows() else kind: kind for kind in rows}
    kinds = list(shown)
    found: list[Raw] = []
    while True:
        blank = _NO_MORE if found else None
        kind = yield Question(
            key=f"surface {len(found) + 1}",
            about="Another surface: what is it made of?" if found else "What is washed? First surface, its kind",
            read=_kind(shown, here.system),
            blank=blank,
            before=() if found else numbered(kinds, columns=3),
            more="Number or name of a row of the surface table; a row of your own goes into surfaces.yaml.\n"
            + ("\n".join(numbered(kinds, columns=3)) if found else ""),
        )
        if kind is None:
            return found
        found.append((yield from _surface(here, rows[shown[kind]], kind, found)))


def _kind(shown: Mapping[str, str], system: System) -> Reader:
    """A kind by number or name, in either spelling."""
    return Choice(tuple(shown), "kind in the surface table", lambda text: spelled(text, system))


def _surface(here: Here, row: SurfaceRow, kind: str, before: Sequence[Raw]) -> Walk[Raw]:
    at = f"surface {len(before) + 1}"
    system = here.system
    raw: Raw = {}
    own = surface_names([*before, {"kind": kind}])[-1]
    name = yield Question(
        key=f"{at} name",
        about="What the crew calls it",
        read=_own_name(before, kind),
        blank=own,
        more="Such as `lake side`: it is printed on the card, and keeps two walls of one kind apart.",
    )
    if name is not None:
        raw["name"] = name
    raw["kind"] = kind
    if row.family != "flat":
        side = yield Question(
            key=f"{at} side",
            about="On which side, as said from the street; the back is `rear`",  # the other word goes back
            read=_side(before, dict(raw)),
            blank="not said",
            more="Such as `front`, `left gable`, `rear`: the crew's pages use that name.",
        )
        if side is not None:
            raw["side"] = side
    ways = (_ROOF if row.family == "roof" else _FLAT if row.family == "flat" else _WALL)[system]
    area = unit_of("area", system)
    size = yield Question(
        key=f"{at} size",
        about="Its size",
        read=lambda text: size_of(text, row, system),
        before=(f"  Write {ways}.",),
        more=f"A bare number is in {unit_of('length', system)} or {area}.",
    )
    raw |= size
    if "footprint" in raw:
        if "pitch" not in raw:
            raw["pitch"] = yield Question(
                key=f"{at} pitch",
                about="Its pitch, rise over run",
                read=key_of(SurfaceInput, "pitch"),
                more="Such as `6/12`: the slope is larger than the ground it covers.",
            )
    elif row.family == "wall":
        less = yield Question(
            key=f"{at} less",
            about="Windows and doors to take off",
            unit=area,
            read=_less(dict(raw), area),
            blank="none",
        )
        if less is not None:
            raw["less"] = less
    soil = yield Question(
        key=f"{at} soil", about="How dirty: light, medium or heavy", read=choice(_SOIL), blank="medium"
    )
    if soil is not None:
        raw["soil"] = soil
    if row.family == "roof":
        usual = "leave" if row.leave else "now"
        rinse = yield Question(
            key=f"{at} rinse", about="Rinse it now, or leave it to the rain", read=choice(("now", "leave")), blank=usual
        )
        if rinse is not None:
            raw["rinse"] = rinse
    if row.family == "flat":
        return raw
    trim = yield Question(
        key=f"{at} trim",
        about="Metal, stone or cloth the mix will meet on it",
        read=_trim,
        blank="none",
        more="With commas, such as `aluminum gutters, copper`: the plan says what the mix spoils or what to rinse.",
    )
    if trim is not None:
        raw["trim"] = list(trim)
    return raw


def _trim(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(_MATERIAL(part.strip()) for part in text.split(",") if part.strip()))


def _own_name(before: Sequence[Raw], kind: str) -> Any:
    def read(text: str) -> str:
        name: str = " ".join(key_of(SurfaceInput, "name")(text).split())
        if name in surface_names([*before, {"kind": kind, "name": name}])[:-1]:
            raise Unfit((f"two surfaces are called `{name[:60]}`", "give one another name"))
        if sides_alike([*before, {"kind": kind, "name": name}]):
            raise Unfit((f"`{name[:60]}` is the side of another surface", "give this one another name"))
        return name

    return read


def _side(before: Sequence[Raw], raw: Raw) -> Any:
    def read(text: str) -> str:
        side: str = " ".join(key_of(SurfaceInput, "side")(text).split())
        if sides_alike([*before, {**raw, "side": side}]):
            raise Unfit((f"two surfaces would be called `{side[:60]}` on paper", "write another side, or leave it out"))
        for _, first in sides_misspelled([*before, {"side": side}]):
            said = f"this is the side `{first[:60]}` in other capitals"
            raise Unfit((said, f"write `{first[:60]}`, or another side"))
        return side

    return read


def _less(raw: Raw, unit: str) -> Any:
    def read(text: str) -> str:
        less: str = key_of(SurfaceInput, "less", unit)(text)
        if net_area(SurfaceInput.model_validate({**raw, "less": less})) <= 0:
            raise Unfit(("more comes off it than it has", "write what to take off, such as `120 ft2`"))
        return less

    return read


def size_of(text: str, row: SurfaceRow, system: System) -> Raw:
    """The size's keys as a file has them; raises Unfit. A roof's footprint may still lack its pitch."""
    raw = _size_keys(text, row.family, system)
    pitched = raw if "footprint" not in raw or "pitch" in raw else {**raw, "pitch": "6/12"}
    refuse_slips(slips_in(SurfaceInput, {"kind": row.kind, **pitched}))
    if row.family != "roof" and not raw.keys().isdisjoint(("squares", "footprint")):
        name = next(name for name in ("squares", "footprint") if name in raw)
        raise Unfit((f"`{name}` measures a roof, and {row.kind} is not a roof", "write an area, or width and height"))
    return raw


def _size_keys(text: str, family: str | None, system: System) -> Raw:
    plain = " ".join(text.split())
    length, area = unit_of("length", system), unit_of("area", system)
    if found := re.fullmatch(r"(?:([0-9]{1,4}) )?gables? (?:of )?(.+)", plain, re.I):
        sides = _sides(found[2], length)
        count = {"count": found[1]} if found[1] not in (None, "1") else {}
        return {"gable": " x ".join(sides), **count}
    if found := re.fullmatch(r"(.+?) ?squares?", plain, re.I):
        return {"squares": found[1]}
    if found := re.fullmatch(r"(.+?),? (?:at )?(?:a )?pitch (.+)", plain, re.I):
        return {"footprint": _ground(found[1], length, area), "pitch": found[2]}
    if re.search(r"\ba?round\b", plain, re.I):
        sides = _sides(" ".join(re.sub(r"\b(all )?a?round\b", " ", plain, flags=re.I).split()), length)
        if len(sides) == 2:
            return {"around": sides[0], "height": sides[1]}
        raise Unfit(("a length around needs a height", "write it like `160 ft around x 18 ft`"))
    sides = _sides(plain, length)
    if len(sides) == 1:
        return {"area": with_unit(plain, area)}
    if len(sides) > 2:
        raise Unfit((f"`{plain[:60]}` has {len(sides)} sides", "write two, or an area"))
    if family == "roof":
        return {"footprint": " x ".join(sides)}
    return {"width": sides[0], "height": sides[1]}


def _ground(text: str, length: str, area: str) -> str:
    plain = re.sub(r" ?footprint$", "", text, flags=re.I)
    sides = _sides(plain, length)
    return " x ".join(sides) if len(sides) > 1 else with_unit(plain, area)


def _sides(text: str, length: str) -> list[str]:
    """What stands between the crosses; a bare number takes the unit of its neighbour, else `length`."""
    # An x written close up after a unit is a cross where a number follows: `35ftx9ft`.
    apart = re.sub(r"([0-9] ?[a-z]+)x(?= ?[0-9.])", r"\1 x ", text, flags=re.I)
    sides = [side.strip() for side in re.split(r"×|(?<![a-z])x(?![a-z])|\sby\s", apart, flags=re.I)]
    if len(sides) < 2:
        return sides
    found = [re.fullmatch(r"[0-9][0-9.,/ ]*? ?([a-zA-Z]+|')", side) for side in sides]
    units = [one[1] for one in found if one is not None and _is_length(f"1 {one[1]}")]
    return [with_unit(side, units[-1] if units else length) for side in sides]


def _is_length(text: str) -> bool:
    try:
        read(text, "length")
    except Unreadable:
        return False
    return True


def told(surface: Mapping[str, Any]) -> str:
    """A surface in a few words, for a list of what was there."""
    own = surface.get("side") or surface.get("name")
    name = own or loose(str(surface.get("kind", "")))
    kind = f" ({loose(str(surface['kind']))})" if own and surface.get("kind") else ""
    ways = (
        ("area", "{area}"),
        ("width", "{width} x {height}"),
        ("around", "{around} around x {height}"),
        ("gable", "gable {gable}"),
        ("footprint", "{footprint} at {pitch}"),
        ("squares", "{squares} squares"),
    )
    for key, form in ways:
        if key in surface:
            return f"{name}{kind}, {form.format_map(_Blank(surface))}"
    return f"{name}{kind}"


class _Blank(dict[str, Any]):
    def __missing__(self, key: str) -> str:
        return "?"


# ------------------------------------------------------------ walls
# What all walls of a new job have in common: how high they go, and how strong the mix is on them.


def tallest(walls: Iterable[Any], system: System) -> tuple[str, str]:
    """How high walls and the gables on them go together, and why so; nothing where nobody can say, as of a roof."""
    heights: list[float] = []
    gables: list[float] = []
    for wall in walls:
        if not isinstance(wall, Mapping) or not wall.keys().isdisjoint(("footprint", "squares")):
            return "", ""
        try:
            if "gable" in wall:
                gables.append(read_rectangle(str(wall["gable"]))[1])
            elif "height" in wall:
                heights.append(read(str(wall["height"]), "height"))
        except Unreadable:
            return "", ""
    if not heights:
        return "", ""
    total = show(max(heights) + max(gables, default=0.0), "length", system, toward="up")
    return total, "the tallest wall and the gable on it" if gables else "the tallest wall"


def strength(here: Here, then: Mapping[str, Any], walls: Sequence[Any]) -> Walk[Raw]:
    """How strong the mix is on the walls; not asked where no bleach goes on, or an earlier job lists its chemicals."""
    usual = _usual(here, walls)
    if not usual or "chemicals" in then:
        return {}
    was = then.get("strength")
    answer = yield Question(
        key="strength",
        about="How strong on the wall",
        unit="%",
        read=_strong(here),
        blank=f"{was}, as last time" if isinstance(was, str) else f"the table's, {usual}",
        more="One strength for all its walls, such as `1.2 %`: stronger for heavy growth, weaker near what it spoils.",
    )
    return {"strength": answer} if answer is not None else {}


def _usual(here: Here, walls: Sequence[Any]) -> str:
    """What the table has for each kind that bleach goes on; nothing where there is none."""
    rows = here.desk.rows or {}
    found: dict[str, None] = {}
    for wall in walls:
        row = rows.get(table_kind(str(wall.get("kind")))) if isinstance(wall, Mapping) else None
        if row is None or row.chemical != BLEACH:
            continue
        usual = row_strength(row, str(wall.get("soil", "medium")))
        if usual is not None:
            found[f"{usual.text} on {spelled(row.kind, here.system).replace('_', ' ')}"] = None
    return ", ".join(found)


def _strong(here: Here) -> Reader:
    key = key_of(Job, "strength", "%")
    company = here.desk.company.value

    def read_one(text: str) -> str:
        try:
            given: str = key(text)
        except Unfit as unfit:
            raise Unfit(*((message, "write it like `1.2 %`") for message, _ in unfit.told)) from None
        slips: list[Slip] = []
        if company is not None:
            on_the_wall(read_strength(given), BLEACH, company, (), slips)
        refuse_slips(slips)
        return given

    return read_one


# ------------------------------------------------------------ soap
# Whether soap goes into the mix: asked where bleach goes on walls that most people put some on.


def soap(here: Here, then: Mapping[str, Any], walls: Sequence[Any], asked: Raw) -> Walk[Raw]:
    """What goes on the walls, soap and all; `asked` as it is where none does or an earlier job says what goes on."""
    rows = here.desk.rows or {}
    kinds = [rows.get(table_kind(str(wall.get("kind")))) if isinstance(wall, Mapping) else None for wall in walls]
    soaped = [row for row in kinds if row is not None and row.chemical == BLEACH and row.soap is not None]
    if not soaped or None in kinds or not then.keys().isdisjoint(("chemicals", "strength")):
        return asked
    unit = unit_of("dose", here.system)
    least, most = (show(soaped[0].soap[end], "dose", here.system) for end in (0, 1) if soaped[0].soap)
    dose = yield Question(
        key="soap", about="Soap in the mix", unit=unit, read=key_of(ChemicalUse, "dose", unit, {"stock": SOAP}),
        blank="none, it runs off sooner", before=_shelf(here),
        more=f"Surfactant makes mix cling and wet. The table has {least} to {most}; its label comes first.",
    )  # fmt: skip
    if dose is None:
        return asked
    return {"chemicals": _all(surface_names(walls), [row for row in kinds if row is not None], asked, dose)}


def _shelf(here: Here) -> tuple[str, ...]:
    """What the shelf says of its soap, and what it should."""
    lots = here.desk.stock.value.lots if here.desk.stock.value is not None else ()
    found = [lot for lot in lots if lot.chemical == SOAP]
    if not found:
        return ("  No soap is on your shelf: a lot of it in stock.yaml says its `kind` and `bleach_stable`.",)
    missing = {"kind": "which kind it is", "bleach_stable": "whether bleach may meet it"}
    return tuple(
        f"  {lot.name} does not say {words}: write `{key}` in stock.yaml, as its data sheet says."
        for lot in found
        for key, words in missing.items()
        if getattr(lot, key) is None
    )


def _all(names: Sequence[str], rows: Sequence[SurfaceRow], asked: Raw, dose: str) -> list[Raw]:
    """Every chemical of the table on the walls that take it, and soap where bleach goes on."""
    on: dict[str, list[str]] = {}
    for name, row in zip(names, rows, strict=True):
        if row.chemical is not None:
            on.setdefault(row.chemical, []).append(name)
    told = {chemical.name: word for word in ("bleach", "soap") if (chemical := chemical_named(word)) is not None}

    def use(stock: str, walls: Sequence[str], keys: Raw) -> Raw:
        return {
            "stock": told.get(stock, stock),
            **keys,
            **({"surfaces": list(walls)} if len(walls) < len(names) else {}),
        }

    uses = [use(stock, walls, asked if stock == BLEACH else {}) for stock, walls in on.items()]
    return [*uses, use(SOAP, on[BLEACH], {"dose": dose})]
