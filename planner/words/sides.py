"""Why walls are washed in another order than the job lists them in: for terminal, JSON and the owner."""

from __future__ import annotations

from typing import Final

from planner.plan.model import JobPlan
from planner.units import System
from planner.words.dates import clock_text
from planner.words.measures import minutes

_PLACES: Final = ("first", "second", "third", "fourth", "fifth")


def sides_words(plan: JobPlan, system: System) -> str:
    """The order and what it is for; empty where the walls are washed as written."""
    moved = plan.moved
    if moved is None:
        return ""
    at = moved.order.index(moved.wall)
    place = "last" if at == len(moved.order) - 1 else _PLACES[at] if at < len(_PLACES) else f"number {at + 1}"
    if moved.shade is None:
        low, listed = minutes(moved.low, "down"), minutes(moved.written, "down")
        why = f"mix stays wet there {low} min at worst, and {listed} min in the order listed"
    elif moved.sooner:
        why = f"it is in the shade until {clock_text(moved.shade[1], system, toward='down')}"
    else:
        why = f"it is in the shade from {clock_text(moved.shade[0], system)}"
    wall, (*most, last) = f"{moved.wall[:1].upper()}{moved.wall[1:]}", moved.order
    return f"Wash {', '.join(most)} and {last} in this order, not as listed. {wall} comes {place}: {why}."
