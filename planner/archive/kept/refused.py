"""Why an archive could not be used: one exception that carries a fault, made from whatever the database said."""

from __future__ import annotations

import errno
import shutil
import sqlite3
from pathlib import Path
from typing import Final

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
        "put the last copy made with `planner archive copy` in its place, and set this one aside",
    )


def foreign(where: str, what: str) -> ArchiveRefused:
    """Something that this program did not make."""
    return refused("foreign", where, f"this is not an archive of this program: {what}", elsewhere())


def elsewhere() -> str:
    """The remedy where another place is to be named: in what named this one."""
    return f"name another place in {written_in()}"


# ------------------------------------------------------------ system

_NO_ROOM: Final = "make room on its disk and try again; what was kept before is safe"
_NO_RIGHTS: Final = frozenset({errno.EACCES, errno.EPERM, errno.EROFS})
_FULL: Final = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


def of_system(error: OSError, where: str, what: str) -> ArchiveRefused:
    """What the system would not do with a file: `what` begins the message, such as `the archive could not be made`."""
    why = error.strerror or str(error)
    if error.errno in _FULL:
        return refused("full", where, f"{what}: {why}", _NO_ROOM)
    if error.errno in _NO_RIGHTS:
        return refused(
            "readonly", where, f"{what}: {why}", f"give yourself write permission for this folder, or {elsewhere()}"
        )
    if error.errno in (errno.ENOENT, errno.ENOTDIR):
        return refused("readonly", where, f"{what}: its folder is not there", f"make that folder, or {elsewhere()}")
    return refused("unwritable", where, f"{what}: {why}", f"check the disk, or {elsewhere()}")


_LITTLE: Final = 1 << 16
"""Bytes free under which a disk takes no log beside an archive (our choice)."""


def _no_room_at(where: str) -> bool:
    try:
        return shutil.disk_usage(Path(where).parent).free < _LITTLE
    except OSError:
        return False


# ------------------------------------------------------------ databases

_MAY_WRITE: Final = "give yourself write permission for it and its folder"
_SAID: Final = (
    ("SQLITE_BUSY", "busy", "another program has the archive open", "close it there and try again"),
    ("SQLITE_LOCKED", "busy", "another program has the archive open", "close it there and try again"),
    ("SQLITE_READONLY", "readonly", "the archive cannot be written to", _MAY_WRITE),
    ("SQLITE_PERM", "readonly", "the archive cannot be written to", _MAY_WRITE),
    ("SQLITE_AUTH", "readonly", "the archive cannot be written to", _MAY_WRITE),
    ("SQLITE_CANTOPEN", "unopened", "the archive cannot be opened", "check its folder, and that you may write there"),
    ("SQLITE_FULL", "full", "there is no room left for the archive", _NO_ROOM),
    ("SQLITE_IOERR", "full", "the disk reported an error", "check the disk and the room on it, and try again"),
    ("SQLITE_CORRUPT", "damaged", "the archive is damaged", "put the last copy of it in its place"),
    ("SQLITE_NOTADB", "foreign", "this is not an archive of this program", ""),
)
"""What SQLite calls a fault (the start of its name), our code, what it means, what to do; nothing: name another."""
_ROOM_MAY_LACK: Final = ("SQLITE_CANTOPEN", "SQLITE_IOERR")
"""What SQLite says too where it was the log beside the file that found no room."""

UTF8: Final = "make one with `createdb -T template0 -E UTF8 NAME`, and name that"
_SERVER_SAID: Final = (
    ("55P03", "busy", "another program has the archive open", "wait until it is done and try again"),
    ("40", "busy", "another program got in between", "try again"),
    ("57014", "busy", "the server gave up: it took too long", "try again when the server is less busy"),
    ("53100", "full", "there is no room left on the server's disk", "make room on the server's disk and try again"),
    ("53300", "busy", "the server has no free connection left", "wait until others are done and try again"),
    ("53", "full", "the server has run out of memory or room", "check the server and try again"),
    ("25006", "readonly", "the server accepts no changes: it is a copy of another, or set to read only",
     "name the server that accepts changes"),
    ("42501", "readonly", "this user may not do that in the database",
     "let the database's owner give this user the rights to create and write tables in its schema `public`"),
    ("28", "unreachable", "the server refused the user or the password", "check both in the address"),
    ("3D000", "unreachable", "the server has no database of that name",
     "make it with `createdb -T template0 -E UTF8 NAME`, or check the name in the address"),
    ("22021", "encoding", "the database cannot store these letters", UTF8),
    ("22P05", "encoding", "the database cannot store these letters", UTF8),
    ("XX00", "damaged", "the server's database is damaged", "put the server's last backup in its place"),
    ("58", "full", "the server's disk reported an error", "check the server's disk and try again"),
)  # fmt: skip
"""The same by the start of PostgreSQL's own number of a fault."""
_AT_THE_DOOR: Final = (
    ("authentication failed", "28"),
    ("no password supplied", "28"),
    ("no pg_hba.conf entry", "28"),
    ("too many clients", "53300"),
    ("remaining connection slots", "53300"),
)
"""Words of a server that let nobody in: these come without a number."""


def as_refused(error: Exception, where: str) -> ArchiveRefused | None:
    """What a database error means to the reader; None where it is no trouble of theirs but a slip of ours."""
    cause = getattr(error, "orig", None) or error
    if isinstance(cause, sqlite3.Error):
        return _of_file(cause, where)
    first = (str(cause).strip().splitlines() or ["no answer"])[0]
    state = getattr(cause, "sqlstate", None) or next((state for words, state in _AT_THE_DOOR if words in first), "")
    if not state and " database " in first and first.endswith("does not exist"):
        state = "3D000"
    for start, code, message, remedy in _SERVER_SAID:
        if state.startswith(start):
            return refused(code, where, message, remedy)
    if type(cause).__name__ == "ProgrammingError" and not state:  # the driver, before it asked any server
        remedy = f"take it out behind the `?` in {written_in()}, or check how it is spelled"
        return refused("address", where, f"the driver does not know this address: {first[:200]}", remedy)
    if type(error).__name__ in ("OperationalError", "InterfaceError") or state[:2] in ("08", "57"):
        return refused(
            "unreachable", where, f"the database did not answer: {first[:200]}", "check that it runs and the address"
        )
    return None


def _of_file(cause: sqlite3.Error, where: str) -> ArchiveRefused | None:
    name = getattr(cause, "sqlite_errorname", "")
    if name.startswith(_ROOM_MAY_LACK) and _no_room_at(where):
        name = "SQLITE_FULL"
    for start, code, message, remedy in _SAID:
        if name.startswith(start):
            return refused(code, where, message, remedy or elsewhere())
    return None
