"""The page read at the rig: the line as a picture, the gear to bring, and the acts up to the water test."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Picture, Section, Table
from planner.packet.drawings.line import height, letter, schematic, stations, unlisted
from planner.packet.figures import bucket, gauge_of, unit
from planner.packet.measures import gauge
from planner.packet.sections.acts import printing_of, sheets_of, side_by_side
from planner.packet.sections.flush_first import values_of
from planner.packet.sections.power import power_words
from planner.packet.sections.reading import Reading, template, written
from planner.packet.sections.told import line_told
from planner.packet.wording import section_from
from planner.plan.model import RunPlan
from planner.plan.tap import open_flow
from planner.units import System, show

_TWO_MINUTES = 120.0
_LITTLE_SUCTION = 1.0  # m of head over what the pump needs, under which the page says so (common practice, no source)


def section(reading: Reading) -> Section | None:
    """One schematic for each run, then the acts in order; no page where there is no run."""
    plan, system = reading.checked.plan, reading.system
    if not plan.runs:
        return None
    places: dict[str, tuple[Block, ...]] = {}
    for n, run in enumerate(plan.runs, start=1):
        places[f"line {n}"] = (_picture(run, system),)
        places[f"joints {n}"] = tuple(_joints(run, system))
    printing = printing_of(reading)
    acts = printing.blocks(sheets_of(printing.telling.procedure).set_up) if printing is not None else ()
    places["acts"] = side_by_side(acts)
    values = {
        "steps": "yes" if acts else "no",
        "changes": [values_of(n, change, plan, system) for n, change in enumerate(plan.changes, start=1)],
        "runs": [_values(n, run, reading) for n, run in enumerate(plan.runs, start=1)],
    }
    return section_from("set_up", template("set_up"), values, places)


def _picture(run: RunPlan, system: System) -> Picture:
    def paint(wide: float, tall: float) -> object:
        return schematic(run, system, wide, tall)

    return Picture(paint=paint, heights=(height(run),), title=run.name, told=line_told(run, system))


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


def _values(number: int, run: RunPlan, reading: Reading) -> dict[str, Any]:
    """A run as the template knows it: words and numbers only."""
    system, plan = reading.system, reading.checked.plan
    given = run.input
    length = sum(hose.length for hose in given.hoses)
    joint = gauge_of(run)
    closed = joint.closed if joint else None
    water = plan.input.water
    margin = None
    if run.npsh_available is not None and run.npsh_required is not None:
        margin = run.npsh_available - run.npsh_required
    return {
        "number": number,
        "name": run.name,
        "title": f"The line, {run.name}: what a gauge reads at each joint, {unit('pressure', system)}"
        if len(plan.runs) > 1
        else "",
        "pump": given.pump.name if given.pump is not None else "",
        "reel": show(given.on_reel, "length", system) if given.on_reel > 0 else "",
        "off_reel": show(max(0.0, length - given.on_reel), "length", system),
        "gauge_open": gauge(joint.open if joint else run.pump_pressure, system),
        "gauge_closed": gauge(closed, system) if closed is not None else "",
        "closed_most": _closed_most(run, reading),
        "flow": show(run.flow, "flow", system),
        "tap_bucket": bucket(open_flow(plan.input) or 0.0, system) if water.tested else "",
        "backflow": (water.backflow or "none").replace("_", " "),
        "suction_low": show(max(margin, 0.0), "head", system, toward="down")
        if margin is not None and margin < _LITTLE_SUCTION
        else "",
        "lay_out": _lay_out(run, system),
        **power_words(plan, run, system),
    }


def _closed_most(run: RunPlan, reading: Reading) -> str:
    """How long the pump may run with the gun closed: never over the limit for paper, less where it heats sooner."""
    most = reading.checked.plan.input.limits.get("shut_off_on_paper", _TWO_MINUTES)
    heats = written(run, "shut_off", "seconds")
    if isinstance(heats, (int, float)):
        most = min(most, heats)
    return "two minutes" if most == _TWO_MINUTES else show(most, "time", reading.system, toward="down")


def _lay_out(run: RunPlan, system: System) -> list[str]:
    """The gear to bring for a run, from what the plan was made with."""
    given = run.input
    things = [
        f"{hose.name}: {show(hose.bore, 'bore', system)}, {show(hose.length, 'length', system)}" for hose in given.hoses
    ]
    orifice = written(given.tip, "orifice")
    size = f", {show(orifice, 'bore', system)}" if isinstance(orifice, (int, float)) else ""
    things.append(f"tip {given.tip.name}, {given.tip.pattern.replace('_', ' ')}{size}")
    things += [_fitting(fitting.kind, fitting.count) for fitting in given.fittings]
    if given.feed == "pond":
        things.append("suction hose, strainer, foot valve")
    cord = written(given.pump, "motor", "cord")
    gauge, length = written(cord, "gauge"), written(cord, "length")
    if isinstance(gauge, (int, float)) and isinstance(length, (int, float)):
        things.append(f"cord {show(gauge, 'gauge', system)}, {show(length, 'length', system)}")
    return things


_PLURAL = {"foot valve": "foot valves", "swing check": "swing checks"}


def _fitting(kind: str, count: float) -> str:
    name = kind.replace("_", " ")
    number = f"{count:g}"
    return f"{number} {name if count == 1 else _PLURAL.get(name, name + 's')}"
