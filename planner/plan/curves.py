"""Pump and line as curves of flow against pressure at the pump's outlet, for the worksheet."""

from __future__ import annotations

from planner.physics.constants import GRAVITY
from planner.physics.lines import Line, Operating, taken
from planner.physics.parts import total_head
from planner.physics.pumps import HeadPump, PistonPump

_POINTS = 25


def delivery_curve(line: Line, point: Operating) -> tuple[tuple[float, float], ...]:
    """(flow [m3/s], pressure at the pump's outlet [Pa]) that source and pump give, down to no pressure."""
    pump = line.pump
    if isinstance(pump, PistonPump):
        top = max(point.outlet * 1.25, pump.unloader or 0.0)
        return ((pump.flow, 0.0), (pump.flow, top))
    most = pump.last_flow if isinstance(pump, HeadPump) else point.pump_flow * 1.5
    most = max(most, point.pump_flow * 1.2)
    curve = []
    for n in range(_POINTS):
        flow = most * n / (_POINTS - 1)
        pressure = line.source.pressure_at(line.pump_height, flow)
        if isinstance(pump, HeadPump):
            pressure += line.pumped.density * GRAVITY * pump.curve(flow)
        if pressure < 0.0:
            break
        curve.append((flow, pressure))
    return tuple(curve)


def system_curve(line: Line, point: Operating) -> tuple[tuple[float, float], ...]:
    """(flow [m3/s], pressure at the pump's outlet [Pa]) that the line takes, all its runs open."""
    weight = line.sprayed.density * GRAVITY
    lowest = min(run.tip_height for run in line.runs)
    joint = (point.outlet - point.trunk_loss) / weight + line.pump_height
    top = lowest + 1.6 * max(joint - lowest, 1.0)
    curve = []
    for n in range(_POINTS):
        # Even steps of flow want squares of steps in head.
        head = lowest + (top - lowest) * (n / (_POINTS - 1)) ** 2
        flow = sum(taken(line, head)) / (1.0 + line.draw)
        trunk = line.pumped.density * GRAVITY * total_head(line.trunk, flow, line.pumped.kinematic)
        curve.append((flow, weight * (head - line.pump_height) + trunk))
    return tuple(curve)
