"""A PostgreSQL server of the tests' own, where one is installed: data and socket in a temporary folder, no network."""

from __future__ import annotations

import glob
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

GIVEN = "PLANNER_TEST_POSTGRES"
"""A server's address for the tests to make databases on, instead of one of their own."""


def programs() -> Path | None:
    """Where `initdb` and `pg_ctl` are; None where no server is installed."""
    found = sorted(glob.glob("/usr/lib/postgresql/*/bin/initdb"), key=lambda path: int(path.split("/")[4]))
    on_path = shutil.which("initdb")
    here = found[-1] if found else on_path
    return Path(here).parent if here else None


@contextmanager
def server() -> Iterator[str | None]:
    """The address of a running server, `{}` standing for the database's name; None where there is none."""
    if given := os.environ.get(GIVEN):
        head, _, _ = given.rpartition("/")
        yield f"{head}/{{}}"
        return
    found = programs()
    if found is None:
        yield None
        return
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    # The server refuses to run as root.
    user = {"user": "nobody"} if hasattr(os, "geteuid") and os.geteuid() == 0 else {}
    if user:
        shutil.chown(folder, "nobody")
    data, quiet = folder / "data", {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": folder, **user}
    options = ["-U", "planner", "-A", "trust", "-N", "--no-locale", "-E", "UTF8", "--no-instructions"]
    try:
        made = subprocess.run([found / "initdb", "-D", data, *options], check=False, **quiet)  # type: ignore[call-overload]
        start = [found / "pg_ctl", "-D", data, "-w", "-t", "30", "-o", f"-k {folder} -h '' -F", "start"]
        if made.returncode or subprocess.run(start, check=False, **quiet).returncode:  # type: ignore[call-overload]
            yield None
            return
        try:
            yield f"postgresql://planner@/{{}}?host={folder}"
        finally:
            subprocess.run([found / "pg_ctl", "-D", data, "-m", "immediate", "stop"], check=False, **quiet)  # type: ignore[call-overload]
    finally:
        shutil.rmtree(folder, ignore_errors=True)
