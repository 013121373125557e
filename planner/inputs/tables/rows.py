"""The tables of planner/data as plain rows of text, read in a quarter of the strict reader's time."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import yaml

from planner.locate import data_file


@lru_cache(maxsize=32)
def table(name: str) -> dict[str, Any]:
    """A table file as str, list and dict, without places: a test reads every one strictly and finds the same."""
    open_now: list[tuple[dict[str, Any] | list[Any], str | None]] = []
    key: str | None = None
    value: Any = {}
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    for event in yaml.parse(data_file(f"{name}.yaml").read_bytes(), loader):
        if isinstance(event, yaml.CollectionStartEvent):
            open_now.append(({} if isinstance(event, yaml.MappingStartEvent) else [], key))
            key = None
            continue
        if isinstance(event, yaml.CollectionEndEvent):
            value, key = open_now.pop()
        elif isinstance(event, yaml.ScalarEvent):
            value = event.value
        else:
            continue
        if not open_now:
            continue
        within = open_now[-1][0]
        if isinstance(within, list):
            within.append(value)
        elif key is None:
            key = value
        else:
            within[key], key = value, None
    found: dict[str, Any] = value
    return found


def rows(name: str, under: str | None = None) -> list[dict[str, Any]]:
    """The rows of a table: the list under its own name, or under another key of the file."""
    found: list[dict[str, Any]] = table(name)[under or name]
    return found
