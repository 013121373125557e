"""What the page at the wall says of the mix in the hose: when the line goes on it, when on water, what no wall gets."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Span, Spans
from planner.packet.sections.reading import Reading
from planner.packet.words import mix_name
from planner.plan.mix_model import MixPlan
from planner.plan.model import JobPlan
from planner.units import System, show


def ends_of(reading: Reading) -> list[dict[str, Any]]:
    """One for each mix, as its template has it; what does not apply is empty."""
    plan, system = reading.checked.plan, reading.system
    return [_end(plan, n, mix, system) for n, mix in enumerate(plan.mixes, start=1)]


def _end(plan: JobPlan, number: int, mix: MixPlan, system: System) -> dict[str, Any]:
    line = mix.line
    return {
        "number": number,
        "name": mix_name(plan.mixes, mix) if len(plan.mixes) > 1 else mix.run.name if len(plan.runs) > 1 else "",
        "kind": mix.kind,
        "device": mix.run.dosing.name if mix.run.dosing is not None else "the mix tank",
        "volume": show(mix.fill, "volume", system, toward="up"),
        "first": "yes" if any(one.lead > 0.0 for one in line.stretches) else "no",
        "area": show(line.covers, "area", system, toward="down") if line.covers > 0.0 else "",
        "last": _last(mix),
        "small": "yes" if line.small else "no",
        "rinsed": "yes" if any(part.surface.rinse == "now" for part in mix.parts) else "no",
    }


def buckets_told(mix: MixPlan, wall: str, system: System) -> Spans:
    """What a wall's row says of buckets: water that goes into one first, and its hose's mix after it; else nothing."""
    said: list[Span] = []
    for one in mix.line.stretches:
        each = " a section" if one.times > 1 else ""
        if one.lead > 0.0 and one.walls[0] == wall:
            lead = Span(text=show(one.lead, "volume", system, toward="up"), strong=True)
            said += [Span(text="; bucket "), lead, *([Span(text=each)] if each else [])]
        if one.area <= 0.0 and one.walls[-1] == wall:
            own = Span(text=show(one.mix, "volume", system), strong=True)
            said += [Span(text="; "), own, Span(text=" of mix a section")] if each else []
            said += [Span(text="; then hose to bucket")]
    return tuple(said)


def _last(mix: MixPlan) -> str:
    """What the chased area is the last of: a wall and those after it, or each section."""
    chased = [one for one in mix.line.stretches if one.area > 0.0]
    if not chased:
        return ""
    if len(chased) > 1:
        return "each section" if any(one.times > 1 for one in chased) else "each wall"
    (one,) = chased
    if one.times > 1:
        return f"each section of {one.last[0]}" if len(mix.parts) > 1 else "each section"
    after = f" and all of {', '.join(one.last[1:])}" if len(one.last) > 1 else ""
    return f"{one.last[0]}{after}"
