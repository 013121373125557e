"""An archive by its address: found, looked at, brought up to date, opened.

One writer at a time, on both databases.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event, exc, inspect
from sqlalchemy.engine import URL, make_url
from sqlalchemy.pool import NullPool

from planner.archive.kept import migrations, sqlite_file
from planner.archive.kept.address import APPLICATION_ID, COMPANY, Address, file_of, is_settings, written_in
from planner.archive.kept.migrations import Migration
from planner.archive.kept.refused import UTF8, ArchiveRefused, as_refused, foreign, refused
from planner.archive.kept.tables import KEPT, MIGRATIONS
from planner.writing import followed


class Opened:
    """An archive ready for use: `where` is its file, or its address without the password; `branch` whose jobs are
    read and written in it; `patience` how long a writer waits for another [s], where that was said."""

    def __init__(
        self, engine: Engine, where: str, path: Path | None, branch: str = "", patience: float | None = None
    ) -> None:
        self.engine = engine
        self.where = where
        self.path = path
        self.branch = branch
        self.patience = patience

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent look at it. Raises ArchiveRefused."""
        with self._refusing(), self.engine.connect() as connection, connection.execution_options(reading=True).begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction, one writer at a time: all of it is kept when this ends, or none. Raises ArchiveRefused."""
        with self._refusing(), self.engine.begin() as connection:
            if connection.dialect.name == "postgresql":
                connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{int(self.patience or sqlite_file.PATIENCE)}s'")
                connection.exec_driver_sql("SET LOCAL synchronous_commit = on")
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({APPLICATION_ID})")
            yield connection

    @contextmanager
    def _refusing(self) -> Iterator[None]:
        try:
            yield
        except exc.DBAPIError as error:
            told = as_refused(error, self.where)
            if told is None:
                raise
            raise told from error


@contextmanager
def opened(
    address: Address | str | None,
    folder: Path,
    *,
    write: bool = True,
    known: Sequence[Migration] = migrations.ALL,
    patience: float | None = None,
) -> Iterator[Opened]:
    """The archive at `address`, or the file of the workspace `folder`; made where there is none yet and `write`.

    `patience` is how long a writer waits for another [s]; without it as long as a program nobody watches.

    Raises ArchiveRefused: nothing is written to what is not ours, not whole, or from a newer program.
    """
    address = Address.of(address)
    url = url_of(address.text, folder)
    if url.get_backend_name() == "sqlite":
        archive = _file(_followed(Path(str(url.database)), folder, write=write), known, write=write, patience=patience)
    else:
        archive = _server(url, patience)
        _up_to_date(archive, known, write=write)
    archive.branch = address.branch
    try:
        yield archive
    finally:
        archive.engine.dispose()


def _followed(path: Path, folder: Path, *, write: bool) -> Path:
    """Where the file itself is, and its log beside it. Raises ArchiveRefused for a link out of the workspace."""
    try:
        return followed(path, folder if path.is_relative_to(folder) else path.parent) if write else _end(path)
    except OSError as error:
        raise refused(
            "link", str(path), f"the archive cannot be written: {error.strerror}",
            f"write where it is under `archive` of {COMPANY}, or put the file back in its place",
        ) from None  # fmt: skip


def _end(path: Path) -> Path:
    return path.resolve() if path.is_symlink() else path


def url_of(address: str | None, folder: Path) -> URL:
    """An address as written: a URL, or a file's path, taken from the workspace. Raises ArchiveRefused."""
    file = file_of(address, folder)
    if file is not None:
        return URL.create("sqlite", database=str(file))
    address = (address or "").strip()
    if is_settings(address) and "://" not in address:
        raise _no_address("a server's settings, and neither a file nor an address")
    try:
        url = make_url(address)
        backend = url.get_backend_name()
    except (exc.ArgumentError, ValueError):  # a host or port that is none
        raise _no_address("an address that cannot be read") from None
    if backend == "sqlite":
        raise _no_address("an address without a plain file in it")
    if backend not in ("postgresql", "postgres"):
        raise _no_address(f"an address of the kind `{backend[:40]}`")
    if "@" in f"{url.host}{url.database}":
        raise _no_address(
            "an address that can be read in two ways",
            "write `%40` for an `@`, `%2F` for a `/` and `%3A` for a `:` within the user or the password",
        )
    return url.set(drivername="postgresql+psycopg")


def _no_address(
    what: str, remedy: str = "write `sqlite:///archive.db`, or `postgresql://user@host/name`"
) -> ArchiveRefused:  # fmt: skip
    """Of an address nothing is repeated: a password may be anywhere in it."""
    place = written_in()
    return refused("address", place, f"`{'archive' if place == COMPANY else place}` holds {what}", remedy)


def _file(path: Path, known: Sequence[Migration], *, write: bool, patience: float | None) -> Opened:
    if write:
        sqlite_file.swept(path.parent)
    state = sqlite_file.state_of(path)
    if state == "none":
        if not write:
            raise refused("missing", str(path), "there is no archive yet", "print a packet or record a job first")
        sqlite_file.make_whole(path, lambda beside: _filled(beside, path, known))
    archive = Opened(sqlite_file.engine_for(path, read_only=not write, patience=patience), str(path), path)
    _up_to_date(archive, known, write=write)
    if state == "empty" and write:
        sqlite_file.with_log(path)
    return archive


def _filled(beside: Path, path: Path, known: Sequence[Migration]) -> None:
    archive = Opened(sqlite_file.engine_for(beside, read_only=False), str(path), beside)
    _up_to_date(archive, known, write=True)
    sqlite_file.with_log(beside)
    archive.engine.dispose()


def _server(url: URL, patience: float | None) -> Opened:
    where = _without_secrets(url)
    # What the reader's own program was set to says nothing of what is kept.
    sure = {"connect_timeout": 10, "client_encoding": "utf8"}
    try:
        engine = create_engine(url, poolclass=NullPool, connect_args=sure)
    except ModuleNotFoundError:
        raise refused(
            "driver", where, "the driver for PostgreSQL is not installed", "run `pip install '.[postgres]'`"
        ) from None
    except (exc.SQLAlchemyError, ValueError, TypeError):  # hosts and ports that are not as many
        raise _no_address("an address that cannot be read") from None
    event.listen(engine, "begin", _one_look)
    archive = Opened(engine, where, None, patience=patience)
    try:
        with archive.reading() as connection:
            encoding = str(connection.exec_driver_sql("SHOW server_encoding").scalar())
    except (UnicodeError, ValueError, TypeError):  # a host's name no network has
        raise _no_address("an address that cannot be read") from None
    if encoding != "UTF8":
        raise refused(
            "encoding",
            where,
            f"the database stores letters as {encoding}, and names would come back wrong",
            UTF8,
        )
    return archive


def _without_secrets(url: URL) -> str:
    """An address as it may be shown: user, host and database, and nothing of what else was written behind the `?`."""
    shown = URL.create("postgresql", url.username, None, url.host, url.port, url.database)
    hosts = url.query.get("host")
    return shown.set(query={"host": hosts} if hosts else {}).render_as_string()


def _one_look(connection: Connection) -> None:
    """A reader sees one state of the whole, as it does in a file."""
    if connection.get_execution_options().get("reading", False):
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")


def _up_to_date(archive: Opened, known: Sequence[Migration], *, write: bool) -> None:
    """Refuse what is foreign or newer; make the changes that are still to be made."""
    with archive.reading() as connection:
        missing = _missing(archive, connection, known)
    if missing and not write:
        raise refused("older", archive.where, "the archive is older than this program", "print or record something")
    for migration in missing:
        with archive.writing() as connection:
            if migration in _missing(archive, connection, known):
                migrations.make(connection, migration)


def _missing(archive: Opened, connection: Connection, known: Sequence[Migration]) -> list[Migration]:
    names = set(inspect(connection).get_table_names())
    there = MIGRATIONS.name in names
    if not there and names & {table.name for table in KEPT}:
        raise foreign(archive.where, "it holds tables with the same names that this program did not make")
    made = migrations.done(connection, there)
    if newer := migrations.ahead(made, known):
        raise refused(
            "newer",
            archive.where,
            f"a newer version of this program has changed the archive (`{newer[-1][:80]}`), and nothing was touched",
            "install that version here too, with `pip install --upgrade`",
        )
    return [migration for migration in known if migration.name not in made]
