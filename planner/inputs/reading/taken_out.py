"""Lines taken out of learned.yaml: a key whose lines are all gone, or whose figure is, says that nothing was learned.

Nowhere else: what somebody writes by hand and leaves empty is a slip, but this file is the program's, and its own head
says that any of its lines may go.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planner.inputs.reading.tree import Node, Tree

_EMPTY = frozenset({"yaml.empty", "file.empty"})
_BESIDE = frozenset({"through"})
"""Keys an entry says something without."""


def without_empty(tree: Tree) -> Tree:
    """A tree without its empty keys, and without the faults that told of them."""
    empty = {fault.where.path for fault in tree.faults if fault.code == "yaml.empty"}
    faults = tuple(fault for fault in tree.faults if fault.code not in _EMPTY)
    if len(faults) == len(tree.faults):
        return tree
    root = _pruned(tree.root, empty) if tree.root is not None else None
    return replace(tree, root=root, faults=faults, refused=frozenset(tree.refused - empty))


def _pruned(node: Node, empty: set[str]) -> Node | None:
    """The node without what is empty in it; None where that leaves nothing that could be read."""
    if not isinstance(node.value, Mapping):
        return node
    gone = {name for name, below in node.value.items() if below.where.path in empty}
    kept = {
        name: found
        for name, below in node.value.items()
        if name not in gone and (found := _pruned(below, empty)) is not None
    }
    entry = all(isinstance(below.value, str) for below in node.value.values())
    if (node.value and not kept) or (entry and gone - _BESIDE):
        return None
    return replace(node, value=kept)
