"""The latest records of some jobs, read without loading the database library where the archive is a file.

`check` asks for them at every call, so a file is read through Python's own SQLite; a server goes through `store`.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from planner.archive.kept.address import APPLICATION_ID, Address, file_of
from planner.archive.kept.refused import as_refused
from planner.writing import ordinary

if TYPE_CHECKING:
    from planner.contract.record import RecordJson

_LATEST: Final = """
SELECT job, json FROM records AS r WHERE branch = ?1 AND job >= ?2 AND job < ?3 AND revision = (
    SELECT MAX(revision) FROM records AS o WHERE branch = ?1 AND job = r.job AND NOT EXISTS (
        SELECT 1 FROM withdrawn WHERE branch = ?1 AND job = o.job AND revision = o.revision))
"""
_LATEST_BEFORE: Final = """
SELECT job, json FROM records AS r WHERE ?1 = '' AND job >= ?2 AND job < ?3
AND revision = (SELECT MAX(revision) FROM records WHERE job = r.job)
"""
"""Of a file in which nothing was kept since there are branches: reading changes nothing in it."""


def records_between(
    written: Address | str | None, folder: Path, first: str, end: str
) -> dict[str, RecordJson]:  # fmt: skip
    """The latest record of each job whose id lies from `first` up to `end`, by id; none where there is no archive.

    Raises OSError with the reason where the archive is there and cannot be read.
    """
    address = Address.of(written)
    path = file_of(address.text, folder)
    if path is None:
        return _from_server(address, folder, first, end)
    path = path.resolve() if path.is_symlink() else path  # its log lies where the file is
    if not path.exists():
        return {}
    try:
        ordinary(path)
    except OSError as error:
        raise OSError(error.strerror) from None  # its place is told where it is told
    # Without a log beside it the file is all there is, and reading it needs no leave to write.
    mode = "mode=ro" if path.with_name(path.name + "-wal").exists() else "mode=ro&immutable=1"
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?{mode}", uri=True)) as connection:
            (made,) = connection.execute("PRAGMA application_id").fetchone()
            if made != APPLICATION_ID:
                raise OSError("another program made it")
            since = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'withdrawn'").fetchone()
            query = _LATEST if since else _LATEST_BEFORE
            rows = connection.execute(query, (address.branch, first, end)).fetchall()
    except sqlite3.Error as error:
        told = as_refused(error, str(path))
        raise OSError(told.fault.message if told is not None else str(error)) from None
    return _sound(rows)


def _sound(kept: Iterable[tuple[str, Any]]) -> dict[str, RecordJson]:
    """Records that can be read; one that cannot tells of nothing that was done."""
    from planner.contract.held import MALFORMED, record_of

    found = {}
    for job, said in kept:
        with suppress(*MALFORMED):
            found[job] = record_of(json.loads(said) if isinstance(said, str) else said)
    return found


def _from_server(address: Address, folder: Path, first: str, end: str) -> dict[str, RecordJson]:
    from planner.archive.kept import opening, store
    from planner.archive.kept.refused import ArchiveRefused

    try:
        with opening.opened(address, folder, write=False) as archive:
            rows = store.latest_records(archive)
    except ArchiveRefused as refused:
        raise OSError(refused.fault.message) from None
    except ImportError as error:
        raise OSError(f"`{error.name}` is not installed") from None
    return _sound((row.job, row.content) for row in rows if first <= row.job < end)
