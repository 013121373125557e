"""The day's cover: order and clock, each change of chemistry as a hold, and the load to tick before the gate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from planner.checks.model import CheckedJob
from planner.inputs.tables.chemicals import BLEACH
from planner.packet.blocks import Block, Cell, Hold, Picture, Section, Span, Spans, State, Step, Table, Text, said
from planner.packet.cautions import cautions
from planner.packet.drawings.clock import Piece, clock_bar
from planner.packet.findings import crew_verdict, headed, stops_of, with_numbers
from planner.packet.pages.pages import in_running_line
from planner.packet.sections.crew.flush import hold_of
from planner.packet.sections.facts import crew_of, rig_name, weather
from planner.packet.sections.hours import arrives, leaves
from planner.packet.sections.load import load_steps
from planner.packet.sections.mixes import percent_of
from planner.packet.sections.owner.weather import light_text
from planner.packet.sections.owner.weights import weight_blocks
from planner.packet.sections.reading import template
from planner.packet.sections.told import clock_told
from planner.packet.wording import section_from
from planner.plan.days.day import DayPlan
from planner.plan.mix.lookups import bathed_before, forbidden
from planner.plan.model import JobPlan
from planner.plan.sky.daylight import daylight
from planner.plan.water.timing import HOME
from planner.units import System, show
from planner.words.dates import clock_text
from planner.words.day_words import better_words, reorder_words
from planner.words.measures import drawn, in_all, minutes, poured, strength, weighed
from planner.words.spoken import spoken_name

_WORDS = {"ok": "Go", "caution": "Go, with care", "stop": "Stop"}


def section(day: DayPlan, jobs: Sequence[CheckedJob], system: System, due: Sequence[str] = ()) -> Section:
    """The cover of a day of these jobs, in working order; `due`: a line for each service that is due by then."""
    first = day.jobs[0]
    going = [plan for plan, job in zip(day.jobs, jobs, strict=True) if not job.held]
    places: dict[str, tuple[Block, ...]] = {
        "clock": tuple(_clock(day, jobs, system)),
        "order": (_order(day, jobs, system), *_home(day, system), *_better(day, system)),
        "changes": tuple(changes(going, system)),
        "load": tuple(load_steps(day, going, system)),
        "weights": tuple(weight_blocks(day.load, first, system)),
        "buy": tuple(_buy(day, system)),
        "reorder": tuple(_reorder(day, system)),
        "tonight": tuple(_tonight(first, system)),
        "after": tuple(_after(day, system)),
        "water": tuple(_water(day, going, system)),
    }
    stopped = [job for job in jobs if job.held]
    worst = "caution" if day.waits or any(job.verdict == "caution" for job in jobs) else "ok"
    values: dict[str, Any] = {
        "verdict": "Stop: every job is held" if len(stopped) == len(jobs) else _WORDS[worst],
        "held": len(stopped),
        "jobs": len(jobs) + len(day.waits),
        "waits": " and ".join(name.rpartition("/")[2] for name in day.waits),
        "forecast": " ".join(filter(None, (weather(first, system), _light(first, system)))),
        "crew": "" if in_running_line(running_line_of_day(day)) else crew_of(first),
        "changes": bool(places["changes"]),
        "buys": bool(places["buy"]),
        "orders": bool(places["reorder"]),
        "due": "; ".join(due),
    }
    return section_from("day", template("day"), values, places, foot="The packets of the jobs follow in this order.")


def _light(plan: JobPlan, system: System) -> str:
    light = daylight(plan.input)
    return light_text(light, system) if light is not None else ""


def running_line_of_day(day: DayPlan) -> str:
    """The second line of the cover's head."""
    first, count = day.jobs[0], len(day.jobs) + len(day.waits)
    jobs = f"{count} job" if count == 1 else f"{count} jobs"
    return "    ".join(part for part in (f"rig {rig_name(first)}", crew_of(first), jobs) if part)


def _clock(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> list[Block]:
    """The day as a bar; none where it waits for a job or a drive: what comes after is later than it would say."""
    starts = [span.start for plan in day.jobs for span in plan.time]
    if day.waits or (None in starts and any(start is not None for start in starts)):
        return []
    pieces: list[Piece] = []
    for number, (plan, checked) in enumerate(zip(day.jobs, jobs, strict=True), start=1):
        drive = sum(span.seconds for span in plan.time if span.road)
        work = sum(span.seconds for span in plan.time if not span.road)
        if drive:
            pieces.append(Piece(label=minutes(drive), seconds=drive, kind="drive"))
        if work:
            kind = "held" if checked.held else "plain"
            pieces.append(Piece(label=f"{number}  {plan.title}", seconds=work, kind=kind, short=f"{number}"))
    if not pieces:
        return []
    start = starts[0]

    def paint(wide: float, tall: float) -> object:
        return clock_bar(pieces, start, system, wide, tall)

    return [Picture(paint=paint, heights=(36.0,), title="The day on the clock", told=clock_told(pieces, start, system))]


def _order(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> Table:
    """One row a job, what is held marked with its reason."""
    rows: list[tuple[Cell, ...]] = []
    for number, named, place in day.rows:
        if place is None:
            lost = (Span(text=f"{number}  {named.rpartition('/')[2]}", strong=True),)
            rows.append((State(level="stop"), lost, "", "", "", said("Not planned: see the screen")))
            continue
        plan, checked = day.jobs[place], jobs[place]
        drive = sum(span.seconds for span in plan.time if span.road)
        at, until = arrives(plan), leaves(plan)
        acts = len(cautions(checked, "us"))
        some = "1 caution" if acts == 1 else f"{acts} cautions"
        if checked.held:
            word: Spans = (Span(text="Held: ", strong=True), Span(text=_held_for(checked)))
        else:
            text = _WORDS[crew_verdict(checked, "us")]
            word = said(f"{text}, {some}" if acts else text)
        address = plan.input.job.site.address
        if plan.yard is not None:
            address = f"{plan.yard.pump.name}: {', '.join(plan.yard.works)}"
        name = (Span(text=f"{number}  {plan.title}", strong=True), Span(text=f", {address}" if address else ""))
        rows.append(
            (
                State(level=crew_verdict(checked, "us")),
                name,
                minutes(drive) if drive else "",
                clock_text(at, system) if at is not None else "",
                clock_text(until, system) if until is not None else "",
                word,
            )
        )
    head = ("", "Job, in this order", "Drive, min", "Arrive", "Leave", "Verdict")
    return Table(head=head, rows=tuple(rows), widths=(0.5, 4.2, 0.9, 1.3, 1.3, 2.8), right=frozenset({2, 3, 4}),
                 act=frozenset({3}))  # fmt: skip


def _held_for(checked: CheckedJob) -> str:
    """What holds a job, in a line."""
    return (
        "; ".join(headed(finding, checked.plan) for finding in stops_of(checked)[:2])
        or "its steps failed our rehearsal; see the screen"
    )


def _home(day: DayPlan, system: System) -> Iterator[Text]:
    """When the rig is back in the yard, and the drive that counts for it."""
    if day.ends is None or not day.home:
        return
    page = day.jobs[0].input.day
    known = page is not None and HOME in page.drive
    text = "" if known else ", as long as the longest drive today: day.yaml has none"
    yield Text(
        spans=with_numbers(
            f"Back in the yard {clock_text(day.ends, system)}; drive home {minutes(day.home)} min{text}."
        )
    )


def changes(going: Sequence[JobPlan], system: System) -> Iterator[Hold]:
    """A hold for each change of chemistry: what stands in a tank, then from one job that goes to the next."""
    last: JobPlan | None = None
    for plan in going:
        yield from _heel_change(plan, system)
        yield from _flushed_first(plan, system)
        yield from _bathed(plan)
        if last is not None and plan.mixes and _chemicals(plan) != _chemicals(last):
            yield _change(last, plan, system)
        if plan.mixes:
            last = plan


def _chemicals(plan: JobPlan) -> list[str]:
    return sorted({mix.chemical for mix in plan.mixes})


def _heel_change(plan: JobPlan, system: System) -> Iterator[Hold]:
    for mix in plan.mixes:
        tank = mix.run.feed_tank
        if mix.heel_chemical in (None, "water", mix.chemical) or tank is None or mix.heel <= 0.0:
            continue
        gives = _gives(plan, str(mix.heel_chemical), mix.chemical)
        yield Hold(
            title=f"Before {plan.title}: {tank.name} still holds {spoken_name(str(mix.heel_chemical))}",
            questions=with_numbers(f"{drawn(mix.heel, system, 'up')} drained, tank rinsed, strip read?{gives}"),
        )


def _flushed_first(plan: JobPlan, system: System) -> Iterator[Hold]:
    """Each flush the plan has between two chemistries, before one of this job's mixes."""
    for change in plan.changes:
        title, question = hold_of(change, plan, system)
        danger = next((text for leaves in change.leaves if (text := _gives(plan, leaves, change.comes))), "")
        yield Hold(title=title, questions=with_numbers(f"{question}{danger}"))


def _bathed(plan: JobPlan) -> Iterator[Hold]:
    """A pump that was in acid today and is to carry what may not meet it."""
    for pump in dict.fromkeys(pump for mix in plan.mixes for pump in bathed_before(plan, mix)):
        yield Hold(
            title=f"Before {plan.title}: {pump} was in acid",
            questions=with_numbers("Rinsed, plain water run through, its last drops pH 6 to 8?"),
        )


def _better(day: DayPlan, system: System) -> Iterator[Text]:
    """A better order of the jobs in a line, where there is one."""
    if words := better_words(day, system):
        yield Text(spans=with_numbers(words))


def _change(before: JobPlan, after: JobPlan, system: System) -> Hold:
    lines = []
    for run in dict.fromkeys(flush.run for flush in before.flushes):
        parts = [flush for flush in before.flushes if flush.run == run]
        volume = sum(part.volume or 0.0 for part in parts)
        seconds = sum(part.seconds or 0.0 for part in parts)
        target = show(parts[0].target, "concentration", system, toward="down")
        if any(part.volume is None for part in parts):
            lines.append(f"{run}: no flush gets down to {target}, neutralize it.")
            continue
        strip = f"strip {target} or less" if parts[0].leaves == BLEACH else "pH strip 6 to 8"
        lines.append(f"{run}: {drawn(volume, system, 'up')} through, {minutes(seconds)} min, {strip}?")
    pairs = [_gives(after, chemical, other) for chemical in _chemicals(before) for other in _chemicals(after)]
    danger = next((pair for pair in pairs if pair), "")
    names = f"{_spoken(before)} to {_spoken(after)}"
    words = " ".join(lines) or "Tank, pump, hose and tip flushed, strip read?"
    return Hold(title=f"Before {after.title}: {names}", questions=with_numbers(f"{words}{danger}"))


def _gives(plan: JobPlan, one: str, other: str) -> str:
    pair = forbidden(plan, one, other)
    return f" Together they give {pair.gives}." if pair is not None else ""


def _spoken(plan: JobPlan) -> str:
    return " and ".join(spoken_name(chemical) for chemical in _chemicals(plan))


def _buy(day: DayPlan, system: System) -> Iterator[Block]:
    for buy in day.buys:
        amount = poured(buy.volume, system, "up") if buy.volume else weighed(buy.mass, system, "up")
        yield Step(
            spans=(Span(text=amount, strong=True), Span(text=f" of {spoken_name(buy.chemical)}: not on the shelf"))
        )


def _reorder(day: DayPlan, system: System) -> Iterator[Block]:
    """What to order so that it is there in time, and why that day."""
    for reorder in day.reorders:
        what, why = reorder_words(reorder, system)
        yield Text(spans=(Span(text=what, strong=True), Span(text=f": {why}.")))


def _tonight(plan: JobPlan, system: System) -> Iterator[Block]:
    heels = plan.input.day.heels if plan.input.day is not None else {}
    for tank, heel in heels.items():
        strong = f" at {heel.strength.text}" if heel.strength is not None else ""
        amount = drawn(heel.volume, system, "up")
        yield Text(spans=(Span(text=f"{tank}: ", strong=True), Span(text=f"{amount} of {heel.stock}{strong}")))
    if not heels:
        yield Text(spans=said("None listed: mix tanks are taken as dry, water tanks as full. Check."))


def _after(day: DayPlan, system: System) -> Iterator[Block]:
    percent = percent_of(day.jobs[0])
    for heel in day.heels:
        amount = drawn(heel.volume, system, "up")
        name = spoken_name(heel.chemical)
        strong = strength(heel.strength, heel.chemical, percent)
        yield Text(spans=(Span(text=f"{heel.tank}: ", strong=True), Span(text=f"{amount} of {name} at {strong}")))
    if not day.heels:
        yield Text(spans=said("None: no tank holds mix tonight."))


def _water(day: DayPlan, going: Sequence[JobPlan], system: System) -> Iterator[Block]:
    drawing = [plan for plan in going if plan.water.need > 0.0]
    sources = {plan.input.water.source for plan in drawing}
    text = f", from {sources.pop()}" if len(sources) == 1 else ""
    whole = " ".join(in_all(day.water, system))
    yield Text(spans=(Span(text=whole, strong=True), Span(text=f" at most, in all, for the jobs that go{text}.")))
    for plan in drawing:
        need = " ".join(in_all(plan.water.most, system))
        yield Text(spans=said(f"{plan.title}: up to {need}{'' if text else f', from {plan.input.water.source}'}."))
