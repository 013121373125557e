"""What a page sent beside what is kept by now: another tab, the terminal or a printed packet may have come between.

A page says which plan it shows and what lay in its boxes as it was loaded. Only what was changed on it goes over what
came in since; and an entry is read in the unit that was shown beside its box.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Final

from planner.desk.done.sitting import Sitting, plain
from planner.frozen import dataclass
from planner.inputs.record import Planned
from planner.recording.earlier import earlier_of
from planner.recording.questions import Question
from planner.recording.sources import nested

_MOST_TOLD: Final = 6
"""Figures of another plan that are told one by one (our choice)."""
_MOST_SHOWN: Final = 60
"""Letters of an entry that a note repeats (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a page showed: its plan's `number` and names, and its boxes by their key paths."""

    number: str
    planned: Planned
    questions: Mapping[str, Question]

    @classmethod
    def of(cls, now: Sitting) -> Shown:
        """What a page shows of a record as it is now."""
        return cls(number=str(now.asked.plan["plan"]), planned=now.asked.planned, questions=now.questions)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """What is to be changed, and what to say where something came between: then nothing is recorded yet."""

    changes: Mapping[str, str]
    told: tuple[str, ...] = ()


def was_of(text: str) -> dict[str, str]:
    """What lay in a page's boxes, as it sends that back; nothing where it cannot be read."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return {str(path): str(one) for path, one in found.items()} if isinstance(found, dict) else {}


def sent_over(now: Sitting, shown: Shown, entries: Mapping[str, str], was: Mapping[str, str] | None) -> Sent:
    """Entries of a page laid over what is kept now; `was` is None where it sent only what is being typed."""
    entries = _in_units(shown, entries)
    before = _in_units(shown, was or {})
    told: list[str] = []
    if shown.number != str(now.asked.plan["plan"]):
        entries, lost = _renumbered(shown, now, {path: text for path, text in entries.items() if text})
        before, _ = _renumbered(shown, now, before)
        told += [*_another_plan(shown, now), *lost]
    if was is None:
        return Sent(changes=entries, told=tuple(told))
    changes, texts = {}, now.texts
    for path, text in entries.items():
        old, kept = before.get(path, ""), texts.get(path, "")
        if kept in (old, text):
            changes[path] = text
            continue
        about = now.questions[path].about
        stays = text and (text != old or not kept)
        if stays:
            changes[path] = text
        if kept:
            told.append(f"{about}: {_quoted(kept)} came in meanwhile{f'; {_quoted(text)} stays' if stays else ''}")
        elif shown.number == str(now.asked.plan["plan"]):
            told.append(f"{about}: it was left blank meanwhile; {_quoted(text)} stays")
    return Sent(changes=changes, told=tuple(told))


def _in_units(shown: Shown, entries: Mapping[str, str]) -> dict[str, str]:
    questions = shown.questions
    return {path: plain(text, questions[path].unit) for path, text in entries.items() if path in questions}


def _renumbered(shown: Shown, now: Sitting, entries: Mapping[str, str]) -> tuple[dict[str, str], list[str]]:
    """The same in the boxes of the plan of now, and what has none there."""
    found: dict[str, str] = {}
    lost = []
    for path, text in entries.items():
        one = earlier_of(nested({path: text}), shown.planned, now.asked.planned, now.questions.values()).answers
        found |= one
        lost += [] if one else [f"{shown.questions[path].about}: {_quoted(text)} has no box in this plan"]
    return found, lost


def _another_plan(shown: Shown, now: Sitting) -> list[str]:
    number = str(now.asked.plan["plan"])
    before = {one.about: one for one in shown.questions.values()}
    moved = [
        f"{one.about}: planned {before[one.about].planned or 'nothing'} before, {one.planned or 'nothing'} now"
        for one in now.questions.values()
        if one.about in before and before[one.about].planned != one.planned
    ]
    more = [f"{len(moved) - _MOST_TOLD} more planned figures differ"] if len(moved) > _MOST_TOLD else []
    first = f"the page showed plan {shown.number}, and by now the plan is {number}"
    return [f"{first}; each entry keeps the unit it was typed in", *moved[:_MOST_TOLD], *more]


def _quoted(text: str) -> str:
    return f"`{text[:_MOST_SHOWN]}{'…' if len(text) > _MOST_SHOWN else ''}`"
