"""What a day comes to in sentences, the same on its cover and on a terminal."""

from __future__ import annotations

from planner.plan.days.day import DayPlan, Reorder
from planner.units import System, show
from planner.words.dates import short_date
from planner.words.measures import minutes
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
