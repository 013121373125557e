"""Archives to test on: a new file, and a new database of a real server where there is one."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.archive.servers import server

_NUMBERS = itertools.count(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where an archive is to be: its address, None for the workspace's own file, and the workspace."""

    address: str | None
    folder: Path


@pytest.fixture(scope="session")
def postgres() -> Iterator[str | None]:
    """The address of a running server; None where there is none."""
    with server() as address:
        yield address


@pytest.fixture(params=["file", pytest.param("server", marks=pytest.mark.postgres)])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    """A place nothing was kept in yet, on each kind of database."""
    if request.param == "file":
        yield Place(address=None, folder=tmp_path)
        return
    address = request.getfixturevalue("postgres")
    if address is None:
        pytest.skip("no PostgreSQL here: install one, or name it in PLANNER_TEST_POSTGRES")
    psycopg = pytest.importorskip("psycopg")
    name = f"planner_test_{next(_NUMBERS)}"
    with psycopg.connect(address.format("postgres"), autocommit=True) as connection:
        connection.execute(f"DROP DATABASE IF EXISTS {name}")
        connection.execute(f"CREATE DATABASE {name}")
        yield Place(address=address.format(name), folder=tmp_path)
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")
