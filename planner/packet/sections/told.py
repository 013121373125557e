"""What a drawing shows, as sentences for who cannot see it: the same figures, rounded as the drawing rounds them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from planner.packet.drawings.clock import Piece
from planner.packet.drawings.line import letter, stations
from planner.packet.drawings.site import SitePlan
from planner.packet.drawings.tank import Column, Level
from planner.plan.model import RunPlan
from planner.plan.water.model import TankLevel
from planner.units import System, show
from planner.words.dates import after_text, clock_text
from planner.words.figures import gauge_of, reached, source_of
from planner.words.measures import gauge


def jet_told(run: RunPlan, system: System) -> str:
    """The wall in elevation: how high the jet gets from where it is held, and what is needed."""
    figures = reached(run, system)
    needed = " ".join(figures.needed) if figures else show(run.needed or 0.0, "length", system, toward="up")
    standoff = show(run.input.standoff, "length", system)
    if run.reach is None:
        return f"From {standoff} the jet reaches no height at the wall; {needed} is needed."
    nominal = show(run.reach.nominal, "length", system, toward="down")
    low = show(run.reach.low, "length", system, toward="down")
    return f"Jet at {standoff} from the wall reaches {nominal} in still air, at worst {low}; {needed} is needed."


def line_told(run: RunPlan, system: System) -> str:
    """The schematic: what a gauge would read at each joint, from the source to the tip."""
    limited = (joint := gauge_of(run)) is not None and joint.closed is not None
    told = []
    for n, station in enumerate(stations(run)):
        shut = f", closed {gauge(station.closed, system)}" if limited and station.closed is not None else ""
        told.append(f"{letter(n)} {station.name}, gun open {gauge(station.open, system)}{shut}")
    up = run.input.uphill
    lies = "level with the rig" if abs(up) < 0.05 else (
        f"{show(abs(up), 'length', system)} {'above' if up > 0 else 'below'} that of the rig"
    )  # fmt: skip
    return f"From the source to the tip: {'; '.join(told)}. The ground at the tip is {lies}."


def meeting_told(run: RunPlan, system: System) -> str:
    """Pump curve and system curve: where they cross."""
    what = source_of(run)
    flow, pressure = show(run.pump_flow, "flow", system), show(run.pump_pressure, "pressure", system)
    return f"The curves of {what} and hose with tip cross at {flow} and {pressure}."


def along_told(run: RunPlan, system: System) -> str:
    """Pressure along the hose: at its beginning and at the tip."""
    joints = [joint for joint in run.joints if joint.kind != "inlet"]
    if not joints:
        return ""
    first, last = (show(joint.open, "pressure", system) for joint in (joints[0], joints[-1]))
    text = f"With the gun open the pressure falls from {first} to {last} at the tip."
    shut = [joint.closed for joint in joints if joint.closed is not None]
    if not shut:
        return text
    first, last = (show(pressure, "pressure", system) for pressure in (shut[0], shut[-1]))
    return f"{text} With the gun closed it reads {first if first == last else f'{first} to {last}'}."


def place_told(plan: SitePlan) -> str:
    """The sketch of the place: what is where, with its distance."""
    house = "The house" if plan.house == "house" else f"The house, {plan.house}"
    parts = [f"{house}; the rig, {plan.rig}", *plan.hoses]
    parts += [plan.tap] if plan.tap else []
    parts += [plan.beds] if plan.beds else []
    parts += [f"{plan.downspouts} downspouts"] if plan.downspouts else []
    parts += [plan.wires] if plan.wires else []
    return f"{'; '.join([*parts, *(thing.label for thing in plan.things)])}."


def order_told(pieces: Sequence[Piece]) -> str:
    """What follows what on a clock bar."""
    labels = [" ".join(piece.label.split()) for piece in pieces]
    names = ["drive" if piece.kind == "drive" else label for piece, label in zip(pieces, labels, strict=True)]
    held = ", ".join(label for piece, label in zip(pieces, labels, strict=True) if piece.kind == "held")
    return f"In this order: {', '.join(name for name, _ in groupby(names))}." + (f" Held: {held}." if held else "")


def clock_told(pieces: Sequence[Piece], start: float | None, system: System) -> str:
    """A clock bar: from when until when, and what follows what."""
    whole = sum(piece.seconds for piece in pieces)
    if start is None:
        return f"Over after {after_text(whole)}. {order_told(pieces)}"
    return f"From {clock_text(start, system)} to {clock_text(start + whole, system)}. {order_told(pieces)}"


def tank_told(columns: Sequence[Column], full: float, system: System) -> str:
    """The tank with its stick: what stands in it after each thing poured."""
    told = []
    for column in columns:
        told.append(f"{column.title}, from the floor up: {levels_told(column.levels, system)}.")
    return f"{' '.join(told)} The tank is {show(full, 'dip', system)} deep."


def levels_told(levels: Sequence[Level], system: System) -> str:
    """What stands in a tank after each thing poured, from the floor up."""
    return ", ".join(
        f"{level.what} to {show(level.depth, 'dip', system, toward=level.side)}"
        if level.read
        else f"{level.what} {level.amount}"
        for level in levels
    )


def level_told(tank: TankLevel, system: System) -> str:
    """A tank's level over time: where it is dry or stands lowest."""
    if tank.dry is not None:
        text = f"It is dry after {show(tank.dry.at, 'time', system, toward='down')}."
    elif tank.lowest >= tank.volume * (1.0 - 1e-9):
        text = "It stays full."
    else:
        text = f"At its lowest it holds {show(tank.lowest, 'volume', system, toward='down')}."
    if tank.dead_volume > 0.0:
        text += f" {show(tank.dead_volume, 'volume', system, toward='up')} is below its outlet."
    return text


def load_told(total: float, rated: float, caution: float, system: System) -> str:
    """The load against its rating [kg]."""
    whole = show(total, "mass", system, toward="up")
    most, careful = (show(mass, "mass", system, toward="down") for mass in (rated, caution))
    near = f"; with care from {careful}" if caution < rated else ""
    return f"In all {whole}, rated {most}{near}."
