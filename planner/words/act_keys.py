"""The words of an act's keys: what is looked at, worn, covered, read, and how a stop point asks for it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any, Literal

from planner.frozen import dataclass
from planner.inputs.joined import RunInput
from planner.inputs.tables.pumps import pump_kinds
from planner.inputs.tables.rows import rows

NAMES = ("RUN", "TANK", "HOSE")
"""What may stand behind a key, or for all of it: a name of the rig."""

_WORDS = frozenset(
    ("step", "full", "dry", "tank", "still_differs", "undo", "undo_water",
     "differs_alone", "differs_water", "soak", "ask", "ask_tap", "ask_valve", "ask_engine", "should", "differs")
)  # fmt: skip


class UnknownKey(ValueError):
    """A key of an act that data/acts.yaml has no words for: the plan made what no page can say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ActKey:
    """One row: `verbs` that take it, and its words; empty where it has none. `named`: a name of the rig is in it.

    `full`: the step where water should stand in the tank; of a strip before any pump had power, `tank`: into a tank,
    `dry`: what drips from a line, `still_differs`: what to do else there. `undo_water`: the uncovering where only
    water was used. `differs_alone`, `differs_water`: what is done where a reading differs by somebody alone, or with
    water alone. `ask_tap`: how a stop point asks it of a line off the tap without a pump, `ask_valve` of one that falls
    out of its tank, `ask_engine` of one on an engine.
    """

    key: str
    named: str
    verbs: frozenset[str]
    step: str = ""
    full: str = ""
    dry: str = ""
    tank: str = ""
    still_differs: str = ""
    undo: str = ""
    undo_water: str = ""
    differs_alone: str = ""
    differs_water: str = ""
    soak: str = ""
    ask: str = ""
    ask_tap: str = ""
    ask_engine: str = ""
    ask_valve: str = ""
    should: str = ""
    differs: str = ""


@lru_cache(maxsize=8)
def act_keys(yard: str = "") -> Mapping[str, ActKey]:
    """Every row by its key without the name: `breaker`, `HOSE`. Raises UnknownKey for a row that is no row.

    `yard`: the kind of pump a job in the yard is about, with the words for it over the others.
    """
    found = {row.key: row for row in map(_row, rows("acts"))}
    if not yard:
        return found
    told = {row["key"]: {name: words for name, words in row.items() if name != "key"} for row in rows("acts", "yard")}
    return found | {key: replace(found[key], **words) for key, words in {**told, **pump_kinds()[yard].acts}.items()}


def _row(given: Mapping[str, Any]) -> ActKey:
    words = {name: value for name, value in given.items() if name not in ("key", "verbs")}
    unknown = set(words) - _WORDS
    if unknown or not given["verbs"]:
        raise UnknownKey(f"data/acts.yaml: {given['key']} has no use for {', '.join(sorted(unknown)) or 'no verbs'}")
    first, _, name = str(given["key"]).partition(" ")
    named = first if first in NAMES else name
    return ActKey(key=first, named=named, verbs=frozenset(given["verbs"]), **words)


def key_of(what: str, verb: str = "", *, hoses: frozenset[str] = frozenset(), yard: str = "") -> tuple[ActKey, str]:
    """The row of a key and the name behind it: `breaker house` is of `breaker RUN`, a hose's name of `HOSE`.

    Raises UnknownKey where there is none, or where the row does not take the verb.
    """
    known = act_keys(yard)
    first, _, name = what.partition(" ")
    row = known.get(what)
    if row is None and what in hoses:
        row, name = known["HOSE"], what
    elif row is None and name and first in known and known[first].named:
        row = known[first]
    if row is None or (row.named and not name) or (verb and verb not in row.verbs):
        raise UnknownKey(f"`{what}` is not a key of data/acts.yaml{f' for {verb}' if verb else ''}")
    return row, name


Opens = Literal["pump", "tap", "valve"]
"""What makes a line run: its pump, else the tap, else the valve of the tank it falls out of."""


def opens(run: RunInput) -> Opens:
    """What makes a run's line run."""
    return "pump" if run.pump is not None else "valve" if run.falls else "tap"


def asked(row: ActKey, lines: Collection[str]) -> str:
    """How a stop point asks for a key, of lines by what turns their pumps; `tap` or `valve` of one that has none."""
    own = {"tap": row.ask_tap, "valve": row.ask_valve, "engine": row.ask_engine or row.ask}
    powered_first = sorted(lines, key=lambda one: one in ("tap", "valve"))
    said = dict.fromkeys(words for one in powered_first if (words := own.get(one, row.ask)))
    return " ".join(said) if (row.ask_tap or row.ask_engine) and said else row.ask


@lru_cache(maxsize=3)
def stop_titles(line: Opens = "pump") -> Mapping[str, str]:
    """The head of a stop point by what it guards, of a line that is run so."""
    return {row["before"]: row.get(f"title_{line}") or row["title"] for row in rows("acts", "stops")}
