"""An office on a real PostgreSQL: branches and rigs at once, a server that falls down, and one that cannot be used."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from planner.archive.kept.address import Address
from planner.archive.kept.opening import opened
from planner.archive.kept.refused import ArchiveRefused
from planner.archive.kept.store import latest_records, plan_by_hash
from planner.cli import main
from tests import workspaces
from tests.archive.servers import Server, own_server
from tests.archive.writers import BRANCHES

pytestmark = pytest.mark.postgres
psycopg = pytest.importorskip("psycopg")

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def own() -> Iterator[Server]:
    """A server that may be stopped."""
    with own_server() as server:
        if server is None:
            pytest.skip("no PostgreSQL here: install one")
        yield server


@pytest.fixture
def database(own: Server, request: pytest.FixtureRequest) -> str:
    """The address of a new database on it."""
    name = f"office_{abs(hash(request.node.name)) % 10**9}"
    _do(own, f"CREATE DATABASE {name}")
    return own.address.format(name)


def _do(server: Server, statement: str, name: str = "postgres") -> None:
    with psycopg.connect(server.address.format(name), autocommit=True) as connection:
        connection.execute(statement)


def office(address: str, folder: Path, each: int) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.archive.writers", "office", address, str(folder), str(each)]
    env = {name: value for name, value in os.environ.items() if name != "PLANNER_ARCHIVE"}
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT, env=env)


def told_of(process: subprocess.Popen[str]) -> dict[str, Any]:
    said, _ = process.communicate(timeout=120)
    assert process.returncode == 0
    return dict(json.loads(said.splitlines()[0]))


def kept_in(address: str, folder: Path, branch: str) -> dict[str, object]:
    """What a branch has by job; each record is of its own plan."""
    with opened(Address(text=address, branch=branch), folder, write=False) as archive:
        found = latest_records(archive)
        for record in found[:20]:
            assert record.revision == 1
            plan = plan_by_hash(archive, str(record.plan))
            assert plan is not None
            assert (plan.content["id"], plan.content["branch"]) == (record.job, branch)
    return {record.job: record.content["deviations"] for record in found}


def test_two_branches_and_four_rigs_at_once_keep_what_is_theirs(database: str, tmp_path: Path) -> None:
    told = told_of(office(database, tmp_path, 6))
    assert told["refusals"] == []
    for branch, rigs in BRANCHES.items():
        kept = kept_in(database, tmp_path, branch)
        assert kept == told["told"][branch]
        assert len(kept) == 2 * 6
        assert set(kept.values()) == {f"{branch} {rig}" for rig in rigs}
    assert kept_in(database, tmp_path, "") == {}


def test_a_server_that_falls_down_midway_loses_nothing_it_acknowledged(
    own: Server, database: str, tmp_path: Path
) -> None:
    process = office(database, tmp_path, 5000)
    try:
        while not all(_kept_by_now(database, tmp_path, branch) for branch in BRANCHES):
            time.sleep(0.1)
        assert own.stop() == 0
        told = told_of(process)
        assert refusal(database, tmp_path)[0] == "archive.unreachable"
    finally:
        process.kill()
        assert own.start() == 0
    assert told["refusals"] == ["archive.unreachable"]
    assert all(told["told"].values()), "each branch had kept something by then"
    for branch in BRANCHES:
        kept = kept_in(database, tmp_path, branch)
        assert told["told"][branch].items() <= kept.items()
        # The last of each rig may have been kept and not told of: its answer was on the way.
        assert len(kept) - len(told["told"][branch]) <= len(BRANCHES[branch])


@pytest.mark.parametrize("encoding", ["SQL_ASCII", "LATIN1"])
def test_a_database_that_cannot_keep_every_letter_is_refused(encoding: str, own: Server, tmp_path: Path) -> None:
    name = f"letters_{encoding.lower()}"
    _do(own, f"CREATE DATABASE {name} TEMPLATE template0 ENCODING '{encoding}' LC_COLLATE 'C' LC_CTYPE 'C'")
    for write in (True, False):
        with pytest.raises(ArchiveRefused) as refused, opened(own.address.format(name), tmp_path, write=write):
            pass
        assert refused.value.fault.code == "archive.encoding"
        assert encoding in refused.value.fault.message
        assert "createdb -T template0 -E UTF8" in refused.value.fault.remedy


def refusal(address: str, folder: Path) -> tuple[str, str]:
    with pytest.raises(ArchiveRefused) as refused, opened(address, folder):
        pass
    return refused.value.fault.code, f"{refused.value.fault.message}; {refused.value.fault.remedy}"


def test_a_server_that_takes_no_writing_or_knows_nobody_is_told_as_that(
    own: Server, database: str, tmp_path: Path
) -> None:
    name = database.partition("planner@/")[2].partition("?")[0]
    assert "createdb" in refusal(own.address.format("nowhere"), tmp_path)[1]
    assert refusal(f"{database}&colour=blue", tmp_path)[0] == "archive.address"
    _do(own, f"ALTER DATABASE {name} SET default_transaction_read_only = on")
    code, words = refusal(database, tmp_path)
    assert (code, "read only" in words) == ("archive.readonly", True)
    _do(own, f"ALTER DATABASE {name} RESET default_transaction_read_only")
    _do(own, "REVOKE CREATE ON SCHEMA public FROM PUBLIC", name)
    _do(own, "CREATE ROLE guest LOGIN", name)
    code, words = refusal(database.replace("planner@", "guest@"), tmp_path)
    assert (code, "rights" in words) == ("archive.readonly", True)
    assert refusal(database.replace("planner@", "stranger@"), tmp_path)[0] == "archive.unreachable"


def test_the_commands_of_two_workspaces_keep_apart_what_bears_one_name(
    database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PLANNER_ARCHIVE", database)
    for branch, street in (("north", "1 Quay Street"), ("south", "77 Harbor Terrace")):
        files = workspaces.base()
        files["company"]["branch"] = branch
        files["job"]["site"]["address"] = street
        job = workspaces.write(tmp_path / branch, files)
        (tmp_path / "done.yaml").write_text(f"job: {job.stem}\ndeviations: {branch}\n", encoding="utf-8")
        assert main(["record", str(job), "--from", str(tmp_path / "done.yaml")]) == 0
        assert main(["record", str(job), "--add", "spent=12"]) == 0
        assert "revision 2" in capsys.readouterr().out
        assert list(kept_in_any(database, tmp_path, branch).values()) == [branch]
    assert main(["archive", "export", str(tmp_path / "out"), "--workspace", str(tmp_path / "north")]) == 0
    assert "4 records" in capsys.readouterr().out


def _kept_by_now(address: str, folder: Path, branch: str) -> bool:
    try:
        return len(kept_in_any(address, folder, branch)) > 2
    except ArchiveRefused:
        return False  # nobody has made it yet


def kept_in_any(address: str, folder: Path, branch: str) -> dict[str, object]:
    with opened(Address(text=address, branch=branch), folder, write=False) as archive:
        return {record.job: record.content["deviations"] for record in latest_records(archive)}
