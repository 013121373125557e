"""Programs that record and are killed, or record side by side. Run as `python -m tests.archive.writers MODE ...`.

One process imports everything once and forks: each fork is a writer of its own, with connections of its own.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from planner.archive.kept.address import Address
from planner.archive.kept.opening import opened
from planner.archive.kept.refused import ArchiveRefused
from planner.archive.kept.sqlite_file import state_of
from planner.archive.kept.store import Printed, keep_printed, keep_record, latest_records
from planner.archive.kept.tables import RECORDS
from planner.cli import main

PLAN = {"id": "day/1-job", "plan": "0000-0001"}


def record(address: str | None, folder: Path, job: str, number: int) -> int:
    """One record as a command makes it, the archive opened for it alone; gives its revision."""
    with opened(address, folder) as archive:
        content = {"job": job, "n": number, "text": "x" * 2000}
        return keep_record(archive, content, plan=PLAN, plan_number=None, source="test").revision


def _acknowledge(pipe: int, line: str) -> None:
    os.write(pipe, f"{line}\n".encode())


def _forked(work: object) -> tuple[int, int]:
    """A child doing `work(pipe)` and no more: its id, and the pipe to read its acknowledgements from."""
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(out)
        try:
            work(into)
        finally:
            os._exit(0)
    os.close(into)
    return child, out


def killed(address: str | None, folder: Path, rounds: int, seed: int, job_file: str | None) -> dict[str, int]:
    """Kill writers at random instants; whatever one had acknowledged must be there, and the archive must open."""
    chance = random.Random(seed)
    wanted: dict[str, set[int]] = {}
    for turn in range(rounds):
        by_command = job_file is not None and turn % 5 == 4

        def work(pipe: int, turn: int = turn, by_command: bool = by_command) -> None:
            for number in range(100_000):
                if by_command:
                    _by_command(folder, str(job_file), f"{turn}-{number}")
                    _acknowledge(pipe, f"command {turn * 1000 + number}")
                else:
                    record(address, folder, f"day/{turn}-job", number)
                    _acknowledge(pipe, f"day/{turn}-job {number}")

        child, pipe = _forked(work)
        # Some die while the archive is still being made or opened, the others somewhere in the next record.
        target = chance.randrange(4)
        with os.fdopen(pipe) as said:
            told = [said.readline() for _ in range(target)]
            time.sleep(chance.uniform(0.0, 0.02 if target else 0.04))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            told += said.read().splitlines()
        for line in told:
            job, number = line.rsplit(" ", 1)
            wanted.setdefault(job, set()).add(int(number))
        if address is None and state_of(folder / "archive.db") == "none":
            assert not wanted, "a record was acknowledged before there was a file"
            continue
        with opened(address, folder) as archive:
            found = {one.job: one.content for one in latest_records(archive)}
        for job, numbers in wanted.items():
            if job != "command":
                assert found[job]["n"] >= max(numbers), (turn, job)
        if "command" in wanted:
            (mark,) = [one["deviations"] for one in found.values() if "deviations" in one]
            turned, number = mark.removeprefix("mark ").split("-")  # type: ignore[attr-defined]
            assert int(turned) * 1000 + int(number) >= max(wanted["command"]), (turn, mark)
    return {"rounds": rounds, "acknowledged": sum(map(len, wanted.values()))}


def _by_command(folder: Path, job_file: str, mark: str) -> None:
    written = folder / "done.yaml"
    written.write_text(f"job: {Path(job_file).stem}\ndeviations: mark {mark}\n", encoding="utf-8")
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    assert main(["record", job_file, "--from", str(written)]) == 0


def born(address: str | None, folder: Path, rounds: int, seed: int) -> dict[str, int]:
    """Kill whoever makes an archive, at random instants: the next one makes it or goes on with it, and nothing of a
    creation is left behind."""
    chance, kept, unmade, whole = random.Random(seed), 0, 0, 0.0
    for turn in range(rounds + 1):
        place = folder / str(turn)
        place.mkdir()
        if address is not None:
            _emptied(address)

        def work(pipe: int, place: Path = place) -> None:
            _acknowledge(pipe, "begun")
            record(address, place, "day/1-job", 1)
            _acknowledge(pipe, "kept")

        child, pipe = _forked(work)
        with os.fdopen(pipe) as said:
            said.readline()
            begun = time.monotonic()
            if turn:  # the first is let go through, to know how long one takes
                time.sleep(chance.uniform(0.0, 1.2 * whole))
                os.kill(child, signal.SIGKILL)
            acknowledged = "kept" in said.read()
            os.waitpid(child, 0)
            whole = whole or time.monotonic() - begun
        kept += acknowledged
        unmade += address is None and state_of(place / "archive.db") == "none"
        with opened(address, place) as archive:
            found = latest_records(archive)
        assert found or not acknowledged, turn
        record(address, place, "day/2-job", 1)
        beside = sorted(one.name for one in place.iterdir())
        assert beside == (["archive.db"] if address is None else []), (turn, beside)
    return {"rounds": rounds, "kept": kept, "unmade": unmade}


def _emptied(address: str) -> None:
    """A database with nothing in it."""
    import psycopg

    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")


BRANCHES = {"north": ("bittern", "heron"), "south": ("plover", "curlew")}


def office(address: str | None, folder: Path, each: int) -> dict[str, int]:
    """Two branches and their four rigs print and record at once, each under ids the others use too. What each was told
    of as kept is there, in its own branch and of its own rig, and nothing else. A server that goes away ends a writer
    with its reason."""

    def work(pipe: int, branch: str, rig: str, street: int) -> None:
        where = Address(text=address, branch=branch)
        for number in range(each):
            job = f"2026-06-{number % 28 + 1:02}-{rig if number % 2 else 'one'}/{number}-{rig if not number % 2 else 'job'}"
            plan = {
                "id": job,
                "plan": f"{number:04}-0001",
                "branch": branch,
                "address": f"{number + 1} Street {street}",
            }
            try:
                with opened(where, folder) as archive:
                    packet = f"{branch} {rig} {number}".encode()
                    keep_printed(archive, [Printed(plan=plan, file="a.pdf", packet=packet, pages=1, held=False)])
                    done = {"job": job, "deviations": f"{branch} {rig}"}
                    keep_record(archive, done, plan=plan, plan_number=plan["plan"], source="test")
            except ArchiveRefused as refused:
                _acknowledge(pipe, f"! {refused.fault.code}")
                return
            _acknowledge(pipe, f"{job}={branch} {rig}")

    children = [
        (branch, *_forked(lambda pipe, branch=branch, rig=rig, n=n: work(pipe, branch, rig, n)))
        for n, (branch, rig) in enumerate((branch, rig) for branch, rigs in BRANCHES.items() for rig in rigs)
    ]
    told: dict[str, dict[str, str]] = {branch: {} for branch in BRANCHES}
    refusals: set[str] = set()
    for branch, child, pipe in children:
        with os.fdopen(pipe) as said:
            for line in said.read().splitlines():
                if line.startswith("! "):
                    refusals.add(line[2:])
                else:
                    job, _, text = line.partition("=")
                    told[branch][job] = text
        os.waitpid(child, 0)
    sys.__stdout__.write(json.dumps({"told": told, "refusals": sorted(refusals)}) + "\n")
    return {"kept": sum(map(len, told.values()))}


def side_by_side(address: str | None, folder: Path, writers: int, each: int) -> dict[str, int]:
    """Writers at once, each on a job of its own and all on a common one: everything lands, each in a revision."""

    def work(pipe: int, own: int) -> None:
        for number in range(each):
            record(address, folder, f"day/{own}-own", number)
            revision = record(address, folder, "day/0-common", own * each + number)
            _acknowledge(pipe, str(revision))

    children = [_forked(lambda pipe, own=own: work(pipe, own)) for own in range(1, writers + 1)]
    revisions: list[int] = []
    for child, pipe in children:
        with os.fdopen(pipe) as said:
            revisions += [int(line) for line in said.read().splitlines()]
        os.waitpid(child, 0)
    with opened(address, folder) as archive, archive.reading() as connection:
        kept = connection.execute(RECORDS.select()).all()
    assert sorted(revisions) == list(range(1, writers * each + 1)), "no two writers were given one revision"
    return {"kept": len(kept)}


if __name__ == "__main__":
    mode, address_text, folder_text, *rest = sys.argv[1:]
    where = (address_text or None, Path(folder_text))
    if mode == "killed":
        done = killed(*where, int(rest[0]), int(rest[1]), rest[2] or None)
    elif mode == "born":
        done = born(*where, int(rest[0]), int(rest[1]))
    elif mode == "office":
        done = office(*where, int(rest[0]))
    else:
        done = side_by_side(*where, int(rest[0]), int(rest[1]))
    sys.__stdout__.write(json.dumps(done) + "\n")
