"""Work that does not wait for other work, spread over the machine's cores; its results come in order all the same.

Processes begin anew and are sent what they need, which is the same on every system and safe beside threads.
"""

from __future__ import annotations

import copyreg
import os
import signal
from collections.abc import Callable, Generator, Sequence
from types import MappingProxyType
from typing import Any, TypeVar

_T = TypeVar("_T")


def cores() -> int:
    """How many processes can run at once; Windows waits for no more than 61."""
    return min(len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1, 61)


def spread(works: Sequence[Callable[[], _T]], processes: int) -> Generator[_T | None, None, None]:
    """What each of the works gives, in their order; None where its process was killed.

    With fewer than two processes all is done here, each when it is asked for. Otherwise works and what they give are
    sent, so they must be plain. Closing ends the processes at once: nothing they do may be missed.
    """
    if min(processes, len(works)) < 2:
        yield from (work() for work in works)
        return
    from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
    from multiprocessing import active_children, get_context

    pool = ProcessPoolExecutor(min(processes, len(works)), get_context("spawn"), _begun)
    try:
        for future in [pool.submit(work) for work in works]:
            try:
                yield future.result()
            except BrokenExecutor:
                yield None
    except BaseException:
        for process in active_children():
            process.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def _begun() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a Ctrl-C reaches all; whoever began us ends us


def _as_sent(mapping: MappingProxyType[Any, Any]) -> tuple[Callable[..., Any], tuple[dict[Any, Any]]]:
    return _frozen, (dict(mapping),)


def _frozen(mapping: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(mapping)


copyreg.pickle(MappingProxyType, _as_sent)
