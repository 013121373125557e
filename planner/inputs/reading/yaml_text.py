"""A YAML file's text before it is parsed: UTF-8, no control characters, no tabs outside quotes."""

from __future__ import annotations

import bisect
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml

from planner.faults import Fault, Where
from planner.light import pattern

MOST_FAULTS = 100
"""Told of one file (our choice)."""
# Everything PyYAML's reader refuses, and the line breaks no editor shows (NEL, LS, PS, a byte order mark inside).
_CONTROL = pattern("[^\t\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")
_ASCII_CONTROL = re.compile("[^\t\n\x20-\x7e]")


def control(text: str) -> re.Pattern[str]:
    """What finds the control characters of a text."""
    return _ASCII_CONTROL if text.isascii() else _CONTROL


@dataclass(slots=True)
class Reading:
    """A file being read: faults as they are found, and where control characters were taken out."""

    file: str
    text: str = ""
    faults: list[Fault] = field(default_factory=list)
    refused: set[str] = field(default_factory=set)
    taken_out: list[int] = field(default_factory=list)
    line_starts: list[int] = field(default_factory=list)
    spoiled_lines: set[int] = field(default_factory=set)
    untold: int = 0

    def where(self, line: int, column: int, path: str = "") -> Where:
        return Where(file=self.file, line=line, column=column, path=path)

    def at(self, index: int) -> Where:
        line = bisect.bisect_right(self.line_starts, index)
        return self.where(line, index - self.line_starts[line - 1] + 1)

    def fault(self, code: str, message: str, remedy: str, where: Where) -> None:
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(Fault(code=code, message=message, remedy=remedy, where=where))
        else:
            self.untold += 1

    def all_faults(self) -> tuple[Fault, ...]:
        """The faults, and how many more there are."""
        if not self.untold:
            return tuple(self.faults)
        where, message = self.faults[-1].where, f"and {self.untold:,} more faults after this one"
        return *self.faults, Fault(code="yaml.more", message=message, remedy="put these right first", where=where)

    def touched(self, event: Any) -> bool:
        """Whether a control character was taken out of what the event covers."""
        first = bisect.bisect_left(self.taken_out, event.start_mark.index)
        return first < len(self.taken_out) and self.taken_out[first] < event.end_mark.index


def decode(reading: Reading, data: bytes) -> bool:
    """Bytes to text with plain line ends; False and a fault if they are not UTF-8."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line_start = max(before.rfind(b"\n"), before.rfind(b"\r")) + 1
        line = before.replace(b"\r\n", b"\n").replace(b"\r", b"\n").count(b"\n") + 1
        column = len(before[line_start:].decode("utf-8", "replace").removeprefix("\ufeff")) + 1
        reading.fault("file.encoding", "this is not UTF-8 text", "save the file as UTF-8", reading.where(line, column))
        return False
    reading.text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    reading.line_starts = [0, *(match.end() for match in re.finditer("\n", reading.text))]
    return True


def take_out_control(reading: Reading) -> None:
    """Replace every control character, with a fault for each."""
    # PyYAML's reader names no line or column for these, so they are found and replaced before it looks.
    for match in control(reading.text).finditer(reading.text):
        where = reading.at(match.start())
        reading.taken_out.append(match.start())
        reading.spoiled_lines.add(where.line)
        reading.fault(
            "yaml.control",
            f"there is an invisible character here (U+{ord(match[0]):04X})",
            "take it out, or type the words again",
            where,
        )
    if reading.taken_out:
        reading.text = control(reading.text).sub("_", reading.text)


def take_out_tabs(reading: Reading, loader: Any) -> None:
    """Replace tabs outside quotes by spaces, with a fault for each line."""
    if "\t" not in reading.text:
        return
    quoted: list[tuple[int, int]] = []
    end = len(reading.text)
    try:
        for event in events(reading.text.replace("\t", " "), loader):
            if isinstance(event, yaml.ScalarEvent) and event.style in ("'", '"'):
                start: Any = event.start_mark
                stop: Any = event.end_mark
                quoted.append((start.index, stop.index))
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        end = mark.index if mark else end
    letters, last_line, span = list(reading.text), 0, 0
    for match in re.finditer("\t", reading.text):
        at = match.start()
        while span < len(quoted) and quoted[span][1] <= at:
            span += 1
        if span < len(quoted) and quoted[span][0] < at:
            continue
        letters[at] = " "
        where = reading.at(at)
        if at < end and where.line != last_line:
            last_line = where.line
            reading.spoiled_lines.add(where.line)
            reading.fault("yaml.tab", "there is a tab outside quotes", "use spaces instead of the tab", where)
    reading.text = "".join(letters)


def events(text: str, loader: Any) -> Iterator[Any]:
    """PyYAML's events of a text, one by one."""
    parser = loader(text)
    try:
        while parser.check_event():
            yield parser.get_event()
    finally:
        parser.dispose()


# ------------------------------------------------------------ spots
# Where each value starts and ends, for an edit alone: reading a file asks for no ends.

Step = str | int
GAP = r"(?:[ \n]++|#[^\n]*+)*+"
"""Blanks, line ends and comments between two values."""


@dataclass(slots=True, eq=False)
class Spot:
    """A value's place: `key` where its key starts and ends, `dash` its item's mark in a block, `end` its last letter's.

    A block's own marks run on to whatever follows it, so its end is that of the last value in it.
    """

    steps: tuple[Step, ...]
    path: str
    kind: str
    start: int
    parent: Spot | None
    end: int = 0
    flow: bool = False
    key: tuple[int, int] | None = None
    dash: int | None = None
    below: list[Spot] = field(default_factory=list)
    empty: bool = False

    @property
    def whole(self) -> int:
        """Where its key, its dash or itself starts."""
        if self.key is not None:
            return self.key[0]
        return self.start if self.dash is None else self.dash

    def column(self, text: str) -> int:
        """How far its keys or dashes are from the start of their line."""
        first = self.below[0].whole if self.below else self.start
        return first - line_start(text, first)


@dataclass(slots=True, eq=False)
class Spots:
    """All places of a text by path, None for a path that is there twice; `scalars` is where words start and end,
    `odd` whether something else is in a key's place."""

    text: str
    root: Spot | None = None
    spots: dict[str, Spot | None] = field(default_factory=dict)
    scalars: list[tuple[int, int]] = field(default_factory=list)
    odd: bool = False
    open: list[Spot] = field(default_factory=list)
    key: tuple[str, tuple[int, int]] | None = None

    def take(self, event: Any) -> None:
        """One node or the start of one."""
        parent = self.open[-1] if self.open else None
        start, end = event.start_mark.index, event.end_mark.index
        word = isinstance(event, yaml.ScalarEvent)
        if word and event.style in ("|", ">"):
            end = self._block(start, end)
        elif word and end > start:
            self.scalars.append((start, end))
        if parent is not None and parent.kind == "map" and self.key is None:
            self.odd = self.odd or not word
            self.key = (event.value if word else "", (start, end))
            if word:
                return
        spot = self._spot(parent, start)
        spot.end = end
        if isinstance(event, yaml.CollectionStartEvent):
            spot.kind = "map" if isinstance(event, yaml.MappingStartEvent) else "list"
            spot.flow = bool(event.flow_style)
            self.open.append(spot)
        elif word:
            spot.empty = not event.style and not event.value

    def close(self, event: Any) -> None:
        """The innermost collection ends."""
        spot = self.open.pop()
        marked = spot.flow and self.text[spot.start : spot.start + 1] in ("{", "[")
        spot.end = event.end_mark.index if marked or not spot.below else spot.below[-1].end

    def _block(self, start: int, end: int) -> int:
        """The end of a block of text: its mark is a line late. Blank lines belong to one with `+`."""
        first = line_end(self.text, start)
        header = self.text[start:first].split("#")[0]
        last = (
            end - self.text[start:end].endswith("\n") if "+" in header else start + len(self.text[start:end].rstrip())
        )
        self.scalars += [(start, start + len(header)), (first, max(first, last))]
        return last

    def _spot(self, parent: Spot | None, start: int) -> Spot:
        if parent is None:
            spot = self.root = Spot(steps=(), path="", kind="scalar", start=start, parent=None)
        else:
            step: Step = self.key[0] if self.key is not None else len(parent.below)
            path = (
                f"{parent.path}[{step}]" if self.key is None else f"{parent.path}.{step}" if parent.path else str(step)
            )
            spot = Spot(steps=(*parent.steps, step), path=path, kind="scalar", start=start, parent=parent)
            spot.key = self.key[1] if self.key is not None else None
            if parent.kind == "list" and not parent.flow:
                gap = re.compile(GAP).match(self.text, parent.below[-1].end) if parent.below else None
                spot.dash = gap.end() if gap is not None else parent.start
            parent.below.append(spot)
            self.key = None
        self.spots[spot.path] = None if spot.path in self.spots else spot
        return spot


def spots(text: str, loader: Any) -> Spots:
    """The places of the first document of a text. Raises yaml.YAMLError."""
    found = Spots(text=text)
    for event in events(text, loader):
        if isinstance(event, yaml.CollectionEndEvent):
            found.close(event)
        elif isinstance(event, yaml.NodeEvent):
            found.take(event)
        elif isinstance(event, yaml.DocumentEndEvent) and found.root is not None:
            break
    return found


def line_start(text: str, at: int) -> int:
    """Where the line of a letter starts."""
    return text.rfind("\n", 0, at) + 1


def line_end(text: str, at: int) -> int:
    """Where the line of a letter ends."""
    end = text.find("\n", at)
    return len(text) if end < 0 else end


# ------------------------------------------------------------ yaml words
# What the YAML parser complains of, in plain words with a remedy.


_PROBLEMS: tuple[tuple[str, str, str], ...] = (
    (
        "mapping values are not allowed",
        "there is a colon where no key can be",
        "put text with a colon in quotes, or check the indent",
    ),
    ("could not find expected ':'", "a key here has no colon", "write `key: value`, with a space after the colon"),
    (
        "did not find expected key",
        "this line is not indented like the lines around it",
        "give keys that belong together the same indent",
    ),
    (
        "expected <block end>",
        "this line is not indented like the lines around it",
        "give keys that belong together the same indent",
    ),
    ("expected '-' indicator", "this item does not line up with its list", "give every `-` of a list the same indent"),
    (
        "expected ',' or '}'",
        "a brace is not closed, or a comma is missing",
        "close `{` with `}` and part its keys by commas",
    ),
    (
        "expected ',' or ']'",
        "a bracket is not closed, or a comma is missing",
        "close `[` with `]` and part its items by commas",
    ),
    ("node content", "a value was expected here", "write a value, or put the text in quotes"),
    ("unexpected end of stream", "a quote is never closed", "close the quote"),
    ("document indicator", "a quote is never closed", "close the quote"),
    ("cannot start any token", "a value cannot start with this character", "put the value in quotes"),
    ("escape", "this escape is unknown", "use single quotes, where a backslash is only a backslash"),
    ("maximum nesting depth", "the file is nested too deeply", "nest less deeply"),
    ("undefined alias", "there is an alias here", "write the value out again"),
    ("block sequence entries are not allowed", "a `-` cannot be here", "start a list on the line below its key"),
    ("block mapping", "a key cannot be here", "start each key on its own line"),
    ("alias", "a value cannot start with `*`", "put the value in quotes"),
    ("anchor", "a value cannot start with `&`", "put the value in quotes"),
    ("tag", "a value cannot start with `!`", "put the value in quotes"),
    ("directive", "a line cannot start with `%`", "put the text in quotes"),
)


def plain_problem(problem: str) -> tuple[str, str]:
    """Message and remedy for one of PyYAML's problem texts."""
    for part, message, remedy in _PROBLEMS:
        if part in problem:
            return message, remedy
    return f"this is not YAML: {problem or 'it cannot be read'}", "check the quotes, the colons and the indent here"
