"""Defaults for what nobody wrote, from data/defaults.yaml, and the minutes of data/minutes.yaml, in SI."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from planner.inputs.tables.rows import rows
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


@lru_cache(maxsize=1)
def minute_dimensions() -> Mapping[str, str]:
    """What each row of the minutes is, by name: time, speed, or number for a share."""
    return MappingProxyType({row["name"]: row["dimension"] for row in rows("minutes")})


def read_minute(name: str, text: str) -> float:
    """One of them as written: s, m/s, or a share as a bare number or in percent. Raises Unreadable, KeyError."""
    dimension = minute_dimensions()[name]
    return read(text, "fraction" if dimension == "number" and text.rstrip().endswith("%") else dimension)


@lru_cache(maxsize=1)
def minutes() -> Mapping[str, float]:
    """All the minutes by name: s, the pace of walking m/s, the shares of an open gun [-]."""
    return MappingProxyType({row["name"]: read_minute(row["name"], row["value"]) for row in rows("minutes")})
