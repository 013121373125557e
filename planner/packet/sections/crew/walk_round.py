"""The page for the walk round the house before anything is wet: what to look at, and a sketch of the place."""

from __future__ import annotations

from typing import Any

from planner.inputs.tables.chemicals import ACIDS, BLEACH
from planner.packet.blocks import Block, Fields, Picture, Section, WriteIn
from planner.packet.drawings.site import SitePlan, site_plan, things
from planner.packet.sections.acts.acts import printing_of
from planner.packet.sections.acts.streams import sheets_of
from planner.packet.sections.facts import rig_name
from planner.packet.sections.reading import Reading, template, written
from planner.packet.sections.told import place_told
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.units import System, show

NEAR = ("fish_pond", "storm_drain", "stream", "well", "cars", "rain_barrel")
"""What may be near, by its key, the most easily harmed first."""

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
    return washed or written(plan.input.job, "access", "roof_work") is not None


def _values(plan: JobPlan, system: System) -> dict[str, Any]:
    kinds = kinds_of(plan)
    walls = not kinds or any(surface.row.get("family") in ("wall", "trim") for surface in plan.input.surfaces)
    near = written(plan.input.job, "near")
    wires = written(plan.input.job, "access", "power_line")
    trim = dict.fromkeys(name.replace("_", " ") for surface in plan.input.surfaces for name in surface.trim)
    chemicals = {mix.chemical for mix in plan.mixes}
    return {
        "paint": _yes(bool(kinds & set(_PAINTED))),
        "bleach": _yes(BLEACH in chemicals),
        "acid": _yes(bool(chemicals & set(ACIDS))),
        "mixed": _yes(bool(plan.mixes)),
        "walls": _yes(walls),
        "masonry": _yes(bool(kinds & set(_MASONRY))),
        "wood": _yes(bool(kinds & set(_WOOD))),
        "metal": _yes(bool(trim) or bool(kinds & set(_BARE_METAL))),
        "trim": ", ".join(trim),
        "roof": _yes(has_roof(plan)),
        "cars": _yes(written(near, "cars") is not None),
        "windows": _yes(bool(written(near, "open_windows"))),
        "wires": show(wires, "length", system, toward="down") if isinstance(wires, (int, float)) else "",
        "notes": _notes(plan),
    }


def _yes(true: bool) -> str:
    return "yes" if true else "no"


def _notes(plan: JobPlan) -> list[str]:
    """What was written about a surface: the owner has seen it."""
    found = []
    for given, surface in zip(written(plan.input.job, "surfaces") or (), plan.input.surfaces, strict=False):
        note = written(given, "notes")
        if note:
            found.append(f"{surface.called}: {note}")
    return found


def sketch(plan: JobPlan, system: System) -> SitePlan:
    """The place from above, from what was written of it."""
    near = written(plan.input.job, "near")
    wires = written(plan.input.job, "access", "power_line")
    beds = written(near, "flower_beds")
    height = written(plan.input.job, "building", "height")
    found = [(key, written(near, key)) for key in NEAR]
    pairs = [
        (key, f"{key.replace('_', ' ')} {show(distance, 'length', system, toward='down')}")
        for key, distance in found
        if isinstance(distance, (int, float))
    ]
    hoses = []
    for run in plan.runs:
        length = sum(hose.length for hose in run.input.hoses)
        hoses.append(f"{run.name}, hose {show(length, 'length', system)}")
    tall = f"{show(height, 'length', system, toward='up')} high" if isinstance(height, (int, float)) else "house"
    return SitePlan(
        house=tall,
        rig=rig_name(plan) or "rig",
        tap=plan.input.water.source if plan.input.water.source in ("tap", "hydrant", "pond") else "",
        hoses=tuple(hoses),
        beds=f"{show(beds, 'area', system, toward='up')} of beds" if isinstance(beds, (int, float)) else "",
        downspouts=int(written(near, "downspouts") or 0),
        wires=f"wires {show(wires, 'length', system, toward='down')}" if isinstance(wires, (int, float)) else "",
        things=things(pairs),
    )
