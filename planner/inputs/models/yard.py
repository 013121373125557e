"""A yard job: maintenance of the rig's own gear."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Final, Literal

from pydantic import Discriminator, Tag

from planner.frozen import dataclass
from planner.inputs.models.base import LIST_TAG, SOME, TEXT_TAG, Location, Slip, Written, key, nearest
from planner.inputs.models.job import RigChoice, text_or_list
from planner.inputs.models.lists import Listed, Staged
from planner.inputs.models.quantities import (
    BucketText,
    MaterialName,
    Name,
    PositiveLength,
    PositivePressure,
    Reads,
    Words,
)
from planner.inputs.models.site import Accept
from planner.inputs.reading.strengths import UNITS, Strength, read_strength
from planner.inputs.tables.chemicals import CHEMICALS, DRY, BathRow, chemical_named, refused_name
from planner.inputs.tables.materials import almost
from planner.units import DIMENSIONS, Unreadable, read

Work = Literal["descale", "rebuild", "test"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bath:
    """A descaling bath: so strong a mix of which chemical."""

    strength: Strength
    chemical: str


def _bath(text: str) -> Bath:
    words = " ".join(text.split())
    strength, _, name = words.rpartition(" ")
    lead, _, first = strength.rpartition(" ")
    if lead and chemical_named(f"{first} {name}") is not None:  # a chemical of two words
        strength, name = lead, f"{first} {name}"
    chemical = chemical_named(name)
    refused = refused_name(words) if chemical is None else None
    if refused is not None:
        raise Unreadable("chemical.refused", *refused)
    if chemical is None and re.search(r"[A-Za-z]", name) and strength:
        near = nearest(name, CHEMICALS)
        raise Unreadable(
            "name.unknown",
            f"`{name[:60]}` is not a chemical this planner knows",
            f"write `{near}` if that was meant" if near else "end with the chemical, such as `15 vol % muriatic`",
        )
    if chemical is None or not strength:
        raise Unreadable("strength.text", f"`{words[:60]}` does not say of what", "write it like `15 vol % muriatic`")
    row = chemical.bath
    if row is None:
        raise Unreadable(
            "bath.chemical",
            f"`{chemical.name}` takes no scale off",
            "write an acid: `15 vol % muriatic`, or `5 wt % citric`",
        )
    strong = _strong(strength, chemical.name)
    if strong.basis not in row.how:
        raise Unreadable(*_which_strength(strong, chemical.name))
    most = row.most.get(strong.basis)
    if most is not None and strong.amount > most * (1.0 + 1e-9):
        unit = UNITS[strong.basis]
        raise Unreadable(
            "bath.strong",
            f"`{words[:60]}` is more than twice the usual, {most:g} {unit} of {chemical.name}: "
            "no bath is made that strong",
            f"write `{row.usual}`, and soak a second time if that leaves any",
        )
    if strong.amount < row.least[strong.basis] * (1.0 - 1e-9):
        raise _slipped(strong, words, chemical.name, row)
    return Bath(strength=strong, chemical=chemical.name)


def _slipped(read: Strength, words: str, chemical: str, row: BathRow) -> Unreadable:
    """A bath too weak to be meant, with what was likely meant: the point one or two places on, else the usual."""
    least, most = row.range[read.basis]
    meant = next((read.amount * by for by in (10.0, 100.0) if least <= read.amount * by <= most), None)
    likely = f"{meant:g} {UNITS[read.basis]} {chemical}" if meant is not None and ":" not in read.text else row.usual
    return Unreadable(
        "bath.weak",
        f"`{words[:60]}` is hardly stronger than water and used up as soon as it is mixed; no bath may be under "
        f"{row.least[read.basis]:g} {UNITS[read.basis]} of {chemical}",
        f"write `{likely}` if a decimal point slipped, or how strong it is to be",
    )


def _strong(text: str, chemical: str) -> Strength:
    liquid = chemical not in DRY
    example = f"{15 if liquid else 5} {'vol' if liquid else 'wt'} % {chemical}"
    try:
        return read_strength(text)
    except Unreadable as fault:
        if fault.code != "strength.range":
            raise
        raise Unreadable(fault.code, fault.message, f"write how strong, such as `{example}`") from None


def _which_strength(read: Strength, chemical: str) -> tuple[str, str, str]:
    """Code, message and remedy where a strength does not say how much of an acid is in a bath."""
    if chemical in DRY:
        remedy = f"write it like `5 wt % {chemical}`"
        return "strength.basis", f"crystals are weighed, and `{read.text}` is not a weight", remedy
    number = f"{read.amount:g}"
    return (
        "strength.bare" if read.basis == "bare" else "strength.basis",
        f"`{read.text}` does not say how much acid is in it",
        f"write `{number} vol % {chemical}` or `{number} wt % {chemical}`",
    )


LEAST_TUB: Final = 0.000946352946
"""The least bath that is made [m3], a quart: less covers no part of a pump. Common practice, no source."""


def _tub(text: str) -> float:
    volume = read(text, "volume")
    if volume < LEAST_TUB * (1.0 - 1e-9):  # `1 qt` itself passes, however its conversion rounds
        raise Unreadable(
            "quantity.range",
            f"`{text}` is too little for a bath: less than 1 qt covers no part of a pump",
            "write how much is made, such as `5 gal`",
        )
    return volume


TUB_SIDE: Final = (0.1, 1.2192)
"""A tub's inside width and height [m]: 4 in, a jug, to 4 ft, the widest that is still a tub. Common practice, no
source."""


def _side(text: str) -> float:
    length = read(text, "length")
    least, most = TUB_SIDE
    if least * (1.0 - 1e-9) <= length <= most * (1.0 + 1e-9):
        return length
    number = re.match(r"[\d. /]+", text)
    inches = f"{number[0].strip()} in" if number else ""
    try:
        meant = bool(inches) and least <= read(inches, "length") <= most
    except Unreadable:
        meant = False
    raise Unreadable(
        "quantity.range",
        f"`{text}` is not a tub's size: the limits are 4 in to 4 ft, wide and high, inside",
        f"write `{inches}` if inches were meant" if meant else "measure it inside, and write it like `14 in`",
    )


LONGEST_SOAK: Final = 2 * 3600.0
"""The longest anything lies in a bath [s]: by then it is spent, or the parts are. Common practice, no source."""


def _soak(text: str) -> float:
    seconds = read(text, "time")
    if seconds <= 0.0 or seconds > LONGEST_SOAK * (1.0 + 1e-9):
        long = seconds > 0.0
        raise Unreadable(
            "quantity.range",
            f"`{text}` is {'too long: nothing stays in acid over 2 h' if long else 'no time at all'}",
            f"write `15 min`{', look, and soak it again in a new bath if scale is left' if long else ''}",
        )
    return seconds


_VOLUME, _TIME = DIMENSIONS["volume"], DIMENSIONS["time"]
_Soak = Annotated[float, Reads(_soak, (float, int), _TIME.article, _TIME.example)]
_LENGTH = DIMENSIONS["length"]
_Side = Annotated[float, Reads(_side, (float, int), _LENGTH.article, _LENGTH.example)]
_Tub = Annotated[float, Reads(_tub, (float, int), _VOLUME.article, _VOLUME.example)]


class YardJob(Written, defer_build=True):
    """Work on one pump in the yard. `tub` in m3, `soak` in s, `across`, `tub_height`, `throw` in m."""

    what: ClassVar[str] = "a yard job"
    also_written: ClassVar[Mapping[str, str]] = {"parts": "replace", "new_parts": "replace"}
    job: Name = key("What the job is called", "Booster, yearly strip-down")
    kind: Literal["yard"] = key("yard", "yard")
    like: Name | None = key("An earlier job that gives what is left out here", "2025-06-02/90-booster", None)
    rig: RigChoice | None = key("The rig's name, or a whole rig", "Heron", None)
    pump: Name = key("The pump to work on", "booster")
    work: Annotated[
        Annotated[Work, Tag(TEXT_TAG)] | Annotated[tuple[Work, ...], SOME, Tag(LIST_TAG)],
        Discriminator(text_or_list),
    ] = key("descale, rebuild, test, or several", "[descale, rebuild]")
    tub: _Tub | None = key("How much bath is made, water and acid; the tub holds more; default 5 gal", "5 gal", None)
    across: _Side | None = key("Inside diameter of the tub, for its levels", "14 in", None)
    tub_height: _Side | None = key("Inside height of the tub, for the room to its rim", "16 in", None)
    bath: Annotated[Bath | None, Reads(_bath, (Bath,), "a bath", "`15 vol % muriatic`")] = key(
        "What it is soaked in; default 15 vol % muriatic", "15 vol % muriatic", None
    )
    soak: _Soak | None = key("How long it is soaked, 2 h at most; default 15 min", "15 min", None)
    setup: Name | None = key("The setup it is tested on; default the rig's first with this pump", "house", None)
    replace: Listed = key("Parts to replace", "[diffuser plates, shaft seal]", ())
    spacers: Staged = key(
        "What is known about the spacers, stage by stage from the root of the shaft, or by number like `{4: 1 thick}`",
        "[2 thin, 1 thick]",
        (),
    )
    kept_out: tuple[MaterialName, ...] = key(
        "Materials whose parts stay out of the bath, though the pump or its spacers have them", "[aluminium]", ()
    )
    throw: PositiveLength | None = key("The throw you paced before", "38 ft", None)
    gauge: PositivePressure | None = key("The gauge with the gun closed, before: it shows wear", "58 psi", None)
    bucket: BucketText | None = key("A bucket held under the open tip before", "5 gal in 33 s", None)
    notes: Words | None = key("What to know", "left-hand thread on the outer tube", None)
    accept: tuple[Accept, ...] = key(
        "Findings someone accepts", "[{finding: mix.age, reason: tested today, by: owner}]", ()
    )

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """A tub's height says nothing without its width; a spacer's metal is spelled so that it is known."""
        spacers = raw.get("spacers")
        named: dict[Location, Any] = {(): spacers}
        if isinstance(spacers, Mapping | list):
            pairs = spacers.items() if isinstance(spacers, Mapping) else enumerate(spacers)
            named = {(place,): words for place, words in pairs}
        for place, words in named.items():
            wrong = almost(words) if isinstance(words, str) else None
            if wrong is not None:
                yield Slip(code="name.unknown", message=wrong[0], remedy=wrong[1], at=("spacers", *place))
        if "tub_height" in raw and "across" not in raw:
            yield Slip(
                code="key.missing",
                message="`tub_height` without `across`: how high the bath comes follows from both",
                remedy="add the inside diameter, such as `across: 14 in`",
                at=("tub_height",),
            )

    @property
    def works(self) -> tuple[Work, ...]:
        """What is done, in order."""
        return self.work if isinstance(self.work, tuple) else (self.work,)
