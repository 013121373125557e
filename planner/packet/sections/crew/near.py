"""What is near the work and how it is kept safe: read by both before anything is wet."""

from __future__ import annotations

from typing import Any

from planner.inputs.models.site import Near
from planner.inputs.tables.chemicals import ACIDS, CHEMICALS
from planner.packet.blocks import Block, Cell, Section, Span, Table, Ticks, WriteIn
from planner.packet.sections.acts.streams import role_of_second
from planner.packet.sections.reading import Reading, template
from planner.packet.wording import section_from
from planner.plan.between.flushing import controls_of, kept_from, kept_out, waters_of
from planner.plan.model import JobPlan
from planner.units import System, show
from planner.words.measures import volume, weighed
from planner.words.spoken import spoken_name

_NEAR = (
    ("fish_pond", "fish pond", "Turn the runoff away; cover it."),
    ("stream", "stream", "Berm above the bank."),
    ("well", "well", "Cap it; turn the runoff away."),
    ("rain_barrel", "rain barrel", "Take its pipe off, lid on."),
    ("storm_drain", "storm drain", "Cover it; pump to the lawn."),
    ("cars", "cars", "Move or cover them; rinse if wet."),
)
_MOST_SPOUTS = 10
_HEAD = ("What is near", "How far", "Keep it safe")
_BOX = WriteIn(width=400, height=18)


def section(reading: Reading) -> Section | None:
    """What is near; no page where only water is used and nothing is written of it."""
    plan = reading.checked.plan
    near = plan.input.job.near
    if plan.kind != "wash" or (not plan.mixes and near is None):
        return None
    # Plain water may leave a downspout where it always does.
    spouts = (near.downspouts or 0) if near is not None and plan.mixes else 0
    places: dict[str, tuple[Block, ...]] = {
        "spouts": (_spouts(spouts, alone=role_of_second(reading) == "lead"),) if spouts else (),
        "near": (_near(reading),),
    }
    values: dict[str, Any] = {
        **_outlets(plan, reading.system),
        "spouts": spouts,
        "more_spouts": max(spouts - _MOST_SPOUTS, 0),
        "near": bool(_listed(plan)),
        "beds": bool(plan.beds is not None and plan.mixes),
        "food": near is not None and near.food is True,
        "on_file": show(near.flower_beds, "area", reading.system, toward="up") if near and near.flower_beds else "",
        "controls": _controls(plan),
        "mixed": bool(plan.mixes),
        "windows": near is not None and near.open_windows is True,
    }
    return section_from("near", template("near"), values, places)


def _outlets(plan: JobPlan, system: System) -> dict[str, str]:
    """What each downspout of a roof takes; empty where not known."""
    outlets = plan.runoff.outlets if plan.runoff is not None else None
    if outlets is None:
        return dict.fromkeys(("spout_gal", "spout_mass", "spout_what"), "")
    return {
        "spout_gal": f"{volume(outlets.volume, system, 'up')} {'gal' if system == 'us' else 'L'}",
        "spout_mass": weighed(outlets.active, system, "up"),
        "spout_what": _active_name(outlets.chemical),
    }


def _active_name(chemical: str) -> str:
    return CHEMICALS[chemical].counted if chemical in CHEMICALS else spoken_name(chemical)


def _spouts(count: int, *, alone: bool) -> Table:
    rows = tuple(
        (f"{n}", WriteIn(width=210, height=20), WriteIn(width=90, height=20), WriteIn(width=90, height=20))
        for n in range(1, min(count, _MOST_SPOUTS) + 1)
    )
    return Table(
        head=("", "Downspout ends where?", "Bag or flow", "Watered at" if alone else "Who waters it"),
        rows=rows,
        widths=(0.4, 5.2, 2.4, 2.4),
    )


def _listed(plan: JobPlan) -> list[tuple[str, str, float, str]]:
    away = (plan.input.job.near or Near()).distances
    return [(key, words, away[key], act) for key, words, act in _NEAR if key in away]


def _controls(plan: JobPlan) -> list[dict[str, str]]:
    """What the crew builds to keep the runoff in, a line each, with what near this job it is for."""
    names = {key: words for key, words, _ in _NEAR}
    acid = bool({mix.chemical for mix in plan.mixes} & set(ACIDS))
    return [
        {
            "act": f"{control.act} {control.with_acid if acid else ''}".strip(),
            "for": " and ".join(f"the {names[place]}" for place in kept_from(plan, control)),
        }
        for control in controls_of(plan.input)
    ]


def _near(reading: Reading) -> Table:
    """What is near, how far, and how it is kept safe: as written, else what to do; boxes where nothing is near."""
    plan, system = reading.checked.plan, reading.system
    listed = _listed(plan)
    rows: list[tuple[Cell, ...]] = [
        (
            (Span(text=words, strong=True),),
            show(distance, "length", system, toward="down"),
            ", ".join(control.says for control in kept_out(plan.input, key, waters_of(plan))) or act,
            Ticks(count=1),
        )
        for key, words, distance, act in listed
    ]
    if not listed:
        count = 1 if plan.input.job.near is not None else 3
        rows = [(WriteIn(width=110, height=20), WriteIn(width=50, height=20), _BOX) for _ in range(count)]
        return Table(head=_HEAD, rows=tuple(rows), widths=(2.5, 1.7, 5.8))
    return Table(
        head=(*_HEAD, "Done"), rows=tuple(rows), widths=(2.5, 1.5, 5.2, 0.8), right=frozenset({1}), tight=True,
    )  # fmt: skip
