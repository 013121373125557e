"""A checked job in, the bytes of its packet out."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import replace

from planner import __version__
from planner.checks.model import CheckedJob
from planner.packet.blocks import Block, Columns, Hold, Section, Two
from planner.packet.findings import Held, band, held
from planner.packet.pages import Bound, Masthead, Paper, bind
from planner.packet.sections import ORDER
from planner.packet.sections import day as day_section
from planner.packet.sections import notice as notice_section
from planner.packet.sections.facts import long_date, running_line
from planner.packet.sections.reading import Reading, spoken, written
from planner.plan.day import DayPlan
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

    def sections(bound: Bound) -> list[Section]:
        reading = Reading(checked=checked, system=system, held=kept, bound=bound)
        return [made for make in ORDER if (made := make(reading)) is not None]

    return _printed(sections, masthead, paper)


def day_packet(day: DayPlan, jobs: Sequence[CheckedJob], *, paper: Paper, system: System) -> bytes:
    """The cover of a day as a PDF: `jobs` are the day's, checked, in the same order. Raises TemplateRefused."""
    masthead = Masthead(
        job=long_date(day.date),
        line=day_section.running_line_of_day(day),
        plan=_plan_number(day),
        program=f"planner {__version__}",
        date=day.date,
        held=_NOTHING_HELD,
    )
    return _printed(lambda _: [day_section.section(day, jobs, system)], masthead, paper)


def notice(checked: CheckedJob, *, paper: Paper, system: System) -> bytes:
    """The customer's notice for the evening before, as a PDF of one page. Raises TemplateRefused."""
    plan = checked.plan
    company = spoken(written(plan.input.company, "name"))
    masthead = Masthead(
        job=company or plan.title,
        line=notice_section.phone_of(plan),
        plan="",
        program=f"planner {__version__}",
        date=plan.input.date,
        held=_NOTHING_HELD,
    )
    reading = Reading(checked=checked, system=system, held=_NOTHING_HELD, bound=Bound())
    return _printed(lambda _: [notice_section.section(reading)], masthead, paper)


_NOTHING_HELD = Held(everything=False, runs=frozenset())


def _plan_number(day: DayPlan) -> str:
    """A day's number: short, and another one where any of its plans is another."""
    whole = hashlib.sha256("".join(plan.hash for plan in day.jobs).encode()).hexdigest()
    return f"{whole[:4]}-{whole[4:8]}"


def _printed(make: Callable[[Bound], list[Section]], masthead: Masthead, paper: Paper) -> bytes:
    bound = Bound()
    content = b""
    for _ in range(_MOST_PRINTINGS):
        before, (content, bound) = bound, bind(_numbered(make(bound)), masthead, paper, bound)
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
            elif isinstance(block, Columns):
                given.append(replace(block, blocks=give(block.blocks)))
            else:
                given.append(block)
        return tuple(given)

    return [replace(section, blocks=give(section.blocks)) for section in sections]
