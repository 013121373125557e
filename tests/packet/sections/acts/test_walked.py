"""The demo's packets walked through as a crew would: how often a page is turned, and what has to be worked out."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from planner.packet.blocks import Block, Hold, Span, Step, Table, walked
from planner.packet.book import Book
from tests.packet.figures.jobs import book_of, job_of
from tests.packet.reading import texts
from tests.packet.sections.acts.test_calls import WASHED, answers
from tests.sampled import in_ci

TURNS = {
    "2026-06-09/10-millrace": {"lead": 1, "second": 1},
    "2026-06-09/20-granary": {"lead": 1, "second": 0},
    "2026-06-10/10-slipway": {"lead": 1, "second": 1},
    "2026-06-10/20-millrace-mid": {"lead": 1, "second": 1},
    "2026-06-10/30-kiln-acid": {"lead": 2, "second": 1},
}
"""How often each person has to look at another side of their own sheets."""

_RATIO = re.compile(
    r"(?:in|for|per|to) (?:each|every|a) (?:\d+ )?(?:gallon|gal|liter|L)\b|\beach gallon\b|\d\s*(?:fl oz|mL)/(?:gal|L)\b"
    r"|\b(?:multiply|divide|add up|subtract|double|half of|twice) (?:the|it|that)\b"
)
"""Words by which a page asks for a sum: a share to multiply, two figures to add or take from each other."""


def book(name: str, system: str = "us") -> Book:
    return book_of(name, system)


def words(spans: tuple[Span, ...]) -> str:
    return " ".join("".join(span.text for span in spans).split())


def begins(block: Block) -> str:
    """How a block begins on its page, with its number."""
    if isinstance(block, Step):
        number = f"{block.number} " if block.number else ""
        return f"{number}{words(block.spans)[:16].strip()}"
    if isinstance(block, Hold):
        return block.title
    assert isinstance(block, Table)
    (first, *_) = (cell for cell in block.rows[0] if isinstance(cell, tuple))
    return words(first)[:14].strip()


def pages_of(made: Book, role: str) -> dict[str, int]:
    """The page of each act on one person's sheets, found by what is painted; the "On" after an "Off" needs none."""
    painted = [" ".join(text.split()) for text in texts(made.pdf)]
    own = [
        n
        for n, text in enumerate(painted)
        if re.match(rf"(?:\d+ )?{role.capitalize()}\b|.{{0,90}}?{role.capitalize()} ", text)
    ]
    found: dict[str, int] = {}
    at = own[0]
    for section in made.sections:
        if section.role != role:
            continue
        for block in walked(section.blocks):
            if isinstance(block, (Step, Hold, Table)) and block.acts:
                here = next((n for n in own if n >= at and begins(block) in painted[n]), None)
                assert here is not None, (section.key, begins(block))
                at = here
                found |= dict.fromkeys(block.acts[: 1 if len(answers(block)) > 1 else None], at)
    return found


def turns(name: str, role: str) -> int:
    """How often the page changes while a person does their acts in order of time."""
    procedure = job_of(name).plan.procedure
    assert procedure is not None
    pages = pages_of(book(name), role)
    turned = [pages[act.id] for act in sorted(procedure.acts, key=lambda act: act.start) if act.id in pages]
    assert len(turned) > 20
    return sum(before != after for before, after in pairwise(turned))


@pytest.mark.parametrize("role", ["lead", "second"])
@pytest.mark.parametrize("name", WASHED)
def test_a_person_turns_their_own_sheet_as_seldom_as_can_be(name: str, role: str) -> None:
    assert turns(name, role) <= TURNS[name][role]


@pytest.mark.parametrize("system", ["us", in_ci("si")])
@pytest.mark.parametrize("name", WASHED)
def test_nothing_on_a_page_of_steps_has_to_be_worked_out(name: str, system: str) -> None:
    asked: list[str] = []
    for section in book(name, system).sections:
        if section.key not in ("card", "walk_round", "set_up", "mix", "wash", "flush", "grounds", "differs"):
            continue
        for block in walked(section.blocks):
            asked += [f"{section.key}: {text}" for text in _texts(block) if _RATIO.search(text)]
    assert asked == []


def _texts(block: Block) -> list[str]:
    if isinstance(block, Table):
        return [words(cell) if isinstance(cell, tuple) else str(cell) for row in block.rows for cell in row]
    if isinstance(block, Hold):
        return [words(block.questions)]
    found = []
    for name in ("spans", "should", "differs", "caution"):
        part = getattr(block, name, None)
        found += [words(part)] if part else []
    for tile in getattr(block, "tiles", ()):
        found += [tile.label, tile.number, tile.unit, *tile.lines, tile.last]
    return found
