"""What a terminal alone shows: a progress bar for anything over a second, tables."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

_PATIENCE = 1.0
"""Seconds before a bar is worth showing."""


@contextmanager
def progress(what: str, total: int) -> Iterator[Callable[[], None]]:
    """Gives a function to call after each of `total` steps; silent in pipes and when it is quick."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import Progress

    bar = Progress(console=Console(stderr=True), transient=True)
    task = bar.add_task(what, total=total)
    begun = time.monotonic()
    shown = False

    def step() -> None:
        nonlocal shown
        bar.advance(task)
        if not shown and time.monotonic() - begun > _PATIENCE:
            bar.start()
            shown = True

    try:
        yield step
    finally:
        if shown:
            bar.stop()


# ------------------------------------------------------------ tables
# Tables on a terminal through rich; in a pipe the same columns as plain text.


def table(head: Sequence[str], rows: Sequence[Sequence[str]], *, numbers: Sequence[int] = ()) -> None:
    """Print rows under a head; the columns numbered in `numbers` stand to the right."""
    if sys.stdout.isatty():
        _rich(head, rows, numbers)
        return
    widths = [max(len(row[n]) for row in (head, *rows)) for n in range(len(head))]
    for row in (head, *rows):
        cells = [
            cell.rjust(width) if n in numbers else cell.ljust(width)
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        print("  ".join(cells).rstrip())


def _rich(head: Sequence[str], rows: Sequence[Sequence[str]], numbers: Sequence[int]) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    grid = Table(box=SIMPLE_HEAD, pad_edge=False, header_style="bold")
    for n, name in enumerate(head):
        grid.add_column(name, justify="right" if n in numbers else "left", overflow="fold")
    for row in rows:
        # Text, not markup: what a user wrote in brackets is printed, never obeyed.
        grid.add_row(*(Text(cell) for cell in row))
    Console(highlight=False).print(grid)
