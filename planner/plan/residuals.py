"""How clean a flush has to leave a part, and what the water that does it brings along itself."""

from __future__ import annotations

from collections.abc import Iterable

from planner.chemistry.reactions import ACIDS
from planner.inputs.chemicals import chemical_named
from planner.inputs.controls import Control, controls
from planner.inputs.joined import JobInput
from planner.plan.model import JobPlan

LIFE = ("fish_pond", "stream", "rain_barrel", "well")
"""What is near and alive, or drunk from."""


def near_life(job: JobInput) -> bool:
    """Whether water with life in it, or a well, is written among what is near."""
    near = job.job.near
    return near is not None and any(getattr(near, name) is not None for name in LIFE)


def controls_of(job: JobInput) -> tuple[Control, ...]:
    """The kinds of control that are written for this job's runoff."""
    near = job.job.near
    return tuple(controls()[kind] for kind in (near.control if near is not None else None) or ())


def kept_out(job: JobInput, place: str, waters: Iterable[str]) -> tuple[Control, ...]:
    """The written kinds that keep all of such waters from a place of `near`; none where any of them gets there."""
    fit = {water: [one for one in controls_of(job) if one.holds(place, water)] for water in waters}
    if not all(fit.values()):
        return ()
    return tuple(one for one in controls_of(job) if any(one in found for found in fit.values()))


def waters_of(plan: JobPlan) -> set[str]:
    """What may run off a job: each chemical by its name, and what flatwork or plain water carries."""
    flat = {surface.name for surface in plan.input.surfaces if surface.row["family"] == "flat"}
    washed = flat & {name for run in plan.runs for name in run.input.surfaces}
    return {mix.chemical for mix in plan.mixes} | ({"flatwork"} if washed else set()) or {"water"}


def kept_from(plan: JobPlan, control: Control) -> tuple[str, ...]:
    """The places near this job that a kind of control keeps its water from."""
    near = plan.input.job.near
    return tuple(
        place
        for place in control.keeps
        if getattr(near, place, None) is not None and control in kept_out(plan.input, place, waters_of(plan))
    )


def inlet_of(job: JobInput, chemical: str) -> float:
    """What the water brings of a chemical [kg/m3]: its own chlorine, and of anything else nothing."""
    return (job.water.chlorine or 0.0) if chemical == "hypochlorite" else 0.0


def residual_of(job: JobInput, chemical: str) -> float:
    """What may be left of a chemical [kg/m3] in a part that is flushed."""
    if chemical == "hypochlorite":
        # Tap water carries more chlorine than a pond bears: no rinse reaches that, so it is diverted or dosed instead.
        life = job.limits["residual_with_life"]
        return life if near_life(job) and inlet_of(job, chemical) < life else job.limits["residual"]
    if chemical in ACIDS:
        return job.limits["residual_acid"]
    if chemical == "surfactant":
        return job.limits["residual_soap"]
    return job.limits["residual"]


def washable(job: JobInput, chemical: str) -> bool:
    """Whether this job's water gets a chemical out of a tank; of one nobody knows, nobody can say."""
    return chemical_named(chemical) is not None and inlet_of(job, chemical) < residual_of(job, chemical)
