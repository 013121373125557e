"""Packets, owner's files and covers: each checked job printed once a process, however many tests look at it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any
from unittest import mock

from planner.checks.model import CheckedJob
from planner.faults import Fault
from planner.packet import book
from planner.packet.book import Book
from planner.packet.filled.filled import Filled
from planner.packet.pages.pages import Bound, Paper
from planner.plan.days.day import DayPlan
from planner.units import System

Reads = Callable[[bytes], Filled | Fault]
"""What reads a filled packet from its bytes."""

_KEPT: dict[tuple[Any, ...], tuple[CheckedJob, Book]] = {}
"""By the object itself, which is kept so that its number stays its own: a job is too deep to be hashed each time."""


def job_book(checked: CheckedJob, *, paper: Paper = "letter", system: System = "us", plan_json: str = "") -> Book:
    """The crew's packet of a job."""
    return _once(book.job_book, checked, paper=paper, system=system, plan_json=plan_json)


def owner_book(checked: CheckedJob, *, paper: Paper = "letter", system: System = "us") -> Book:
    """The owner's file of a job."""
    return _once(book.owner_book, checked, paper=paper, system=system)


def worded(checked: CheckedJob, *, paper: Paper = "letter", system: System = "us") -> Book:
    """The crew's packet as it is worded, painted on no page, so that it names none: a tenth of the time. Held, printed."""
    make = book.job_book if checked.held else unpainted(book.job_book)
    return _once(make, checked, paper=paper, system=system)


def owner_worded(checked: CheckedJob, *, paper: Paper = "letter", system: System = "us") -> Book:
    """The owner's file likewise."""
    return _once(unpainted(book.owner_book), checked, paper=paper, system=system)


@cache
def unpainted(make: Callable[..., Book]) -> Callable[..., Book]:
    """What makes the same book and paints none of it."""

    def made(checked: CheckedJob, **how: Any) -> Book:
        nowhere: dict[str, Any] = {
            "found": lambda *_: Bound(),
            "bind": lambda _s, _m, _p, bound, _i: (bytes, bound),
            "_steps_of": lambda _: {},
        }
        with mock.patch.multiple(book, **nowhere):
            return make(checked, **how)

    return made


def _once(make: Callable[..., Book], checked: CheckedJob, **how: str) -> Book:
    key = (make, id(checked), *how.values())
    if key not in _KEPT:
        _KEPT[key] = checked, make(checked, **how)
    return _KEPT[key][1]


def job_packet(checked: CheckedJob, *, paper: Paper = "letter", system: System = "us", plan_json: str = "") -> bytes:
    """The crew's packet as the bytes of its file."""
    return job_book(checked, paper=paper, system=system, plan_json=plan_json).pdf


def day_packet(day: DayPlan, jobs: Sequence[CheckedJob], *, paper: Paper, system: System) -> bytes:
    """The cover of a day."""
    return book.day_book(day, jobs, paper=paper, system=system).pdf
