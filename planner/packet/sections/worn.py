"""The signs of a worn pump on site, to hold throw, bucket and closed gauge against."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

from planner.packet.figures import reached, timed_bucket
from planner.packet.measures import drawn, gauge_number
from planner.plan.flushing import flush_flow
from planner.plan.model import JobPlan, WornSigns
from planner.units import System, Toward, show, show_number

_SIDES: tuple[Toward, ...] = ("up", "down")


def worn_values(plan: JobPlan, system: System) -> Sequence[dict[str, str]]:
    """One set of figures a pump, on the first run whose jet is asked to reach.

    Rounded towards calling the pump worn: throw and gauge up, seconds down. What does not show wear is empty.
    """
    runs = {run.name: run for run in plan.runs}
    found: dict[str, dict[str, str]] = {}
    for table in plan.differs:
        run, worn = runs.get(table.run), table.worn
        if run is None or worn is None or run.input.pump is None or reached(run, system) is None:
            continue
        if run.input.pump.name in found:
            continue
        size = timed_bucket(plan, run, system)
        found[run.input.pump.name] = {
            "pump": run.input.pump.name,
            "run": run.name if len(plan.runs) > 1 else "",
            "limit": f"{100 * worn.condition:.0f} %",
            "throw": _throw(worn, system),
            "standoff": show(run.input.standoff, "length", system),
            "bucket": drawn(size, system),
            "seconds": _seconds(size / worn.flow * run.flow / flush_flow(run) if worn.flow > 0.0 else None),
            "closed": _gauge(worn.closed, system),
        }
    return list(found.values())


def _throw(worn: WornSigns, system: System) -> str:
    """The throw of a worn pump, below the one that is planned as both are printed; nothing where a tape can't tell."""
    if worn.throw is None or worn.throw_planned is None:
        return ""
    planned = _number(worn.throw_planned, system, "down")
    for side in _SIDES:
        if _number(worn.throw, system, side) < planned:
            return show(worn.throw, "length", system, toward=side)
    return ""


def _number(throw: float, system: System, side: Toward) -> float:
    return float(show_number(throw, "length", system, toward=side)[0].replace(",", ""))


def _seconds(seconds: float | None) -> str:
    return "" if seconds is None else f"{floor(seconds + 1e-9)} s"


def _gauge(closed: float | None, system: System) -> str:
    if closed is None:
        return ""
    return " ".join(gauge_number(closed, system, "up"))
