"""The archive out as plain files, in again the same, and as a copy made while others go on using it."""

from __future__ import annotations

import csv
import json
import os
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Table, insert, select

from planner import __version__
from planner.archive.kept import sqlite_file
from planner.archive.kept.content import hash_of, said_of, text_of
from planner.archive.kept.opening import Opened, opened
from planner.archive.kept.refused import ArchiveRefused, as_refused, of_system, refused
from planner.archive.kept.tables import CORRECTIONS, KEPT, PACKETS, PLANS, RECORDS, WITHDRAWN
from planner.writing import beside, ordinary, read_ordinary

FORMAT: Final = 2
"""Since 2 a row says its branch, and there are revisions withdrawn."""
_HEAD: Final = "archive.json"
_LONGEST_HEAD: Final = 1 << 16
_DEEPEST: Final = 60
"""Levels of a row's JSON; a plan of ours has less than twenty (our choice)."""
_LARGEST: Final = 2**63
"""Whole numbers from here on are none to a spreadsheet or to another database."""
_MOST_COUNTED: Final = 2**31 - 1
"""What a server's column of whole numbers holds."""
_IN_ONE_GO: Final = 500
"""Rows read or written at a time: a season need not fit the memory."""
_JSON_COLUMNS: Final = frozenset({"json"})
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet would take a cell for a formula by."""

Counts = dict[str, int]


def export(archive: Opened, folder: Path) -> Counts:
    """Write everything into a new folder: TABLE.json a row a line, TABLE.csv for a spreadsheet. Raises ArchiveRefused.

    One look at the archive goes out, whatever is written to it meanwhile; the folder is there whole or not at all.
    """
    where = str(folder)
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise refused(
                "not_empty", where, "this folder is not empty, and nothing in it was changed", "name a new one"
            )
        folder.parent.mkdir(parents=True, exist_ok=True)
        with beside(folder) as stage:
            stage.mkdir()
            with archive.reading() as connection:
                counts = {table.name: _write_table(connection, table, stage) for table in KEPT}
            head = {"format": FORMAT, "program": __version__, "tables": counts}
            (stage / _HEAD).write_text(json.dumps(head, indent=2) + "\n", encoding="utf-8")
            if folder.exists():
                folder.rmdir()
            stage.rename(folder)
    except OSError as error:
        raise of_system(error, where, "it could not be written") from None
    return counts


def _rows(connection: Connection, table: Table) -> Iterator[Mapping[str, Any]]:
    """A table's rows in the order of their names."""
    query = select(table).order_by(*table.primary_key.columns)
    with connection.execution_options(stream_results=True).execute(query) as found:
        for part in found.mappings().partitions(_IN_ONE_GO):
            yield from (dict(row) for row in part)


def _write_table(connection: Connection, table: Table, folder: Path) -> int:
    columns = [column.name for column in table.columns if column.name not in _JSON_COLUMNS]
    figures = _figure_names(connection) if table is RECORDS else []
    count = 0
    with (
        (folder / f"{table.name}.json").open("w", encoding="utf-8", newline="\n") as lines,
        (folder / f"{table.name}.csv").open("w", encoding="utf-8", errors="replace", newline="") as sheet,
    ):
        writer = csv.writer(sheet)
        writer.writerow([*columns, *figures])
        for row in _rows(connection, table):
            told = {**row, "json": _read_back(table, row)} if "json" in row else dict(row)
            lines.write(text_of(told) + "\n")
            flat = _flat(told["json"]) if figures else {}
            writer.writerow([*(as_cell(row[name]) for name in columns), *(as_cell(flat.get(name)) for name in figures)])
            count += 1
    return count


def _read_back(table: Table, row: Mapping[str, Any]) -> Any:
    """A row's JSON. Raises ArchiveRefused: an export that leaves something out is none."""
    try:
        return json.loads(row["json"])
    except (ValueError, RecursionError):
        name = " ".join(str(row[column.name]) for column in table.primary_key.columns if row[column.name] != "")
        remedy = "make a copy of all of it with `planner archive copy`"
        raise refused(
            "unread", table.name, f"`{name[:80]}` of the archive's {table.name} is not as it was saved", remedy
        ) from None


def _figure_names(connection: Connection) -> list[str]:
    names: dict[str, None] = {}
    for row in _rows(connection, RECORDS):
        names.update(dict.fromkeys(_flat(_read_back(RECORDS, row))))
    return [name for name in names if name not in RECORDS.columns]


def _flat(content: Any, prefix: str = "") -> dict[str, Any]:
    """A record's figures by dotted path, without how they were written; lists count from 1."""
    found: dict[str, Any] = {}
    if not isinstance(content, dict | list):
        return found
    pairs = content.items() if isinstance(content, dict) else ((str(n), one) for n, one in enumerate(content, 1))
    for name, value in pairs:
        path = f"{prefix}{name}"
        if isinstance(value, dict | list):
            found |= _flat(value, f"{path}.") if path != "as_written" else {}
        elif value is not None:
            found[path] = value
    return found


def as_cell(value: Any) -> Any:
    """A value as a spreadsheet may have it: text that begins like a formula stands behind an apostrophe."""
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value


def take_in(archive: Opened, folder: Path) -> Counts:
    """Everything an export holds that the archive does not; gives how many rows were new. Raises ArchiveRefused.

    All of it or nothing: a row that is there already with other content, or a file that was changed, refuses it all.
    """
    head = _head(folder)
    new: Counts = {}
    with archive.writing() as connection:
        for table in KEPT:
            path = folder / f"{table.name}.json"
            if head["format"] < FORMAT and table is WITHDRAWN:
                continue
            new[table.name], read = _take_table(connection, table, path)
            if read != head["tables"].get(table.name):
                raise _torn(path, f"it holds {read} rows, not the {head['tables'].get(table.name)} that were saved")
    return new


def _head(folder: Path) -> Mapping[str, Any]:
    path = folder / _HEAD
    try:
        head = json.loads(read_ordinary(path, _LONGEST_HEAD).decode("utf-8"))
        if head["format"] > FORMAT:
            raise refused("newer", str(path), "a newer version of this program wrote this export", "install that one")
        if not isinstance(head["tables"], dict):
            raise TypeError
    except OSError as error:
        raise refused(
            "missing", str(path), f"this cannot be read: {error.strerror}", "name a folder made by `archive export`"
        ) from None
    except (ValueError, KeyError, TypeError, RecursionError):
        raise _torn(path, "its header cannot be read") from None
    return dict(head)


def _take_table(connection: Connection, table: Table, path: Path) -> tuple[int, int]:
    """How many rows were new, and how many were read."""
    new = read = 0
    try:
        ordinary(path)
        with path.open(encoding="utf-8") as lines:
            for number, line in enumerate(lines, 1):
                new += _take_row(connection, table, _row(table, line, path, number), path, number)
                read += 1
    except (OSError, UnicodeDecodeError) as error:
        raise _torn(path, str(getattr(error, "strerror", None) or "it is not UTF-8")) from None
    return new, read


def _row(table: Table, line: str, path: Path, number: int) -> dict[str, Any]:
    """One line as a row that the table takes and an export gives back. Raises ArchiveRefused."""
    try:
        row = json.loads(line)
        if "branch" in table.columns:
            row.setdefault("branch", "")
        if set(row) != set(table.columns.keys()) or not _keepable(row):
            raise ValueError
        for column in table.columns:
            value = row[column.name]
            if column.name in _JSON_COLUMNS:
                if not isinstance(value, dict):
                    raise ValueError
            elif not (value is None and column.nullable) and not _fits(value, column.type.python_type):
                raise ValueError
        if not _means_itself(table, row):
            raise ValueError
    except (ValueError, TypeError, AttributeError, RecursionError):
        raise _torn(path, f"line {number} is not one of its rows") from None
    if _hash_kept(table, row) != _hash_now(table, row):
        raise _torn(path, f"line {number} was changed: its hash does not match")
    return {name: text_of(value) if name in _JSON_COLUMNS else value for name, value in row.items()}


def _hash_kept(table: Table, row: Mapping[str, Any]) -> Any:
    if table in (PLANS, CORRECTIONS):
        return row["sha256"]
    return row["content"] if table is RECORDS else None


def _hash_now(table: Table, row: Mapping[str, Any]) -> str | None:
    """What the hash of a row's content should be; a packet's is of its bytes, which are not here."""
    if table in (PLANS, CORRECTIONS):
        return hash_of(text_of(row["json"]))
    return hash_of(text_of(said_of(row["json"]))) if table is RECORDS else None


def _means_itself(table: Table, row: Mapping[str, Any]) -> bool:
    """Whether a row is about what its own content is about, and counts as we count."""
    if table in (RECORDS, WITHDRAWN) and row["revision"] < 1:
        return False
    if table is PLANS:
        return (row["job"], row["number"]) == (row["json"].get("id"), row["json"].get("plan"))
    return table is not RECORDS or row["job"] == row["json"].get("job")


def _keepable(row: Any) -> bool:
    """Whether JSON can be kept and told again: not nested without end, and all of it text and figures we can hold."""
    level = [row]
    for _ in range(_DEEPEST):
        below: list[Any] = []
        for one in level:
            if isinstance(one, dict):
                below += [*one, *one.values()]
            elif isinstance(one, list):
                below += one
            elif isinstance(one, str):
                if any("\ud800" <= letter <= "\udfff" for letter in one):
                    return False
            elif isinstance(one, int | float) and not abs(one) < _LARGEST:  # NaN is not under anything either
                return False
        level = below
    return not level


def _fits(value: Any, kind: type) -> bool:
    """Whether JSON gave what a column holds; a whole number is a float too, a truth value is neither."""
    if isinstance(value, str):
        return kind is str and "\0" not in value  # a server's text holds none
    if kind is int and isinstance(value, int) and not 0 <= value <= _MOST_COUNTED:
        return False
    return not isinstance(value, bool) and isinstance(value, (int, float) if kind is float else kind)


def _take_row(connection: Connection, table: Table, row: Mapping[str, Any], path: Path, number: int) -> int:
    own = [column == row[column.name] for column in table.primary_key.columns]
    there = connection.execute(select(table).where(*own)).mappings().first()
    if there is None:
        about = row.get("plan") if table in (PACKETS, RECORDS) else None
        if about is not None and connection.scalar(select(PLANS.c.sha256).where(PLANS.c.sha256 == about)) is None:
            raise _torn(path, f"line {number} belongs to a plan that is not there")
        connection.execute(insert(table).values(**row))
        return 1
    # The same plan or packet may have been kept at another time here: it is the same thing all the same.
    if any(there[name] != row[name] for name in row if name not in ("at", "program", "file", "source")):
        raise refused(
            "clash",
            f"{path}:{number}",
            f"the archive holds another `{table.name}` row under the same name, and nothing was imported",
            "import it into a workspace of its own",
        )
    return 0


def copy(archive: Opened, target: Path) -> None:
    """A whole SQLite archive at `target`, while others go on reading and writing. Raises ArchiveRefused."""
    if os.path.lexists(target):
        raise refused(
            "not_empty", str(target), "something with this name is there already, and was left alone", "name a new file"
        )
    if not target.parent.is_dir():
        raise refused(
            "no_folder", str(target), f"there is no folder `{target.parent}` to copy it into",
            "make that folder first, or name one that exists",
        )  # fmt: skip
    if archive.path is None:
        _copied_rows(archive, target)
    else:
        source = archive.path
        sqlite_file.make_whole(target, lambda part: _copied_file(source, part))


def _copied_file(source: Path, part: Path) -> None:
    try:
        with closing(sqlite_file.to_read(source)) as origin, closing(sqlite3.connect(part)) as copied:
            origin.backup(copied)
    except sqlite3.Error as error:
        told = as_refused(error, str(source))
        if told is None:
            raise
        raise told from error


def _copied_rows(archive: Opened, target: Path) -> None:
    """From a server: every row of one look at it, into a file."""
    with beside(target.with_name("rows")) as rows:
        with opened(str(rows), rows.parent) as copied, archive.reading() as source, copied.writing() as sink:
            for table in KEPT:
                for row in _rows(source, table):
                    sink.execute(insert(table).values(**row))
        sqlite_file.make_whole(target, lambda part: _copied_file(rows, part))


def _torn(path: Path, what: str) -> ArchiveRefused:
    return refused(
        "torn", str(path), f"this export is not complete: {what}", "export it again, and import it unchanged"
    )
