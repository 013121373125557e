"""The files of one workspace as the page holds them: found by an id, changed in memory, saved whole.

The file is the truth. A text that was changed here and not saved lies in memory beside the file it started from. What
another program wrote meanwhile is taken in where nothing here is unsaved; else both texts are kept until somebody
chooses, and nothing is written. No path ever comes from a browser: a file is one of those this folder lists.
"""

from __future__ import annotations

import difflib
import errno
import hashlib
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import field
from functools import lru_cache
from pathlib import Path
from typing import AnyStr, Final

from planner.frozen import dataclass
from planner.inputs.reading.files import days_below, in_working_order, is_there, listed_files, shown
from planner.inputs.reading.tree import LARGEST_FILE, Tree, parse_tree
from planner.writing import FileChanged, read_ordinary, write_whole

MOST_UNDONE: Final = 200
"""Whole texts kept of one file to go back to (our choice: an evening's changes of one job)."""

_CHANGES: Final = 1 << 24
"""More changes than one file sees while it is open."""

_MOST_COMPARED: Final = 250_000
"""Lines of both texts multiplied that are compared one by one: a fifth of a second at worst (measured)."""

_SHARED: Final = {"company.yaml": "company", "stock.yaml": "stock", "surfaces.yaml": "surfaces"}
_ENDINGS: Final = (".yaml", ".yml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One change: what it did in a few words, and the text it began from."""

    name: str
    text: bytes


@dataclass(slots=True, kw_only=True)
class Sheet:
    """One file: its `text` as the page has it, and the text on disk that it started from, None where none was there.

    `version` counts changes from `opened` on, so that a page that shows an older one is told. `theirs`: what another
    program wrote while something here was unsaved; `disputed` until somebody chooses between a text begun from an older
    one and it. `refused`: what was typed by key path that the text could not take; it stays in its boxes until the text
    changes.
    """

    id: str
    path: Path
    kind: str
    text: bytes
    base: bytes | None
    opened: int = 0
    version: int = 0
    theirs: bytes | None = None
    note: str = ""
    undo: list[Step] = field(default_factory=list)
    redo: list[Step] = field(default_factory=list)
    typing: str = ""
    disputed: bool = False
    refused: dict[str, str] = field(default_factory=dict)
    refused_at: str = ""
    refused_why: str = ""

    @property
    def seen(self) -> str:
        """What the other program's text is known by, so that nobody chooses against one that was not shown."""
        return hashlib.sha256(self.theirs or b"").hexdigest()[:16]

    @property
    def unsaved(self) -> bool:
        """Whether the page has what the disk has not."""
        return self.text != self.base

    @property
    def name(self) -> str:
        """The file as a reader finds it: its folder and its name."""
        return f"{self.path.parent.name}/{self.path.name}" if self.kind in ("job", "day", "rig") else self.path.name

    @property
    def tree(self) -> Tree:
        """The text read, with its places and faults."""
        return tree_of(self.text, shown(self.path))

    @property
    def plain(self) -> str | None:
        """The text to be shown and typed in; None where it is no text."""
        try:
            return self.text.decode("utf-8-sig")
        except UnicodeDecodeError:
            return None

    def change(self, text: bytes, name: str, *, typing: str = "") -> None:
        """Put another text in place; what is typed into one field without a pause is undone in one."""
        self.refused = {}
        if text == self.text:
            return
        if not (typing and typing == self.typing and self.undo):
            self.undo.append(Step(name=name, text=self.text))
            del self.undo[:-MOST_UNDONE]
        elif self.undo[-1].text == text:
            self.undo.pop()  # typed back to where it began
            typing = ""
        self.redo.clear()
        self.text, self.typing = text, typing
        self.version += 1

    def back(self) -> bool:
        """Undo one change; False where there is none."""
        return self._move(self.undo, self.redo)

    def forth(self) -> bool:
        """Redo one; False where there is none."""
        return self._move(self.redo, self.undo)

    def _move(self, out: list[Step], into: list[Step]) -> bool:
        if not out:
            return False
        step, self.refused = out.pop(), {}
        into.append(Step(name=step.name, text=self.text))
        self.text, self.typing = step.text, ""
        self.version += 1
        return True

    def look(self) -> None:
        """Look whether another program wrote the file, and take that in where nothing here would be lost."""
        now = on_disk(self.path)
        if self.disputed:
            self.theirs = now if now is not None else b""
            return
        if now == self.base:
            self.theirs = None
            return
        if now == self.text:
            self.base, self.theirs = now, None
            return
        if self.unsaved:
            self.theirs = now if now is not None else b""
            return
        if now is None:
            return  # taken away: it is listed no more, and nothing of it was unsaved
        lines = changed_lines(self.text, now or b"")
        self.change(now or b"", f"changed outside, {lines}" if lines else "changed outside")
        self.base = now
        said = f", {lines}" if lines else ""
        self.note = f"This file was changed outside{said}. Nothing here was unsaved, so the new text is shown."

    def save(self, within: Path) -> str:
        """Write the text; nothing, or why it was not. Raises FileChanged where another program wrote first, OSError."""
        if not self.unsaved:
            return ""
        tree = self.tree
        if tree.root is None or any(fault.code.startswith("yaml.") for fault in tree.faults):
            return "it cannot be read as YAML yet"
        if self.theirs is not None or (self.base is None and on_disk(self.path) is not None):
            raise FileChanged(errno.EBUSY, "another program changed it meanwhile", str(self.path))
        write_whole(self.path, self.text, within, was=self.base)
        self.base, self.theirs = self.text, None
        return ""

    def clash(self, text: bytes) -> None:
        """Take a whole text that was begun from an older one than is here: neither goes until somebody chooses."""
        if text == self.text:
            return
        self.change(text, "text")
        self.disputed = True  # what the disk holds is not what this text began from
        self.look()

    def keep_mine(self) -> None:
        """The text here is to be the file: what another program wrote becomes what it started from."""
        self.base, self.theirs, self.disputed = on_disk(self.path), None, False
        self.version += 1

    def take_theirs(self) -> None:
        """Take the text another program wrote; the one here can be had back by undo."""
        self.look()
        if self.theirs is not None:
            theirs, self.theirs, self.disputed = self.theirs, None, False
            self.change(theirs, "their text taken")
            self.base = on_disk(self.path)


@lru_cache(maxsize=64)
def tree_of(text: bytes, name: str) -> Tree:
    """A text read: an answer asks for the same one many times."""
    return parse_tree(text, name, size=len(text))


def on_disk(path: Path) -> bytes | None:
    """What the file holds, None where there is none. Raises OSError where it cannot be read."""
    try:
        return read_ordinary(path, LARGEST_FILE + 1)
    except FileNotFoundError:
        return None


def stamps(folder: Path) -> Iterator[tuple[str, int, int]]:
    """Every file of a folder by its time and size, what is hidden left out."""
    folders = [str(folder)]
    while folders:
        with suppress(OSError), os.scandir(folders.pop()) as found:  # what nobody may look into is left out
            for entry in found:
                if entry.name.startswith("."):
                    continue
                if entry.is_dir(follow_symlinks=False):
                    folders.append(entry.path)
                else:
                    yield stamp_of(Path(entry.path))


def stamp_of(path: Path) -> tuple[str, int, int]:
    """One file by its time and size; one that is not there has none."""
    try:
        found = path.stat()
    except OSError:
        return str(path), 0, -1
    return str(path), found.st_mtime_ns, found.st_size


def blocks_of(before: Sequence[AnyStr], after: Sequence[AnyStr]) -> list[tuple[str, int, int, int, int]]:
    """Which lines stayed and which are others, as `SequenceMatcher` says it. Between the first and the last line that
    differ all are others where they are too many to be compared: that takes the product of both, or more."""
    least = min(len(before), len(after))
    head = next((n for n in range(least) if before[n] != after[n]), least)
    tail = next((n for n in range(least - head) if before[-1 - n] != after[-1 - n]), least - head)
    far, end = len(before) - tail, len(after) - tail
    old, new = before[head:far], after[head:end]
    found = [("equal", 0, head, 0, head)] if head else []
    if len(old) * len(new) > _MOST_COMPARED:
        found.append(("replace", head, far, head, end))
    else:
        compared = difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
        found += [(str(tag), i + head, j + head, k + head, m + head) for tag, i, j, k, m in compared]
    if tail:
        found.append(("equal", far, far + tail, end, end + tail))
    return found


def changed_lines(before: bytes, after: bytes) -> str:
    """Which lines of `after` are new or other: `lines 10 and 11`; nothing where only lines were taken out."""
    blocks = blocks_of(before.splitlines(), after.splitlines())
    numbers = [n + 1 for tag, _, _, start, end in blocks if tag != "equal" for n in range(start, end)]
    if not numbers:
        return ""
    if len(numbers) == 1:
        return f"line {numbers[0]}"
    return f"lines {numbers[0]} and {numbers[1]}" if len(numbers) == 2 else f"lines {numbers[0]} to {numbers[-1]}"


def typed_over(before: bytes, text: str) -> bytes:
    """A whole text as a browser sends it, with the mark, the line ends and the bytes of every line that stayed.

    A browser turns every line end into one kind; only lines that were really changed are written anew.
    """
    mark = b"\xef\xbb\xbf" if before.startswith(b"\xef\xbb\xbf") else b""
    old = re.findall(rb"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+\Z", before[len(mark) :])
    new = re.findall(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+\Z", text)
    bare_old = [line.rstrip(b"\r\n") for line in old]
    bare_new = [line.rstrip("\r\n").encode("utf-8", "surrogatepass") for line in new]
    end = b"\r\n" if sum(line.endswith(b"\r\n") for line in old) * 2 > len(old) else b"\n"
    made: list[bytes] = []
    for tag, i, j, k, m in blocks_of(bare_old, bare_new):
        if tag == "equal":
            made += old[i:j]
        else:
            made += [line + end for line in bare_new[k:m]]
    ended = not new or new[-1].endswith(("\r", "\n"))
    if made and not ended:
        made[-1] = made[-1].rstrip(b"\r\n")
    for n, line in enumerate(made[:-1]):
        if not line.endswith((b"\r", b"\n")):  # it was the last line, and no longer is
            made[n] = line + end
    if made and ended and not made[-1].endswith((b"\r", b"\n")):
        made[-1] += end
    return mark + b"".join(made)


# ------------------------------------------------------------ listing


class Files:
    """Every file of the workspace that the page may show, by an id of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self._sheets: dict[str, Sheet] = {}
        self._opened = 0
        self._listed: dict[str, tuple[Path, str]] = {}

    def listing(self) -> Mapping[str, tuple[Path, str]]:
        """Ids of files, each with its path and what kind of file it is; a link out of the workspace is none."""
        self._listed = {self.id_of(path): (path, kind) for path, kind in self._all() if self._inside(path)}
        return self._listed

    def _all(self) -> Iterator[tuple[Path, str]]:
        for name, kind in _SHARED.items():
            if is_there(self.folder / name):
                yield self.folder / name, kind
        for path in listed_files(self.folder / "rigs"):
            if path.suffix in _ENDINGS and not path.name.startswith("."):
                yield path, "rig"
        for day in days_below(self.folder):
            if is_there(day / "day.yaml"):
                yield day / "day.yaml", "day"
            for path in in_working_order(day):
                yield path, "job"

    def _inside(self, path: Path) -> bool:
        try:
            return path.resolve().is_relative_to(self.folder)
        except (OSError, RuntimeError):
            return False

    def id_of(self, path: Path) -> str:
        """A path's id: the same each time the page is opened, and no path."""
        return hashlib.sha256(path.relative_to(self.folder).as_posix().encode("utf-8", "surrogateescape")).hexdigest()[
            :12
        ]

    def days(self) -> list[Path]:
        """The folders of the workspace's days, the earliest first."""
        return sorted((day for day in days_below(self.folder) if self._inside(day)), key=lambda day: day.name)

    def sheet(self, id_: str) -> Sheet | None:
        """The file of an id as the page has it; None where the listing has no such id, or nothing can be read there."""
        if id_ not in self._listed and id_ not in self.listing():
            held = self._sheets.get(id_)
            if held is not None and not held.unsaved:
                del self._sheets[id_]  # its text is nowhere but here otherwise, and is told when the desk is closed
            return None
        path, kind = self._listed[id_]
        try:
            sheet = self._at(id_, path, kind) if self._inside(path) else None
        except OSError as error:
            sheet = self._sheets.get(id_)
            if sheet is not None and sheet.unsaved:
                sheet.note = f"The file cannot be read: {error.strerror or error}. The text is kept here."
                return sheet
            sheet = None
        if sheet is None:
            self._listed = {}
            if id_ in self._sheets and not self._sheets[id_].unsaved:
                del self._sheets[id_]
        return sheet

    def _at(self, id_: str, path: Path, kind: str) -> Sheet | None:
        """The file that was listed, read where it is not open yet. Raises OSError."""
        sheet = self._sheets.get(id_)
        if sheet is not None:
            sheet.look()
            return sheet if sheet.unsaved or is_there(path) else None
        disk = on_disk(path)
        if disk is None:
            return None
        # No version comes twice: a page that showed another file by this name, or this one before, is an older one.
        self._opened += _CHANGES
        sheet = Sheet(id=id_, path=path, kind=kind, text=disk, base=disk, opened=self._opened, version=self._opened)
        self._sheets[id_] = sheet
        left = path.with_name(f"{path.name}.unsaved")
        if is_there(left):
            sheet.note = f"A text of this file that was not saved is beside it, in {left.name}."
        return sheet

    def of(self, path: Path) -> Sheet | None:
        """The file of a path, one of those listed."""
        return self.sheet(self.id_of(path)) if path.is_relative_to(self.folder) else None

    def unsaved(self) -> dict[Path, bytes]:
        """The texts the disk does not have yet, by their paths."""
        return {sheet.path: sheet.text for sheet in self._sheets.values() if sheet.unsaved}

    def waiting(self) -> list[Sheet]:
        """Files with unsaved changes."""
        return [sheet for sheet in self._sheets.values() if sheet.unsaved]

    def each(self, wanted: Callable[[Sheet], bool]) -> list[Sheet]:
        """The open files that are wanted."""
        return [sheet for sheet in self._sheets.values() if wanted(sheet)]

    def stamp(self) -> str:
        """Of all files a plan may rest on, as they are here: another one than a page was shown with, and it is old."""
        for id_ in list(self._sheets):
            self.sheet(id_)
        found = hashlib.sha256()
        for one in sorted(stamps(self.folder)):
            if one[0].endswith((*_ENDINGS, ".csv")) and ".draft" not in one[0]:
                found.update(f"{one}\n".encode("utf-8", "surrogateescape"))
        for sheet in self._sheets.values():
            if sheet.version > sheet.opened or sheet.theirs is not None:  # one that was only opened changes nothing
                found.update(f"{sheet.id}\0{sheet.version}\0{sheet.theirs is None}\n".encode())
        return found.hexdigest()[:16]

    def renamed(self, names: Mapping[Path, Path]) -> None:
        """Files go by other names now: what the page holds of them goes along, unsaved texts and what to undo too."""
        moved = {new: self._sheets.pop(self.id_of(old), None) for old, new in names.items()}
        for path, sheet in moved.items():
            if sheet is not None:
                sheet.id, sheet.path = self.id_of(path), path
                sheet.version += 1
                self._sheets[sheet.id] = sheet
        self._listed = {}

    def forget(self, path: Path) -> None:
        """A file was moved or taken away."""
        self._sheets.pop(self.id_of(path), None)
        self._listed = {}


__all__ = ["FileChanged", "Files", "Sheet", "changed_lines", "on_disk", "typed_over"]
