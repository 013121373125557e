"""A new rig as one form: the questions of `planner new`, walked with what was typed so far.

The walk itself says which question follows from which answer. Where one that needs an answer has none yet, a usual one
takes its place, so that the rest of the form can be shown; a rig is written only from answers of its own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from planner.frozen import dataclass
from planner.interview.answers import Here, here_of
from planner.interview.asking import LONGEST, Question, Unfit
from planner.interview.draft import write_new
from planner.interview.rig.questions import whole_rig
from planner.interview.text import Written

_STAND_INS: Final[Mapping[str, Any]] = {
    "rig": "New rig", "water tank 1": "275 gal", "mix tank 1": "100 gal", "pump 1 drive": "battery",
    "pump 1 flow": "5 gpm", "pump 1 shut_off": "60 psi", "pump 1 best": "10 gpm at 45 psi",
    "pump 1 pressure": "3000 psi", "pump 1 draws": "10 A", "pump 1 volts": "12",
    "hose 1": ("3/4 in", "200 ft"), "tip 1": "solid", "tip 1 size": ("1/4 in",), "dosing 1 water_to_stock": "10",
}  # fmt: skip
"""What an unanswered question is taken as, so that the walk can go on; nothing of it is ever written."""

_SECTIONS: Final = (
    ("The rig", ("rig",)), ("Tanks", ("water tank", "mix tank")), ("Pump", ("pump",)), ("Hose", ("hose",)),
    ("Tip", ("tip",)), ("Panel or injector", ("dosing",)), ("Aboard", ("supply", "power", "carried", "weights")),
)  # fmt: skip
_FIRST: Final = re.compile(
    r"rig|(water|mix) tank 1( name)?"
    r"|pump 1( (name|curve|flow|shut_off|best|pressure|drive|cut_off|unloader|draws|volts))?"
    r"|hose 1( rated)?|tip 1( size)?|dosing 1( (dial|water_to_stock))?|carried eyewash"
)
"""Keys of questions shown at once; every other one waits under `More`."""

_LATER: Final = re.compile(r"(water tank|mix tank|pump|hose|tip|dosing) [2-9].*|setup.*|remembered.*|write|.* together")
"""Questions of a second pump, hose and so on, of setups and of jobs remembered: their usual answer is taken."""

_ROW: Final = re.compile(r" *[0-9]+ (\S.*?)(?:  +(\S.*))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One question as the form has it: what is typed, what may be chosen, and what is wrong with it."""

    key: str
    label: str
    unit: str
    value: str
    blank: str
    hint: str
    options: tuple[tuple[str, str], ...]
    said: str
    needed: bool
    first: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Questions of one part of the rig."""

    title: str
    boxes: tuple[Box, ...]

    @property
    def more(self) -> tuple[Box, ...]:
        """Those that wait."""
        return tuple(box for box in self.boxes if not box.first)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The form so far. `made` is the rig, where every needed answer is given and all go together."""

    sections: tuple[Section, ...]
    faults: tuple[str, ...]
    made: Written | None
    tried: bool = False


def asked_rig(folder: Path, given: Mapping[str, str]) -> Asked:
    """The form with what was typed in it."""
    here = here_of(str(folder / "rigs"), None)
    if isinstance(here, list):
        return Asked(sections=(), faults=tuple(f"{fault.message}; {fault.remedy}" for fault in here), made=None)
    boxes, faults, made, whole = _walked(here, {name: " ".join(text.split()) for name, text in given.items()})
    sections = tuple(
        Section(title=title, boxes=tuple(box for box in boxes if box.key.startswith(begins)))
        for title, begins in _SECTIONS
    )
    sound = whole and not faults and not any(box.said for box in boxes)
    return Asked(
        sections=tuple(part for part in sections if part.boxes), faults=tuple(faults), made=made if sound else None
    )


def written_rig(asked: Asked) -> tuple[Path | None, Asked]:
    """Write the rig; its path, or None and what keeps it from being written. Nothing is overwritten."""
    if asked.made is None:
        return None, replace(asked, tried=True)
    try:
        write_new(asked.made.file, asked.made.text.encode("utf-8"))
    except OSError as error:
        return None, replace(asked, tried=True, faults=(f"The file could not be written: {error.strerror}.",))
    return asked.made.file, asked


def _walked(here: Here, given: Mapping[str, str]) -> tuple[list[Box], list[str], Written | None, bool]:
    """Every question the answers lead to, what does not go together, the rig, and whether nothing was a stand-in."""
    boxes: list[Box] = []
    faults: list[str] = []
    whole, walk = True, whole_rig(here)
    try:
        question = next(walk)
        while True:
            if _LATER.fullmatch(question.key):
                if question.blank is None:
                    lines = list(question.before)
                    while "" in lines:  # a look at the file comes before what is wrong with it
                        lines = lines[lines.index("") + 1 :]
                    faults += map(_sentence, lines)
                question = walk.send(question.blank is None or None)
                continue
            value, said = _value(question, given.get(question.key, ""))
            missing = not given.get(question.key) and question.blank is None
            if said or missing:
                whole = False
                value = _STAND_INS.get(question.key, question.key) if question.key != "pump 1" else _usual(question)
                value = value if question.blank is None else None
            if given.get(question.key) or not _waits(question.key, given):
                boxes.append(_box(question, given.get(question.key, ""), said))
            question = walk.send(value)
    except StopIteration as done:
        return boxes, faults if whole else [], done.value, whole
    except (Unfit, KeyError, ValueError) as error:  # stand-ins and answers need not go together
        if whole:
            raise
        return boxes, [str(error)] if isinstance(error, Unfit) else [], None, False


def _waits(key: str, given: Mapping[str, str]) -> bool:
    """Whether a question follows from one that has no answer yet."""
    return any(key.startswith(f"{first} ") and not given.get(first) for first in ("mix tank 1", "pump 1", "tip 1"))


def _value(question: Question, text: str) -> tuple[Any, str]:
    """What an answer is read to, and what is wrong with it."""
    if not text:
        return None, ""
    if len(text) > LONGEST or not text.isprintable():
        return None, "This cannot be taken as text. Type it again, shorter and without signs no editor shows."
    try:
        return question.read(text), ""
    except Unfit as unfit:
        return None, " ".join(_sentence(f"{message}; {remedy}") for message, remedy in unfit.told)


def _usual(question: Question) -> str:
    return next((name for name, _ in _options(question.before)), "")


def _box(question: Question, text: str, said: str) -> Box:
    options = _options(question.before)
    return Box(
        key=question.key, label=question.about, unit=question.unit.replace("{}", ".."), value=text,
        blank=question.blank or "", hint=question.more, said=said, needed=question.blank is None,
        options=options, first=_FIRST.fullmatch(question.key) is not None,
    )  # fmt: skip


def _options(lines: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """A numbered list as names with their notes; nothing where a line is none of one."""
    found = [match for line in lines if (match := _ROW.fullmatch(line)) is not None]
    return tuple((match[1], match[2] or "") for match in found)


def _sentence(text: str) -> str:
    text = text.strip().replace("`", "")
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith('.') else '.'}"
