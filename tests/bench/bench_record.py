"""How long a record takes, alone and among ten thousand others, and how large the archive grows. Run by hand.

    python tests/bench/bench_record.py [RECORDS]

Ratios are of figures measured in the one run, so that another machine can be compared.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from sqlalchemy import insert  # noqa: E402

from planner.archive.kept.content import hash_of, text_of  # noqa: E402
from planner.archive.kept.opening import opened  # noqa: E402
from planner.archive.kept.store import keep_record, latest_records, plan_of  # noqa: E402
from planner.archive.kept.tables import PLANS, RECORDS  # noqa: E402
from planner.days.archiving import plan_json  # noqa: E402
from planner.days.prepare import Trouble, checked_jobs  # noqa: E402
from planner.inputs.workspace import load  # noqa: E402

_TRIES = 20


def record(folder: Path, plan: dict[str, object], number: int) -> float:
    """Seconds for one record as the command makes it: opened, looked at, kept, closed."""
    begun = time.perf_counter()
    with opened(None, folder) as archive:
        content = {"job": plan["id"], "water": {"used_m3": number / 1000.0}}
        keep_record(archive, content, plan=plan, plan_number=None, source="bench")
    return time.perf_counter() - begun


def flushed(folder: Path) -> float:
    """Seconds for one page to reach this disk: what no record can beat."""
    begun = time.perf_counter()
    with (folder / "page").open("ab") as file:
        file.write(b"x" * 4096)
        file.flush()
        os.fsync(file.fileno())
    return time.perf_counter() - begun


def main() -> None:
    """Print the figures."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    day = ROOT / "jobs" / "2026-06-09"
    job = next(iter(checked_jobs(load([day / "10-millrace.yaml"]), Trouble(faults=[]))))
    plan = plan_json(job, ROOT / "jobs")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        page = median(flushed(folder) for _ in range(_TRIES))
        first = record(folder, plan, -1)
        alone = median(record(folder, plan, number) for number in range(_TRIES))
        small = (folder / "archive.db").stat().st_size
        text = text_of({"job": "x", "padding": "x" * 1500})
        rows = [
            {
                "job": f"day/{n}",
                "revision": 1,
                "plan": None,
                "content": str(n),
                "json": text,
                "source": "b",
                "at": "now",
            }
            for n in range(many)
        ]
        plans = []
        for n in range(0, many, 10):
            other = text_of({**plan, "id": f"day/{n}"})
            plans.append({"sha256": hash_of(other), "job": f"day/{n}", "number": "1", "json": other})
        with opened(None, folder) as archive, archive.writing() as connection:
            connection.execute(insert(PLANS), [{**row, "program": "bench", "at": "now"} for row in plans])
            connection.execute(insert(RECORDS), rows)
        among = median(record(folder, plan, 1000 + number) for number in range(_TRIES))
        with opened(None, folder) as archive:
            begun = time.perf_counter()
            latest_records(archive)
            listed = time.perf_counter() - begun
            begun = time.perf_counter()
            plan_of(archive, f"day/{many - 10}")
            found = time.perf_counter() - begun
        large = (folder / "archive.db").stat().st_size
    print(f"a page to the disk            {page * 1e3:8.2f} ms")
    print(f"the archive made, one record  {first * 1e3:8.2f} ms")
    print(f"a record, alone               {alone * 1e3:8.2f} ms  {alone / page:6.1f} pages")
    print(f"a record, among {many:,} and {len(plans):,} plans {among * 1e3:8.2f} ms  {among / alone:6.1f} times alone")
    print(f"the latest of every job       {listed * 1e3:8.2f} ms")
    print(f"a plan by its job             {found * 1e3:8.2f} ms")
    print(f"bytes a plan {len(text_of(plan)):,}; the archive {small:,} at first, {large:,} then")


if __name__ == "__main__":
    main()
