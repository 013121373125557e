"""How comparing grows with the number of records kept: time, memory, and rows a second.

Run by hand: python tests/bench/bench_compare.py [most].  Each archive is a file of its own, filled with one plan's
records, every job a plan of its own, as a shop that prints every job would have. 50,000 records take some minutes and
about 2.5 GB of disk.
"""

from __future__ import annotations

import datetime
import json
import resource
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from sqlalchemy import insert

from planner.archive.compare.comparison import compared
from planner.archive.compare.learn import Known, corrections
from planner.archive.compare.pairs import pairs
from planner.archive.kept.content import hash_of, now, text_of
from planner.archive.kept.opening import Opened, opened
from planner.archive.kept.tables import PLANS, RECORDS
from tests.archive import seasons

_IN_ONE_GO = 500


def fill(archive: Opened, plan: dict[str, object], first: int, last: int) -> None:
    """Jobs `first` to `last`, ten a day, the pump worn down and serviced by turns."""
    run = plan["runs"][0]
    part = plan["mixes"][0]["parts"][0]
    for begin in range(first, last, _IN_ONE_GO):
        plans, records = [], []
        for number in range(begin, min(last, begin + _IN_ONE_GO)):
            day = (seasons.START.toordinal() - 5000) + number // 10
            date = datetime.date.fromordinal(day).isoformat()
            job = f"{date}/{number % 10}0-house"
            text = text_of({**plan, "id": job})
            name = hash_of(text)
            record = {**seasons.empty_record(plan), "job": job, "date": date, "signed": f"lead {number % 4}"}
            closed = run["joints"][1]["closed_pa"] * (1.0 - 1e-5 * (number % 9000))
            record["readings"] = [seasons.reading(run["name"], gauge_closed_pa=closed)]
            record["sides"] = [seasons.side(part["surface"], run["name"], mix_m3=part["mix_m3"] * 1.1)]
            plans.append({"sha256": name, "job": job, "number": "aaaa-0001", "json": text, "program": "0", "at": now()})
            records.append(
                {"job": job, "revision": 1, "plan": name, "plan_number": None, "content": hash_of(job),
                 "json": text_of(record), "source": "bench", "at": now()}
            )  # fmt: skip
        with archive.writing() as connection:
            connection.execute(insert(PLANS), plans)
            connection.execute(insert(RECORDS), records)


def main(most: int) -> None:
    """Fill, compare, fill more, and print a line for each size."""
    print(f"{'records':>8} {'seconds':>8} {'a second':>9} {'peak MB':>8}  learned")
    with tempfile.TemporaryDirectory() as folder:
        plan = json.loads(json.dumps(seasons.plan_of(Path(folder) / "job")))
        kept = 0
        with opened(None, Path(folder)) as archive:
            for size in (500, 2_000, 5_000, 20_000, 50_000):
                if size > most:
                    break
                fill(archive, plan, kept, size)
                kept = size
                begun = time.perf_counter()
                found = compared(pairs(archive))
                learned = corrections(found.trends, Known(pumps={("Case", "booster")}, kinds={"vinyl"}, lots=()))
                took = time.perf_counter() - begun
                peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
                assert found.count == size
                told = ", ".join(f"{one.about[-1]} {one.value:.2f}" for one in learned)
                print(f"{size:8,} {took:8.2f} {size / took:9,.0f} {peak:8.0f}  {told}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50_000)
