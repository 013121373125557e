"""Keys of a rig's gear asked for: one at a time, several in one answer, and names that nothing else has."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from planner.inputs.models import Rig
from planner.inputs.models.base import Slip
from planner.inputs.models.base import Written as Model
from planner.inputs.reading.names import rig_slips
from planner.interview.answers import Here, Reader, key_of, refuse_slips, slips_in
from planner.interview.asking import Question, Unfit, Walk

Raw = dict[str, Any]

NOT_KNOWN: Final = "not known"
NO_MORE: Final = "no more"
_ON: Final = "on"
_MATERIALS: Final = "write words such as `plastic`, `stainless`, `brass`, `rubber` or `fkm`, or leave it empty"
_BETWEEN: Final = re.compile(r"\s*(?:[x×@]|,(?![0-9]{3}\b)|\bby\b|\bat\b|\bof\b)\s*", re.I)


def one(
    model: type[Model], raw: Raw, name: str, at: str, about: str, *,
    unit: str = "", blank: str | None = NOT_KNOWN, more: str = "", read: Reader | None = None,
) -> Walk[None]:  # fmt: skip
    """One key, put into `raw` where it is answered."""
    reader = read or key_of(model, name, unit, raw)
    answer = yield Question(key=f"{at} {name}", about=about, unit=unit, read=reader, blank=blank, more=more)
    if answer is not None:
        raw[name] = answer


def several_keys(model: type[Model], names: Sequence[str], units: Sequence[str], example: str) -> Reader:
    """Reads several keys out of one answer, such as `3/4 in x 100 ft`."""
    readers = [key_of(model, name, unit) for name, unit in zip(names, units, strict=True)]

    def read(text: str) -> tuple[str, ...]:
        parts = _BETWEEN.split(text)
        if len(parts) != len(names) or not all(parts):
            raise Unfit((f"`{text[:40]}` is not {len(names)} figures", f"write them like `{example}`"))
        try:
            return tuple(reader(part) for reader, part in zip(readers, parts, strict=True))
        except Unfit as unfit:
            try:  # the other way round, as in `200 ft of 1/2 in`: the units tell
                return tuple(reader(part) for reader, part in zip(readers, reversed(parts), strict=True))
            except Unfit:
                raise unfit from None

    return read


def materials(model: type[Model], name: str) -> Reader:
    """Reads what something is made of, words with commas."""

    def read(text: str) -> tuple[str, ...]:
        words = tuple(word.strip() for word in text.split(",") if word.strip()) or (text,)
        slips = [slip for slip in slips_in(model, {name: list(words)}) if slip.at[:1] == (name,)]
        if slips:
            raise Unfit(*((slip.message, _MATERIALS) for slip in slips))
        return words

    return read


def made_of(model: type[Model], raw: Raw, name: str, at: str, about: str) -> Walk[None]:
    """What something is made of; left out it stays unknown, and each mix through it says so."""
    yield from one(
        model, raw, name, at, about, read=materials(model, name),
        more="Such as `plastic`, or `stainless, plastic`. A mix through an unknown material is a caution on every job.",
    )  # fmt: skip
    if name in raw:
        raw[name] = list(raw[name])


def named(here: Here, rig: Raw, part: str, at: str, usual: str) -> Walk[str]:
    """A name that nothing else on the rig has."""

    def wrong(name: str) -> list[Slip]:
        trial = {**rig, part: [*rig.get(part, ()), {"name": name}]}
        place = len(trial[part]) - 1
        slips = [*Rig.rules(trial), *rig_slips(trial, here.desk.stock.raw)]
        return [slip for slip in slips if slip.at[:2] == (part, place) and slip.at[-1:] == ("name",)]

    number, free = 1, usual
    while wrong(free):
        number += 1
        free = f"{usual} {number}"
    key = key_of(dict(_MODELS)[part], "name")

    def read(text: str) -> str:
        given = " ".join(key(text).split())
        refuse_slips(wrong(given))
        return given

    answer = yield Question(key=f"{at} name", about="What the crew calls it", read=read, blank=free)
    return answer or free


def _models() -> Sequence[tuple[str, type[Model]]]:
    from planner.inputs.models.gear import Hose, Pump, Tank, Tip
    from planner.inputs.models.rig import Dosing, Setup

    return (
        ("tanks", Tank), ("pumps", Pump), ("hoses", Hose), ("tips", Tip), ("dosing", Dosing), ("setups", Setup),
    )  # fmt: skip


_MODELS: Final = _models()


def together(here: Here, rig: Mapping[str, Any], part: str) -> Walk[None]:
    """A part tried with all that was said before it; what does not go together is told while one may still go back."""
    slips = [*slips_in(Rig, rig), *rig_slips(rig, here.desk.stock.raw)]
    wrong = [slip for slip in slips if slip.at[:1] == (part,)]
    if not wrong:
        return

    def read(text: str) -> bool:
        if text.casefold() == _ON:
            return True
        raise Unfit(("this does not fit together yet", f"`back` changes an answer, `{_ON}` leaves it to an editor"))

    yield Question(
        key=f"{part} together",
        about=f"This does not fit together; `back`, or `{_ON}` to fix it in an editor",
        read=read,
        before=tuple(f"  {slip.message}; {slip.remedy}" for slip in wrong),
    )
