"""What of a pump may lie in a descaling bath, what is kept out of it, and what nobody can say.

The one list that findings and paper both go by. A part is known by the words that somebody wrote of it, read by the
rows `bath_parts` of data/reactions.yaml.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

_SHAFT = "stainless"  # what shafts are made of that may be wiped with acid, if rinsed at once
Fate = Literal["in", "hydrogen", "eaten", "pits", "spoiled"]
_WORD = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class BathPart:
    """One material of a pump and what a bath does to it; `gas` is the metal that gives hydrogen, by its own name.

    `seals`: a pump's seals, packings and plungers are of it, which are no reason for a bath.
    """

    material: str
    fate: Fate
    gas: str | None
    why: str
    seals: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BathParts:
    """A pump's materials: `inside` may lie in the bath, `out` may not, of `unknown` names no table says anything.

    `apart` are those of `out` that give hydrogen and are written as staying out (`kept_out`). `written` False: nobody
    wrote what the pump is made of.
    """

    written: bool
    inside: tuple[BathPart, ...] = ()
    out: tuple[BathPart, ...] = ()
    apart: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def hydrogen(self) -> tuple[BathPart, ...]:
        """What gives hydrogen that burns, and is not written as staying out."""
        return tuple(part for part in self.out if part.fate == "hydrogen" and part.material not in self.apart)

    @property
    def seals(self) -> tuple[BathPart, ...]:
        """What acid would leave alone, but is seals and plungers, which stay out of it."""
        return tuple(part for part in self.inside if part.seals)

    @property
    def nothing_inside(self) -> bool:
        """Whether none of what is written, seals and plungers aside, is known to bear the bath: unknown stays out too.

        What gives hydrogen and is not written as staying out is told first.
        """
        return self.written and len(self.inside) == len(self.seals) and not self.hydrogen

    @property
    def shaft_bears(self) -> bool:
        """Whether a shaft may be wiped with the bath: it may be of stainless, or all that is written bears the acid."""
        if any(part.material == _SHAFT and part.fate in ("in", "pits") for part in (*self.inside, *self.out)):
            return True
        return self.written and bool(self.inside) and not self.out and not self.unknown


def parts_in_bath(
    table: Mapping[str, Any], acid: str, wetted: Sequence[str], spacers: Sequence[str], kept_out: Sequence[str]
) -> BathParts:
    """A pump's parts in a bath of `acid`. Of spacers only what is named counts: mostly it is their thickness alone."""
    rows, fillers = _rows(table), frozenset(table["bath_words"])
    found: dict[str, BathPart] = {}
    unknown: list[str] = []
    for name in wetted:
        named, rest = _named(name, rows)
        found |= {row["material"]: _part(row, acid) for row in named}
        spoiled = any(_part(row, acid).fate != "in" for row in named)
        if not named or (not spoiled and any(word not in fillers for word in rest)):
            unknown.append(name)
    for name in spacers:
        found |= {row["material"]: _part(row, acid) for row in _named(name, rows)[0] if _fate(row, acid) != "in"}
    apart = {row["material"] for name in kept_out for row in _named(name, rows)[0]}
    return BathParts(
        written=bool(wetted),
        inside=tuple(part for part in found.values() if part.fate == "in"),
        out=tuple(part for part in found.values() if part.fate != "in"),
        apart=tuple(part.material for part in found.values() if part.fate == "hydrogen" and part.material in apart),
        unknown=tuple(dict.fromkeys(unknown)),
    )


def hydrogen_metals(table: Mapping[str, Any]) -> tuple[str, ...]:
    """Every material that gives hydrogen in an acid bath, by its table name."""
    return tuple(row["material"] for row in table["bath_parts"] if row["fate"] == "hydrogen")


def _rows(table: Mapping[str, Any]) -> list[tuple[str, Mapping[str, Any]]]:
    """Words with their row, the longest first."""
    pairs = [(word, row) for row in table["bath_parts"] for word in row["words"]]
    return sorted(pairs, key=lambda pair: -len(pair[0]))


def _named(name: str, rows: Sequence[tuple[str, Mapping[str, Any]]]) -> tuple[list[Mapping[str, Any]], list[str]]:
    """The rows that a name's words are in, and the words that are in none; figures are grades and counts."""
    left = f" {' '.join(_WORD.findall(name.casefold()))} "
    found: dict[str, Mapping[str, Any]] = {}
    for word, row in rows:
        if f" {word} " in left:
            found.setdefault(row["material"], row)
            left = left.replace(f" {word} ", " ")
    return list(found.values()), [word for word in left.split() if not re.fullmatch(r"\d+[a-z]?", word)]


def _fate(row: Mapping[str, Any], acid: str) -> Fate:
    fate: Fate = row["fate"] if acid in row.get("acids", (acid,)) else "in"
    return fate


def _part(row: Mapping[str, Any], acid: str) -> BathPart:
    return BathPart(material=row["material"], fate=_fate(row, acid), gas=row.get("gas"), why=row["why"],
                    seals=bool(row.get("seals")))  # fmt: skip
