"""A day on the terminal: order and clock, what to load, buy and order, what rides, what stays in the tanks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.checks.clock import day_findings
from planner.checks.load import moment_words
from planner.checks.model import CheckedJob
from planner.packet import words
from planner.packet.dates import clock_text, long_date
from planner.packet.day_words import better_words, reorder_words
from planner.packet.measures import minutes, poured, strength, weighed
from planner.packet.words import spoken_name
from planner.plan.day import DayPlan
from planner.plan.load_model import LoadPlan
from planner.plan.timing import arrival_of, end_of
from planner.units import System, show

_VERDICT = {"ok": "go", "caution": "go, with care", "stop": "held"}
DAY_HEAD = ("", "job", "arrive", "leave", "verdict")


def day_head(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> str:
    """The day, its rig and how many of its jobs are held."""
    held = sum(job.held for job in jobs)
    count = "1 job" if len(jobs) == 1 else f"{len(jobs)} jobs"
    return f"{long_date(day.date, system)}  {day.rig}, {count}{f', {held} held' if held else ''}"


def day_rows(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> list[tuple[str, ...]]:
    """One row a job in working order; times only where the day says when the rig leaves."""
    rows: list[tuple[str, ...]] = []
    for number, (plan, job) in enumerate(zip(day.jobs, jobs, strict=True), 1):
        at, until = arrival_of(plan.time), end_of(plan.time)
        rows.append(
            (
                f"{number}",
                plan.title,
                clock_text(at, system) if at is not None else "-",
                clock_text(until, system) if until is not None else "-",
                _VERDICT["stop" if job.held else job.verdict],
            )
        )
    return rows


def day_lines(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> Iterator[tuple[str, str]]:
    """What the day asks of shelf, rig and owner, each with the word it stands under."""
    if better := better_words(day, system):
        yield "order", better
    if day.ends is not None and day.home:
        yield "home", f"back in the yard {clock_text(day.ends, system)}, {minutes(day.home)} min of drive"
    for pull in day.pulls:
        volume, mass = (pull.volume - pull.bench, 0.0) if pull.volume else (0.0, pull.mass - pull.bench)
        what = f"of {pull.lot} ({spoken_name(pull.chemical)})"
        if pull.rides:
            amount = poured(volume, system, "up") if volume else weighed(mass, system, "up")
            yield "load", f"{amount} {what}: {', '.join(pull.road_jobs)}"
        if pull.bench:
            amount = poured(pull.bench, system, "up") if pull.volume else weighed(pull.bench, system, "up")
            yield "in the yard", f"{amount} {what}, for the bath"
    yield from _weight(day.load, system)
    for buy in day.buys:
        amount = poured(buy.volume, system, "up") if buy.volume else weighed(buy.mass, system, "up")
        yield "buy", f"{amount} of {spoken_name(buy.chemical)}: the shelf lacks it"
    for one in day.reorders:
        what, why = reorder_words(one, system)
        yield "order in", f"{what}: {why}"
    for heel in day.heels:
        amount = show(heel.volume, "volume", system, toward="up")
        strong = strength(heel.strength, heel.chemical, day.jobs[0].input.company.percent)
        yield "tonight", f"{heel.tank} keeps {amount} of {spoken_name(heel.chemical)} at {strong}"
    for finding in day_findings(jobs):
        if finding.level in ("stop", "caution"):
            yield "day", words.message(finding, system)


def _weight(load: LoadPlan | None, system: System) -> Iterator[tuple[str, str]]:
    if load is None:
        return
    leg, rated = load.heaviest, load.rated
    if leg.total is not None and rated:
        whole = show(leg.total, "mass", system, toward="up")
        yield "weighs", f"{whole} {moment_words(leg)}, of {show(rated, 'mass', system, toward='down')} rated"
    else:
        carried = weighed(leg.carried, system, "up")
        yield "weighs", f"{carried} aboard {moment_words(leg)}; what the rig weighs and may weigh is not written"
