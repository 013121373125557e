"""A job from arrival to driving off, or at the bench: every act, made once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from planner.plan.mix_model import DwellMisfit
from planner.plan.procedure import closing, opening, state
from planner.plan.procedure.acts import Procedure
from planner.plan.procedure.book import Asked, Book, Line
from planner.plan.procedure.first import flush_first
from planner.plan.procedure.grounds import fill_tank, lay_in
from planner.plan.procedure.sections import shares_gear
from planner.plan.procedure.wash import Wash
from planner.plan.procedure.yard import yard_acts
from planner.plan.yard_model import YardPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A job's procedure, the walls on which mix would stand too long, the run each run's parts are flushed through."""

    procedure: Procedure
    misfits: tuple[DwellMisfit, ...] = ()
    flushed_by: Mapping[str, str] = field(default_factory=dict)
    sections: Mapping[str, int] = field(default_factory=dict)


def wash_job(asked: Asked, begins: float) -> Made:
    """Every act of a wash job; it `begins` [s] with the arrival, 0 where nobody knows when that is."""
    book = Book.of(asked, begins)
    before = state.begin(asked, ())
    wash = Wash(book=book)
    opening.arrive(book)
    lines = first_lines(book)
    opening.before_work(book, lines)
    # A tank for plain water is rinsed before any line is tried out of it.
    for change in asked.changes:
        if not change.mix:
            wash.flushed.add(id(change))
            flush_first(book, book.lines[change.run], change, wash.ready_again)
    for line in lines:
        wash.ready(line.name)
    wash.run()
    lay_in(book, wash, before)
    closing.close(book, list(book.lines.values()), wash.wastes, wash.leftovers())
    fill_tank(book, before)
    acts = book.acts()
    before = state.begin(asked, acts)
    return Made(
        procedure=Procedure(acts=acts, begin=before, end=state.end(before, acts, state.known(asked))),
        misfits=tuple(wall.misfit for wall in wash.walls if wall.misfit is not None),
        flushed_by=book.flushed_by,
        sections={wall.name: wall.sections for wall in wash.walls},
    )


def yard_job(asked: Asked, yard: YardPlan, begins: float) -> Made:
    """Every act of a yard job, by the line its pump is tested on; it `begins` [s] at the bench."""
    asked = replace(asked, runs=yard.runs)
    acts = yard_acts(asked, yard, state.begin(asked, ()), begins)
    before = state.begin(asked, acts)
    return Made(procedure=Procedure(acts=acts, begin=before, end=state.end(before, acts, state.known(asked))))


def first_lines(book: Book) -> list[Line]:
    """The lines that are laid out on arrival: each whose hoses and pump nothing before it needs, in order of use."""
    found: list[Line] = []
    for line in book.lines.values():
        if line.plan.flow > 0.0 and not any(shares_gear(line, other) for other in found):
            found.append(line)
    return found
