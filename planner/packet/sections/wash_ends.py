"""What the page at the wall says of the mix in the hose: when it is at the tip, and when the line goes on water."""

from __future__ import annotations

from typing import Any

from planner.packet.sections.reading import Reading
from planner.packet.words import mix_name
from planner.plan.mix_model import MixPlan
from planner.plan.model import JobPlan
from planner.units import System, show

_MOST_NAMES = 3


def ends_of(reading: Reading) -> list[dict[str, Any]]:
    """One for each mix, as its template has it; what does not apply is empty."""
    plan, system = reading.checked.plan, reading.system
    return [_end(plan, n, mix, system) for n, mix in enumerate(plan.mixes, start=1)]


def _end(plan: JobPlan, number: int, mix: MixPlan, system: System) -> dict[str, Any]:
    line = mix.line
    few = line.small if len(line.small) <= _MOST_NAMES else (f"{len(line.small)} surfaces",)
    return {
        "number": number,
        "name": mix_name(plan.mixes, mix),
        "run": mix.run.name if len(plan.runs) > 1 else "",
        "kind": mix.kind,
        "device": mix.run.dosing.name if mix.run.dosing is not None else "the mix tank",
        "volume": show(mix.fill, "volume", system, toward="up"),
        "area": show(line.covers, "area", system, toward="down") if line.covers > 0.0 else "",
        "last": _last(mix),
        "small": " and ".join(few),
        "take": "takes" if len(line.small) == 1 else "take",
        "each": "in each section " if any(one.times > 1 for one in line.stretches if one.area <= 0.0) else "",
        "follows": "yes" if _follows(plan, mix) else "no",
    }


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


def _follows(plan: JobPlan, mix: MixPlan) -> bool:
    """Whether another mix of this job went through its hose before it."""
    before = plan.mixes[: plan.mixes.index(mix)]
    hoses = {hose.name for hose in mix.run.hoses}
    return any(hoses & {hose.name for hose in other.run.hoses} for other in before)
