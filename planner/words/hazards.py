"""The table of hazards, read: signs, wear and statements by chemical and strength, and what else can hurt people."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import CHEMICALS, covered_by
from planner.inputs.tables.rows import rows
from planner.units import System, read
from planner.words.spelling import spelled

_NOISE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class ChemicalHazard:
    """What one chemical does to people as stock or as a mix of at least `least` [kg/m3], and what is worn against it.

    `says` are GHS statement codes, `signs` names of pictograms.
    """

    chemical: str
    form: str
    least: float
    says: tuple[str, ...]
    signs: tuple[str, ...]
    wear: str
    does: str
    source: str


@lru_cache(maxsize=1)
def chemical_hazards() -> tuple[ChemicalHazard, ...]:
    """The rows of chemicals."""
    return tuple(
        ChemicalHazard(
            chemical=chemical.name,
            form=row["form"],
            least=read(row["from"], "concentration"),
            says=tuple(row["says"]),
            signs=tuple(row["signs"]),
            wear=row["wear"],
            does=row["does"],
            source=row["source"],
        )
        for chemical in CHEMICALS.values()
        for row in chemical.hazards
    )


def hazard_of(chemical: str, form: str, strength: float | None = None) -> ChemicalHazard | None:
    """The row of a chemical as `stock` or as a `mix` of a strength [kg/m3]; None where the table has none.

    A strength nobody knows (None) is taken for the strongest there is; one at a row's limit belongs to that row.
    """
    found = [row for row in chemical_hazards() if row.chemical == chemical and row.form == form]
    under = [row for row in found if strength is None or row.least <= strength * (1.0 + _NOISE)]
    return max(under, key=lambda row: row.least) if under else None


@lru_cache(maxsize=1)
def statements() -> Mapping[str, str]:
    """GHS statements by code."""
    return {row["code"]: row["words"] for row in rows("hazards", "statements")}


@lru_cache(maxsize=1)
def place_hazards() -> Mapping[str, Mapping[str, str]]:
    """Hazards of place and gear by key: `hazard`, `control`, `source`."""
    return {row["key"]: row for row in rows("hazards", "place")}


def plain_meetings(chemical: str, system: System) -> list[dict[str, Any]]:
    """What a chemical must not meet that people may bring to it, in plain words as the reader spells them."""
    found = CHEMICALS[chemical].brought if chemical in CHEMICALS else ()
    return [{**row, "meets": spelled(row["meets"], system), "covers": covered_by(row["covers"])} for row in found]


def first_aid(groups: frozenset[str]) -> list[dict[str, str]]:
    """First aid for the groups of chemicals that are really there."""
    return [row for row in rows("hazards", "aid") if row["group"] in groups]
