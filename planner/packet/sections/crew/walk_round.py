"""The page for the walk round the house before anything is wet: what to look at, and a sketch of the place."""

from __future__ import annotations

from typing import Any

from planner.inputs.models.site import Access, Near
from planner.inputs.tables.chemicals import ACIDS, BLEACH
from planner.packet.blocks import Block, Fields, Picture, Section, WriteIn
from planner.packet.drawings.site import SitePlan, site_plan, things
from planner.packet.sections.acts.acts import printing_of
from planner.packet.sections.acts.streams import sheets_of
from planner.packet.sections.facts import rig_name
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.told import place_told
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.units import System, show

_MASONRY = ("brick", "brick_acid", "stucco", "eifs", "concrete", "pavers")
_PAINTED = ("painted_wood", "painted_metal", "metal_roof", "gutters", "vinyl", "fibre_cement", "stucco", "composite")
_WOOD = ("bare_wood", "painted_wood", "composite")
_BARE_METAL = ("metal_roof", "gutters", "painted_metal")
_SKETCH = (126.0,)
_SKETCH_FULL = (190.0,)
_FEW = 3  # things near the house that a low sketch has room for


def section(reading: Reading) -> Section | None:
    """What to look at and photograph; no page for a job without walls."""
    plan, system = reading.checked.plan, reading.system
    if plan.kind != "wash":
        return None
    sketched = sketch(plan, system)

    def paint(wide: float, tall: float) -> object:
        return site_plan(sketched, wide, tall)

    heights = _SKETCH if len(sketched.things) <= _FEW else _SKETCH_FULL
    shown = "Shown to the customer, initials"
    initials = Fields(rows=((shown, WriteIn(width=64, height=22, name="customer", label=shown)),), label=172.0)
    printing = printing_of(reading)
    acts = printing.blocks(sheets_of(printing.telling.procedure).walk) if printing is not None else ()
    places: dict[str, tuple[Block, ...]] = {
        "acts": acts,
        "sketch": (Picture(paint=paint, heights=heights, title="The place", told=place_told(sketched)),),
        "initials": (initials,),
    }
    return section_from("walk_round", template("walk_round"), _values(plan, system), places)


def kinds_of(plan: JobPlan) -> frozenset[str]:
    """The kinds of surfaces of the job."""
    return frozenset(surface.kind for surface in plan.input.surfaces)


def has_roof(plan: JobPlan) -> bool:
    """True where a roof is washed or somebody works on one."""
    washed = any(surface.row.get("family") == "roof" for surface in plan.input.surfaces)
    return washed or (plan.input.job.access or Access()).roof_work is not None


def _values(plan: JobPlan, system: System) -> dict[str, Any]:
    kinds = kinds_of(plan)
    walls = not kinds or any(surface.row.get("family") in ("wall", "trim") for surface in plan.input.surfaces)
    near, wires = plan.input.job.near or Near(), (plan.input.job.access or Access()).power_line
    trim = dict.fromkeys(name.replace("_", " ") for surface in plan.input.surfaces for name in surface.trim)
    chemicals = {mix.chemical for mix in plan.mixes}
    return {
        "paint": bool(kinds & set(_PAINTED)),
        "bleach": BLEACH in chemicals,
        "acid": bool(chemicals & set(ACIDS)),
        "mixed": bool(plan.mixes),
        "walls": walls,
        "masonry": bool(kinds & set(_MASONRY)),
        "wood": bool(kinds & set(_WOOD)),
        "metal": bool(trim) or bool(kinds & set(_BARE_METAL)),
        "trim": ", ".join(trim),
        "roof": has_roof(plan),
        "cars": near.cars is not None,
        "windows": near.open_windows is True,
        "wires": show(wires, "length", system, toward="down") if wires is not None else "",
        "notes": _notes(plan),
    }


def _notes(plan: JobPlan) -> list[str]:
    """What was written about a surface: the owner has seen it."""
    walls = zip(plan.input.job.surfaces, plan.input.surfaces, strict=False)
    return [f"{wall.called}: {given.notes}" for given, wall in walls if given.notes]


def sketch(plan: JobPlan, system: System) -> SitePlan:
    """The place from above, from what was written of it."""
    job = plan.input.job
    near, wires = job.near or Near(), (job.access or Access()).power_line
    pairs = [
        (key, f"{key.replace('_', ' ')} {show(away, 'length', system, toward='down')}")
        for key, away in near.distances.items()
    ]
    hoses = []
    for run in plan.runs:
        length = run.input.length
        hoses.append(f"{run.name}, hose {show(length, 'length', system)}")
    tall = f"{show(job.building.height, 'length', system, toward='up')} high" if job.building is not None else "house"
    return SitePlan(
        house=tall,
        rig=rig_name(plan) or "rig",
        tap=plan.input.water.source if plan.input.water.source in ("tap", "hydrant", "pond") else "",
        hoses=tuple(hoses),
        beds=f"{show(near.flower_beds, 'area', system, toward='up')} of beds" if near.flower_beds is not None else "",
        downspouts=near.downspouts or 0,
        wires=f"wires {show(wires, 'length', system, toward='down')}" if wires is not None else "",
        things=things(pairs),
    )
