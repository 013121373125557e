"""What the procedure and its rehearsal cost beside the rest of planning, on the demo's jobs.

Run by hand: python tests/bench/bench_procedure.py.  One run on one machine: all of make_plan, what of it makes the acts
and reads clock, water and levels from them, and the rehearsal; the rest is planning without a procedure.  `as printed`
is with the tables only paper shows.  Processor time, the best of some rounds; nothing is asserted.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from planner.checks.evaluate import check_plan
from planner.days.rehearsing import rehearsed
from planner.inputs.workspace import load
from planner.plan import make
from planner.plan.make import make_plan
from planner.plan.procedure import levels, totals

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 7
PARTS = (
    (make, "wash_job"), (make, "yard_job"), (make, "as_drawn"), (levels, "supply"), (totals, "water"),
    (totals, "pump_seconds"), (totals, "spans"), (totals, "beds"),
)  # fmt: skip
"""What make_plan asks of the procedure."""


@contextmanager
def _timed(spent: list[float]) -> Iterator[None]:
    """Each of the parts adds its seconds to the last of `spent`."""
    before = [(place, name, getattr(place, name)) for place, name in PARTS]

    def timing(function: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **named: Any) -> Any:
            start = time.process_time()
            try:
                return function(*args, **named)
            finally:
                spent[-1] += time.process_time() - start

        return run

    for place, name, function in before:
        setattr(place, name, timing(function))
    try:
        yield
    finally:
        for place, name, function in before:
            setattr(place, name, function)


def _best(function: Callable[[], Any], each: Callable[[], Any] = lambda: None) -> float:
    times = []
    for _ in range(ROUNDS):
        each()
        start = time.process_time()
        function()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    """Print the tables."""
    read = load([ROOT / "jobs"])
    assert not read.faults, read.faults
    for tables, title in ((False, "as checked"), (True, "as printed")):
        print(f"{title:28} {'acts':>5} {'plan ms':>8} {'acts ms':>8} {'rehearsal':>9} {'with/without':>12}")
        sums = [0.0, 0.0, 0.0]
        for job in read.jobs:
            plan = make_plan(job, tables=tables)
            spent: list[float] = []
            with _timed(spent):
                planning = _best(partial(make_plan, job, tables=tables), partial(spent.append, 0.0))
            checked = check_plan(plan)
            playing = _best(partial(rehearsed, checked))
            row = [planning, min(spent), playing]
            sums = [one + more for one, more in zip(sums, row, strict=True)]
            acts = len(plan.procedure.acts) if plan.procedure is not None else 0
            _print(job.id, acts, row)
        _print("all of them", 0, sums)
        print()


def _print(name: str, acts: int, row: list[float]) -> None:
    planning, made, playing = row
    ratio = (planning + playing) / (planning - made)
    print(f"{name:28} {acts:>5} {planning * 1e3:>8.2f} {made * 1e3:>8.2f} {playing * 1e3:>9.2f} {ratio:>12.2f}")


if __name__ == "__main__":
    main()
