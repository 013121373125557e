"""The rows of data/remedies.yaml: how much trouble each change is, and the sizes a shop has."""

from __future__ import annotations

from functools import lru_cache

from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.rows import rows
from planner.units import System, read


@lru_cache(maxsize=1)
def efforts() -> dict[str, int]:
    """Trouble of each kind of change; the less, the sooner it is tried."""
    return {row["kind"]: int(row["effort"]) for row in rows("remedies")}


@lru_cache(maxsize=1)
def _sizes() -> dict[str, tuple[float, ...]]:
    return {
        row["name"]: tuple(read(text, row["dimension"]) for text in row["value"]) for row in rows("remedies", "sizes")
    }


@lru_cache(maxsize=1)
def _bounds() -> dict[str, float]:
    return {row["name"]: read(row["value"], row["dimension"]) for row in rows("remedies", "bounds")}


def bound(name: str) -> float:
    """A figure of the search by its name: a share, or s."""
    return _bounds()[name]


@lru_cache(maxsize=1)
def strongest() -> dict[str, float]:
    """As strong as each chemical is sold [kg/m3]; one that is not named has no bound."""
    return {
        chemical.name: chemical.label.sold_to for chemical in CHEMICALS.values() if chemical.label.sold_to is not None
    }


def sizes(name: str, system: System) -> tuple[float, ...]:
    """The sizes under a name of the table [m], those of one system's shops."""
    return _sizes()[f"{name}_{system}"]
