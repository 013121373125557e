"""Edits of a file's text at key paths: every other byte stays, and an edit that would change more is refused.

A second pass over the parser's events, made for an edit alone, finds where each value starts and ends. Paths are those
that faults carry, such as `hose_runs[0].hoses`; `""` is the file's own mapping. After each edit the text is read
back: if its tree differs in anything but the place that was meant, if a comment is gone or a fault is new, nothing is
changed.
"""

from __future__ import annotations

import bisect
import json
import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import yaml

from planner.inputs.reading.tree import Loader, Tree, parse_tree
from planner.inputs.reading.yaml_text import (
    GAP,
    Reading,
    Spot,
    Spots,
    Step,
    decode,
    events,
    line_end,
    line_start,
    spots,
    take_out_control,
    take_out_tabs,
)

_Piece = tuple[int, int, str]
"""Start, end and what comes in their place, in the text with plain line ends."""

_MEANT_OTHERWISE: Final = re.compile(r"y|n|yes|no|on|off|null|nan|inf", re.I)
_IN_FLOW: Final = ("[@]", "{a: @}", "{@: a}")
_IN_BLOCK: Final = ("a: @\n", "- @\n", "@: a\n")
_STEP: Final = re.compile(r"(?:^|\.)([^.\[\]]+)|\[([0-9]{1,5})\]")


class NotAsMeant(Exception):
    """An edit that would change more than was meant, or whose text cannot be read; `reason` says why."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


# ------------------------------------------------------------ edits


def put(data: bytes, path: str, text: str) -> bytes:
    """The file with `text`, YAML as it will be there, for the value at a key path. Raises NotAsMeant.

    Text of several lines is a block and goes on lines of its own below the key.
    """
    file = _File.of(data)
    spot = file.at(path)
    value = _meaning(text, flow=file.in_flow(spot))
    return file.changed(_put(file, spot, text), lambda tree: _set(tree, spot.steps, value))


def add_key(data: bytes, mapping_path: str, key: str, text: str) -> bytes:
    """The file with a new key at the end of a mapping, before comments that follow it. Raises NotAsMeant."""
    file = _File.of(data)
    if mapping_path == "" and file.places.root is None:
        return _first_key(file, key, text)
    spot = file.at(mapping_path)
    flow = spot.flow or file.in_flow(spot)
    if spot.empty:
        if "\n" in text:
            raise NotAsMeant(f"`{mapping_path}` has no keys yet, and a block cannot be its first")
        return put(data, mapping_path, f"{{{scalar(key, flow=True)}: {text}}}")
    if spot.kind != "map":
        raise NotAsMeant(f"`{mapping_path}` holds no keys")
    if any(below.steps[-1] == key for below in spot.below):
        raise NotAsMeant(f"`{key}` is there already")
    value = _meaning(text, flow=flow)
    entry = _entry(f"{scalar(key, flow=flow)}:", text, spot.column(file.text))
    pieces = [_appended(file, spot, entry)]
    return file.changed(pieces, lambda tree: _set(tree, (*spot.steps, key), value))


def rename_keys(data: bytes, mapping_path: str, names: Mapping[str, str]) -> bytes:
    """The file with keys of a mapping under other names, two of them swapped if need be; a key that is not there is
    left out. Raises NotAsMeant."""
    file = _File.of(data)
    spot = file.at(mapping_path)
    flow = spot.flow or file.in_flow(spot)
    pieces = [
        (*below.key, scalar(names[str(below.steps[-1])], flow=flow))
        for below in spot.below
        if below.key is not None and below.steps[-1] in names
    ]

    def renamed(tree: Any) -> None:
        mapping = _get(tree, spot.steps)
        kept = {names.get(name, name): value for name, value in mapping.items()}
        if len(kept) < len(mapping):
            raise NotAsMeant(f"`{mapping_path}` would have a key twice")
        mapping.clear()
        mapping.update(kept)

    return file.changed(pieces, renamed) if pieces else data


def add_item(data: bytes, list_path: str, text: str, at: int | None = None) -> bytes:
    """The file with a new item in a list, at its end or before item `at`. Raises NotAsMeant."""
    file = _File.of(data)
    spot = file.at(list_path)
    if spot.empty:
        return put(data, list_path, f"[{text}]")
    if spot.kind != "list":
        raise NotAsMeant(f"`{list_path}` is not a list")
    count = len(spot.below)
    where = count if at is None else at
    if not 0 <= where <= count:
        raise NotAsMeant(f"`{list_path}` has {count} items, so none can come before item {where}")
    value = _meaning(text, flow=spot.flow)
    column = spot.column(file.text)
    entry = text if spot.flow else f"- {_indented(text, column + 2)}"
    if where == count:
        pieces = [_appended(file, spot, entry)]
    else:
        start = spot.below[where].whole
        pieces = [(start, start, f"{entry}, " if spot.flow else f"{entry}\n{' ' * column}")]
    return file.changed(pieces, lambda tree: _get(tree, spot.steps).insert(where, value))


def drop_key(data: bytes, path: str) -> bytes:
    """The file without a key, its value and the comments at its lines' ends. Raises NotAsMeant.

    Comments on lines of their own stay. The last key of a mapping leaves `{}`.
    """
    file = _File.of(data)
    spot = file.at(path)
    if spot.key is None:
        raise NotAsMeant(f"`{path}` is not a key")
    return _dropped(file, spot)


def drop_item(data: bytes, path: str) -> bytes:
    """The file without an item of a list, as `drop_key` takes out a key. Raises NotAsMeant."""
    file = _File.of(data)
    spot = file.at(path)
    if spot.parent is None or spot.parent.kind != "list":
        raise NotAsMeant(f"`{path}` is not an item of a list")
    return _dropped(file, spot)


def edited(data: bytes, edits: Sequence[tuple[str, str | None]]) -> bytes:
    """The file after several edits: text to put or to add at a path that is not there, None to drop. Raises NotAsMeant.

    All paths name the file as it is before the first: values and new ones come in the order given, then what is
    dropped goes from the end of the file to its start.
    """
    drops = []
    file = _File.of(data)
    for path, text in edits:
        if text is None:
            drops.append((file.at(path).start, path))
    for path, text in edits:
        if text is not None:
            data = _put_or_added(data, path, text)
    for _, path in sorted(drops, reverse=True):
        spot = _File.of(data).at(path)
        data = drop_item(data, path) if spot.key is None else drop_key(data, path)
    return data


def lines_of(data: bytes, path: str) -> tuple[int, int]:
    """The first and last line, from 1, of a key and its value. Raises NotAsMeant."""
    file = _File.of(data)
    spot = file.at(path)
    return file.text.count("\n", 0, spot.whole) + 1, file.text.count("\n", 0, max(spot.end, spot.whole)) + 1


def all_lines(data: bytes) -> dict[str, tuple[int, int]]:
    """The same of every key that is written once; nothing of a file that cannot be read."""
    try:
        file = _File.of(data)
    except NotAsMeant:
        return {}
    ends = [match.start() for match in re.finditer("\n", file.text)]
    return {
        path: (bisect_left(ends, spot.whole) + 1, bisect_left(ends, max(spot.end, spot.whole)) + 1)
        for path, spot in file.places.spots.items()
        if spot is not None
    }


def span_of(data: bytes, path: str) -> tuple[int, int]:
    """Where a key and its value start and end, in letters of `data.decode()`. Raises NotAsMeant."""
    file = _File.of(data)
    spot = file.at(path)
    return file.original(spot.whole), file.original(spot.end)


def scalar(text: str, *, flow: bool) -> str:
    """A text as YAML, in double quotes where it would read as anything else; `flow` inside brackets or braces."""
    around = _IN_FLOW if flow else _IN_BLOCK
    if (
        text
        and "\t" not in text
        and not _MEANT_OTHERWISE.fullmatch(text)
        and all(_reads_as(form, text) for form in around)
    ):
        return text
    return json.dumps(text, ensure_ascii=False)


def _reads_as(form: str, text: str) -> bool:
    """Whether a text in its place among scalars `a` reads as itself."""
    try:
        found: list[Any] = [one for one in events(form.replace("@", text), Loader) if isinstance(one, yaml.NodeEvent)][
            1:
        ]
    except (yaml.YAMLError, UnicodeError):
        return False
    if not all(isinstance(one, yaml.ScalarEvent) and not (one.anchor or one.style or one.tag) for one in found):
        return False
    return [one.value for one in found] == [text if word == "@" else word for word in re.findall(r"[a@]", form)]


def _put_or_added(data: bytes, path: str, text: str) -> bytes:
    file = _File.of(data)
    if path in file.places.spots:
        return put(data, path, text)
    steps = list(_STEP.finditer(path))
    if not path or "".join(step[0] for step in steps) != path:
        raise NotAsMeant(f"`{path}` is not a path of keys")
    there, count = "", 0
    for at in range(1, len(steps)):
        begun = "".join(step[0] for step in steps[:at])
        there, count = (begun, at) if begun in file.places.spots else (there, count)
    missing = [step[1] or int(step[2]) for step in steps[count:]]
    first, below = missing[0], missing[1:]
    if below and "\n" in text:
        raise NotAsMeant(f"`{path}` cannot be added as a block: what it belongs to is not there")
    for step in reversed(below):
        if isinstance(step, int) and step:
            raise NotAsMeant(f"`{path}` has no items before it")
        text = f"{{{scalar(step, flow=True)}: {text}}}" if isinstance(step, str) else f"[{text}]"
    if isinstance(first, str):
        return add_key(data, there, first, text)
    if first != len(file.at(there).below):
        raise NotAsMeant(f"`{path}` has no items before it")
    return add_item(data, there, text)


def _first_key(file: _File, key: str, text: str) -> bytes:
    value = _meaning(text, flow=False)
    entry = _entry(f"{scalar(key, flow=False)}:", text, 0)
    start = "" if not file.text or file.text.endswith("\n") else "\n"
    return file.changed([(len(file.text), len(file.text), f"{start}{entry}\n")], lambda tree: tree.update({key: value}))


# ------------------------------------------------------------ places


@dataclass(slots=True, eq=False)
class _File:
    """A file's text, with plain line ends and what may not be in it replaced letter by letter, and its places."""

    data: bytes
    raw: str
    text: str
    tree: Tree
    places: Spots
    carriage: list[int]

    @classmethod
    def of(cls, data: bytes) -> _File:
        """The places of a file, read once for all that is asked of a text. Raises NotAsMeant where it cannot be."""
        found = _read_once(data)
        if isinstance(found, str):
            raise NotAsMeant(found)
        return found

    @classmethod
    def read(cls, data: bytes) -> _File:
        """The same, read anew."""
        tree = parse_tree(data, "", Loader)
        if tree.root is None and any(fault.code != "file.empty" for fault in tree.faults):
            raise NotAsMeant(f"the file cannot be read: {tree.faults[0].message}")
        reading = Reading(file="")
        decode(reading, data)
        raw = reading.text
        take_out_control(reading)
        take_out_tabs(reading, Loader)
        written = data.decode("utf-8").removeprefix("\ufeff")
        carriage = [match.start() - at for at, match in enumerate(re.finditer("\r\n", written))]
        places = spots(reading.text if tree.root is not None else "", Loader)
        if places.odd:
            raise NotAsMeant("a key of this file is more than plain words")
        return cls(data=data, raw=raw, text=reading.text, tree=tree, places=places, carriage=carriage)

    def at(self, path: str) -> Spot:
        """The one place at a path."""
        if path not in self.places.spots:
            raise NotAsMeant(f"`{path}` is not in the file" if path else "the file has no keys yet")
        spot = self.places.spots[path]
        if spot is None:
            raise NotAsMeant(f"`{path}` is in the file more than once")
        return spot

    def in_flow(self, spot: Spot) -> bool:
        """Whether a value is inside brackets or braces."""
        return spot.parent is not None and (spot.parent.flow or self.in_flow(spot.parent))

    def original(self, at: int) -> int:
        """A place of the text as a place in `data.decode()`."""
        mark = self.data.startswith(b"\xef\xbb\xbf")
        return at + bisect.bisect_left(self.carriage, at) + mark

    def comments(self) -> Iterator[tuple[int, str, bool]]:
        """Start and text of each comment, and whether it has its line to itself."""
        at = self.text.find("#")
        while at >= 0:
            inside = bisect.bisect_right(self.places.scalars, (at, len(self.text))) - 1
            if inside >= 0 and at < self.places.scalars[inside][1]:
                at = self.text.find("#", self.places.scalars[inside][1])
                continue
            end = line_end(self.text, at)
            yield at, self.raw[at:end].rstrip(), not self.text[line_start(self.text, at) : at].strip()
            at = self.text.find("#", end)

    def changed(self, pieces: Sequence[_Piece], change: Callable[[Any], object], *, dropped: bool = False) -> bytes:
        """The file with new text in these places, read back against `change` of its tree."""
        written = self.data.decode("utf-8")
        line_end = "\r\n" if self.carriage else "\r" if "\r" in written else "\n"
        done, last = [], 0
        for start, end, text in sorted(pieces, key=lambda piece: piece[:2]):
            done += [written[last : self.original(start)], text.replace("\n", line_end)]
            last = self.original(end)
        try:
            data = "".join([*done, written[last:]]).encode("utf-8")
        except UnicodeError:
            raise NotAsMeant("a letter here cannot be written to a file") from None
        expected = self.tree.root.plain() if self.tree.root is not None else {}
        change(expected)
        self._hold(_File.of(data), expected, pieces if dropped else ())
        return data

    def _hold(self, new: _File, expected: Any, dropped: Sequence[_Piece]) -> None:
        """Refuse what reads otherwise than was meant."""
        worse = Counter(fault.code for fault in new.tree.faults) - Counter(fault.code for fault in self.tree.faults)
        if worse:
            fault = next(fault for fault in new.tree.faults if fault.code in worse)
            raise NotAsMeant(f"then {fault.message}")
        if (new.tree.root.plain() if new.tree.root is not None else {}) != expected:
            raise NotAsMeant("it would change more than was meant")
        gone = Counter(text for _, text, _ in self.comments()) - Counter(text for _, text, _ in new.comments())
        own = Counter(
            text
            for at, text, alone in self.comments()
            if not alone and any(start <= at < end for start, end, _ in dropped)
        )
        if gone - own:
            raise NotAsMeant(f"the comment `{next(iter(gone - own))}` would be lost")


@lru_cache(maxsize=8)
def _read_once(data: bytes) -> _File | str:
    """A file's places, or why they cannot be told."""
    try:
        return _File.read(data)
    except NotAsMeant as error:
        return error.reason


# ------------------------------------------------------------ pieces


def _put(file: _File, spot: Spot, text: str) -> list[_Piece]:
    """What a new value changes of the text."""
    block, parent, after = "\n" in text, spot.parent, _after_mark(file, spot)
    if parent is None:
        raise NotAsMeant("the file itself is not a value")
    if file.in_flow(spot):
        if block:
            raise NotAsMeant("a block cannot be inside brackets or braces")
        return [(after, after, f" {text}") if spot.empty and after is not None else (spot.start, spot.end, text)]
    assert after is not None  # in a block each value has a key or a dash
    column = parent.column(file.text)
    fresh = _block_below(text, column) if block and spot.key is not None else f" {_indented(text, column + 2)}"
    if "\n" in file.text[after : spot.start] and not spot.empty:  # a block on lines of its own
        end = line_end(file.text, after)
        return [(end, end, fresh) if block else (after, after, fresh), *_lines_out(file, spot.start, spot.end)]
    if spot.empty:
        end = line_end(file.text, after)
        return [(end, end, fresh) if block and spot.key is not None else (after, after, fresh)]
    if block and spot.key is not None:
        end = line_end(file.text, spot.end)
        return [(after, spot.end, ""), (end, end, fresh)]
    return [(spot.start, spot.end, fresh[1:])]


def _after_mark(file: _File, spot: Spot) -> int | None:
    """Behind the colon or the dash that a value follows."""
    if spot.key is not None:
        colon = re.compile(r" *:").match(file.text, spot.key[1])
        if colon is None:
            raise NotAsMeant(f"`{spot.path}` has no colon behind its key")
        return colon.end()
    return spot.dash + 1 if spot.dash is not None else None


def _entry(mark: str, text: str, column: int) -> str:
    return f"{mark}{_block_below(text, column)}" if "\n" in text else f"{mark} {text}"


def _block_below(text: str, column: int) -> str:
    indent = " " * (column + 2)
    return "\n" + indent + _indented(text, column + 2)


def _indented(text: str, column: int) -> str:
    return text.rstrip("\n").replace("\n", "\n" + " " * column)


def _appended(file: _File, spot: Spot, entry: str) -> _Piece:
    """A new entry behind the last of a collection."""
    if spot.flow:
        if not spot.below:
            return spot.start + 1, spot.end - 1, entry
        last = spot.below[-1].end
        return last, last, f", {entry}"
    end = line_end(file.text, spot.end)
    return end, end, f"\n{' ' * spot.column(file.text)}{entry}"


def _dropped(file: _File, spot: Spot) -> bytes:
    parent = spot.parent
    if parent is None:
        raise NotAsMeant("the file itself cannot be taken out")
    if len(parent.below) > 1:
        pieces = _flow_out(file, parent, spot) if parent.flow else _block_out(file, parent, spot)
    elif parent.parent is None:
        raise NotAsMeant(f"`{spot.path}` is the file's only key")
    else:
        pieces = _put(file, parent, "{}" if parent.kind == "map" else "[]")
    return file.changed(pieces, lambda tree: _get(tree, parent.steps).__delitem__(spot.steps[-1]), dropped=True)


def _block_out(file: _File, parent: Spot, spot: Spot) -> list[_Piece]:
    first = line_start(file.text, spot.whole)
    if not file.text[first : spot.whole].strip():
        return _lines_out(file, spot.whole, spot.end)
    # It shares its line with a dash: the next one moves up to it.
    at = parent.below.index(spot)
    if at + 1 == len(parent.below):
        raise NotAsMeant(f"`{spot.path}` cannot be taken out by itself here")
    return [(spot.whole, parent.below[at + 1].whole, "")]


def _lines_out(file: _File, start: int, end: int) -> list[_Piece]:
    """Whole lines taken out, those kept that hold nothing but a comment."""
    text, kept = file.text, {line_start(file.text, at) for at, _, alone in file.comments() if alone}
    pieces, at, stop = list[_Piece](), line_start(text, start), max(start, end)
    while at <= stop:
        after = line_end(text, at) + 1
        if at not in kept:
            begin = pieces.pop()[0] if pieces and pieces[-1][1] == at else at
            pieces.append((begin, after, ""))
        at = after
    if pieces and pieces[-1][1] > len(text):  # the last line has no end of its own: that of the line before it goes
        pieces[-1] = (max(pieces[-1][0] - 1, 0), len(text), "")
    return pieces


def _flow_out(file: _File, parent: Spot, spot: Spot) -> list[_Piece]:
    text, at = file.text, parent.below.index(spot)
    line = line_start(text, spot.whole)
    leads = not text[line : spot.whole].strip()
    comma = re.compile(GAP + ",").match(text, spot.end)
    if comma is not None:
        rest = re.compile(r" *(#[^\n]*)?(?=\n)").match(text, comma.end())
        if rest is not None and leads:
            return [(line, min(rest.end() + 1, len(text)), "")]
        if rest is not None:
            before = len(text[: spot.whole].rstrip(" "))
            return [(before if text[before - 1] not in "{[" else spot.whole, comma.end(), "")]
        spaces = re.compile(r" *").match(text, comma.end())
        return [(spot.whole, spaces.end() if spaces is not None else comma.end(), "")]
    gap = re.compile(GAP + ",").match(text, parent.below[at - 1].end)
    if gap is None:
        raise NotAsMeant(f"`{spot.path}` cannot be taken out by itself here")
    rest = re.compile(r" *(#[^\n]*)?(?=\n)").match(text, spot.end) if leads else None
    end = rest.end() if rest is not None else spot.end
    if "#" in text[gap.end() : spot.whole] or "#" in gap[0]:
        return [(gap.end() - 1, gap.end(), ""), (line - 1 if rest is not None else spot.whole, end, "")]
    return [(gap.end() - 1, end, "")]


# ------------------------------------------------------------ meaning


def _meaning(text: str, *, flow: bool) -> Any:
    """What a text says by itself."""
    around = f"{{a: {text}}}" if flow else f"a:\n  {_indented(text, 2)}\n" if "\n" in text else f"a: {text}\n"
    tree = parse_tree(around.encode("utf-8", "replace"), "", Loader)
    if tree.faults:
        raise NotAsMeant(f"`{text[:60]}` cannot be read: {tree.faults[0].message}")
    if set(tree.mapping) != {"a"}:
        raise NotAsMeant(f"`{text[:60]}` is more than one value")
    return tree.mapping["a"].plain()


def _get(tree: Any, steps: Sequence[Step]) -> Any:
    for step in steps:
        tree = tree[step]
    return tree


def _set(tree: Any, steps: Sequence[Step], value: Any) -> None:
    _get(tree, steps[:-1])[steps[-1]] = value
