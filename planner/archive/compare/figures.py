"""Which figures are compared, how far apart they may lie, and what is learned: data/compare.yaml in SI."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from functools import lru_cache

from planner.contract.held import MOST
from planner.frozen import dataclass
from planner.inputs.tables.rows import table
from planner.units import DIMENSIONS, read


def date_of(text: object) -> datetime.date | None:
    """An ISO date; None for anything else."""
    try:
        return datetime.date.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One compared figure: `low` and `high` shares [-] of the planned one, None where the plan has its own band.

    `least` [SI of its dimension] is never called a difference.
    """

    name: str
    of: str
    words: str
    dimension: str
    low: float | None
    high: float | None
    least: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseRow:
    """A likely cause: the figures it explains with the signs they have, and what else must be so.

    `worked`: only where a pump was worked on, or only where it was not; None: either way. `held`: the same of
    runs whose closed gauge a switch or an unloader holds. `yard`: only of yard jobs.
    """

    name: str
    of: Mapping[str, frozenset[str]]
    when: Mapping[str, frozenset[str]]
    says: str
    worked: bool | None = None
    held: bool | None = None
    yard: bool = False


@lru_cache(maxsize=1)
def figures() -> Mapping[str, Figure]:
    """Every figure by name, in the order they are told."""
    return {
        row["name"]: Figure(
            name=row["name"],
            of=row["of"],
            words=row["words"],
            dimension=row["dimension"],
            low=_share(row["low"]),
            high=_share(row["high"]),
            least=read(row["least"], row["dimension"]) if "least" in row else 0.0,
            source=row["source"],
        )
        for row in table("compare")["figures"]
    }


def most_of(figure: str) -> float:
    """The most [SI] that can be meant of a figure, as wherever its dimension is written."""
    kind = DIMENSIONS.get(figures()[figure].dimension)
    return kind.most if kind is not None else MOST


@lru_cache(maxsize=1)
def causes() -> tuple[CauseRow, ...]:
    """The likely causes; the first that fits is meant."""
    return tuple(
        CauseRow(
            name=row["name"],
            of=_signs(row["of"]),
            when=_signs(row["when"]),
            says=row["says"],
            worked=row["worked"] == "yes" if "worked" in row else None,
            held=row["held"] == "yes" if "held" in row else None,
            yard=row.get("yard") == "yes",
        )
        for row in table("compare")["causes"]
    )


def learning(name: str, key: str) -> float:
    """One figure [-] of how learning goes."""
    return read(table("compare")["learning"][name][key], "number")


def _share(text: str) -> float | None:
    return None if text == "plan" else read(text, "number")


def _signs(row: Mapping[str, str]) -> Mapping[str, frozenset[str]]:
    return {name: frozenset(text.split()) for name, text in row.items()}
