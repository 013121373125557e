"""The search for remedies: how long it takes beside one full plan, and how it grows with hoses, tips and runs.

`looks` are sets of changes whose line alone was solved, `plans` those planned whole.

Run by hand: python tests/bench/bench_remedies.py.  Processor time; ratios come from one run; nothing is asserted.
The aim is under 0.2 s for a usual job, at most 400 plans for any, and nothing at all where no finding asks.
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

from planner.checks.model import CheckedJob
from planner.plan.make import make_plan
from planner.remedies import trial
from planner.remedies.search import with_remedies
from tests import workspaces


def _best(function: Callable[[], Any], rounds: int = 5) -> float:
    times = []
    for _ in range(rounds):
        start = time.process_time()
        function()
        times.append(time.process_time() - start)
    return min(times)


def _counted(checked: CheckedJob) -> tuple[int, int, int]:
    """How many lines were looked at, how many plans made, and how many remedies found."""
    counts = {"solved": 0, "make_plan": 0}
    own = {name: getattr(trial, name) for name in counts}

    def counting(name: str) -> Callable[..., Any]:
        def call(*args: Any, **keys: Any) -> Any:
            counts[name] += 1
            return own[name](*args, **keys)

        return call

    for name in counts:
        setattr(trial, name, counting(name))
    found = len(with_remedies(checked).remedies)
    for name, function in own.items():
        setattr(trial, name, function)
    return counts["solved"], counts["make_plan"], found


def _files(hoses: int, tips: int, runs: int, target: str) -> dict[str, Any]:
    files = workspaces.base()
    files["rig"]["hoses"] = [
        {"name": f"hose {n}", "bore": ("5/8 in", "3/4 in", "1 in")[n % 3], "length": "100 ft", "rated": "200 psi"}
        for n in range(hoses)
    ]
    files["rig"]["tips"] = [
        {"name": f"tip {n}", "pattern": "solid", "orifice": f"{8 - n % 4}/32 in"} for n in range(tips)
    ]
    run = files["job"]["hose_runs"][0]
    run |= {"hoses": ["hose 0"], "tip": "tip 0", "target": target, "standoff": "15 ft", "on_reel": "60 ft"}
    files["job"]["hose_runs"] = []
    for n in range(runs):
        one = copy.deepcopy(run)
        one["name"] = f"run {n}"
        files["job"]["hose_runs"].append(one)
    return files


def main() -> None:
    """Print the table."""
    print(f"{'hoses':>6} {'tips':>5} {'runs':>5} {'target':>7} {'plan ms':>8} {'search ms':>10} {'ratio':>6}"
          f" {'looks':>6} {'plans':>6} {'found':>6}")  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        cases = ((3, 2, 1, "20 ft"), (3, 2, 1, "37 ft"), (3, 2, 1, "60 ft"), (12, 8, 1, "37 ft"), (12, 8, 1, "44 ft"),
                 (12, 8, 1, "60 ft"), (12, 8, 3, "37 ft"), (40, 12, 1, "44 ft"))  # fmt: skip
        for number, (hoses, tips, runs, target) in enumerate(cases):
            checked = workspaces.checked(Path(folder) / str(number), _files(hoses, tips, runs, target))
            job = checked.plan.input
            planning = _best(partial(make_plan, job, tables=False))
            searching = _best(partial(with_remedies, checked))
            looks, plans, found = _counted(checked)
            print(
                f"{hoses:>6} {tips:>5} {runs:>5} {target:>7} {planning * 1e3:>8.1f} {searching * 1e3:>10.1f}"
                f" {searching / planning:>6.1f} {looks:>6} {plans:>6} {found:>6}"
            )


if __name__ == "__main__":
    main()
