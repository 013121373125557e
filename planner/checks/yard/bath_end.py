"""What is found of how a pump's bath is ended: heat of what makes it harmless."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level, over
from planner.chemistry.constants import ROOM
from planner.inputs.tables.chemicals import overshoots, words_of
from planner.plan.between.neutralisers import usual_agent
from planner.plan.model import JobPlan, Value
from planner.plan.yard.model import BathPlan


def heat(plan: JobPlan) -> Iterator[Finding]:
    """mix.reaction: how much warmer what makes the bath harmless makes it, and whether that is hot acid."""
    bath = plan.yard.bath if plan.yard is not None else None
    if bath is None or not bath.neutralise:
        return
    first = bath.neutralise[0]
    rise = first.rise or 0.0
    limits = plan.input.limits
    warmest = warmest_of(plan, bath)
    if not over(rise, limits["bath_neutral_rise"]):
        return
    hot = over(warmest, limits["bath_hot"])
    level: Level = "stop" if hot else "caution"
    usual, instead = usual_agent(plan.input, bath.chemical, bath.active)
    values: dict[str, Value | str] = {
        "chemical": bath.chemical,
        "agent": first.agent.replace("_", " "),
        "rise": Value(rise, "warming"),
        "warmest": Value(warmest, "temperature"),
        "usual": usual.replace("_", " "),
        "instead": Value(instead, "mass"),
    }
    if overshoots(first.agent):
        values["overshoots"] = words_of(first.agent)
    yield Finding(
        code="mix.reaction",
        about="bath, neutralized",
        level=level,
        case="bath_hot" if hot else "bath_heat",
        values=values,
        where=plan.input.places.get("bath", plan.where),
    )


def warmest_of(plan: JobPlan, bath: BathPlan) -> float:
    """How warm the bath gets [K]: from its water, or a mild day if that is colder, mixed and made harmless at once."""
    mixed = bath.acid.rise_high if bath.acid is not None else 0.0
    ended = max(bath.neutralise[0].rise or 0.0, 0.0) if bath.neutralise else 0.0
    return max(plan.input.water.temperature, ROOM) + mixed + ended
