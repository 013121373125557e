"""What the wind does: how far it carries drops of the mix, what stands within, and who is exposed to it.

Drift falls from a run's target in the sustained wind. A ladder written for the job, or a roof, asks for the calmer
limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import inf
from typing import Final, Literal

from planner.inputs.joined import JobInput, RunInput
from planner.inputs.tables.chemicals import SOAP
from planner.inputs.tables.defaults import default_list
from planner.physics import jets
from planner.plan.line.model import Drift
from planner.plan.mix.mixing import carries_mix
from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan, RunPlan
from planner.plan.sky.weather import of_run

_APART: Final = ("cars", "fish_pond", "stream", "rain_barrel", "well", "storm_drain")

HARMED: Final = frozenset({"cars", "fish_pond", "stream", "rain_barrel"})
"""What a few drops of mix already harm, and what is covered or moved. Beds and windows at the wall are looked after on
any day, and drops on the ground reach no well and no drain (common practice, no source)."""

Exposed = Literal["strong", "roof", "ladder"]

_carried = lru_cache(maxsize=512)(jets.drift)


def plan_drift(job: JobInput) -> tuple[Drift, ...]:
    """Drift of each run that sprays mix into the air, drop by drop; nothing where no wind is written."""
    winds = {run.name: of_run(job, run.name).wind for run in job.runs if _sprays(run)}
    sizes = default_list("droplets")
    return tuple(
        _drift(job, run, droplet, wind)
        for run in job.runs
        if (wind := winds.get(run.name)) is not None
        for droplet in sizes
    )


def _sprays(run: RunInput) -> bool:
    # A surface cleaner's hood keeps its spray in.
    return carries_mix(run) and run.tip.pattern != "surface_cleaner"


def _drift(job: JobInput, run: RunInput, droplet: float, wind: float) -> Drift:
    carried = _carried(droplet, max(run.target, run.tip_height), wind) if wind > 0.0 else 0.0
    return Drift(run=run.name, droplet=droplet, carried=carried, reaches=_within(job, carried))


def _within(job: JobInput, carried: float) -> tuple[str, ...]:
    near = job.job.near
    if near is None or carried <= 0.0:
        return ()
    # What is written without a distance is taken to stand at the wall.
    at_wall = {"flower_beds": near.flower_beds, "open_windows": near.open_windows}
    away = near.distances
    apart = [name for name in _APART if away.get(name, inf) <= carried]
    return (*(name for name, there in at_wall.items() if there), *apart)


def exposure(plan: JobPlan, run: RunPlan) -> Exposed | None:
    """What makes wind a danger sooner on this run: a strong mix, a roof, a ladder; None where nothing does."""
    return _exposed(plan.input, run, plan.mixes)


def _exposed(job: JobInput, run: RunPlan, mixes: Sequence[MixPlan]) -> Exposed | None:
    # A mix of just that strength counts as strong, whatever the last digit of its sum.
    strong = job.limits["strong_mix"] * (1.0 - 1e-9)
    for mix in mixes:
        if mix.run.name == run.name and mix.chemical != SOAP and max(mix.wall or 0.0, mix.target) >= strong:
            return "strong"
    access = job.job.access
    washed = {surface.name for surface in job.surfaces if surface.row["family"] == "roof"}
    if washed & set(run.input.surfaces) or (access is not None and access.roof_work is not None):
        return "roof"
    if access is not None and (access.on_ladder or access.ladder is not None):
        return "ladder"
    return None


def wind_stop(plan: JobPlan) -> str:
    """Name of the limit of wind at which this job's work stops: that of its most exposed run."""
    return wind_stop_of(plan.input, plan.runs, plan.mixes)


def wind_stop_of(job: JobInput, runs: Sequence[RunPlan], mixes: Sequence[MixPlan]) -> str:
    """The same, before the whole plan is made."""
    return "wind_stop_strong" if any(_exposed(job, run, mixes) for run in runs) else "wind_stop"
