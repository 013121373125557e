"""What must never meet: pairs of chemicals, and what a chemical may not touch.

Method: reactivity groups of EPA-600/2-80-076, overridden by substance (its oxidiser group lumps hypochlorite with
peroxide).  Rows of data are handed in; a pair holds both ways round.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

ACIDS: Final = ("muriatic", "oxalic", "citric")
"""The acids among the chemicals a lot can hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two chemicals that must not meet, what comes of it, and the source of that."""

    first: str
    second: str
    gives: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ban:
    """A material a chemical may not touch. `weak_mixes`: it may, below the company's limit and rinsed at once."""

    chemical: str
    material: str
    weak_mixes: Literal["rinse", "never"]
    why: str
    source: str


def meeting(first: str, second: str, pairs: Iterable[Pair]) -> Pair | None:
    """The row of `pairs` that forbids `first` to meet `second`, whichever way round, or None. Source: the row's."""
    for pair in pairs:
        if {pair.first, pair.second} == {first, second}:
            return pair
    return None


def banned(chemical: str, material: str, bans: Iterable[Ban]) -> Ban | None:
    """The row of `bans` that keeps `chemical` from `material`; None: it may touch it. Source: the row's."""
    for ban in bans:
        if ban.chemical == chemical and ban.material == material:
            return ban
    return None
