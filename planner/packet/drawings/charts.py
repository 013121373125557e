"""The worksheet's charts: where pump and line meet, and the pressure along the hose."""

from __future__ import annotations

from typing import Any

from planner.packet.drawings.axes import Axes, Scale
from planner.packet.drawings.kit import Sheet
from planner.packet.figures import gauge_of, unit
from planner.packet.style import VALUE
from planner.plan.model import RunPlan
from planner.units import System, read, show

_LEFT, _BOTTOM, _TOP, _RIGHT = 40.0, 28.0, 16.0, 14.0


def scale(dimension: str, system: System) -> Scale:
    """The printed unit of a dimension and how much of SI it is."""
    name = unit(dimension, system)
    return Scale(per=read(f"1 {name}", dimension), unit=name)


def _box(wide: float, tall: float) -> tuple[float, float, float, float]:
    return _LEFT, _BOTTOM, wide - _LEFT - _RIGHT, tall - _BOTTOM - _TOP


def meeting(run: RunPlan, system: System, wide: float, tall: float) -> Any:
    """Pump curve and system curve crossing, the point labelled with flow and pressure at the pump's outlet."""
    sheet = Sheet(wide, tall)
    flow, pressure = run.pump_flow, run.pump_pressure
    most_flow = max([1.15 * flow, *(q for q, _ in run.pump_curve if q <= 2.2 * flow)], default=1e-6)
    shown = [p for q, p in (*run.pump_curve, *run.system_curve) if q <= most_flow]
    low = min([0.0, *shown])
    high = max([1.1 * pressure, *(p for q, p in run.pump_curve if q <= most_flow), low + 1.0])
    axes = Axes(
        sheet, _box(wide, tall), scale("flow", system), scale("pressure", system), ((0.0, most_flow), (low, high))
    )
    axes.draw()
    supply, line = axes.inside(run.pump_curve), axes.inside(run.system_curve)
    if len(supply) > 1:
        sheet.line(*supply, weight=2.0)
    if len(line) > 1:
        sheet.line(*line, weight=1.3)
    x, y = axes.at(flow, pressure)
    sheet.line((x, y), (x, axes.y), weight=0.8, dash=(1, 2))
    sheet.circle(x, y, 4, weight=1.8)
    sheet.keep_clear(x - 5, y - 5, 10, 10)
    words = f"{show(flow, 'flow', system)}, {show(pressure, 'pressure', system)}"
    places = [(x + 7, y + 8), (x + 7, y - 16), (x - 110, y + 10), (x - 110, y - 18)]
    sheet.label(words, places, face=VALUE, must=True)
    if supply:
        px, py = supply[max(0, len(supply) // 6)]
        name = "tap" if run.input.pump is None else "pump"
        sheet.label(name, [(px + 4, py - 16), (px + 4, py + 7), (px + 4, py - 30)])
    if line:
        lx, ly = line[min(len(line) - 1, len(line) // 3)]
        sheet.label("hose and tip", [(lx + 14, ly - 8), (lx + 10, ly - 18), (lx - 66, ly + 12), (lx + 10, ly + 14)])
    return sheet.finished()


def along(run: RunPlan, system: System, wide: float, tall: float) -> Any:
    """Pressure along the hose from the pump's outlet to the tip, gun open solid and gun closed dashed."""
    sheet = Sheet(wide, tall)
    joints = [joint for joint in run.joints if joint.kind != "inlet"]
    opened = [(joint.distance, joint.open) for joint in joints]
    closed = [(joint.distance, joint.closed) for joint in joints if joint.closed is not None]
    pressures = [p for _, p in opened + closed]
    spans = ((0.0, max(d for d, _ in opened)), (min([0.0, *pressures]), max([*pressures, 1.0]) * 1.12))
    axes = Axes(sheet, _box(wide, tall), scale("length", system), scale("pressure", system), spans)
    axes.across = Scale(per=axes.across.per, unit=f"{axes.across.unit} of hose")
    axes.draw()
    places = [axes.at(*point) for point in opened]
    sheet.line(*places, weight=2.0)
    if closed:
        shut = [axes.at(*point) for point in closed]
        sheet.line(*shut, weight=1.0, dash=(4, 3))
    most = 5
    keep = {0, len(places) - 1, *(round(n * (len(places) - 1) / (most - 1)) for n in range(most))}
    for x, y in places:
        sheet.circle(x, y, 2.6, weight=1.2)
        sheet.keep_clear(x - 3, y - 3, 6, 6)
    for n in sorted(keep, key=lambda n: (n not in (0, len(places) - 1), n)):
        x, y = places[n]
        value = show(opened[n][1], "pressure", system)
        sheet.label(value, [(x + 4, y + 6), (x - 18, y - 14), (x - 38, y - 12), (x - 38, y + 6)], face=VALUE)
    if closed:
        first, last = closed[0][1], closed[-1][1]
        words = f"gun closed, {show(first, 'pressure', system)} to {show(last, 'pressure', system)}"
        if first == last:
            words = f"gun closed, {show(first, 'pressure', system)}"
        x0, y0 = axes.at(*closed[0])
        x1, _ = axes.at(*closed[-1])
        middle = x0 + 0.6 * (x1 - x0)
        sheet.label(words, [(middle, y0 + 6), (middle, y0 - 13), (middle, y0 + 12), (middle, y0 - 24)], anchor="middle")
    if run.input.on_reel > 0 and gauge_of(run) is not None:
        x, y = axes.at(run.input.on_reel, spans[1][0])
        if x < axes.x + axes.w - 4:
            sheet.line((x, axes.y), (x, axes.y + 0.45 * axes.h), weight=0.8, dash=(1, 2))
            sheet.label("off the reel", [(x + 4, axes.y + 4), (x + 4, axes.y + 18)])
    return sheet.finished()
