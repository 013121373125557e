"""A checked job in, the bytes of its packet out."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner import __version__
from planner.checks.model import CheckedJob
from planner.packet.attached import BOXES, PLAN, Inside, attached, boxes_json
from planner.packet.blocks import Block, Columns, Hold, Section, Two
from planner.packet.dates import long_date
from planner.packet.fields import boxes_of
from planner.packet.findings import Held, band, held
from planner.packet.pages import NOTHING_INSIDE, Bound, Masthead, Paper, bind
from planner.packet.sections import ORDER
from planner.packet.sections import day as day_section
from planner.packet.sections import notice as notice_section
from planner.packet.sections.facts import running_line
from planner.packet.sections.reading import Reading, spoken, written
from planner.plan.day import DayPlan
from planner.units import System

_MOST_PRINTINGS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """A packet as it was printed: the file, and what stands in it and where."""

    pdf: bytes
    sections: tuple[Section, ...]
    masthead: Masthead
    bound: Bound


def job_packet(checked: CheckedJob, *, paper: Paper, system: System, plan_json: str = "") -> bytes:
    """The packet as a PDF: the same job, paper and units give the same bytes. Raises TemplateRefused.

    `plan_json` is the plan's figures as a text to go inside the file.
    """
    return job_book(checked, paper=paper, system=system, plan_json=plan_json).pdf


def job_book(checked: CheckedJob, *, paper: Paper, system: System, plan_json: str = "") -> Book:
    """The same with the sheets it was painted from. Raises TemplateRefused.

    Pages name other pages, so it is printed until what one printing says of page numbers is what it finds.
    """
    plan = checked.plan
    carried = attached(PLAN, "The plan's figures in SI units", plan_json) if plan_json else None
    kept = held(checked)
    masthead = Masthead(
        job=plan.title,
        line=running_line(plan, system),
        plan=plan.hash,
        program=f"planner {__version__}",
        date=plan.input.date,
        held=kept,
        band=band(checked, system),
    )

    def sections(bound: Bound) -> list[Section]:
        reading = Reading(checked=checked, system=system, held=kept, bound=bound)
        return [made for make in ORDER if (made := make(reading)) is not None]

    def inside(made: Sequence[Section]) -> Inside:
        boxes = boxes_of(made)
        if not boxes:
            return Inside(files=(carried,) if carried else ())
        about = attached(BOXES, "What each box to write in is for", boxes_json(plan.id, plan.hash, boxes))
        return Inside(job=plan.id, files=(about, carried) if carried else (about,))

    return _printed(sections, masthead, paper, inside)


def day_packet(day: DayPlan, jobs: Sequence[CheckedJob], *, paper: Paper, system: System) -> bytes:
    """The cover of a day as a PDF: `jobs` are the day's, checked, in the same order. Raises TemplateRefused."""
    return day_book(day, jobs, paper=paper, system=system).pdf


def day_book(day: DayPlan, jobs: Sequence[CheckedJob], *, paper: Paper, system: System) -> Book:
    """The same with the sheet it was painted from. Raises TemplateRefused."""
    masthead = Masthead(
        job=long_date(day.date, system),
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
    return _printed(lambda _: [notice_section.section(reading)], masthead, paper).pdf


_NOTHING_HELD = Held(everything=False, runs=frozenset())


def _plan_number(day: DayPlan) -> str:
    """A day's number: short, and another one where any of its plans is another."""
    whole = hashlib.sha256("".join(plan.hash for plan in day.jobs).encode()).hexdigest()
    return f"{whole[:4]}-{whole[4:8]}"


def _printed(
    make: Callable[[Bound], list[Section]], masthead: Masthead, paper: Paper,
    inside: Callable[[Sequence[Section]], Inside] = lambda _: NOTHING_INSIDE,
) -> Book:  # fmt: skip
    bound = Bound()
    content, sections = b"", list[Section]()
    for _ in range(_MOST_PRINTINGS):
        sections = _numbered(make(bound))
        before, (content, bound) = bound, bind(sections, masthead, paper, bound, inside(sections))
        if bound == before:
            break
    return Book(pdf=content, sections=tuple(sections), masthead=masthead, bound=bound)


def _numbered(sections: list[Section]) -> list[Section]:
    """The sections with their stop points numbered through; one of the procedure keeps its own number."""
    count = 0

    def give(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
        nonlocal count
        given: list[Block] = []
        for block in blocks:
            if isinstance(block, Hold):
                count = block.number or count + 1
                given.append(replace(block, number=count))
            elif isinstance(block, Two):
                given.append(replace(block, left=give(block.left), right=give(block.right)))
            elif isinstance(block, Columns):
                given.append(replace(block, blocks=give(block.blocks)))
            else:
                given.append(block)
        return tuple(given)

    return [replace(section, blocks=give(section.blocks)) for section in sections]
