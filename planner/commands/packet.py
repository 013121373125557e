"""`planner packet`: each job's packet as a PDF, its owner's file and HTML if asked; written whole or not at all."""

from __future__ import annotations

import argparse
import shlex
import sys
from pathlib import Path

from planner.days.prepare import exit_code, loaded, report
from planner.exits import FAULTY
from planner.office.printing import Asked, printed
from planner.terminal import on_one_line


def run(args: argparse.Namespace) -> int:
    """Print the packet of every job the paths name, and the cover of every day asked for whole."""
    if args.output is None:
        print(_no_folder(args), file=sys.stderr)
        return FAULTY
    asked = Asked(
        paper=args.paper, units=args.units, owner=args.owner, notice=args.notice, html=args.html, rig_card=args.rig_card
    )
    jobs, trouble = printed(loaded(args.paths), Path(args.output), asked)
    report(trouble.faults)
    return exit_code(jobs, trouble)


def _no_folder(args: argparse.Namespace) -> str:
    """What was typed with what it lacks: packets go nowhere but where they are asked for."""
    also = [f"--{name}" for name in ("owner", "notice", "rig-card", "html") if getattr(args, name.replace("-", "_"))]
    also += [f"--{name} {value}" for name in ("paper", "units") if (value := getattr(args, name))]
    typed = " ".join(["planner packet", shlex.join(args.paths), "-o packets", *also])
    return f"say which folder the packets go into, such as:\n\n  {on_one_line(typed)}"
