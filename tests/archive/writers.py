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

from planner.archive.kept.opening import opened
from planner.archive.kept.sqlite_file import state_of
from planner.archive.kept.store import keep_record, latest_records
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
    else:
        done = side_by_side(*where, int(rest[0]), int(rest[1]))
    sys.__stdout__.write(json.dumps(done) + "\n")
