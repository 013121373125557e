"""How clean a flush has to leave a part, and what the water that does it brings along itself."""

from __future__ import annotations

from planner.chemistry.reactions import ACIDS
from planner.inputs.chemicals import chemical_named
from planner.inputs.joined import JobInput

LIFE = ("fish_pond", "stream", "rain_barrel", "well")
"""What is near and alive, or drunk from."""


def near_life(job: JobInput) -> bool:
    """Whether water with life in it, or a well, is written among what is near."""
    near = job.job.near
    return near is not None and any(getattr(near, name) is not None for name in LIFE)


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
