"""Whether bleach went through a pump that is to lie in acid: today, in a job that may yet be done, or on other days."""

from __future__ import annotations

from planner.inputs.chemicals import chemical_named
from planner.inputs.joined import JobInput
from planner.plan.mix_model import Carried
from planner.plan.yard_model import Bleached

_BLEACH = "hypochlorite"


def bleached_of(job: JobInput, pump: str, found: Carried) -> Bleached:
    """What is known of it, the worst first. `found` is the rig as the day's jobs before leave it."""
    if found.parts.get(pump) == _BLEACH and pump in found.unflushed:
        return "unflushed"
    if pump in found.bleach_pumps or found.parts.get(pump) == _BLEACH:
        return "today"
    if any((_BLEACH, pump) in one.gear for one in found.pending):
        return "pending"
    return "maybe" if _may(job, pump) else "never"


def _may(job: JobInput, pump: str) -> bool:
    """Whether a setup of the rig could send bleach through it; an injector sits behind its pump, which sees water."""
    gear = next((one for one in job.rig.pumps if one.name == pump), None)
    kept = chemical_named(gear.dedicated) if gear is not None and gear.dedicated else None
    if kept is not None and kept.name != _BLEACH:
        return False
    metered = {one.name for one in job.rig.dosing if one.kind == "metered"}
    return any(one.pump == pump and (one.dosing == "premix" or one.dosing in metered) for one in job.rig.setups)
