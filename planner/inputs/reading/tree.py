"""Strict YAML: a tree of text with a place for every node, and every fault of a file at once.

PyYAML's events are read, never its values: `12:30`, `no`, `010` and `1_000`
stay the text that was written until a typed key reads them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from typing import Any

import yaml

from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.reading.yaml_text import (
    Reading,
    control,
    decode,
    events,
    plain_problem,
    take_out_control,
    take_out_tabs,
)

try:
    from yaml import CSafeLoader as _Loader
except ImportError:  # PyYAML without libyaml reads the same, more slowly
    from yaml import SafeLoader as _Loader  # type: ignore[assignment]

Loader: Any = _Loader
LARGEST_FILE = 1 << 20
DEEPEST = 50
MOST_VALUES = 10_000
"""Five times the longest table of ours (our choice)."""
LONGEST_VALUE = 4_000
"""Letters; no key takes as many, and Python turns no longer run of digits into a number (our choice)."""
LONGEST_KEY = 200
LONGEST_PATH = 1_000
"""Letters of a key, which may be a file's name, and of a key's whole path: every value carries its own (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """Text, a list or a mapping with its place; `key` is the place of the key it stands behind."""

    value: str | tuple[Node, ...] | Mapping[str, Node]
    where: Where
    key: Where | None = None

    def plain(self) -> Any:
        """The same as str, list and dict."""
        if isinstance(self.value, str):
            return self.value
        if isinstance(self.value, Mapping):
            return {name: node.plain() for name, node in self.value.items()}
        return [node.plain() for node in self.value]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """One file read: `root` is its mapping or None, `refused` the key paths whose values were refused."""

    file: str
    root: Node | None
    faults: tuple[Fault, ...]
    refused: frozenset[str] = frozenset()

    @property
    def mapping(self) -> Mapping[str, Node]:
        """The nodes under the root's keys."""
        return self.root.value if self.root and isinstance(self.root.value, Mapping) else {}


@dataclass(slots=True)
class _Frame:
    where: Where
    key_place: Where | None
    mapping: dict[str, Node] | None
    items: list[Node]
    flow: bool
    key: str | None = None
    key_where: Where | None = None


def parse_tree(data: bytes, file: str, loader: Any = Loader, *, size: int = 0) -> Tree:
    """The tree of one file's bytes; `file` is the name its places carry, `size` all of it where only part was read."""
    reading = Reading(file=file)
    root: Node | None = None
    if len(data) > LARGEST_FILE:
        message = f"the file holds {max(size, len(data)):,} bytes, more than the {LARGEST_FILE:,} that are read"
        reading.fault("file.size", message, "keep a file under that: split it", reading.where(1, 1))
    elif decode(reading, data):
        take_out_control(reading)
        take_out_tabs(reading, loader)
        try:
            root = _build(reading, loader)
        except yaml.YAMLError as error:
            _yaml_fault(reading, error)
        except RecursionError:
            reading.fault("yaml.depth", "the file is nested too deeply", "nest less deeply", reading.where(1, 1))
    if root is not None and not isinstance(root.value, Mapping):
        reading.fault(
            "file.shape", "the file does not hold keys", "start with a key, such as `name: Heron`", reading.where(1, 1)
        )
        root = None
    elif root is None and not reading.faults:
        reading.fault("file.empty", "the file is empty", "write its keys or remove it", reading.where(1, 1))
    return Tree(file=file, root=root, faults=reading.all_faults(), refused=frozenset(reading.refused))


def _yaml_fault(reading: Reading, error: yaml.YAMLError) -> None:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    message, remedy = plain_problem(str(getattr(error, "problem", None) or ""))
    if "never closed" in message:
        mark = getattr(error, "context_mark", None) or mark  # where the quote opens, not the end of the file
    where = reading.where(mark.line + 1, mark.column + 1) if mark else reading.where(1, 1)
    if where.line in reading.spoiled_lines:
        return  # a tab or a control character on this line was named already, and is the likely cause
    reading.fault("yaml.syntax", message, remedy, where)


def _build(reading: Reading, loader: Any) -> Node | None:
    """The first document's root."""
    builder = _Builder(reading=reading)
    documents = 0
    for event in events(reading.text, loader):
        if isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                where = builder.where(event, "")
                reading.fault("yaml.documents", "a second document starts here", "keep one document in a file", where)
                break
            if event.version or event.tags:
                remedy = "take out the line that starts with `%`"
                reading.fault("yaml.tag", "there is a YAML directive here", remedy, reading.where(1, 1))
        elif isinstance(event, yaml.CollectionEndEvent):
            builder.close()
        elif isinstance(event, yaml.NodeEvent) and not builder.take(event):
            return None
    return builder.root


@dataclass(slots=True)
class _Builder:
    """The tree as far as it has been read: open collections, outermost first, each with its key path."""

    reading: Reading
    root: Node | None = None
    stack: list[_Frame] = field(default_factory=list)
    paths: list[str] = field(default_factory=list)
    count: int = 0

    def where(self, event: Any, path: str) -> Where:
        """The place an event starts at."""
        return self.reading.where(event.start_mark.line + 1, event.start_mark.column + 1, path)

    def take(self, event: Any) -> bool:
        """One node, or the start of one; False where there are too many, or nested too deeply, to go on."""
        frame = self.stack[-1] if self.stack else None
        in_mapping = frame is not None and frame.mapping is not None
        key_next = frame is not None and in_mapping and frame.key is None
        if frame is not None and key_next and isinstance(event, yaml.ScalarEvent):
            _take_key(self.reading, frame, event, self.paths[-1])
            return True
        path = self._path()
        where = self.where(event, path)
        if key_next:
            _odd_key(self.reading, event, where, path)
        self.count += 1
        if self.count > MOST_VALUES:
            message = f"the file holds more than {MOST_VALUES:,} values"
            self.reading.fault("file.size", message, "split it", where)
            return False
        key_place = frame.key_where if frame is not None and in_mapping else None
        _refuse_marks(self.reading, event, where, path)
        if isinstance(event, yaml.ScalarEvent | yaml.AliasEvent):
            self._put(Node(value=_scalar(self.reading, event, where, path, self.stack), where=where, key=key_place))
            return True
        if len(self.stack) >= DEEPEST:
            message = f"this is nested more than {DEEPEST} levels deep"
            self.reading.fault("yaml.depth", message, "nest less deeply", where)
            return False
        mapping: dict[str, Node] | None = {} if isinstance(event, yaml.MappingStartEvent) else None
        flow = bool(event.flow_style)
        self.stack.append(_Frame(where=where, key_place=key_place, mapping=mapping, items=[], flow=flow))
        self.paths.append(path)
        return True

    def close(self) -> None:
        """The innermost collection ends."""
        done = self.stack.pop()
        self.paths.pop()
        value: Any = done.mapping if done.mapping is not None else tuple(done.items)
        self._put(Node(value=value, where=done.where, key=done.key_place))

    def _path(self) -> str:
        if not self.stack:
            return ""
        frame, parent = self.stack[-1], self.paths[-1]
        if frame.mapping is None:
            return f"{parent}[{len(frame.items)}]"[:LONGEST_PATH]
        if frame.key is None:
            return parent
        return f"{parent}.{frame.key}"[:LONGEST_PATH] if parent else frame.key

    def _put(self, node: Node) -> None:
        if not self.stack:
            self.root = node
            return
        frame = self.stack[-1]
        if frame.mapping is None:
            frame.items.append(node)
        elif frame.key is None:
            # What stood in a key's place was refused; the next node is its value.
            frame.key, frame.key_where = "", node.where
        else:
            if frame.key and frame.key not in frame.mapping:
                frame.mapping[frame.key] = node
            frame.key, frame.key_where = None, None


def _take_key(reading: Reading, frame: _Frame, event: Any, parent: str) -> None:
    key = event.value
    where = reading.where(
        event.start_mark.line + 1, event.start_mark.column + 1, f"{parent}.{key}"[:200] if parent else key[:200]
    )
    _refuse_marks(reading, event, where, parent)
    if len(key) > LONGEST_KEY:
        message = f"a key of {len(key):,} letters is too long"
        reading.fault("yaml.key", message, "write a name of the file's own keys", where)
        frame.key, frame.key_where = "", where
        return
    if key == "<<" and not event.style:
        reading.fault("yaml.merge", "there is a merge (`<<`) here", "write the keys out where they belong", where)
        frame.key, frame.key_where = "", where  # only a quoted one is a name
        return
    if not key:
        reading.fault("yaml.key", "there is a value here without a key", "write `key: value`", where)
    elif control(key).search(key) or reading.touched(event):
        reading.refused.add(parent)
    frame.key, frame.key_where = key, where
    earlier = (frame.mapping or {}).get(key)
    if earlier is not None and key:
        line = earlier.key.line if earlier.key else earlier.where.line
        reading.fault(
            "yaml.duplicate", f"`{key}` appears twice here, first on line {line}", "keep one of the two", where
        )


def _odd_key(reading: Reading, event: Any, where: Where, parent: str) -> None:
    """A list, a mapping or an alias where a key must stand: refused, its value read and dropped."""
    reading.refused.add(parent)
    if not isinstance(event, yaml.AliasEvent):
        reading.fault("yaml.key", "a key must be plain words", "write the key as text, such as `name:`", where)


def _refuse_marks(reading: Reading, event: Any, where: Where, path: str) -> None:
    if isinstance(event, yaml.AliasEvent):
        reading.fault("yaml.alias", f"`*{_begun(event.anchor or '')}` is an alias", "write the value out again", where)
        reading.refused.add(path)
        return
    if event.anchor is not None:
        reading.fault("yaml.anchor", f"`&{_begun(event.anchor)}` is an anchor", "take the anchor out", where)
    if event.tag is not None:
        reading.fault(
            "yaml.tag", f"`{_begun(event.tag)}` is a tag", "take the tag out: the key knows its own kind", where
        )


def _begun(text: Any) -> str:
    """A word of the file as a message may hold it."""
    words = str(text)
    return words if len(words) <= LONGEST_KEY else f"{words[:LONGEST_KEY]}..."


def _scalar(reading: Reading, event: Any, where: Where, path: str, stack: list[_Frame]) -> str:
    if isinstance(event, yaml.AliasEvent):
        return "*"
    text: str = event.value
    plain = event.style not in ("'", '"', "|", ">")
    if len(text) > LONGEST_VALUE:
        reading.refused.add(path)
        reading.fault("text.long", f"this is {len(text):,} characters long", "shorten this text", where)
        return ""  # nothing after this need fear its length
    if plain and text in ("", "~"):
        _empty(reading, where, path, stack)
    elif control(text).search(text):
        reading.refused.add(path)
        reading.fault(
            "yaml.control", "an escape here stands for a character that cannot be printed", "take it out", where
        )
    elif reading.taken_out and reading.touched(event):
        reading.refused.add(path)
    return text


def _empty(reading: Reading, where: Where, path: str, stack: list[_Frame]) -> None:
    frame = stack[-1] if stack else None
    if frame is None:
        return
    reading.refused.add(path)
    if frame.mapping and frame.flow and frame.key and re.match(r"\d{3}(?!\d)", frame.key):
        # `{area: 1,200 ft2}`: inside braces the comma ends the value, so say that and nothing about the halves.
        name, last = list(frame.mapping.items())[-1]
        if isinstance(last.value, str) and re.search(r"\d$", last.value):
            reading.refused.add(last.where.path)
            number = f"{_begun(last.value)},{frame.key}"
            frame.key = ""
            reading.fault(
                "yaml.comma",
                f"inside braces the comma cuts `{number}` in two",
                f'put it in quotes, `{name}: "{number}"`, or leave the comma out',
                last.where,
            )
            return
    at = frame.key_where if frame.mapping is not None and frame.key_where else where
    name = f"`{frame.key}`" if frame.mapping is not None else "an item of this list"
    reading.fault("yaml.empty", f"{name} has no value", "write a value, or take the key out", at)
