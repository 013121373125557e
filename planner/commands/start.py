"""`planner start`: a workspace of one's own, begun from the demo, and what to change in it first."""

from __future__ import annotations

import argparse
import os
import re
import shlex
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from planner import locate
from planner.exits import FAULTY, OK
from planner.faults import Fault, Where, printed
from planner.terminal import say
from planner.writing import beside, clear

DEMO: Final = (
    ".schema/company.json",
    ".schema/day.json",
    ".schema/job.json",
    ".schema/learned.json",
    ".schema/record.json",
    ".schema/rig.json",
    ".schema/stock.json",
    ".schema/surfaces.json",
    ".schema/yard.json",
    "company.yaml",
    "stock.yaml",
    "surfaces.yaml",
    "rigs/bittern.yaml",
    "records/2026-06-09-10-millrace.yaml",
    "2026-06-09/day.yaml",
    "2026-06-09/10-millrace.yaml",
    "2026-06-09/20-granary.yaml",
    "2026-06-09/30-kiln.yaml",
    "2026-06-10/day.yaml",
    "2026-06-10/10-slipway.yaml",
    "2026-06-10/20-millrace-mid.yaml",
    "2026-06-10/30-kiln-acid.yaml",
    "2026-06-10/90-booster.yaml",
)
"""The demo's own files, one by one: whatever else lies beside them, an archive or a packet, is nobody else's."""

BARE: Final = tuple(name for name in DEMO if name.startswith(".schema/") or name == "company.yaml")
"""What a workspace begins with where no demo is wanted: the company's page alone."""

_INVENTED: Final = re.compile(rb"(?m)^  (office|spill): .*$")
"""The demo's own numbers: a copy has none of them, so that its packets have a blank and never a wrong number."""

_EDIT_FIRST: Final = (
    ("company.yaml", "your company's name and phones, paper and units"),
    ("rigs/bittern.yaml", "your rig; `planner new rigs/NAME` asks for it, off its plates"),
    ("stock.yaml", "your shelf: every drum with its date, its strength and what is left in it"),
    ("2026-06-09/10-millrace.yaml", "then a job; this is the shortest, each line of it explained"),
)


def run(args: argparse.Namespace) -> int:
    """Copy the demo into an empty or a new folder."""
    folder = Path(args.folder)
    fault = _in_the_way(folder)
    if fault is None:
        try:
            copy_demo(folder, BARE if args.bare else DEMO)
        except OSError as error:
            fault = _fault(
                "start.unwritable",
                folder,
                f"the workspace could not be written: {error.strerror or error}",
                "name a folder in a place you may write to",
            )
    if fault is not None:
        print(printed([fault]), file=sys.stderr)
        return FAULTY
    _tell(folder, bare=args.bare)
    return OK


def _in_the_way(folder: Path) -> Fault | None:
    """What keeps a workspace from being begun here."""
    if not os.path.lexists(folder):
        return None
    try:
        if not folder.is_dir():
            return _fault("start.file", folder, "this is not a folder", "name a folder that is not there yet")
        target = folder.resolve()
        clear(target)
        if any(target.iterdir()):
            return _fault(
                "start.not_empty",
                folder,
                "this folder is not empty, and nothing in it was changed",
                "name a new folder, or an empty one",
            )
    except OSError as error:
        reason = error.strerror or str(error)
        return _fault("start.unreadable", folder, f"this cannot be opened: {reason}", "name another folder")
    return None


def _fault(code: str, folder: Path, message: str, remedy: str) -> Fault:
    return Fault(code=code, message=message, remedy=remedy, where=Where(file=str(folder)))


def copy_demo(folder: Path, names: Sequence[str] | None = None) -> None:
    """Write these files of the demo beside `folder` and rename it into place, whole or not at all. Raises OSError.

    An empty folder is kept and filled, not replaced: somebody may be standing in it.
    """
    target = folder.resolve()
    there = target.is_dir()
    made = [] if there else [path for path in (target.parent, *target.parents[1:]) if not path.exists()]
    placed: list[Path] = []
    try:
        if not there:
            target.parent.mkdir(parents=True, exist_ok=True)
        with beside(target, target if there else None) as stage:
            _write_demo(stage, DEMO if names is None else names)
            if there:
                for entry in sorted(stage.iterdir()):
                    placed.append(entry.rename(target / entry.name))
            else:
                stage.rename(target)
    except BaseException:
        for entry in placed:
            shutil.rmtree(entry, ignore_errors=True) if entry.is_dir() else entry.unlink(missing_ok=True)
        for path in made:
            if path.is_dir():
                path.rmdir()
        raise


def _write_demo(stage: Path, names: Sequence[str]) -> None:
    source = locate.jobs()
    for name in names:
        copy = stage / name
        copy.parent.mkdir(parents=True, exist_ok=True)
        # The bytes alone: an installed demo may be read-only, and a copy is there to be edited.
        text = (source / name).read_bytes()
        copy.write_bytes(_INVENTED.sub(rb"  # \1: your own number", text) if name == "company.yaml" else text)


def _tell(folder: Path, *, bare: bool) -> None:
    if bare:
        print(f"Written into {folder}: company.yaml, with no day, rig or stock of the demo.\n")
        _go_on(folder)
        return
    days = {name.partition("/")[0] for name in DEMO if name.startswith("2")}
    jobs = [name for name in DEMO if name.startswith("2") and not name.endswith("day.yaml")]
    width = max(len(name) for name, _ in _EDIT_FIRST)
    print(f"Written into {folder}: a demo workspace, {len(jobs)} jobs on {len(days)} days.")
    print("Every file in it is explained line by line. Make it yours in this order:\n")
    for number, (name, what) in enumerate(_EDIT_FIRST, 1):
        say(f"  {number}. {name:<{width}}  {what}", hang=width + 7)
    print("\nThen see what holds and what does not, as often as you like:\n")
    print(f"  planner check {shlex.quote(str(folder))}\n")
    print("One job of the demo is held on purpose: its file says why.\n")
    _go_on(folder)


def _go_on(folder: Path) -> None:
    print("Go on in your browser, where each file is a form; your own phones go first, under Company:\n")
    print(f"  planner desk {shlex.quote(str(folder))}")
