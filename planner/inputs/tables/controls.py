"""How runoff is kept from drains and water: the kinds of data/controls.yaml, all that `control:` takes."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from functools import lru_cache

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import covered_by
from planner.inputs.tables.rows import rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """One way of keeping water out: `keeps` it from these, of the waters in `only` (empty: all) and not in `never`.

    `says` is its name in a sentence, `to` where the water goes, empty where it only stays; `act` what the crew does,
    `with_acid` what they do besides where acid is on the walls.
    """

    kind: str
    says: str
    keeps: tuple[str, ...]
    only: tuple[str, ...]
    never: tuple[str, ...]
    like: tuple[str, ...]
    to: str
    act: str
    with_acid: str

    def holds(self, place: str, water: str) -> bool:
        """Whether it keeps such water from such a place: a chemical by its table name, `flatwork`, or `water`."""
        return (
            place in self.keeps
            and water not in covered_by(self.never)
            and (not self.only or water in covered_by(self.only))
        )


@lru_cache(maxsize=1)
def controls() -> Mapping[str, Control]:
    """Every kind, by its name in a file."""
    return {
        row["kind"]: Control(
            kind=row["kind"],
            says=row["says"],
            keeps=tuple(row["keeps"]),
            only=tuple(row.get("only", ())),
            never=tuple(row.get("never", ())),
            like=tuple(row.get("like", ())),
            to=row.get("to", ""),
            act=row["act"],
            with_acid=row.get("with_acid", ""),
        )
        for row in rows("controls")
    }


def _loose(text: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))


def control_named(text: str) -> str | None:
    """The kind of a text, however its words are joined; None where there is none."""
    return {_loose(kind): kind for kind in controls()}.get(_loose(text))


def meant(text: str) -> list[str]:
    """The kinds somebody may have meant: those whose words are in the text, else the one most like it."""
    words = f" {_loose(text)} "
    found = [
        control.kind
        for control in controls().values()
        if any(f" {_loose(word)} " in words for word in (control.kind, control.says, *control.like))
    ]
    if found:
        return found
    known = {
        _loose(word): control.kind
        for control in controls().values()
        for word in (control.kind, control.says, *control.like)
    }
    return [known[near] for near in difflib.get_close_matches(words.strip()[:60], known, 1, 0.6)]
