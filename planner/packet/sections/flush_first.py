"""What is flushed before a mix of another chemistry: the values of its steps, and the same as a hold of the day."""

from __future__ import annotations

from typing import Any

from planner.chemistry.reactions import ACIDS
from planner.packet.measures import drawn, minutes, weighed
from planner.packet.sections.mixes import tank_name
from planner.packet.words import spoken_name
from planner.plan.change_model import ChangeFlush
from planner.plan.change_waste import purpose_of
from planner.plan.changes import SWILL
from planner.plan.model import JobPlan
from planner.units import System, show

_PH = frozenset({*ACIDS, "caustic", "soda_ash", "percarbonate", "lime", "bicarbonate"})
"""What a pH strip tells of, once it is thin."""


def values_of(number: int, change: ChangeFlush, plan: JobPlan, system: System) -> dict[str, Any]:
    """One flush as its template has it; what does not apply is empty."""
    tank, line = change.tank, change.line
    own = [part for part in line if part.through is None]
    agent = next((one for one in plan.neutralisers if one.purpose == purpose_of(change)), None)
    return {
        "number": number,
        "can": "yes" if change.can else "no",
        "place": place_of(change),
        "held": " and ".join(spoken_name(leaves) for leaves in change.leaves),
        "comes": _comes(change),
        "tank": tank_name(tank.part) if tank is not None else "",
        "drained": _up(tank.drained, system) if tank is not None and tank.drained > 0.0 else "",
        "together": "yes" if change.together else "no",
        "rinses": (tank.rinses or 0) - (1 if change.together else 0) if tank is not None else 0,
        "each": _up(tank.each, system) if tank is not None else "",
        "last": _up(tank.last, system) if tank is not None else "",
        "swill": minutes(SWILL),
        "parts": ", ".join(part.part for part in line),
        "line": _up(sum(part.volume or 0.0 for part in own), system) if own else "",
        "line_minutes": minutes(sum(part.seconds or 0.0 for part in own)) if own else "",
        "whole": _up(change.volume, system),
        "minutes": minutes(change.seconds),
        "inlet": show(plan.input.water.chlorine or 0.0, "concentration", system, toward="up"),
        "target": show(target_of(change), "concentration", system, toward="down"),
        "chlorine": "yes" if "hypochlorite" in change.leaves else "no",
        "ph": "yes" if _PH & set(change.leaves) else "no",
        "drains_to": change.drains_to,
        "agent": spoken_name(agent.agent) if agent is not None else "",
        "carry": weighed(agent.carry, system, "up") if agent is not None else "",
    }


def place_of(change: ChangeFlush) -> str:
    """What is flushed, in a sentence."""
    tank = change.tank
    if tank is None:
        return f"the line of {change.run}"
    return f"{tank_name(tank.part)} and its line" if change.line else tank_name(tank.part)


def target_of(change: ChangeFlush) -> float:
    """The lowest of what may be left of anything [kg/m3]."""
    return min(part.target for part in change.parts)


def hold_of(change: ChangeFlush, plan: JobPlan, system: System) -> tuple[str, str]:
    """The same as a hold of a day's cover: its title, and its question."""
    one = values_of(0, change, plan, system)
    title = f"Before {plan.title}: {one['place']}, {one['held']} to {one['comes']}"
    if not change.can:
        return title, f"No flush gets to {one['target']}; the water itself brings {one['inlet']}."
    steps = [f"{one['drained']} drained" if one["drained"] else ""]
    if one["tank"] and change.together:
        first = f"rinsed {one['rinses']} times with {one['each']}, then " if one["rinses"] else ""
        steps.append(f"{first}{one['last']} through tank and line")
    elif one["tank"]:
        steps.append(f"rinsed {one['rinses']} times with {one['each']}")
    if one["line"]:
        steps.append(f"{one['line']} through the line")
    steps.append(f"{one['minutes']} min in all")
    words = ", ".join(step for step in steps if step)
    read = [f"chlorine strip {one['target']} or less"] if one["chlorine"] == "yes" else []
    read += ["pH strip 6 to 8"] if one["ph"] == "yes" else []
    return title, f"{words[:1].upper()}{words[1:]}; {', '.join(read) or 'clear, no foam'}?"


def _comes(change: ChangeFlush) -> str:
    return "clean water" if change.comes == "water" else spoken_name(change.comes)


def _up(volume: float, system: System) -> str:
    return drawn(volume, system, "up")
