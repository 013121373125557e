"""What a terminal shows: of what others wrote letters alone; a progress bar for anything over a second, tables."""

from __future__ import annotations

import re
import shutil
import sys
import textwrap
import time
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Final, TextIO, cast

from planner.light import pattern

_PATIENCE = 1.0
"""Seconds before a bar is worth showing."""


# ------------------------------------------------------------ letters
# A name, a record or a database's value may hold what moves the cursor, turns the line around or is seen by nobody.

_RARE: Final = re.compile(r"[^\n\t\x20-\x7e]")
_UNSEEN: Final = pattern(
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
    """A stream that is written to in letters alone, and on a terminal no wider than it is."""

    def __init__(self, stream: TextIO) -> None:
        self.bare = stream

    def write(self, text: str) -> int:
        text = visible(text)
        if text[:1] not in "{[" and len(text) > _columns() and self.bare.isatty():  # JSON stays JSON
            text = "\n".join(map(_prose, text.split("\n")))
        return self.bare.write(text)

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


# ------------------------------------------------------------ lines and tables
# On a terminal what is said is folded between words to its width, never between a number and its unit; in a pipe a
# line is one line, and a table's columns are as wide as they are.

_BOUND: Final = re.compile(r"(?<=\d) (?=[A-Za-z%])|(?<=\w) (?=%)|(?<=\bfl) (?=oz\b)|(?<=\d) (?=\d+/\d)")
"""A space at which no line ends."""
_GAP: Final = "  "
_READABLE: Final = 40
"""Letters that a column of sentences keeps as long as another one can give some."""


def say(text: str, hang: int = 0) -> None:
    """Print a line; on a terminal what does not fit is folded, `hang` letters in."""
    print("\n".join(folded(text, _columns(), hang)) if sys.stdout.isatty() else text)


def asked(prompt: str) -> list[str]:
    """A question in lines that fit the terminal; the last is where the answer is typed."""
    return folded(prompt, _columns() - 1, 2) if sys.stdout.isatty() else [prompt]


def _prose(line: str) -> str:
    """A line as its terminal shows it, but a command, which is there to be copied."""
    indent = len(line) - len(line.lstrip())
    return line if line[indent:].startswith("planner ") else "\n".join(folded(line, _columns(), indent + 2))


def folded(text: str, width: int, hang: int = 0) -> list[str]:
    """The text in lines of at most `width` letters, all but the first `hang` letters in; one line where it fits."""
    if len(text) <= width:
        return [text]
    lines = textwrap.wrap(_BOUND.sub("\u00a0", text), width, subsequent_indent=" " * hang, break_on_hyphens=False)
    return [line.replace("\u00a0", " ") for line in lines] or [""]


def table(head: Sequence[str], rows: Sequence[Sequence[str]], *, numbers: Sequence[int] = ()) -> None:
    """Print rows under a head; the columns numbered in `numbers` stand to the right."""
    rows = [[on_one_line(cell) for cell in row] for row in rows]
    if sys.stdout.isatty():
        _on_screen(head, rows, numbers)
        return
    widths = [max(len(row[n]) for row in (head, *rows)) for n in range(len(head))]
    for row in (head, *rows):
        print(_joined(row, widths, numbers))


def _on_screen(head: Sequence[str], rows: Sequence[Sequence[str]], numbers: Sequence[int]) -> None:
    """A table no wider than the terminal; where figures do not fit beside the names, a name is on the line above."""
    from rich.console import Console
    from rich.text import Text

    console = Console(file=bare(sys.stdout), highlight=False)
    wide = console.width
    least = [max(_longest(row[n]) for row in (head, *rows)) for n in range(len(head))]
    above = int(bool(numbers) and sum(least) + len(_GAP) * (len(head) - 1) > wide)
    for name in head[:above]:
        console.print(Text(name, style="bold"), soft_wrap=True)
    head, numbers, least = head[above:], [n - above for n in numbers], least[above:]
    widths = _fitted([head, *(row[above:] for row in rows)], least, wide)
    for line in _lines(head, widths, numbers, low=True):
        console.print(Text(line, style="bold"), soft_wrap=True)
    rule = "\u2500" if console.encoding.startswith("utf") else "-"
    console.print(Text(rule * min(wide, sum(widths) + len(_GAP) * (len(widths) - 1))), soft_wrap=True)
    said = ""
    for row in rows:
        names = [row[0]] if above and row[0] != said else []
        said = row[0]
        # Text, not markup: what a user wrote in brackets is printed, never obeyed.
        for line in (*names, *_lines(row[above:], widths, numbers)):
            console.print(Text(line), soft_wrap=True)


def _fitted(rows: Sequence[Sequence[str]], least: Sequence[int], wide: int) -> list[int]:
    """Widths of columns that fit: the widest gives first, one of sentences only down to what is readable if it can."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    over = sum(widths) + len(_GAP) * (len(widths) - 1) - wide
    for _ in range(max(over, 0)):
        able = [n for n, width in enumerate(widths) if width > least[n]]
        if not able:
            break
        last = len(widths) - 1
        widths[max(able, key=lambda n: (widths[n] > _READABLE, n != last, widths[n]))] -= 1
    return widths


def _lines(row: Sequence[str], widths: Sequence[int], numbers: Sequence[int], *, low: bool = False) -> list[str]:
    """A row's lines; `low` lets short cells stand at its foot, as a head's do."""
    cells = [folded(cell, width) for cell, width in zip(row, widths, strict=True)]
    deep = max(map(len, cells))
    cells = [[""] * (deep - len(cell)) + cell if low else cell + [""] * (deep - len(cell)) for cell in cells]
    return [_joined(line, widths, numbers) for line in zip(*cells, strict=True)]


def _joined(cells: Sequence[str], widths: Sequence[int], numbers: Sequence[int]) -> str:
    sided = (
        cell.rjust(width) if n in numbers else cell.ljust(width)
        for n, (cell, width) in enumerate(zip(cells, widths, strict=True))
    )
    return _GAP.join(sided).rstrip()


def _longest(cell: str) -> int:
    """Letters of its longest word, a number with its unit being one."""
    return max((len(word) for word in _BOUND.sub("\u00a0", cell).split(" ")), default=0)


def room(most: int) -> int:
    """Letters to set a text in: as many as the terminal has, elsewhere `most`, and never more."""
    return min(_columns(), most) if sys.stdout.isatty() else most


def _columns() -> int:
    return shutil.get_terminal_size().columns
