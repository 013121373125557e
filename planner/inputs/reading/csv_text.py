"""A small CSV as a list of mappings in a tree: its values are read, and its faults placed, as a YAML file's are.

The first line names the columns, each with its unit behind it where the values are bare: `hour,temp (F),wind (mph)`.
A cell left empty is a key left out. Blank lines, and lines that begin with `#`, are passed over.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.reading.files import file_fault, shown
from planner.inputs.reading.tree import LARGEST_FILE, LONGEST_VALUE, Node
from planner.inputs.reading.yaml_text import Reading, decode, take_out_control
from planner.writing import read_ordinary

_HEAD: Final = re.compile(r"([a-z_]+)(?: ?[(\[] ?([^()\[\]]+?) ?[)\]]| ([^ ]+))?", re.IGNORECASE)
_BARE: Final = re.compile(r"[-+]?[0-9][0-9.,]*")
_MOST_ROWS: Final = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The rows of one CSV as a node, None where it cannot be read as one at all, and what is wrong with it."""

    rows: Node | None
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    text: str
    column: int


def read_sheet(path: Path, columns: Sequence[str], at: str) -> Sheet:
    """The rows of a file with these `columns`, the first of which every row has; `at` is the key path they fill."""
    reading = Reading(file=shown(path))
    try:
        data = read_ordinary(path, LARGEST_FILE + 1)
    except (OSError, RuntimeError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it cannot be opened"
        fault = file_fault("file.unreadable", path, f"this cannot be read: {reason}", "check the file and its name")
        return Sheet(rows=None, faults=(fault,))
    if len(data) > LARGEST_FILE:
        reading.fault("file.size", "the file is too large to be a forecast", "keep it short", reading.where(1, 1))
    elif decode(reading, data):
        take_out_control(reading)
        rows = _rows(reading, columns, at)
        return Sheet(rows=rows, faults=reading.all_faults())
    return Sheet(rows=None, faults=reading.all_faults())


def _rows(reading: Reading, columns: Sequence[str], at: str) -> Node | None:
    lines = [(number, line) for number, line in enumerate(reading.text.split("\n"), start=1)]
    full = [(number, line) for number, line in lines if line.strip() and not line.lstrip().startswith("#")]
    if len(full) < 2:
        message = "the file has no rows" if full else "the file is empty"
        remedy = f"write a line of columns, `{','.join(columns)}`, and a row for each"
        reading.fault("csv.empty", message, f"{remedy} {columns[0]}", reading.where(1, 1))
        return None
    heads = _heads(reading, *full[0], columns)
    if heads is None:
        return None
    found: list[Node] = []
    for number, line in full[1 : _MOST_ROWS + 1]:
        cells = _cells(reading, number, line)
        if cells is not None:
            found.append(_row(reading, number, cells, heads, f"{at}[{len(found)}]"))
    return Node(value=tuple(found), where=reading.where(full[0][0], 1, at)) if found else None


def _heads(reading: Reading, number: int, line: str, columns: Sequence[str]) -> list[tuple[str, str]] | None:
    """Each column's name and unit, the unit empty where it has none; None where the line cannot be used."""
    cells, told = _cells(reading, number, line), len(reading.faults)
    known = f"known here: {', '.join(f'`{name}`' for name in columns)}"
    heads: list[tuple[str, str]] = []
    for cell in cells or ():
        match = _HEAD.fullmatch(cell.text)
        name = match[1].casefold() if match is not None else ""
        where = reading.where(number, cell.column)
        if name not in columns:
            message = f"`{cell.text[:40]}` is not a column of this file" if cell.text else "a column has no name"
            reading.fault("csv.column", message, f"{known}, each with its unit behind it", where)
        elif name in dict(heads):
            reading.fault("csv.column", f"`{name}` is there twice", "keep one of the two", where)
        heads.append((name, (match[2] or match[3] or "") if match is not None else ""))
    if cells and columns[0] not in dict(heads):
        message = f"the column `{columns[0]}` is missing"
        reading.fault("csv.column", message, f"start the first line with `{columns[0]}`", reading.where(number, 1))
    return heads if cells and len(reading.faults) == told else None


def _row(reading: Reading, number: int, cells: Sequence[_Cell], heads: Sequence[tuple[str, str]], at: str) -> Node:
    if len(cells) != len(heads):
        message = f"this row has {len(cells)} cells, and the first line names {len(heads)} columns"
        where = reading.where(number, cells[-1].column)
        reading.fault("csv.cells", message, "write every cell; one left empty between commas is unknown", where)
    found: dict[str, Node] = {}
    for cell, (name, unit) in zip(cells, heads, strict=False):
        if cell.text:
            text = f"{cell.text} {unit}" if unit and _BARE.fullmatch(cell.text) else cell.text
            where = reading.where(number, cell.column, f"{at}.{name}")
            found[name] = Node(value=text, where=where, key=where)
    return Node(value=found, where=reading.where(number, 1, at))


def _cells(reading: Reading, number: int, line: str) -> list[_Cell] | None:
    """The cells of one line, quotes taken off; None, and a fault, where a quote is never closed."""
    cells: list[_Cell] = []
    start = 0
    for match in re.finditer(r'(?: *"((?:[^"]|"")*)" *|([^",]*))(,|$)', line):
        if match.start() != start:
            break
        quoted, text = match[1], match[2]
        inner = quoted.replace('""', '"') if quoted is not None else text
        lead = len(match[0]) - len(match[0].lstrip())
        cells.append(_Cell(text=" ".join(inner.split()), column=match.start() + lead + 1))
        start = match.end()
        if not match[3]:
            break
    whole = start >= len(line) and bool(cells)
    if not whole:
        reading.fault("csv.quotes", "a quote here does not go around a whole cell", "take the quotes out",
                      reading.where(number, start + 1))  # fmt: skip
        return None
    if any(len(cell.text) > LONGEST_VALUE for cell in cells):
        reading.fault("text.long", "a cell is far too long", "shorten this text", reading.where(number, 1))
        return None
    return cells
