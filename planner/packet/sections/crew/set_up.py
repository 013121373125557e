"""The page read at the rig: the line as a picture, the gear to bring, and the acts up to the water test."""

from __future__ import annotations

from typing import Any

from reportlab.graphics.shapes import String

from planner.inputs.reading.letters import printable
from planner.inputs.tables.defaults import default
from planner.packet.blocks import Block, Picture, Section, Table
from planner.packet.drawings.line import height, letter, schematic, stations, unlisted
from planner.packet.drawings.states import HEIGHTS
from planner.packet.pages.style import LABEL
from planner.packet.sections.acts.acts import headed, printing_of
from planner.packet.sections.acts.streams import on_one_sheet, procedure_of, sheets_of
from planner.packet.sections.acts.wash_rows import wash_blocks
from planner.packet.sections.crew.flush import values_of
from planner.packet.sections.crew.valves import states_of
from planner.packet.sections.crew.wash import ways
from planner.packet.sections.reading import Reading, close_run, template
from planner.packet.sections.told import line_told
from planner.packet.wording import section_from
from planner.plan.model import JobPlan, RunPlan
from planner.plan.road.rig_rules import heats_in, shut_most, way_to_switch
from planner.units import System, show
from planner.words.figures import gauge_of, unit
from planner.words.measures import gauge

_TWO_MINUTES = 120.0
_NAME = 16.0  # pt for the name of a line above its picture


def section(reading: Reading) -> Section | None:
    """One schematic for each run, then the acts in order; no page where there is no run."""
    plan, system = reading.checked.plan, reading.system
    if not plan.runs:
        return None
    places: dict[str, tuple[Block, ...]] = {}
    for n, run in enumerate(plan.runs, start=1):
        places[f"line {n}"] = (_picture(run, system, len(plan.runs) > 1),)
        # Where the wall is drawn they stand beside it.
        state = None if run is close_run(reading) else states_of(reading, run, (*HEIGHTS, 0.0))
        places[f"states {n}"] = (state,) if state is not None else ()
        places[f"joints {n}"] = tuple(_joints(run, system))
    printing = printing_of(reading)
    acts: tuple[Block, ...] = ()
    whole = printing is not None and printing.whole
    if printing is not None:
        sheets = sheets_of(printing.telling.procedure)
        acts = printing.blocks(sheets.set_up)
        if whole:
            acts = (*acts, *wash_blocks(printing, sheets))
            places["leave"] = printing.blocks(sheets.flush)
    places["acts"] = headed(acts)
    values = {
        "steps": bool(acts),
        "whole": whole,
        "tap": reading.checked.plan.input.water.source,
        **(ways(reading) if whole else {}),
        "changes": [values_of(n, change, plan, system) for n, change in enumerate(plan.changes, start=1)],
        "runs": [_values(n, run, reading) for n, run in enumerate(plan.runs, start=1)],
    }
    return section_from("set_up", template("set_up"), values, places, role="lead")


def _picture(run: RunPlan, system: System, several: bool) -> Picture:
    """The line; of several its name stands above it. It is left out where that saves a page."""
    title = f"The line, {run.name}: what a gauge reads at each joint, {unit('pressure', system)}" if several else ""
    above = _NAME if several else 0.0

    def paint(wide: float, tall: float) -> object:
        sheet = schematic(run, system, wide, tall - above)
        if several:
            sheet.height = tall
            sheet.add(String(0.0, tall - 12.0, printable(title), fontName=LABEL[0], fontSize=LABEL[1]))
        return sheet

    return Picture(paint=paint, heights=(height(run) + above, 0.0), title=run.name, told=line_told(run, system), rank=3)


def _joints(run: RunPlan, system: System) -> list[Block]:
    """The joints the picture had no room for."""
    left = unlisted(run)
    if not left:
        return []
    shown = stations(run)
    rows = []
    for joint in left:
        at = next((n for n, other in enumerate(shown) if other.distance > joint.distance), len(shown) - 1)
        closed = gauge(joint.closed, system) if joint.closed is not None else "none"
        rows.append(
            (
                f"between {letter(at - 1)} and {letter(at)}",
                joint.name,
                show(joint.distance, "length", system),
                gauge(joint.open, system),
                closed,
            )
        )
    head = ("Where", "Joint", "Hose so far", "Gun open", "Gun closed")
    return [
        Table(head=head, rows=tuple(rows), widths=(2, 4, 1.4, 1.4, 1.4), right=frozenset({2, 3, 4}), act=frozenset({3}))
    ]


def _tells(number: int, plan: JobPlan) -> bool:
    """Whether nothing above says yet how long this run's pump may be shut."""
    run = plan.runs[number - 1]
    return all(one.input.pump != run.input.pump for one in plan.runs[: number - 1])


def _values(number: int, run: RunPlan, reading: Reading) -> dict[str, Any]:
    """A run as the template knows it: words and numbers only."""
    system, procedure = reading.system, procedure_of(reading)
    # The rig's card has the two minutes; one sheet does not say them again.
    small = procedure is not None and on_one_sheet(procedure) and _closed_most(run, reading) == "two minutes"
    given = run.input
    joint = gauge_of(run)
    closed = joint.closed if joint else None
    margin = None
    if run.npsh_available is not None and run.npsh_required is not None:
        margin = run.npsh_available - run.npsh_required
    return {
        "number": number,
        "name": run.name,
        "tells": _tells(number, reading.checked.plan) and not small,
        "pump": given.pump.name if given.pump is not None else "",
        "gauge_closed": gauge(closed, system) if closed is not None else "",
        "closed_most": _closed_most(run, reading),
        "suction_low": show(max(margin, 0.0), "head", system, toward="down")
        if margin is not None and margin < default("suction_little")
        else "",
    }


def _closed_most(run: RunPlan, reading: Reading) -> str:
    """How long the pump may run with the gun closed, as the acts keep to it; nothing of one that a switch stops."""
    job, pump = reading.checked.plan.input, run.input.pump
    if pump is None or pump.cut_off is not None:
        return ""
    most = shut_most(job.limits, pump, heats_in(run))
    if way_to_switch(job, run.input) > most:
        return "the walk between gun and switch"
    return "two minutes" if most == _TWO_MINUTES else show(most, "time", reading.system, toward="down")
