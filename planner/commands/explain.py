"""`planner explain`: what a finding means, its limit, its source, its cure; `sources`: where equations come from."""

from __future__ import annotations

import argparse
import sys
import textwrap
from difflib import get_close_matches

from planner.exits import FAULTY, OK
from planner.terminal import table
from planner.units import System
from planner.words import spoken as words

_SOURCES = "sources"
_WIDE = 80


def run(args: argparse.Namespace) -> int:
    """Explain one code, or list them all, or the source of every equation."""
    if args.code == _SOURCES:
        return _sources()
    rows = words.wording()
    if args.code is None:
        table(("finding", "what it is about"), [(code, str(row["title"])) for code, row in rows.items()])
        return OK
    if args.code not in rows:
        near = get_close_matches(args.code, [*rows, _SOURCES], n=1)
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


def _sources() -> int:
    """Every equation by the short name that the owner's file has for it, in full, with where it comes from."""
    print("Where each equation comes from, by the name the owner's file has for it.")
    rows = sorted(words.sources().values(), key=lambda row: row["title"].casefold())
    for row in rows:
        print()
        print(textwrap.fill(row["title"], width=_WIDE))
        print(textwrap.fill(row["origin"], width=_WIDE, initial_indent="    ", subsequent_indent="    "))
    return OK
