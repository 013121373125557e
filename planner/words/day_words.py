"""What a day comes to in sentences, the same on its cover and on a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.checks.day import day_findings
from planner.checks.load import moment_words
from planner.checks.model import CheckedJob
from planner.plan.days.day import DayPlan, Reorder
from planner.plan.road.model import LoadPlan
from planner.units import System, show
from planner.words import spoken as words
from planner.words.dates import clock_text, short_date
from planner.words.measures import minutes, poured, strength, weighed
from planner.words.spoken import spoken_name


def better_words(day: DayPlan, system: System) -> str:
    """A better order of the jobs in a sentence; empty where there is none."""
    better = day.better
    if better is None:
        return ""
    titles = {plan.id: plan.title for plan in day.jobs}
    saves = []
    if better.stops > 0:
        saves.append("frees a job that is held" if better.stops == 1 else f"takes away {better.stops} stops")
    else:
        if better.volume > 0.0:
            saves.append(f"saves {show(better.volume, 'volume', system, toward='down')} of flush")
        if better.seconds >= 60.0:
            saves.append(f"{'and ' if saves else 'saves '}{minutes(better.seconds, 'down')} min")
    return f"Working {titles[better.earlier]} before {titles[better.later]} {' '.join(saves)}." if saves else ""


def reorder_words(one: Reorder, system: System) -> tuple[str, str]:
    """What to order by which day, and why that day."""
    ends = short_date(one.ends, system)
    weak = f"lot {one.lot} may be too weak from {ends} on"
    why = weak if one.why == "too_weak" else f"the shelf runs short on {ends}"
    return f"{spoken_name(one.chemical).capitalize()} by {short_date(one.by, system)}", why


def day_lines(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> Iterator[tuple[str, str]]:
    """What the day asks of shelf, rig and owner, each with the word it stands under."""
    if day.waits:
        names = " and ".join(name.rpartition("/")[2] for name in day.waits)
        yield "missing", f"The load, stock and water of {names} are not counted."
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
        yield "buy", f"{amount} of {spoken_name(buy.chemical)}: not on the shelf"
    for one in day.reorders:
        what, why = reorder_words(one, system)
        yield "order in", f"{what}: {why}"
    for heel in day.heels:
        amount = show(heel.volume, "volume", system, toward="up")
        strong = strength(heel.strength, heel.chemical, day.jobs[0].input.company.percent)
        yield "tonight", f"{heel.tank} keeps {amount} of {spoken_name(heel.chemical)} at {strong}"
    for finding in day_findings(jobs, day.waits):
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
        yield "weighs", f"{carried} aboard {moment_words(leg)}; the rig's empty and rated weights are not given"
