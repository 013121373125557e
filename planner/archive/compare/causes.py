"""The likely cause of a figure that lies outside its band: one table, the first row that fits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Protocol

from planner.archive.compare.figures import causes


class Signed(Protocol):
    """What the table reads of a difference."""

    @property
    def figure(self) -> str:
        """Its name."""

    @property
    def about(self) -> str:
        """Its run, mix or side."""

    @property
    def run(self) -> str:
        """The hose run of it, empty for the whole job."""

    @property
    def sign(self) -> str | None:
        """Where it lies."""


def cause_of(
    one: Signed, others: Iterable[Signed], *, worked: bool = True, yard: bool = False, held: bool = False
) -> str | None:  # fmt: skip
    """The name of the row that explains `one` by itself and the job's `others`; None where none does.

    `worked` False: a pump was only tested, so nothing can have been put together wrongly. `yard`: a job of the yard.
    `held`: its closed gauge shows where a switch or an unloader opens.
    """
    found = list(others)
    for row in causes():
        if row.worked not in (None, worked) or row.held not in (None, held) or (row.yard and not yard):
            continue
        if one.sign is None or one.sign not in row.of.get(one.figure, ()):
            continue
        if all(_seen(name, one, found) & wanted for name, wanted in row.when.items()):
            return row.name
    return None


def _seen(figure: str, one: Signed, others: list[Signed]) -> frozenset[str]:
    """Signs of another figure: of the same part if it has it, else of the same run; of anything for the whole job."""
    same = [other for other in others if other.figure == figure and other.sign is not None]
    for near in (
        [other for other in same if other.about == one.about],
        [other for other in same if one.run and other.run == one.run],
        [other for other in same if not one.run or not other.run],
    ):
        if near:
            return frozenset(other.sign for other in near if other.sign is not None)
    return frozenset({"-"})


def words() -> Mapping[str, str]:
    """What each cause says."""
    return {row.name: row.says for row in causes()}
