"""Work that does not wait for other work, spread over the machine's cores; its results come in order all the same.

On Linux, if we have no thread but this, processes begin as copies of us with all that was read and loaded by then;
else they begin anew. Either way they are sent their work.
"""

from __future__ import annotations

import copyreg
import gc
import os
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable
from types import MappingProxyType
from typing import Any, TypeVar

_T = TypeVar("_T")


def cores() -> int:
    """How many processes can run at once; Windows waits for no more than 61."""
    return min(len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1, 61)


def spread(works: Iterable[Callable[[], _T]], processes: int) -> Generator[_T | None, None, None]:
    """What each of the works gives, in their order; None where its process was killed.

    With fewer than two processes all is done here, each when it is asked for. Otherwise works and what they give are
    sent, so they must be plain, and each is begun as soon as it is named: naming the next ones takes its own time.
    Closing ends the processes at once: nothing they do may be missed.
    """
    if processes < 2:
        yield from (work() for work in works)
        return
    from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
    from multiprocessing import active_children, get_context

    # A copy has one thread alone: what another one held just then, nobody in it would ever let go of.
    copies = sys.platform == "linux" and threading.active_count() == 1
    pool = ProcessPoolExecutor(processes, get_context("fork" if copies else "spawn"), _begun)
    begun: deque[Future[_T] | None] = deque()

    def given() -> _T | None:
        future = begun.popleft()
        try:
            return None if future is None else future.result()
        except BrokenExecutor:
            return None

    try:
        for work in works:
            try:
                begun.append(pool.submit(work))
            except BrokenExecutor:
                begun.append(None)
            while begun and (begun[0] is None or begun[0].done()):
                yield given()
        while begun:
            yield given()
    except BaseException:
        for process in active_children():
            process.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def _begun() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a Ctrl-C reaches all; whoever began us ends us
    gc.freeze()  # what was there before is not ours to tidy up


def _as_sent(mapping: MappingProxyType[Any, Any]) -> tuple[Callable[..., Any], tuple[dict[Any, Any]]]:
    return _frozen, (dict(mapping),)


def _frozen(mapping: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(mapping)


copyreg.pickle(MappingProxyType, _as_sent)
