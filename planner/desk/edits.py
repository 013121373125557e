"""What a form sends, as span edits of the file's text: one value put, a key added or dropped, a thing of a list.

A blank value drops its key, and the mapping around it if that was its last. Every edit is read back by
`inputs/reading/spans.py`, which refuses one that would change more than was meant.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from planner.desk.files import Sheet, tree_of
from planner.desk.form import with_usual_unit
from planner.inputs.reading import spans
from planner.inputs.reading.files import is_there, read_file, shown
from planner.inputs.reading.spans import NotAsMeant
from planner.inputs.reading.tree import Node
from planner.interview.text import flow_text
from planner.units import System

_STEP = re.compile(r"([^.\[\]]+)|\[(\d+)\]")


def node_at(root: Node | None, path: str) -> Node | None:
    """The node at a key path, None where there is none."""
    node = root
    for name, number in _STEP.findall(path):
        if node is None or isinstance(node.value, str):
            return None
        if number:
            many = node.value if isinstance(node.value, tuple) else ()
            node = many[int(number)] if int(number) < len(many) else None
        else:
            node = node.value.get(name) if isinstance(node.value, Mapping) else None
    return node


def parent_of(path: str) -> str:
    """The path of what a key or a thing of a list stands in; nothing for the file itself."""
    return path[: path.rindex("[")] if path.endswith("]") else path.rpartition(".")[0]


def changed(sheet: Sheet, values: Sequence[tuple[str, str, bool]]) -> bytes:
    """The text with values put in, each a path, its text, and whether that is YAML as it stands. Raises NotAsMeant.

    One that is still being typed goes into the text as it was before: a box that was empty for a moment keeps its
    place and its comment.
    """
    going_on = len(values) == 1 and values[0][0] == sheet.typing and sheet.undo
    text = sheet.undo[-1].text if going_on else sheet.text
    for path, value, raw in values:
        value = value.strip()
        try:
            text = put(text, sheet, path, value if raw else _usual(_root(text, sheet), sheet, path, value), raw=raw)
        except NotAsMeant as error:
            sheet.refused = {**{at: one.strip() for at, one, _ in values}, path: value}
            sheet.refused_at, sheet.refused_why = path, error.reason
            raise
    return text


def _usual(root: Node | None, sheet: Sheet, path: str, value: str, chemical: str = "") -> str:
    """A bare number with its usual unit, as the questions of a new job or rig take it."""
    node = node_at(root, "kind")
    kind = "yard" if sheet.kind == "job" and node is not None and node.value == "yard" else sheet.kind
    company = next(
        (read_file(one / "company.yaml") for one in sheet.path.parents if is_there(one / "company.yaml")), None
    )
    units = company.mapping.get("units") if company is not None else None
    system: System = "si" if units is not None and units.value == "si" else "us"
    return with_usual_unit(kind, root, path, value, system, chemical)


def put(text: bytes, sheet: Sheet, path: str, value: str, *, raw: bool = False) -> bytes:
    """One value put at a path; nothing drops it. Raises NotAsMeant."""
    root = _root(text, sheet)
    node = node_at(root, path)
    if not value:
        return drop(text, sheet, path) if node is not None else text
    if node is not None and value == (node.value if isinstance(node.value, str) else flow_text(node.plain())):
        return text  # as the form shows it
    if raw and node is not None and not isinstance(node.value, str) and value[0] not in "{[":
        raise NotAsMeant("this box holds more than one value, in braces or brackets")
    if node is not None:
        return _as_fits(lambda one: spans.put(text, path, one), value, raw=raw)
    parent, key = parent_of(path), path[len(parent_of(path)) :].lstrip(".")
    above = node_at(root, parent) if parent else root
    if above is not None and isinstance(above.value, Mapping):
        return _as_fits(lambda one: spans.add_key(text, parent, key, one), value, raw=raw)
    if above is not None or path.endswith("]"):
        raise NotAsMeant(f"there is no place for `{key}` in this file yet")
    # What it stands in is not there either: that is written with this one key in it.
    inner = value if raw else spans.scalar(value, flow=True)
    return put(text, sheet, parent, f"{{{key}: {inner}}}", raw=True)


def _as_fits(made: Callable[[str], bytes], value: str, *, raw: bool) -> bytes:
    """A value as it may stand on a line of its own, else as it may stand in braces. Raises NotAsMeant."""
    if raw:
        return made(value)
    plain, braced = spans.scalar(value, flow=False), spans.scalar(value, flow=True)
    try:
        return made(plain)
    except NotAsMeant:
        if plain == braced:
            raise
        return made(braced)


def drop(text: bytes, sheet: Sheet, path: str) -> bytes:
    """A key or a thing of a list taken out, and what it stood in if nothing else is in that. Raises NotAsMeant."""
    root = _root(text, sheet)
    parent = parent_of(path)
    above = node_at(root, parent) if parent else root
    if above is None or node_at(root, path) is None:
        return text
    if parent and len(above.value) == 1 and not _has_comment(text, parent, path):
        return drop(text, sheet, parent)
    return spans.drop_item(text, path) if path.endswith("]") else spans.drop_key(text, path)


def _has_comment(text: bytes, parent: str, path: str) -> bool:
    """Whether a comment stands behind a key whose values are on lines below: it stays, so the key does."""
    first = spans.lines_of(text, parent)[0]
    return first < spans.lines_of(text, path)[0] and b" #" in text.splitlines()[first - 1]


def added(text: bytes, sheet: Sheet, path: str, values: Mapping[str, tuple[str, bool]] | str) -> bytes:
    """One more thing in the list at a path: a name, or keys with their texts. Raises NotAsMeant."""
    if isinstance(values, str):
        item = spans.scalar(values.strip(), flow=True)
    else:
        root, chemical = _root(text, sheet), values.get("chemical", ("", False))[0].strip()
        given = {
            key: (value.strip() if raw else _usual(root, sheet, f"{path}[+].{key}", value.strip(), chemical), raw)
            for key, (value, raw) in values.items()
            if value.strip()
        }
        if not given:
            raise NotAsMeant("write at least one of its keys first")
        parts = (
            f"{flow_text(key)}: {value if raw else spans.scalar(value, flow=True)}"
            for key, (value, raw) in given.items()
        )
        item = f"{{{', '.join(parts)}}}"
    if node_at(_root(text, sheet), path) is not None:
        return spans.add_item(text, path, item)
    return put(text, sheet, path, f"[{item}]", raw=True)


def moved(text: bytes, sheet: Sheet, path: str, by: int) -> bytes:
    """A name of a list moved up or down among its like. Raises NotAsMeant."""
    root, parent = _root(text, sheet), parent_of(path)
    node, above = node_at(root, path), node_at(root, parent)
    at = int(path[path.rindex("[") + 1 : -1])
    if node is None or above is None or not isinstance(node.value, str) or not 0 <= at + by < len(above.value):
        return text
    made = spans.add_item(spans.drop_item(text, path), parent, spans.scalar(node.value, flow=True), at + by)
    if made.count(b"#") != text.count(b"#"):
        raise NotAsMeant("the comment beside it would be lost; move both in the text")
    return made


def _root(text: bytes, sheet: Sheet) -> Node | None:
    root = tree_of(text, shown(sheet.path)).root
    if root is None:
        raise NotAsMeant("the file cannot be read; put its text right first")
    return root
