"""A PostgreSQL server of the tests' own, where one is installed: data and socket in a temporary folder, no network."""

from __future__ import annotations

import glob
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

GIVEN = "PLANNER_TEST_POSTGRES"
"""A server's address for the tests to make databases on, instead of one of their own."""


def programs() -> Path | None:
    """Where `initdb` and `pg_ctl` are; None where no server is installed."""
    found = sorted(glob.glob("/usr/lib/postgresql/*/bin/initdb"), key=lambda path: int(path.split("/")[4]))
    on_path = shutil.which("initdb")
    here = found[-1] if found else on_path
    return Path(here).parent if here else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A server of the tests' own: its `address`, `{}` standing for the database's name, and where it lies."""

    address: str
    folder: Path
    programs: Path
    user: dict[str, str]

    def ask(self, *words: str) -> int:
        """Tell `pg_ctl` to do something; gives how it ended."""
        call = [self.programs / "pg_ctl", "-D", self.folder / "data", "-w", "-t", "30", *words]
        return _run(call, self.folder, self.user)

    def start(self) -> int:
        """Begin to answer, on a socket alone."""
        return self.ask("-o", f"-k {self.folder} -h '' -F", "start")

    def stop(self) -> int:
        """Fall down as it would without power."""
        return self.ask("-m", "immediate", "stop")


def _run(call: list[object], folder: Path, user: dict[str, str]) -> int:
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": folder, **user}
    return int(subprocess.run(call, check=False, **quiet).returncode)  # type: ignore[call-overload]


@contextmanager
def own_server() -> Iterator[Server | None]:
    """A running server that nothing else is on; None where none is installed."""
    found = programs()
    if found is None:
        yield None
        return
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    # The server refuses to run as root.
    user = {"user": "nobody"} if hasattr(os, "geteuid") and os.geteuid() == 0 else {}
    if user:
        shutil.chown(folder, "nobody")
    one = Server(address=f"postgresql://planner@/{{}}?host={folder}", folder=folder, programs=found, user=user)
    options = ["-U", "planner", "-A", "trust", "-N", "--no-locale", "-E", "UTF8", "--no-instructions"]
    try:
        if _run([found / "initdb", "-D", folder / "data", *options], folder, user) or one.start():
            yield None
            return
        try:
            yield one
        finally:
            one.stop()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def server() -> Iterator[str | None]:
    """The address of a running server, `{}` standing for the database's name; None where there is none."""
    if given := os.environ.get(GIVEN):
        head, _, _ = given.rpartition("/")
        yield f"{head}/{{}}"
        return
    with own_server() as one:
        yield one.address if one is not None else None
