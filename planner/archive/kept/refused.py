"""Why an archive could not be used: one exception that carries a fault, made from whatever the database said."""

from __future__ import annotations

import sqlite3

from sqlalchemy import exc

from planner.archive.kept.address import written_in
from planner.faults import Fault, Where


class ArchiveRefused(Exception):
    """The archive was not used, and nothing in it was changed; `fault` says why and what to do."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.message)
        self.fault = fault


def refused(code: str, where: str, message: str, remedy: str) -> ArchiveRefused:
    """The exception for one reason; `where` is the file, or the address without its password: neither has lines."""
    return ArchiveRefused(
        Fault(code=f"archive.{code}", message=message, remedy=remedy, where=Where(file=where, lines=False))
    )


def damaged(where: str, what: str) -> ArchiveRefused:
    """An archive that does not read back whole."""
    return refused(
        "damaged",
        where,
        f"the archive is damaged: {what}",
        "put the last copy made with `planner archive copy` in its place, and keep this one aside",
    )


def foreign(where: str, what: str) -> ArchiveRefused:
    """Something that this program did not make."""
    return refused("foreign", where, f"this is no archive of this program: {what}", elsewhere())


def elsewhere() -> str:
    """The remedy where another place is to be named: in what named this one."""
    return f"name another place in {written_in()}"


_PERMIT = "give yourself write permission for it and its folder"

_SAID: tuple[tuple[str, str, str, str], ...] = (
    ("SQLITE_BUSY", "busy", "another program holds the archive", "close it there and do this again"),
    ("SQLITE_LOCKED", "busy", "another program holds the archive", "close it there and do this again"),
    ("SQLITE_READONLY", "readonly", "the archive cannot be written to", _PERMIT),
    ("SQLITE_PERM", "readonly", "the archive cannot be written to", _PERMIT),
    ("SQLITE_CANTOPEN", "unopened", "the archive cannot be opened", "check its folder, and that you may write there"),
    ("SQLITE_FULL", "full", "there is no room left for the archive", "make room on its disk and do this again"),
    ("SQLITE_IOERR", "full", "the disk would not take it", "check the disk and the room on it, and do this again"),
    ("SQLITE_CORRUPT", "damaged", "the archive is damaged", "put the last copy of it in its place"),
    ("SQLITE_NOTADB", "foreign", "this is no archive of this program", ""),
)
"""What SQLite calls a fault (the start of its name), our code, what it means, what to do; nothing: name another."""


def as_refused(error: Exception, where: str) -> ArchiveRefused | None:
    """What a database error means to the reader; None where it is no trouble of theirs but a slip of ours."""
    cause = getattr(error, "orig", None) or error
    name = getattr(cause, "sqlite_errorname", "")
    for start, code, message, remedy in _SAID:
        if name.startswith(start):
            return refused(code, where, message, remedy or elsewhere())
    if isinstance(cause, sqlite3.Error):
        return None
    if getattr(cause, "sqlstate", None) == "55P03":  # lock_not_available
        return refused("busy", where, "another program holds the archive", "wait until it is done and do this again")
    if isinstance(error, exc.OperationalError):
        first = (str(cause).strip().splitlines() or ["no answer"])[0]
        return refused(
            "unreachable", where, f"the database did not answer: {first[:200]}", "check that it runs and the address"
        )
    return None
