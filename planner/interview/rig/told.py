"""What `planner new rigs/NAME` says once the rig is written: a house tried on it, and what would make it surer."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from planner.checks.model import CheckedJob
from planner.days.prepare import Trouble, checked_jobs, exit_code
from planner.exits import FAULTY, OK
from planner.faults import printed
from planner.inputs.reading.files import read_file, shown
from planner.inputs.reading.names import items
from planner.inputs.workspace import load
from planner.interview.answers import Here
from planner.interview.rig.remembered import learned_of
from planner.interview.rig.surer import Surer, laid_out, surer, trial_house, unsaid
from planner.interview.text import JOB, Written, file_text
from planner.plan.model import JobPlan
from planner.terminal import table


def told(here: Here, made: Written, show: Callable[[CheckedJob], None]) -> int:
    """Say what was written and how a house goes with it, `show` printing its table."""
    print(f"Written: {shown(made.file)}\n")
    tree = read_file(made.file)
    rig: dict[str, Any] = tree.root.plain() if tree.root is not None else {}
    if items(rig, "setups"):
        code = _tried(here, rig, show)
    else:
        code = OK
        print("It has no setup yet, so no house could be tried on it.")
    if code == FAULTY:
        print(f"\nFix that; {shown(made.file)} is kept as it is.")
        return code
    if made.remembered:
        print()
        for line in learned_of(here, rig, made.remembered):
            print(line)
    left = unsaid(rig)
    if left:
        print()
        print(textwrap.fill(f"Not known yet, and the plan says so where it counts: {', '.join(left)}.", 80))
    return code


def _tried(here: Here, rig: dict[str, Any], show: Callable[[CheckedJob], None]) -> int:
    """A house on the rig, laid into a copy of the workspace: nothing of it stays."""
    names = [str(setup["name"]) for setup in items(rig, "setups")]
    house = trial_house(str(rig["rig"]), "house" if "house" in names else names[0], here.system)
    try:
        with TemporaryDirectory(prefix="planner-new-") as name:
            copy = Path(name).resolve()
            own = laid_out(here, copy)
            file = copy / "trial-house.yaml"
            file.write_text(file_text(house, JOB, None), encoding="utf-8")
            trouble = Trouble(faults=[])
            read = load([file])
            jobs = list(checked_jobs(read, trouble))
    except OSError as error:
        print(f"No house could be tried on it: {error.strerror}.")
        return OK
    faults = [fault for fault in (*read.faults, *trouble.faults) if str(file) not in fault.where.file]
    if faults or not jobs:
        told = printed(faults or [*read.faults, *trouble.faults])
        print(told.replace(f"{copy}{os.sep}", f"{shown(here.workspace)}{os.sep}"))
        return FAULTY
    shelf = "your own shelf" if own else "fresh 12.5 trade % bleach, as there is no stock.yaml yet"
    print(f"A plain house tried on it, with {shelf}:\n")
    show(jobs[0])
    _surer(jobs[0].plan)
    return exit_code(jobs, trouble)


def _surer(plan: JobPlan) -> None:
    rows = list(surer(plan))
    if rows:
        print("\nWhat would make it more certain, and how much of the reach depends on it:")
        table(("do this", "it fills", "of reach"), [_row(row) for row in rows])


def _row(row: Surer) -> tuple[str, str, str]:
    return row.test, row.fills, "-" if row.share is None else f"{100.0 * row.share:.0f} %"
