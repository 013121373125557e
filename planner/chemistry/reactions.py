"""What must never meet: pairs of chemicals.

Method: reactivity groups of EPA-600/2-80-076, overridden by substance (its oxidiser group lumps hypochlorite with
peroxide).  Rows of data are handed in; a pair holds both ways round.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two chemicals that must not meet, what comes of it, and the source of that."""

    first: str
    second: str
    gives: str
    source: str


def meeting(first: str, second: str, pairs: Iterable[Pair]) -> Pair | None:
    """The row of `pairs` that forbids `first` to meet `second`, whichever way round, or None. Source: the row's."""
    for pair in pairs:
        if {pair.first, pair.second} == {first, second}:
            return pair
    return None
