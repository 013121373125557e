"""The one sheet of a yard job: where, when and the dangers, the test, the bath, building up again, what was done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from planner.packet.blocks import (
    Block,
    Cell,
    Code,
    Fields,
    Picture,
    Section,
    Span,
    Spans,
    State,
    Table,
    Text,
    WriteIn,
    said,
)
from planner.packet.drawings.ground import Jet, along_ground
from planner.packet.drawings.tank import STOCK, WATER, Column, Level, tank_levels
from planner.packet.findings import with_numbers
from planner.packet.pages.pages import in_head
from planner.packet.pages.style import MEASURE
from planner.packet.sections.crew.card import accepted_blocks, letters, verdict
from planner.packet.sections.facts import crew_of, emergency, weather
from planner.packet.sections.hours import arrives, hours, leaves, on_site
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.told import levels_told
from planner.packet.sections.yard.acts import (
    YardPrinting,
    at_the_stop,
    capital,
    pages_of,
    yard_printing,
)
from planner.packet.sections.yard.bench import done, paced, stages, with_boxes
from planner.packet.sections.yard.safety import held_wear, safety
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.plan.yard.model import BathPlan, BenchPoint, ThrowTest, YardPlan
from planner.units import System, show
from planner.words.dates import clock_text
from planner.words.figures import bath_name
from planner.words.measures import gauge, poured, side_of
from planner.words.spoken import spoken_name

_WORDS = {"descale": "take the scale out", "rebuild": "rebuild", "test": "test"}
_GROUND, _SAME = (94.0, 82.0, 0.0), 0.3  # m; jets that land nearer each other than this are one
_TUB, _READ = (180.0, 150.0, 132.0, 112.0), 0.005  # m; levels nearer than this are not told apart on a stick


def _page(
    name: str, values: dict[str, Any], places: dict[str, tuple[Block, ...]]
) -> Section:  # fmt: skip
    """One part of the sheet, which whoever leads at the bench has alone."""
    return section_from(name, template(name), values, places, role="lead")


# ------------------------------------------------------------------------------------------------- front


def front(reading: Reading) -> Section | None:
    """Which pump, when, go or stop, whom to call, the dangers; the test, and taking it down."""
    plan, system, yard = reading.checked.plan, reading.system, reading.checked.plan.yard
    if yard is None:
        return None
    shown, printing, apart = yard.test, yard_printing(reading), yard.opened
    picture = _thrown(shown, system) if shown is not None and not apart else None
    steps: tuple[Block, ...] = ()
    if printing is not None:
        pages = pages_of(printing.telling.procedure.acts)
        blocks = printing.blocks((*pages.test, *pages.down))
        steps = _with_boxes(printing, blocks, yard, "before" if apart else "after", system)
    places: dict[str, tuple[Block, ...]] = {
        "facts": (_facts(plan, yard, system),),
        "emergency": _emergency(plan),
        "verdict": (_verdict(reading),),
        "accepted": tuple(accepted_blocks(reading)),
        "letters": tuple(letters(plan)),
        **safety(reading, yard),
        "acts": steps,
        "ground": (picture,) if picture is not None else (),
        "paced": tuple(paced(shown, system, opened=apart)) if shown is not None else (),
        "stages": (stages(yard),) if apart else (),
    }
    values: dict[str, Any] = {
        "acid": yard.bath is not None,
        "chemical": bool(places["never"]),
        "signs": bool(places["signs"]),
        "opened": apart,
        "lined": shown is not None,
        "wear": held_wear(yard),
        "rebuild": bool("rebuild" in yard.works or yard.replace),
    }
    places["apart"] = _of_kind("apart", yard.pump.of_kind.apart, values)
    return _page("yard_test", values, places)


def _of_kind(name: str, text: str, values: Mapping[str, Any]) -> tuple[Block, ...]:
    """What the record of a kind of pump says, read like a template."""
    return section_from(f"pumps.yaml, {name}", f"# {name}\n\n{text}\n", values, {}).blocks


def _facts(plan: JobPlan, yard: YardPlan, system: System) -> Fields:
    stages = f", {yard.stages} {'stage' if yard.stages == 1 else 'stages'}" if yard.stages else ""
    wetted = f"; {', '.join(yard.pump.wetted)}" if yard.pump.wetted else ""
    crew = crew_of(plan)
    work = ", ".join(_WORDS[work] for work in yard.works).capitalize()
    rows: list[tuple[str, Spans | WriteIn]] = [
        *(() if in_head(plan.title) else (("Job", said(plan.title)),)),
        (
            "Pump",
            said(f"{yard.pump.name}, {yard.pump.kind}{stages}{wetted}. {work}.{f' Crew: {crew}.' if crew else ''}"),
        ),
        ("When", (*_when(plan, system), Span(text=" "), *with_numbers(capital(weather(plan, system))))),
    ]
    if yard.replace:
        rows.append(("Replace", said(f"{', '.join(yard.replace)}.")))
    if yard.notes:
        rows.append(("Note", (Span(text=yard.notes, strong=True),)))
    return Fields(rows=tuple(rows), label=44.0)


def _when(plan: JobPlan, system: System) -> Spans:
    """From when until when on the clock, else how long it takes."""
    at, until = arrives(plan), leaves(plan)
    if not plan.time:
        return said("No time planned.")
    if at is None or until is None:
        return said(f"About {hours(on_site(plan))} in all.")
    return (
        Span(text=clock_text(at, system), strong=True),
        Span(text=" to "),
        Span(text=clock_text(until, system), strong=True),
        Span(text=f" ({hours(on_site(plan))})."),
    )


def _verdict(reading: Reading) -> Table:
    """Go, or go with care and what that asks, each with its page."""
    told = verdict(reading)
    here = reading.bound.page("yard_test")
    spans = [Span(text=f"{told.word}{'' if told.items else f': {told.count}'}.", strong=True)]
    for item in told.items:
        page = f" ({item.page})" if item.page and item.page != f"page {here}" else ""
        spans.append(Span(text=f" {item.title}{f': {item.text}' if item.text else ''}{page}."))
    spans += [Span(text=f" {told.more}")] if told.more else []
    row: tuple[Cell, ...] = (State(level=told.level), tuple(spans))
    return Table(head=(), rows=(row,), widths=(1.0, 24.0))


def _emergency(plan: JobPlan) -> tuple[Block, ...]:
    """Whom to call in one line; the yard's own address to write in, for nobody finds `the yard`."""
    rows = [("We are at", WriteIn(width=104, height=18)), *emergency(plan).rows[1:]]
    boxes = [(label, value) for label, value in rows if isinstance(value, WriteIn)]
    phones: list[Span] = []
    for label, value in rows:
        if not isinstance(value, WriteIn):
            phones += [Span(text=f"{', ' if phones else ''}{label} "),
                       Span(text="".join(span.text for span in value), strong=True)]  # fmt: skip
    cells = tuple(cell for label, box in boxes for cell in ((Span(text=label, strong=True),), box))
    widths = (60.0, 104.0) * len(boxes)
    if len(boxes) == 1:
        beside = (*cells, tuple(phones))
        return (Table(head=(), rows=(beside,), widths=(*widths, MEASURE - sum(widths)), tight=True),)
    told = (Text(spans=tuple(phones)),) if phones else ()
    return (Table(head=(), rows=(cells,), widths=widths, tight=True), *told)


def _with_boxes(
    printing: YardPrinting, steps: Sequence[Block], yard: YardPlan, when: str, system: System
) -> tuple[Block, ...]:
    return with_boxes(steps, printing.telling.procedure.acts, yard, when, system)


def _thrown(test: ThrowTest, system: System) -> Picture | None:
    after, before = test.after, test.before
    if after.ground is None:
        return None
    sound = _jet(after, "sound", system)
    today = _jet(before, "as the pump is today", system) if before.ground is not None else None
    if today is not None and abs(today.ground - sound.ground) < _SAME:
        today = None

    def paint(wide: float, tall: float) -> object:
        return along_ground(sound, today, wide, tall)

    text = f"From a good pump the jet lands {sound.words} away along level ground"
    text += f", as the pump is today {today.words}." if today is not None else "."
    return Picture(paint=paint, heights=_GROUND, title="The throw", told=text)


def _jet(point: BenchPoint, name: str, system: System) -> Jet:
    ground = point.ground or 0.0
    return Jet(path=point.path, ground=ground, words=show(ground, "length", system, toward="down"), name=name)


# ------------------------------------------------------------------------------------------------- bath


def bath(reading: Reading) -> Section | None:
    """The bath that takes the scale out: what is poured in which order, how long, when it is spent, how it is ended."""
    yard, system = reading.checked.plan.yard, reading.system
    if yard is None or yard.bath is None:
        return None
    bath_plan = yard.bath
    printing, picture = yard_printing(reading), _tub(bath_plan, system)
    acts = printing.blocks(pages_of(printing.telling.procedure.acts).bath) if printing is not None else ()
    before, stop, after = at_the_stop(acts)
    places: dict[str, tuple[Block, ...]] = {
        "tub": (picture,) if picture is not None else (),
        "before": before,
        "acts": (*stop, *after),
    }
    values = {
        "name": bath_name(bath_plan),
        "drawn": picture is not None,
        "wiped": bool(bath_plan.wipe is not None and bath_plan.passes),
        "shaft": yard.pump.of_kind.stages,
    }
    return _page("yard_bath", values, places)


def _tub(bath: BathPlan, system: System) -> Picture | None:
    """The tub with its stick; None where nobody wrote how wide it is."""
    if any(level.dip is None for level in bath.levels) or not bath.levels:
        return None
    levels = []
    for level in bath.levels:
        if level.mass is not None:
            continue
        name = level.what if level.what == "water" else spoken_name(bath.chemical)
        side = side_of(level.what)
        fill = WATER if level.what == "water" else STOCK
        amount = poured(level.added, system, side)
        levels.append(
            Level(what=name, depth=level.dip or 0.0, fill=fill, read=level.by_stick, amount=amount, side=side)
        )
    if bath.top is not None and levels and bath.top > levels[-1].depth + _READ:
        amount = show(bath.top, "dip", system, toward="up")
        levels.append(Level(what="with the parts", depth=bath.top, fill=0.0, read=False, amount=amount))
    across = show(bath.across, "dip", system) if bath.across is not None else ""
    deep = bath.height if bath.height is not None else max(level.depth for level in levels) * 1.15
    high = f", {show(bath.height, 'dip', system)} deep" if bath.height is not None else ""
    foot = f"the tub, {across} across{high}"
    column = Column(title="The bath", note=f"{poured(bath.volume, system)}, {bath_name(bath)}", levels=tuple(levels))

    def paint(wide: float, tall: float) -> object:
        return tank_levels([column], deep, system, wide, tall, foot=foot)

    text = levels_told(levels, system)
    return Picture(
        paint=paint, heights=_TUB, title="The tub", told=f"From the floor up: {text}. It is {foot.partition(', ')[2]}."
    )


# ------------------------------------------------------------------------------------------------- up, done


def up(reading: Reading) -> Section | None:
    """Building up again, the test after, the line put away; None where nothing was taken apart."""
    yard, printing = reading.checked.plan.yard, yard_printing(reading)
    acts = pages_of(printing.telling.procedure.acts).up if printing is not None else ()
    if yard is None or printing is None or not acts:
        return None
    cut_off = yard.pump.cut_off
    values = {"cut_off": gauge(cut_off, reading.system) if cut_off is not None else ""}
    steps = _with_boxes(printing, printing.blocks(acts), yard, "after", reading.system)
    together = _of_kind("together", yard.pump.of_kind.together, values)
    return _page("yard_up", values, {"acts": steps, "together": together})


def last(reading: Reading) -> Section | None:
    """What was done, beside what stands in the boxes of bench and test."""
    plan, yard = reading.checked.plan, reading.checked.plan.yard
    if yard is None:
        return None
    places = {"done": done(plan, yard, reading.system), "code": (Code(text=f"{plan.id} {plan.hash}"),)}
    return _page("yard_done", {}, places)
