"""Jobs whose first acts are looked at, and what is found in them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from planner.plan.procedure.acts import (
    Act,
    Mark,
)
from planner.plan.procedure.book import Book
from planner.plan.procedure.stages import opening
from tests.plan.procedure.asked import book_of
from tests.workspaces import base, loaded, merged

GALLON = 231 * 0.0254**3
BLEACHED = {
    "job": {
        "hose_runs": {0: {"dosing": "panel"}},
        "chemicals": [{"stock": "drum", "strength": "1 %"}],
        "near": {
            "flower_beds": "200 ft2",
            "storm_drain": "40 ft",
            "downspouts": "2",
            "control": ["drain_cover", "berm"],
        },
    }
}
TANKFUL = merged(
    BLEACHED,
    {"job": {"hose_runs": {0: {"dosing": "premix", "feed": "mix", "pump": "transfer"}}, "near": None},
     "day": {"heels": {"mix": {"stock": "bleach", "strength": "1 %", "volume": "2 gal"}}}},
)  # fmt: skip
ACID = {
    "rig": {
        "pumps": {2: {"dedicated": "muriatic", "wetted": ["plastic"]}},
        "tanks": {1: {"holds": "muriatic", "wetted": ["plastic"]}},
    },
    "job": {
        "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
        "hose_runs": {0: {"dosing": "premix", "feed": "mix", "pump": "transfer", "target": "6 ft", "tip": "fan"}},
        "chemicals": [{"stock": "acid", "strength": "1:10"}],
    },
}


def _book(folder: Path, *changes: dict[str, Any]) -> Book:
    files = base()
    for change in changes:
        files = merged(files, change)
    read = loaded(folder, files)
    assert not read.faults, "\n".join(map(str, read.faults))
    return book_of(read.jobs[0])


ALONE = {"day": {"crew": "1"}}


def _open(book: Book) -> tuple[Act, ...]:
    """Everything up to the end of the first line's test."""
    opening.arrive(book)
    line = next(iter(book.lines.values()))
    opening.before_work(book, [line])
    opening.set_up(book, line)
    return book.acts()


def _whats(acts: tuple[Act, ...]) -> list[str]:
    return [act.detail.what for act in acts if isinstance(act.detail, Mark)]


def _of(acts: tuple[Act, ...], kind: type) -> list[Any]:
    return [act.detail for act in acts if isinstance(act.detail, kind)]


def _read(acts: tuple[Act, ...], what: str) -> Act:
    return next(act for act in acts if act.expect is not None and act.expect.what == what)


def _set_up_from(acts: tuple[Act, ...]) -> float:
    """When set-up begins [s]."""
    return min(act.start for act in acts if act.phase == "set_up")
