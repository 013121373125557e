"""The tables of planner/data as plain rows of text, read by the same strict reader as everything else."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from planner.faults import printed
from planner.inputs.reading.tree import parse_tree
from planner.locate import data_file


@lru_cache(maxsize=32)
def table(name: str) -> dict[str, Any]:
    """A table file as str, list and dict; a fault in our own table is our own error."""
    tree = parse_tree(data_file(f"{name}.yaml").read_bytes(), f"data/{name}.yaml")
    if tree.root is None or tree.faults:
        raise RuntimeError(printed(tree.faults))
    plain: dict[str, Any] = tree.root.plain()
    return plain


def rows(name: str, under: str | None = None) -> list[dict[str, Any]]:
    """The rows of a table: the list under its own name, or under another key of the file."""
    found: list[dict[str, Any]] = table(name)[under or name]
    return found
