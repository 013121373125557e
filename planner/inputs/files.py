"""Reading one file from disk: whatever is wrong with it is a fault, never an exception."""

from __future__ import annotations

import os
import re
from pathlib import Path

from planner.faults import Fault, Where
from planner.inputs.tree import LARGEST_FILE, Tree, parse_tree

YAML_ENDINGS = (".yaml", ".yml")


def shown(path: Path) -> str:
    """A path as faults print it: from the current folder where it lies below, printable whatever its bytes."""
    text = os.path.abspath(path)
    here = os.getcwd() + os.sep
    text = text.removeprefix(here) if text.startswith(here) else text
    return text.encode("utf-8", "replace").decode("utf-8")


def file_fault(code: str, path: Path, message: str, remedy: str) -> Fault:
    """A fault about a whole file."""
    return Fault(code=code, message=message, remedy=remedy, where=Where(file=shown(path)))


def read_file(path: Path) -> Tree:
    """The tree of a file on disk."""
    name = shown(path)
    try:
        if path.is_dir():
            fault = file_fault("file.folder", path, "this is a folder", "put a file of this name in its place")
        elif not path.exists():
            fault = file_fault("file.missing", path, "there is no such file", "check the name, or write the file")
        elif not path.is_file():
            fault = file_fault(
                "file.unreadable", path, "this is no ordinary file", "put a plain text file in its place"
            )
        else:
            with path.open("rb") as opened:
                return parse_tree(opened.read(LARGEST_FILE + 1), name)
    except (OSError, RuntimeError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it cannot be opened"
        fault = file_fault(
            "file.unreadable", path, f"this cannot be read: {reason}", "check the file and its permissions"
        )
    return Tree(file=name, root=None, faults=(fault,))


def is_there(path: Path) -> bool:
    """Whether anything of this name is there, a broken link too, so that a fault can be told about it."""
    try:
        return path.exists() or path.is_symlink()
    except (OSError, RuntimeError, ValueError):
        return False


def is_folder(path: Path) -> bool:
    """Whether a path is a folder that can be looked into; a loop of links is none."""
    try:
        return path.is_dir()
    except (OSError, RuntimeError, ValueError):
        return False


def listed_files(folder: Path) -> list[Path]:
    """What lies in a folder, by name; nothing where it cannot be looked into."""
    try:
        return sorted(folder.iterdir(), key=lambda path: path.name)
    except (OSError, RuntimeError, ValueError):
        return []


def in_working_order(folder: Path) -> list[Path]:
    """The job files of a day, by their leading number, then by name."""
    found = [
        path
        for path in listed_files(folder)
        if path.suffix in YAML_ENDINGS
        and path.stem != "day"
        and re.match(r"[0-9]+-", path.name)
        and not re.search(r"\.record(\.draft(-[0-9]+)?)?$", path.stem)  # what was done lies beside what was planned
    ]
    return sorted(found, key=lambda path: (int(re.match(r"[0-9]+", path.name)[0][:9]), path.name))  # type: ignore[index]


def is_day(folder: Path) -> bool:
    """Whether a folder holds one day: it has a day's page, or a date for a name."""
    return is_folder(folder) and (
        bool(re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", folder.name)) or is_there(folder / "day.yaml")
    )
