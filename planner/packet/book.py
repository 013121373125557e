"""A checked job in, the bytes of its packet out."""

from __future__ import annotations

from dataclasses import replace

from planner import __version__
from planner.checks.model import CheckedJob
from planner.packet.blocks import Block, Hold, Section, Two
from planner.packet.findings import band, held
from planner.packet.pages import Bound, Masthead, Paper, bind
from planner.packet.sections import ORDER
from planner.packet.sections.facts import running_line
from planner.packet.sections.reading import Reading
from planner.units import System

_MOST_PRINTINGS = 5


def job_packet(checked: CheckedJob, *, paper: Paper, system: System) -> bytes:
    """The packet as a PDF: the same job, paper and units give the same bytes. Raises TemplateRefused.

    Pages name other pages, so it is printed until what one printing says of page numbers is what it finds.
    """
    plan = checked.plan
    kept = held(checked)
    masthead = Masthead(
        job=plan.title,
        line=running_line(plan),
        plan=plan.hash,
        program=f"planner {__version__}",
        date=plan.input.date,
        held=kept,
        band=band(checked, system),
    )
    bound = Bound()
    content = b""
    for _ in range(_MOST_PRINTINGS):
        reading = Reading(checked=checked, system=system, held=kept, bound=bound)
        sections = _numbered([made for make in ORDER if (made := make(reading)) is not None])
        before, (content, bound) = bound, bind(sections, masthead, paper, bound)
        if bound == before:
            break
    return content


def _numbered(sections: list[Section]) -> list[Section]:
    """The sections with their hold points numbered through."""
    count = 0

    def give(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
        nonlocal count
        given: list[Block] = []
        for block in blocks:
            if isinstance(block, Hold):
                count += 1
                given.append(replace(block, number=count))
            elif isinstance(block, Two):
                given.append(replace(block, left=give(block.left), right=give(block.right)))
            else:
                given.append(block)
        return tuple(given)

    return [replace(section, blocks=give(section.blocks)) for section in sections]
