"""The page read at the wall: what stops the work, and the acts in order, walls section by section in rows."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Picture, Section
from planner.packet.drawings.states import STACKED
from planner.packet.drawings.wall import elevation
from planner.packet.sections.acts.acts import printing_of
from planner.packet.sections.acts.streams import Sheets, sheets_of
from planner.packet.sections.acts.wash_rows import wash_blocks
from planner.packet.sections.crew.valves import states_of
from planner.packet.sections.reading import Reading, close_run, eave_of, template
from planner.packet.sections.told import jet_told
from planner.packet.wording import section_from
from planner.plan.line.drift import wind_stop
from planner.units import show
from planner.words.measures import minutes
from planner.words.spelling import spelled

_WALL = (190.0, 165.0, 140.0, 120.0, 104.0)


def section(reading: Reading) -> Section | None:
    """The acts at the walls; no page where none is planned, of a job on one sheet, nor for a held job."""
    plan, system = reading.checked.plan, reading.system
    printing = printing_of(reading)
    sheets = sheets_of(printing.telling.procedure) if printing is not None else Sheets()
    if printing is None or not sheets.wash or printing.whole:
        return None
    mixed = bool(plan.mixes)
    drawn = close_run(reading)
    picture: tuple[Block, ...] = ()
    state: Picture | None = None
    if drawn is not None:
        run, eave = drawn, eave_of(plan)

        def paint(wide: float, tall: float) -> object:
            return elevation(run, system, wide, tall, eave)

        picture = (Picture(paint=paint, heights=_WALL, title=run.name, told=jet_told(run, system), rank=0),)
        state = states_of(reading, run, STACKED)
    places: dict[str, tuple[Block, ...]] = {
        "wall": picture, "states": (state,) if state is not None else (), "acts": wash_blocks(printing, sheets),
    }  # fmt: skip
    values: dict[str, Any] = {
        "mixed": bool(mixed),
        "drawn": bool(picture),
        "dwells": any(work.dwell_most > 0 for work in plan.work),
        "rinsed": any(wall.rinse != "leave" for wall in plan.input.surfaces),
        "trim": _trim(reading),
        **ways(reading),
    }
    return section_from("wash", template("wash"), values, places, role="lead")


def _trim(reading: Reading) -> str:
    """Metal and cloth the mix may wet only if it is rinsed off at once."""
    findings = [f for f in reading.checked.findings if f.code == "mix.surface" and f.case == "rinse"]
    pairs = [
        (spelled(str(f.values.get("material", "")), reading.system), f.values.get("surface", "")) for f in findings
    ]
    names = [f"{material} on {surface}" for material, surface in pairs]
    return ", ".join(dict.fromkeys(names))


def ways(reading: Reading) -> dict[str, str | bool]:
    """Which way a wall is worked, and the company's limits of wind.

    The lower stop where the mix is strong, or a roof or ladder is worked from.
    """
    plan, system = reading.checked.plan, reading.system
    limits = plan.input.limits

    def speed(name: str) -> str:
        return show(limits[name], "speed", system, toward="down") if name in limits else ""

    within = limits.get("trim_rinse_within")
    return {
        "glass": any(wall.row.get("family") in ("wall", "trim", "glass") for wall in plan.input.surfaces),
        "flat": all(wall.row.get("family") == "flat" for wall in plan.input.surfaces),
        "wind": speed("wind_caution"),
        "gust": speed("gust_caution"),
        "wind_stop": speed(wind_stop(plan)),
        "trim_within": f"{minutes(within, 'down')} min" if within else "",
    }
