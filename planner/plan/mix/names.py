"""What a mix is called: chemical and run; by its number and its walls too, where two would bear one name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

_MOST_WALLS: Final = 3


def clash(mixes: Sequence[tuple[str, str, Sequence[str]]], number: int) -> bool:
    """Whether another of a job's `mixes`, each its chemical, its run and its walls, is called as `number`, from 1."""
    return sum(other[:2] == mixes[number - 1][:2] for other in mixes) > 1


def walls_of(walls: Sequence[str]) -> str:
    """What a mix is for: its walls by name, or how many they are."""
    return ", ".join(walls) if len(walls) <= _MOST_WALLS else f"{len(walls)} surfaces"


def told_apart(mixes: Sequence[tuple[str, str, Sequence[str]]], number: int) -> str:
    """The name of mix `number`, from 1, of a job's `mixes`, as for `clash`.

    `hypochlorite, house`; with a second one called so `2: hypochlorite, house: plinth`.
    """
    chemical, run, walls = mixes[number - 1]
    name = f"{chemical}, {run}"
    return f"{number}: {name}: {walls_of(walls)}" if clash(mixes, number) else name
