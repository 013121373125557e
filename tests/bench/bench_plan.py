"""A job's full plan: how long it takes beside reading it, and how it grows with surfaces and with runs.

Run by hand: python tests/bench/bench_plan.py.  Ratios come from one run on one machine; nothing is asserted.
"""

from __future__ import annotations

import copy
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from planner.checks.evaluate import check_plan
from planner.inputs.workspace import load
from planner.plan.make import make_plan
from tests import workspaces


def _best(function: Callable[[], Any], rounds: int = 7) -> float:
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def _files(surfaces: int, runs: int) -> dict[str, Any]:
    files = workspaces.base()
    job = files["job"]
    job["chemicals"] = [{"stock": "bleach", "strength": "1 %"}]
    job["surfaces"] = [{"name": f"wall {n}", "kind": "vinyl", "area": "300 ft2"} for n in range(surfaces)]
    run = job["hose_runs"][0]
    run["dosing"] = "panel"
    job["hose_runs"] = []
    for n in range(runs):
        one = copy.deepcopy(run)
        one["name"] = f"run {n}"
        one["surfaces"] = [f"wall {i}" for i in range(n, surfaces, runs)]
        job["hose_runs"].append(one)
    return files


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        base = None
        print(
            f"{'surfaces':>8} {'runs':>5} {'read ms':>8} {'plan ms':>8} {'check ms':>9} {'plan/read':>10} {'of 1x1':>7}"
        )
        for surfaces, runs in ((1, 1), (4, 1), (40, 1), (4, 4), (40, 4), (40, 12)):
            path = workspaces.write(Path(folder) / f"{surfaces}-{runs}", _files(surfaces, runs))
            read = load([path])
            assert not read.faults, read.faults
            job = read.jobs[0]
            plan = make_plan(job)
            reading = _best(partial(load, [path]))
            planning = _best(partial(make_plan, job, tables=False))
            checking = _best(partial(check_plan, plan))
            base = base or planning
            print(
                f"{surfaces:>8} {runs:>5} {reading * 1e3:>8.2f} {planning * 1e3:>8.2f} {checking * 1e3:>9.2f}"
                f" {planning / reading:>10.2f} {planning / base:>7.2f}"
            )


if __name__ == "__main__":
    main()
