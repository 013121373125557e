"""Defaults for what nobody wrote, from data/defaults.yaml, in SI."""

from __future__ import annotations

from functools import lru_cache

from planner.inputs.rows import rows
from planner.units import read


@lru_cache(maxsize=1)
def _all() -> dict[str, tuple[float, ...]]:
    table = {}
    for row in rows("defaults"):
        texts = row["value"] if isinstance(row["value"], list) else [row["value"]]
        table[row["name"]] = tuple(read(text, row["dimension"]) for text in texts)
    return table


def default(name: str) -> float:
    """One default in SI."""
    (value,) = _all()[name]
    return value


def default_list(name: str) -> tuple[float, ...]:
    """A default that is a list, such as water temperature by month [K]."""
    return _all()[name]


def defaults() -> dict[str, float | tuple[float, ...]]:
    """All of them by name."""
    return {name: values[0] if len(values) == 1 else values for name, values in _all().items()}
