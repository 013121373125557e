"""`planner explain`: a finding's meaning, limit, source and cure; `sources` of the equations; a topic, in Markdown."""

from __future__ import annotations

import argparse
import sys
import textwrap
from difflib import get_close_matches

from planner.exits import FAULTY, OK
from planner.locate import topic_file
from planner.terminal import bare, folded, room, table
from planner.units import System
from planner.words import spoken as words

_SOURCES = "sources"
_WIDE = 80
_WIDEST = 96
"""Columns of running text that are still read with ease (our choice)."""

TOPICS = {
    "desk": "the workspace as a page in your browser",
    "files": "what you write: company, stock, jobs, days, quantities",
    "gear": "the rig's file: pumps, setups, panels, service",
    "findings": "everything that is checked, one line each",
    "packet": "what the crew gets, and in which order the work goes",
    "records": "after the job: taking it in, comparing, the list",
    "accuracy": "what the figures rest on, and how sure they are",
    "words": "what we call things",
}
"""Each a page of planner/topics."""


def run(args: argparse.Namespace) -> int:
    """Explain one code or topic, or list them all, or the source of every equation."""
    if args.code == _SOURCES:
        return _sources()
    if args.code in TOPICS:
        _page(topic_file(args.code).read_text(encoding="utf-8"))
        return OK
    rows = words.wording()
    if args.code is None:
        table(("topic", "what it is about"), [*TOPICS.items(), (_SOURCES, "where each equation comes from")])
        print()
        table(("finding", "what it is about"), [(code, str(row["title"])) for code, row in rows.items()])
        return OK
    if args.code not in rows:
        near = get_close_matches(args.code, [*rows, *TOPICS, _SOURCES], n=1)
        hint = f" Did you mean {near[0]}?" if near else ""
        print(f"There is no finding or topic {args.code}.{hint} `planner explain` lists them all.", file=sys.stderr)
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
        print("\n".join(folded(f"{name:<8}{text}", room(_WIDEST), 8)))
    return OK


def _page(text: str) -> None:
    """A topic set on a terminal as wide as it is; as it is written, elsewhere."""
    if not sys.stdout.isatty():
        print(text, end="")
        return
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console(file=bare(sys.stdout), highlight=False)
    console.width = min(console.width, _WIDEST)
    console.print(Markdown(text))


def _sources() -> int:
    """Every equation by the short name that the owner's file has for it, in full, with where it comes from."""
    print("Where each equation comes from, by the name the owner's file has for it.")
    rows = sorted(words.sources().values(), key=lambda row: row["title"].casefold())
    for row in rows:
        print()
        print(textwrap.fill(row["title"], width=_WIDE))
        print(textwrap.fill(row["origin"], width=_WIDE, initial_indent="    ", subsequent_indent="    "))
    return OK
