"""What a job's last revision, or a draft of one, says, as answers to the questions of the plan it is held against.

What was written under the numbers of the other plan is brought under this one's; what nobody is asked for comes along
(`rest`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field
from typing import Any, TypeAlias

from planner.frozen import dataclass
from planner.inputs.record import Planned, part_number
from planner.recording.questions import Question

Raw: TypeAlias = Mapping[str, Any]
"""A record as it was written, in YAML or on paper: texts in mappings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """Answers by key path, and the `rest`: what was written that nobody is asked for. `lost` names parts of the job
    that the plan has no more."""

    answers: Mapping[str, str] = field(default_factory=dict)
    rest: Raw = field(default_factory=dict)
    lost: tuple[str, ...] = ()


def earlier_of(raw: Raw, then: Planned, now: Planned, asked: Iterable[Question]) -> Earlier:
    """A record as it was written under the plan of `then`, under that of `now`."""
    lost: list[str] = []
    rest = _renumbered(raw, then, now, lost)
    for key in ("job", "plan"):
        rest.pop(key, None)
    answers = {one.path: text for one in asked if (text := _taken(rest, one.path.split("."))) is not None}
    return Earlier(answers=answers, rest=_without_empty(rest), lost=tuple(lost))


def texts_of(raw: Raw, planned: Planned) -> dict[str, str]:
    """Every text of a record as written, by its key path, with runs, mixes and sides by their numbers."""
    return dict(leaves(_renumbered(raw, planned, planned, [])))


def laid_over(above: Raw, below: Raw, planned: Planned) -> dict[str, Any]:
    """Two records of one plan, the first before the second, with runs, mixes and sides by their numbers."""
    return over(_renumbered(above, planned, planned, []), _renumbered(below, planned, planned, []))


def over(own: Mapping[str, Any], below: Mapping[str, Any]) -> dict[str, Any]:
    """Mappings in mappings, the own before those below."""
    merged = {**below, **own}
    for name, value in below.items():
        above = own.get(name)
        if isinstance(above, Mapping) and isinstance(value, Mapping):
            merged[name] = over(above, value)
    return merged


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """What stands at the ends of mappings in mappings, as text by its key path."""
    if isinstance(value, Mapping):
        for name, below in value.items():
            yield from leaves(below, f"{path}.{name}" if path else str(name))
    else:
        yield path, str(value)


def _renumbered(raw: Raw, then: Planned, now: Planned, lost: list[str]) -> dict[str, Any]:
    """A copy in which runs, mixes, sides and stop points go by their numbers in the plan of now."""
    found = {str(name): _copy(value) for name, value in raw.items()}
    before, after, spelled = then.parts(), now.parts(), then.names()
    for key in before:
        written = found.get(key)
        if not isinstance(written, dict):
            continue
        placed: dict[str, Any] = {}
        for name, value in written.items():
            number = part_number(name, spelled[key])
            if number is not None and before[key][number] in after[key]:
                placed[str(after[key].index(before[key][number]) + 1)] = value
            else:
                called = f" ({', '.join(before[key][number])})" if number is not None and name.isdigit() else ""
                lost.append(f"{key}.{name}{called}")
        found[key] = placed
    if isinstance(found.get("initials"), dict):
        found["initials"] = _at_stops(found["initials"], then, now, lost)
    return found


def _at_stops(written: dict[str, Any], then: Planned, now: Planned, lost: list[str]) -> dict[str, Any]:
    """Initials under the numbers of now's stop points. Only one that asks the very same takes them, for they say yes to
    that; of several alike the first is the first, where there are as many."""
    if then.stops == now.stops:
        return written
    keys = [[stop.key for stop in planned.stops or ()] for planned in (then, now)]
    before = {str(stop.number): (stop.key, keys[0][:n].count(stop.key)) for n, stop in enumerate(then.stops or ())}
    after = {(stop.key, keys[1][:n].count(stop.key)): str(stop.number) for n, stop in enumerate(now.stops or ())}
    placed: dict[str, Any] = {}
    for name, value in written.items():
        one = before.get(name)
        if one is not None and one in after and keys[0].count(one[0]) == keys[1].count(one[0]):
            placed[after[one]] = value
        else:
            about = " ".join(part for part in one[0][:2] if part) if one is not None else ""
            lost.append(f"initials.{name}{f' (before {about})' if about else ''}")
    return placed


def _copy(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(name): _copy(below) for name, below in value.items()}
    return [_copy(one) for one in value] if isinstance(value, list) else value


def _taken(at: dict[str, Any], path: list[str]) -> str | None:
    """The text at a path, taken out; a list of words with commas between them. None where nothing of the kind is."""
    *parents, last = path
    for name in parents:
        below = at.get(name)
        if not isinstance(below, dict):
            return None
        at = below
    value = at.get(last)
    if isinstance(value, list) and value and all(isinstance(one, str) and "," not in one for one in value):
        value = ", ".join(value)
    elif isinstance(value, dict) and value and all(isinstance(one, str) and "," not in one for one in value.values()):
        value = ", ".join(f"{name}: {one}" for name, one in value.items())
    if not isinstance(value, str) or not value:
        return None
    del at[last]
    return value


def _without_empty(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    kept = {name: _without_empty(below) for name, below in value.items()}
    return {name: below for name, below in kept.items() if below not in ({}, [])}
