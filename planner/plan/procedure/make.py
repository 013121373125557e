"""A job from arrival to driving off, or at the bench: every act, made once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from itertools import pairwise

from planner.frozen import dataclass
from planner.inputs.models import Tank
from planner.plan.mix.model import DwellMisfit, GunsMisfit, Neutraliser
from planner.plan.procedure import state
from planner.plan.procedure.acts import Procedure, Spray, State
from planner.plan.procedure.asked import Asked
from planner.plan.procedure.book import Book, Line
from planner.plan.procedure.flows import Flow, flows, walks_of
from planner.plan.procedure.hands.fills import OwnFill
from planner.plan.procedure.hands.sections import shares_gear
from planner.plan.procedure.stages import closing, opening
from planner.plan.procedure.stages.first import flush_first
from planner.plan.procedure.stages.grounds import fill_tank, lay_in
from planner.plan.procedure.stages.wash import Wash
from planner.plan.procedure.stages.yard import yard_book
from planner.plan.procedure.totals import longest_stood, standings
from planner.plan.water.tap import filler_of, water_tank
from planner.plan.yard.model import YardPlan

_MOST_WAITS = 60
"""So often the crew waits for the tap at the most; a tank that does not last then holds the job (our choice)."""

_MOST_SIZES = 4
"""So often sections are sized anew because mix stands on them longer than was thought (our choice)."""

_NOISE = 1e-6  # s

_SPARE = 0.1
"""What is filled beyond what the spray takes, as a share of the tank (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A job's procedure, the walls on which mix would stand too long, the run each run's parts are flushed through.

    `guns`: the runs that two people cannot spray at once.
    `unwaited`: the same if nobody waited for the tap, None where nobody has to. `moved`: what its acts move; `given`:
    what they give to make leftovers harmless. `sides`: walls in their order that could as well be in another.
    """

    procedure: Procedure
    misfits: tuple[DwellMisfit, ...] = ()
    guns: tuple[GunsMisfit, ...] = ()
    flushed_by: Mapping[str, str] = field(default_factory=dict)
    sections: Mapping[str, int] = field(default_factory=dict)
    unwaited: Procedure | None = None
    moved: tuple[Flow, ...] = ()
    given: tuple[Neutraliser, ...] = ()
    sides: tuple[tuple[str, ...], ...] = ()


def wash_job(asked: Asked, begins: float) -> Made:
    """Every act of a wash job; it `begins` [s] with the arrival, 0 where nobody knows when that is.

    Sections are sized by an estimate of how long mix stands on them; where it stands too long by the acts themselves,
    they are made again with so much to spare. What no size cures is a misfit.
    """
    work = {row.surface.name: row for row in asked.work if row.dwell_bound > 0.0}
    spare: dict[str, float] = {}
    least: dict[str, float] = {}
    for _ in range(_MOST_SIZES):
        made = _waited(asked, begins, spare)
        known = {misfit.surface for misfit in made.misfits} - set(spare)
        stands = {name: one for name, one in longest_stood(made.procedure, made.moved).items() if name not in known}
        least |= {name: min(one, least.get(name, one)) for name, one in stands.items()}
        over = {name: one - work[name].dwell_bound for name, one in stands.items()}
        over = {name: one for name, one in over.items() if one > _NOISE}
        if not over:
            # What was sized with more to spare is held to its acts alone.
            return replace(made, misfits=tuple(misfit for misfit in made.misfits if misfit.surface not in spare))
        spare |= {name: spare.get(name, 0.0) + one for name, one in over.items()}
    beyond = [
        DwellMisfit(surface=name, shortest=least[name], bound=work[name].dwell_bound, least=work[name].dwell_least)
        for name in over
    ]
    return replace(made, misfits=(*(misfit for misfit in made.misfits if misfit.surface not in over), *beyond))


def _waited(asked: Asked, begins: float, spare: Mapping[str, float]) -> Made:
    """The acts, with waits for the tap where a water tank would not last a spray while no mix stands on a wall."""
    tops: dict[int, float] = {}
    first = None
    for _ in range(_MOST_WAITS):
        made, book = _wash_job(asked, begins, tops, spare)
        first = first or made
        short = _short(asked, book, made)
        if short is None or not short[1] > 0.0:
            break
        tops[short[0]] = tops.get(short[0], 0.0) + short[1]
    return replace(made, unwaited=first.procedure if tops and first is not None else None)


def _lasts(own: Sequence[Flow], tank: Tank, level: float) -> bool:
    """Whether a tank that these flows fill and draw on never stands below its outlet, whoever draws."""
    changes = []
    for flow in own:
        rate = (1.0 if flow.into == tank.name else -1.0) * flow.volume / flow.seconds
        changes += [(flow.start, rate), (flow.end, -rate)]
    rate, before = 0.0, 0.0
    for moment, change in sorted(changes):
        level += rate * (moment - before)
        if level < tank.dead_volume - 1e-9:
            return False
        rate, before = rate + change, moment
    return True


def _short(asked: Asked, book: Book, made: Made) -> tuple[int, float] | None:
    """The first spray, by its number, that the water tank does not last, and what is filled before it [m3].

    None where it lasts, and where mix stands on a wall or no tap fills it: that holds the job.
    """
    tank, procedure, moved = water_tank(asked.job), made.procedure, made.moved
    filler = filler_of(asked.job, tank)
    if tank is None or filler is None or not filler.flow() > 0.0 or tank.name not in procedure.begin.tanks:
        return None
    own = [flow for flow in moved if tank.name in (flow.source, flow.into) and flow.seconds > 0.0]
    cuts = sorted({flow.start for flow in own} | {flow.end for flow in own})
    level = min(procedure.begin.tanks[tank.name].volume or 0.0, tank.volume)
    if _lasts(own, tank, level):
        return None
    for start, end in pairwise(cuts):
        middle = (start + end) / 2.0
        running = [flow for flow in own if flow.start < middle < flow.end]
        level += sum((1.0 if flow.into == tank.name else -1.0) * flow.volume / flow.seconds for flow in running) * (
            end - start
        )
        guns = [flow for flow in running if isinstance(flow.act.detail, Spray)]
        pumped = guns[0] if guns else None
        if pumped is None or level >= tank.dead_volume - 1e-9:
            continue
        if any(standing.start < end and standing.off > start for standing in standings(procedure, moved)):
            return None
        draft = next(
            (
                n
                for n, draft in enumerate(book.sprays)
                if draft.start == pumped.act.start and draft.detail == pumped.act.detail
            ),
            None,
        )
        if draft is None:
            return None
        before = level + sum(flow.volume * (end - flow.start) / flow.seconds for flow in guns)
        wanted = max(sum(flow.volume for flow in guns) - (before - tank.dead_volume), 0.0) + _SPARE * tank.volume
        return draft, min(wanted, max(tank.volume - before, 0.0))
    return None


def _wash_job(
    asked: Asked, begins: float, tops: Mapping[int, float], spare: Mapping[str, float]
) -> tuple[Made, Book]:  # fmt: skip
    book = Book.of(asked, begins, tops, spare)
    before = state.begin(asked, ())
    book.own_fill = OwnFill.of(book, before)
    wash = Wash(book=book)
    opening.arrive(book)
    lines = first_lines(book)
    opening.before_work(book, lines)
    # A tank for plain water is rinsed before any line is tried out of it, a line that holds a mix before it is tried.
    for change in asked.changes:
        line = book.lines[change.run]
        foul = change.tank is None and line in lines and _holds_mix(asked, line, before)
        if not change.mix or foul:
            wash.flushed.add(id(change))
            line.tested = foul
            flush_first(book, line, change, wash.ready_again)
        if foul:
            line.tested = False
            opening.take_off(book, line)
    for line in lines:
        wash.ready(line.name)
    wash.run()
    lay_in(book, wash, before)
    closing.close(book, list(book.lines.values()), wash.wastes, wash.leftovers(), wash.kept())
    fill_tank(book, before)
    if book.own_fill is not None:
        book.own_fill.stop(book, book.lead.now)
    acts = book.acts()
    before = state.begin(asked, acts)
    procedure = Procedure(acts=acts, begin=before, end=state.end(before, acts, state.known(asked)))
    lengths = {line.name: line.length for line in book.lines.values()}
    return Made(
        procedure=procedure,
        moved=flows(procedure, walks_of(procedure, lengths, book.minutes["walk_pace"])),
        misfits=tuple(wash.misfits),
        guns=tuple(wash.unpaired),
        flushed_by=book.flushed_by,
        sections=wash.counted,
        given=given_in(book),
        sides=wash.sides,
    ), book


def _holds_mix(asked: Asked, line: Line, before: State) -> bool:
    """Whether a chemical is known to stand in one of a line's hoses."""
    stands = {before.hoses[name].stock for name in state.hoses_of(line.plan, asked.runs) if name in before.hoses}
    return not stands <= {"water", "air", "unknown"}


def yard_job(asked: Asked, yard: YardPlan, begins: float) -> Made:
    """Every act of a yard job, by the line its pump is tested on; it `begins` [s] at the bench."""
    asked = replace(asked, runs=yard.runs)
    book = yard_book(asked, yard, state.begin(asked, ()), begins)
    acts = book.acts()
    before = state.begin(asked, acts)
    procedure = Procedure(acts=acts, begin=before, end=state.end(before, acts, state.known(asked)))
    return Made(procedure=procedure, given=given_in(book))


def given_in(book: Book) -> tuple[Neutraliser, ...]:
    """What the acts give to make leftovers harmless."""
    return tuple(draft.ends for draft in book.drafts if draft.ends is not None)


def first_lines(book: Book) -> list[Line]:
    """The lines that are laid out on arrival: each whose hoses and pump nothing before it needs, in order of use."""
    lines: list[Line] = []
    for line in book.lines.values():
        if line.plan.flow > 0.0 and not any(shares_gear(line, other) for other in lines):
            lines.append(line)
    return lines
