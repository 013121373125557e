"""A checked job in, the bytes of its packet and of its owner's file out."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import replace

from planner import __version__
from planner.checks.model import CheckedJob
from planner.frozen import dataclass
from planner.packet.blocks import Block, Heading, Hold, Role, Section, Step, StepHead, renewed, walked
from planner.packet.cautions import with_cautions
from planner.packet.fields import boxes_of, named
from planner.packet.pages.attached import BOXES, PLAN, Inside, attached, boxes_json
from planner.packet.pages.pages import NOTHING_INSIDE, Bound, Masthead, Paper, bind, found
from planner.packet.sections import day as day_section
from planner.packet.sections import held as held_section
from planner.packet.sections import notice as notice_section
from planner.packet.sections import rig_card as rig_section
from planner.packet.sections.acts.streams import on_one_sheet
from planner.packet.sections.facts import rig_name, running_line
from planner.packet.sections.order import ALONE, ORDER, OWNERS
from planner.packet.sections.reading import Reading
from planner.plan.days.day import DayPlan
from planner.plan.model import JobPlan
from planner.units import System
from planner.words.dates import long_date
from planner.words.spoken import for_crew

_MOST_PRINTINGS = 5
_COUNTED = frozenset({"set_up", "mix", "wash", "flush", "grounds"})  # sections whose steps are counted
_SECONDS = (300.0, 404.0)  # pt; the second has more to do and less to read


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """A packet as it was printed: the file, and what stands in it and where."""

    pdf: bytes
    sections: tuple[Section, ...]
    masthead: Masthead
    bound: Bound

    def pages(self) -> tuple[str, ...]:
        """What is on each page: the titles of what begins there, else of what goes on, or the back for notes."""
        found: list[str] = []
        last = ""
        for page in range(1, self.bound.total + 1):
            begun = [section.title for section in self.sections if self.bound.page(section.key) == page]
            last = begun[-1] if begun else last
            going_on = "Notes" if page in self.bound.backs else f"{last}, continued"
            others = [f"{title[:1].lower()}{title[1:]}" for title in begun[1:]]
            found.append(", ".join((*begun[:1], *others)) or going_on)
        return tuple(found)


def job_book(
    checked: CheckedJob, *, paper: Paper, system: System, plan_json: str = "", day: Sequence[CheckedJob] = ()
) -> Book:  # fmt: skip
    """The crew's packet with the sheets it was painted from; of a held job one page. Raises TemplateRefused.

    The same job, paper and units give the same bytes; `plan_json` is the plan's figures as a text to go inside.
    Pages name other pages, so it is laid out first, then painted until what one printing says of page numbers is what
    it finds. `day` are the jobs of its day in order, where they are known.
    """
    plan, checked = checked.plan, for_crew(checked)
    carried = attached(PLAN, "The plan's figures in SI units", plan_json) if plan_json else None

    def inside(made: Sequence[Section]) -> Inside:
        boxes = boxes_of(made)
        if not boxes:
            return Inside(files=(carried,) if carried else ())
        about = attached(BOXES, "What each box to write in is for", boxes_json(plan.id, plan.hash, boxes))
        return Inside(job=plan.id, files=(about, carried) if carried else (about,))

    def held_page(room: int) -> Callable[[Bound], list[Section]]:
        return lambda bound: [held_section.section(_reading(checked, system, bound), day=day, room=room)]

    if not checked.held:
        order = ALONE if _only(checked) == "lead" else ORDER
        return _printed(_made(checked, system, order), _masthead(checked, system), paper, inside)
    # The lists are told shorter until the page holds everything.
    for room in range(held_section.ROOMY, -1, -1):
        book = _printed(held_page(room), _masthead(checked, system), paper, inside)
        if book.bound.total == 1:
            break
    return book


def owner_book(checked: CheckedJob, *, paper: Paper, system: System) -> Book:
    """The owner's file of a job: the summary, every figure, every check; held or not. Raises TemplateRefused."""
    crews = _masthead(checked, system)
    masthead = replace(crews, line=f"{crews.line}{'    held' if checked.held else ''}")
    return _printed(_made(checked, system, OWNERS), masthead, paper)


def _reading(checked: CheckedJob, system: System, bound: Bound) -> Reading:
    return Reading(checked=checked, system=system, places=bound)


def _made(
    checked: CheckedJob, system: System, order: Sequence[Callable[[Reading], Section | None]]
) -> Callable[[Bound], list[Section]]:
    """Makes the sections of `order` that this job has a use for; those that name no place are made once."""
    kept: dict[Callable[[Reading], Section | None], Section | None] = {}

    def sections(bound: Bound) -> list[Section]:
        reading = _reading(checked, system, bound)

        def once(make: Callable[[Reading], Section | None]) -> Section | None:
            if make in kept:
                return kept[make]
            reading.asked.clear()
            one = make(reading)
            if not reading.asked:
                kept[make] = one
            return one

        made = [one for make in order if (one := once(make)) is not None]
        if order is OWNERS:
            return made
        role = _only(checked)
        told = with_cautions(made, checked, system)
        return [replace(section, role=role) for section in told] if role is not None else told

    return sections


def _only(checked: CheckedJob) -> Role | None:
    """The one person all sheets are for: of a crew of one, or of a job so small that both read one sheet; else None."""
    plan, procedure = checked.plan, checked.plan.procedure
    if plan.kind != "wash" or procedure is None:
        return None
    crew = plan.input.day.crew if plan.input.day is not None else None
    if crew is not None and crew.count == 1:
        return "lead"
    return "both" if procedure.acts and on_one_sheet(procedure) else None


def _masthead(checked: CheckedJob, system: System) -> Masthead:
    plan = checked.plan
    return Masthead(
        job=plan.title,
        line=running_line(plan, system),
        plan=plan.hash,
        program=f"planner {__version__}",
        date=plan.input.date,
    )


def day_book(
    day: DayPlan, jobs: Sequence[CheckedJob], *, paper: Paper, system: System, due: Sequence[str] = ()
) -> Book:  # fmt: skip
    """The cover of a day: `jobs` are the day's, checked, in the same order; `due` as its section has it.

    Raises TemplateRefused.
    """
    masthead = Masthead(
        job=long_date(day.date, system),
        line=day_section.running_line_of_day(day),
        plan=_plan_number(day),
        program=f"planner {__version__}",
        date=day.date,
    )
    return _printed(lambda _: [day_section.section(day, jobs, system, due)], masthead, paper)


def notice(checked: CheckedJob, *, paper: Paper, system: System) -> bytes:
    """The customer's notice for the evening before, as a PDF of one page. Raises TemplateRefused."""
    plan = checked.plan
    company = plan.input.company.name.strip()
    masthead = Masthead(
        job=company or plan.title,
        line=notice_section.phone_of(plan),
        plan="",
        program=f"planner {__version__}",
        date=plan.input.date,
    )
    reading = Reading(checked=checked, system=system, places=Bound())
    return _printed(lambda _: [notice_section.section(reading)], masthead, paper).pdf


def rig_book(plan: JobPlan, *, paper: Paper, system: System) -> Book:
    """The card of the rig of a job's plan, one page to laminate. Raises TemplateRefused."""
    masthead = Masthead(
        job=f"Rig {rig_name(plan)}",
        line=plan.input.company.name.strip(),
        plan="",
        program=f"planner {__version__}",
        date=None,
    )
    return _printed(lambda _: [rig_section.section(plan, system)], masthead, paper)


def _plan_number(day: DayPlan) -> str:
    """A day's number: short, and another one where any of its plans is another."""
    whole = hashlib.sha256("".join(plan.hash for plan in day.jobs).encode()).hexdigest()
    return f"{whole[:4]}-{whole[4:8]}"


def _printed(
    make: Callable[[Bound], list[Section]], masthead: Masthead, paper: Paper,
    inside: Callable[[Sequence[Section]], Inside] = lambda _: NOTHING_INSIDE,
) -> Book:  # fmt: skip
    sections = named(_numbered(make(Bound())))
    bound = found(sections, masthead, paper)
    bound.steps = _steps_of(sections)
    content: Callable[[], bytes] = bytes
    for _ in range(_MOST_PRINTINGS - 1):
        sections = named(_numbered(make(bound)))
        before, (content, bound) = bound, bind(sections, masthead, paper, bound, inside(sections))
        bound.steps = _steps_of(sections)
        if bound == before:
            break
    return Book(pdf=content(), sections=tuple(sections), masthead=masthead, bound=bound)


def _steps_of(sections: Sequence[Section]) -> dict[str, int]:
    """The number of the step that prints each act, by the act's id."""
    steps = (block for section in sections for block in walked(section.blocks) if isinstance(block, Step))
    return {act: step.number for step in steps if step.number for act in step.acts}


def _numbered(sections: list[Section]) -> list[Section]:
    """The sections with stop points numbered through, where the procedure has not, and each person's steps counted."""
    holds = steps = 0
    role = ""

    def give(blocks: tuple[Block, ...], counted: bool) -> tuple[Block, ...]:
        nonlocal holds, steps
        given: list[Block] = []
        for block in blocks:
            block = renewed(block, lambda inside: give(inside, counted))
            if isinstance(block, Hold):
                holds = block.number or holds + 1
                given.append(replace(block, number=holds))
            elif isinstance(block, Step) and counted:
                steps += 1
                given.append(replace(block, number=steps, columns=_SECONDS if role == "second" else block.columns))
            elif isinstance(block, StepHead) and role == "second":
                given.append(replace(block, columns=_SECONDS))
            elif isinstance(block, Heading) and given and isinstance(given[-1], StepHead):
                given[-1] = replace(block, columns=given[-1].columns)
            else:
                given.append(block)
        return tuple(given)

    made = []
    for section in sections:
        if section.role != role:
            role, steps = section.role, 0
        counted = section.key in _COUNTED or section.key.startswith("yard_")
        made.append(replace(section, blocks=give(section.blocks, counted)))
    return made
