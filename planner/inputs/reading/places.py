"""From a slip inside a model to a fault at its line and column."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from pydantic import ValidationError

from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.models.base import TAGS, Location, Slip, Written
from planner.inputs.reading.tree import Node

Made = TypeVar("Made", bound=Written)


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """Key paths, by file, whose values the YAML reader refused already; nothing below them is judged again."""

    paths: frozenset[tuple[str, str]] = frozenset()

    def covers(self, where: Where) -> bool:
        """Whether a place lies at or below a refused one."""
        ends = (match.start() for match in re.finditer(r"$|[.\[]", where.path))  # of the path and of all above it
        return bool(self.paths) and any((where.file, where.path[:end]) in self.paths for end in (0, *ends))


def place(root: Node, at: Location, *, of_key: bool = False) -> Where:
    """Where a path leads: its value, its key if asked, or the parent of what is missing."""
    node, parent_key = root, replace(root.where, line=1, column=1)
    for step in at:
        if step in TAGS:
            continue
        below = _below(node, step)
        if below is None:
            return parent_key
        node = below
        parent_key = node.key or node.where
    if of_key and node.key is not None:
        return node.key
    return node.where if node is not root else parent_key


def _below(node: Node, step: int | str) -> Node | None:
    if isinstance(node.value, Mapping):
        return node.value.get(str(step))
    if isinstance(node.value, tuple) and isinstance(step, int) and step < len(node.value):
        return node.value[step]
    return None


def fault_of(slip: Slip, root: Node) -> Fault:
    """A slip at its place in the file."""
    where = place(root, slip.at, of_key=slip.code == "key.unknown")
    return Fault(code=slip.code, message=slip.message, remedy=slip.remedy, where=where)


def slips_of(error: ValidationError) -> Iterator[Slip]:
    """Every line of a ValidationError as the slip it was made from."""
    for found in error.errors(include_url=False, include_input=False):
        words = found.get("ctx", {})
        yield Slip(
            code=found["type"],
            message=words.get("message", found["msg"]),
            remedy=words.get("remedy", "check what you wrote here"),
            at=found["loc"],
        )


def faults_of(slips: Iterable[Slip], root: Node, refused: Refused) -> list[Fault]:
    """Slips at their places, without those the YAML reader spoke of already."""
    faults = [fault_of(slip, root) for slip in slips]
    return [fault for fault in faults if not refused.covers(fault.where)]


def made(model: type[Made], root: Node, refused: Refused) -> tuple[Made | None, list[Fault]]:
    """The model a tree holds, or None and why not."""
    try:
        return model.model_validate(root.plain()), []
    except ValidationError as error:
        return None, faults_of(slips_of(error), root, refused)


def all_places(root: Node, prefix: str = "") -> dict[str, Where]:
    """Every key path of a tree with the place of its key."""
    found: dict[str, Where] = {}
    waiting = [(prefix, root)]
    while waiting:
        path, node = waiting.pop()
        if path:
            found[path] = node.key or node.where
        if isinstance(node.value, Mapping):
            waiting.extend((f"{path}.{name}" if path else name, below) for name, below in node.value.items())
        elif isinstance(node.value, tuple):
            waiting.extend((f"{path}[{at}]", below) for at, below in enumerate(node.value))
    return found
