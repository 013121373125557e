"""The work on each surface: water to wet and rinse, minutes to apply, how long it dwells, in how many sections.

A run has no row for a wall it does nothing to; a wall without any row is the finding `wall.idle`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import ceil, inf
from types import MappingProxyType

from planner.inputs.joined import JobInput, RunInput, Surface
from planner.plan.mix.mixing import carries_mix, share_of
from planner.plan.mix.model import MixPlan, SurfaceWork
from planner.plan.mix.wetted import stands_most
from planner.plan.model import RunPlan
from planner.plan.sky.model import Dries, Mists
from planner.plan.water.model import BedWater, Pace, Step

_NOISE = 1e-9


def is_washer(run: RunInput) -> bool:
    """Whether the run sprays plain water from a gun."""
    return not carries_mix(run) and run.tips[run.role_of("rinse")].pattern != "surface_cleaner"


def washed_by_others(job: JobInput, surface: Surface) -> bool:
    """Whether a run of plain water wets and rinses the surface; else the run that sprays its mix does."""
    return any(is_washer(other) and surface.name in other.surfaces for other in job.runs)


def sections_of(job: JobInput, surface: Surface, area: float) -> int:
    """How many sections `area` [m2] is worked in, one at least: more where the sun stands on the surface all day."""
    hot = job.day is not None and job.day.forecast is not None and job.day.forecast.sun == "full"
    row = surface.row
    largest = float(row["section_hot"] if hot and row["section_hot"] else row["section"])
    return max(ceil(area / largest - _NOISE), 1)


def plan_work(
    job: JobInput,
    runs: Sequence[RunPlan],
    mixes: Sequence[MixPlan],
    drying: Mapping[str, Dries] = MappingProxyType({}),
    mists: Mapping[str, Mists] = MappingProxyType({}),
) -> tuple[SurfaceWork, ...]:
    """The work each run does on each of its surfaces, in the order of the runs; none where it does nothing there.

    What is rinsed is rinsed before the mix may be dry (`drying`), where that leaves it the least it should stand; else
    it is wetted again (`mists`).
    """
    work = []
    minutes = job.tables["minutes"]
    sprayed = {part.surface.name for mix in mixes for part in mix.parts}
    at_once: dict[str, float] = {}
    for mix in mixes:
        for surface_mix in mix.parts:
            stands = stands_most(job, mix, surface_mix.surface)
            at_once[surface_mix.surface.name] = min(at_once.get(surface_mix.surface.name, stands), stands)
    for run in runs:
        mixed = {part.surface.name: part for mix in mixes if mix.run.name == run.name for part in mix.parts}
        for surface in job.surfaces:
            if surface.name not in run.input.surfaces:
                continue
            area = surface.area * share_of(job, run.input, surface)
            row = surface.row
            part = mixed.get(surface.name)
            flow = run.flow if run.flow > 0.0 else inf
            wets, rinses = (run.on(run.role_of(use)).flow or inf for use in ("wet", "rinse"))
            # A plain-water run wets and rinses where there is one; else the run that sprays the mix does, with the
            # stock shut.  A surface cleaner's water is its own.
            washer = is_washer(run.input)
            waters = washer or not washed_by_others(job, surface)
            waters = waters and (washer or part is not None or surface.name not in sprayed)
            wet = area * row["wet"] if waters and surface.name in sprayed else 0.0
            rinse = area * row["rinse"] if waters and surface.rinse == "now" else 0.0
            cleans = _cleans(runs, run, surface)
            cleaned = area if cleans is run else surface.area
            cleaning = cleaned / cleaner_pace(job, cleans.flow) if cleans is not None else 0.0
            spraying = part.applied / flow if part is not None else 0.0
            applying = max(spraying / minutes["apply_trigger"], area / row["apply"]) if part is not None else 0.0
            if not (wet or rinse or cleaning or applying):
                continue
            # What has to be rinsed at once on a wall, its trim say, is rinsed before the rest of it has had its range.
            bound = min(row["dwell_bound"], at_once[surface.name]) if part is not None else 0.0
            dries = drying.get(surface.name) if part is not None else None
            again = mists.get(surface.name) if part is not None and part.mists else None
            whole = dries is not None and not dries.supposed and surface.rinse == "now" and again is None
            if dries is not None and whole and dries.low >= row["dwell"][0]:
                bound = min(bound, dries.low)
            least, most = (min(one, bound) for one in row["dwell"]) if part is not None else (0.0, 0.0)
            sections = sections_of(job, surface, area)
            pace = Pace(
                wet=Step(table=wet / wets / minutes["rinse_trigger"], least=wet / wets),
                apply=Step(table=applying, least=spraying),
                rinse=Step(table=rinse / rinses / minutes["rinse_trigger"], least=rinse / rinses),
                # A surface cleaner's gun is open as long as it moves: its water goes with its minutes.
                clean=Step(table=cleaning),
                dwell=least,
                soaks=sections * least,
                sections=sections * row["section_time"] if row["section_time"] and applying > 0.0 else None,
            )
            factor = surface.pace_factor
            work.append(
                SurfaceWork(
                    surface=surface,
                    run=run.name,
                    wet=pace.wet.at(factor),
                    apply=pace.apply.at(factor),
                    trigger=spraying,
                    rinse=pace.rinse.at(factor),
                    clean=pace.clean.at(factor),
                    clean_volume=pace.clean.at(factor) * cleans.flow if cleans is not None else 0.0,
                    dwell_least=least,
                    dwell_most=most,
                    dwell_bound=bound,
                    sections=sections,
                    wet_volume=wet,
                    rinse_volume=rinse,
                    pace=pace,
                    dries=dries,
                    mists=again,
                )
            )
    return tuple(work)


def _cleans(runs: Sequence[RunPlan], run: RunPlan, surface: Surface) -> RunPlan | None:
    """The line as it cleans a surface; None where it does not.

    A surface cleaner that is a run's own tip cleans whatever the run is for. Else the first run with a cleaner to put
    on cleans what is flat, all of it: nobody cleans a wall twice.
    """
    if run.input.tip.pattern == "surface_cleaner":
        return run
    flat = surface.row["family"] == "flat"
    able = [one for one in runs if surface.name in one.input.surfaces]
    spins = any(one.input.tip.pattern == "surface_cleaner" for one in able)
    first = next((one for one in able if "cleaner" in one.roles), None) if flat and not spins else None
    return run.on("cleaner") if run is first else None


def cleaner_pace(job: JobInput, flow: float) -> float:
    """Area a surface cleaner does [m2/s] at `flow` [m3/s]: straight between the table's rows, level outside them."""
    rows = job.tables["surface_cleaner"]
    if flow <= rows[0][0]:
        return float(rows[0][1])
    for (low, slow), (high, fast) in pairwise(rows):
        if flow <= high:
            return float(slow + (fast - slow) * (flow - low) / (high - low))
    return float(rows[-1][1])


def beds_of(job: JobInput, work: Sequence[SurfaceWork]) -> BedWater | None:
    """Water for the flower beds in the way of the runoff; None where there are none or no chemical is out.

    What is asked for: how much before, each time while mix is out, and after. What they get meanwhile is the acts'.
    """
    near = job.job.near
    chemical = [wall for wall in work if wall.apply > 0.0]
    if near is None or not near.flower_beds or not chemical:
        return None
    roof = any(wall.surface.row["family"] == "roof" for wall in chemical)
    where = "_roof" if roof else ""
    before, each, after = (
        float(job.tables["defaults"][f"beds_{when}{where}"]) for when in ("before", "during", "after")
    )
    every = float(job.tables["minutes"][f"beds_every{where}"])
    area = near.flower_beds
    return BedWater(
        area=area, before=area * before, during=0.0, after=area * after, every=every, each=area * each, seconds=0.0
    )  # fmt: skip
