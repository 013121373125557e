"""What a terminal shows: of what others wrote letters alone; a progress bar for anything over a second, tables."""

from __future__ import annotations

import re
import sys
import time
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Final, TextIO, cast

_PATIENCE = 1.0
"""Seconds before a bar is worth showing."""


# ------------------------------------------------------------ letters
# A name, a record or a database's value may hold what moves the cursor, turns the line around or is seen by nobody.

_RARE: Final = re.compile(r"[^\n\t\x20-\x7e]")
_UNSEEN: Final = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u2800\u3164\ufe00-\ufe0f\uffa0\U000e0100-\U000e01ef]"
)
"""Letters and marks by their class, nothing by their looks."""


def visible(text: str) -> str:
    """The text with every character that is no letter, mark or space of a line written as JSON writes it: `\\u001b`.

    So a JSON text stays one, and says the same.
    """
    return _RARE.sub(lambda found: found[0] if _is_seen(found[0]) else _number(found[0]), text)


def on_one_line(text: str) -> str:
    """A cell, or a place: no line of ours begins inside it."""
    return visible(text).replace("\n", "\\n").replace("\t", "\\t")


def _is_seen(one: str) -> bool:
    return unicodedata.category(one) == "Zs" or (one.isprintable() and not _UNSEEN.match(one))


def _number(one: str) -> str:
    units = one.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{units[n : n + 4]}" for n in range(0, len(units), 4))


class _Guarded:
    """A stream that is written to in letters alone."""

    def __init__(self, stream: TextIO) -> None:
        self.bare = stream

    def write(self, text: str) -> int:
        return self.bare.write(visible(text))

    def __getattr__(self, name: str) -> Any:
        return getattr(self.bare, name)


@contextmanager
def guarded() -> Iterator[None]:
    """While this lasts, whatever is printed is visible, whoever wrote it."""
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = map(_guard, before)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def _guard(stream: TextIO) -> TextIO:
    return stream if stream is None else cast(TextIO, _Guarded(stream))


def bare(stream: TextIO) -> TextIO:
    """The stream for what draws with escapes of its own."""
    return stream.bare if isinstance(stream, _Guarded) else stream


# ------------------------------------------------------------ progress


@contextmanager
def progress(what: str, total: int) -> Iterator[Callable[[], None]]:
    """Gives a function to call after each of `total` steps; silent in pipes and when it is quick."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import Progress

    # It puts what is printed meanwhile above the bar; what goes into a file or a pipe is none of its business.
    console = Console(file=bare(sys.stderr))
    bar = Progress(console=console, transient=True, redirect_stdout=sys.stdout.isatty())
    task = bar.add_task(what, total=total)
    begun = time.monotonic()
    shown = False

    def step() -> None:
        nonlocal shown
        bar.advance(task)
        if not shown and time.monotonic() - begun > _PATIENCE:
            bar.start()
            sys.stdout, sys.stderr = _guard(sys.stdout), _guard(sys.stderr)  # it took their places, and gives them back
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
    rows = [[on_one_line(cell) for cell in row] for row in rows]
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
    Console(file=bare(sys.stdout), highlight=False).print(grid)
