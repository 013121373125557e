"""A progress bar for anything over a second, on a terminal only."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
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
