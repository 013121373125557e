"""`planner explain`: what a finding means, its limit, its source, what cures it."""

from __future__ import annotations

import argparse
import sys
import textwrap
from difflib import get_close_matches

from planner.commands.exits import FAULTY, OK
from planner.commands.tables import table
from planner.packet import words
from planner.units import System


def run(args: argparse.Namespace) -> int:
    """Explain one code, or list them all."""
    rows = words.wording()
    if args.code is None:
        table(("finding", "what it is about"), [(code, str(row["title"])) for code, row in rows.items()])
        return OK
    if args.code not in rows:
        near = get_close_matches(args.code, rows, n=1)
        hint = f" Did you mean {near[0]}?" if near else ""
        print(f"There is no finding {args.code}.{hint} `planner explain` lists them all.", file=sys.stderr)
        return FAULTY
    system: System = args.units or "us"
    row = rows[args.code]
    print(f"{args.code}: {row['title']}\n")
    for name, text in (
        ("means", row["means"]),
        ("limit", words.limit(args.code, system)),
        ("source", row["source"]),
        ("cure", row["cures"]),
    ):
        print(textwrap.fill(f"{name:<8}{text}", width=96, subsequent_indent=" " * 8))
    return OK
