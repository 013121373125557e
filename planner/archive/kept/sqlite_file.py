"""One SQLite file: looked at before it is ever opened for writing, made whole beside its place, opened durably."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from typing import Final, Literal

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool

from planner.archive.kept.address import APPLICATION_ID
from planner.archive.kept.refused import (
    ArchiveRefused,
    as_refused,
    damaged,
    foreign,
    of_system,
    refused,
)
from planner.writing import beside, clear, place_new

PATIENCE: Final = 20.0
"""Seconds a program waits for another to finish writing."""

_MAGIC: Final = b"SQLite format 3\x00"
_HEADER: Final = 100
_LOOKS: Final = 3
_BETWEEN: Final = 0.02
"""Seconds between two looks at a file that seems damaged."""
State = Literal["none", "empty", "ours"]


def state_of(path: Path) -> State:
    """What lies at a path; raises ArchiveRefused for anything that is not ours or not whole. Writes nothing."""
    where = str(path)
    try:
        if not path.exists():
            return "none"
        if not path.is_file():
            raise foreign(where, "it is not an ordinary file")
        with path.open("rb") as file:
            header = file.read(_HEADER)
    except OSError as error:
        raise refused(
            "unopened", where, f"the archive cannot be read: {error.strerror}", "check its permissions"
        ) from None
    if not header:
        return "empty"
    if len(header) < _HEADER or not header.startswith(_MAGIC):
        raise foreign(where, "it is not an SQLite file, or its beginning is damaged")
    if int.from_bytes(header[68:72], "big") != APPLICATION_ID:
        raise foreign(where, "another program made it")
    _read_through(path)
    return "ours"


def _read_through(path: Path) -> None:
    """Refuse a file whose pages do not hold together, without leaving so much as a log beside it."""
    log = path.with_name(path.name + "-wal")
    for _ in range(_LOOKS):
        if log.exists():
            answer = _quick_check(path, "mode=ro")
        else:
            answer = _length_told(path) or _quick_check(path, "mode=ro&immutable=1")
        if answer == "ok":
            return
        if isinstance(answer, ArchiveRefused) and answer.fault.code == "archive.busy":
            break
        # A writer may have come and gone meanwhile, and what was read be half of the old and half of the new.
        time.sleep(_BETWEEN)
    raise answer if isinstance(answer, ArchiveRefused) else damaged(str(path), answer)


def _length_told(path: Path) -> str:
    """What is wrong with the length of a file without a log: SQLite itself forgives a last page cut short."""
    with path.open("rb") as file:
        header = file.read(_HEADER)
        size, pages = int.from_bytes(header[16:18], "big"), int.from_bytes(header[28:32], "big")
        whole = pages * (65536 if size == 1 else size)
        return "" if os.fstat(file.fileno()).st_size == whole else f"it should be {whole:,} bytes long"


_OF_THE_FILE: Final = ("archive.damaged", "archive.foreign")


def _quick_check(path: Path, mode: str) -> str | ArchiveRefused:
    """`ok`, or the first thing that is wrong; a refusal where the file may be whole and could not be looked at."""
    try:
        with closing(_connected(path, mode)) as connection:
            (answer,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    except sqlite3.Error as error:
        told = as_refused(error, str(path))
        return told if told is not None and told.fault.code not in _OF_THE_FILE else str(error)
    return "ok" if answer == "ok" else str(answer).splitlines()[-1][:120]


def _connected(path: Path, mode: str, patience: float | None = None) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{path.resolve().as_uri()}?{mode}",
        uri=True,
        timeout=PATIENCE if patience is None else patience,
        isolation_level=None,
        check_same_thread=False,
    )
    connection.execute("PRAGMA foreign_keys = ON")
    # An acknowledged record has reached the disk: FULL flushes the log at every commit, NORMAL would not.
    connection.execute("PRAGMA synchronous = FULL")
    return connection


def _mode(path: Path, *, read_only: bool) -> str:
    """How to open a file: where its folder cannot be written to no log can be made, and the file is all there is."""
    if not read_only or os.access(path.parent, os.W_OK):
        return "mode=rw"
    return "mode=ro" if path.with_name(path.name + "-wal").exists() else "mode=ro&immutable=1"


def to_read(path: Path) -> sqlite3.Connection:
    """A connection that only reads, also where file and folder let nobody write."""
    return _connected(path, _mode(path, read_only=True))


def engine_for(path: Path, *, read_only: bool, patience: float | None = None) -> Engine:
    """An engine over a file that is there, which waits `patience` [s] for another writer (PATIENCE where not said).

    A transaction that may write takes the write lock as it begins.
    """
    engine = create_engine(
        "sqlite+pysqlite://",
        creator=lambda: _connected(path, _mode(path, read_only=read_only), patience),
        poolclass=NullPool,
    )

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        reading = read_only or connection.get_execution_options().get("reading", False)
        connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")

    return engine


def make_whole(path: Path, fill: Callable[[Path], None]) -> None:
    """A new file at `path`, filled beside it by `fill` and put in place only once it is whole.

    Where another program put one there meanwhile, that one is kept. Raises ArchiveRefused.
    """
    try:
        with beside(path) as part:
            part.touch()  # SQLite is told to open, never to make one
            fill(part)
            with part.open("rb") as file:
                os.fsync(file.fileno())
            with suppress(FileExistsError):
                place_new(part, path)
            _flushed(path.parent)
    except OSError as error:
        raise of_system(error, str(path), "the archive could not be made") from None


def _flushed(folder: Path) -> None:
    """The folder's own entry reaches the disk too, where the system can do that."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def with_log(path: Path) -> None:
    """Keep a write-ahead log from now on: readers then never wait for a writer. The file remembers it."""
    with closing(_connected(path, "mode=rw")) as connection:
        connection.execute("PRAGMA journal_mode = WAL")


def swept(folder: Path) -> None:
    """Take away what a killed run left of an archive it was making."""
    with suppress(OSError):  # it hinders nobody
        clear(folder)
