"""Charts for the owner: where pump and line meet, the pressure along the hose, how a pump falls, what gear gives."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from typing import Any, Final

from planner.frozen import dataclass
from planner.inputs.models.gear import Pump
from planner.inputs.models.lists import DialPoint
from planner.packet.drawings.kit import Point, Sheet, nice_step, tick_text
from planner.packet.pages.style import RULE_FIELD, RULE_GRID, VALUE
from planner.physics.liquids import GRAVITY, REFERENCE_DENSITY
from planner.physics.pumps import PistonPump
from planner.plan.line.apparatus import curve_points, pump_alone
from planner.plan.model import RunPlan
from planner.units import System, read, show
from planner.words.figures import gauge_of, source_of, unit

_LEFT, _BOTTOM, _TOP, _RIGHT = 40.0, 28.0, 16.0, 14.0
_WATER: Final = REFERENCE_DENSITY * GRAVITY
"""Curves are read on water at 68 F [Pa/m]."""


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
        name = source_of(run)
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


# ------------------------------------------------------------ axes
# A chart's two scales in the reader's units, over SI values.


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """`per` SI units make one printed unit, named `unit`."""

    per: float
    unit: str


class Axes:
    """A frame with its grid on a sheet; `at` turns SI values into a point of the sheet."""

    def __init__(
        self, sheet: Sheet, box: tuple[float, float, float, float], across: Scale, up: Scale,
        spans: tuple[tuple[float, float], tuple[float, float]],
    ) -> None:  # fmt: skip
        self.sheet, self.across, self.up = sheet, across, up
        self.x, self.y, self.w, self.h = box
        self.x_step = nice_step((spans[0][1] - spans[0][0]) / across.per, max(2, int(self.w // 48)))
        self.y_step = nice_step((spans[1][1] - spans[1][0]) / up.per, max(2, int(self.h // 26)))
        self.x_span = self._whole(spans[0], across.per, self.x_step)
        self.y_span = self._whole(spans[1], up.per, self.y_step)

    @staticmethod
    def _whole(span: tuple[float, float], per: float, step: float) -> tuple[float, float]:
        low = math.floor(span[0] / per / step + 1e-9) * step
        high = math.ceil(span[1] / per / step - 1e-9) * step
        return low, high if high > low else low + step

    def at(self, across: float, up: float) -> Point:
        """The place on the sheet of an SI point."""
        x0, x1 = self.x_span
        y0, y1 = self.y_span
        return (
            self.x + self.w * (across / self.across.per - x0) / (x1 - x0),
            self.y + self.h * (up / self.up.per - y0) / (y1 - y0),
        )

    def inside(self, points: Sequence[tuple[float, float]]) -> list[Point]:
        """The points' places, cut where the line leaves the frame."""
        placed: list[Point] = []
        before: Point | None = None
        for across, up in points:
            x, y = self.at(across, up)
            if y > self.y + self.h or x > self.x + self.w + 0.1:
                if before is not None:
                    placed.append(self._edge(before, (x, y)))
                break
            placed.append((x, y))
            before = (x, y)
        return placed

    def _edge(self, a: Point, b: Point) -> Point:
        shares = [1.0]
        if b[1] > self.y + self.h:
            shares.append((self.y + self.h - a[1]) / (b[1] - a[1]))
        if b[0] > self.x + self.w:
            shares.append((self.x + self.w - a[0]) / (b[0] - a[0]))
        share = max(0.0, min(shares))
        return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])

    def draw(self) -> None:
        """Grid, numbers and units."""
        sheet = self.sheet
        step = self.x_span[0]
        while step <= self.x_span[1] + 1e-9:
            x = self.x + self.w * (step - self.x_span[0]) / (self.x_span[1] - self.x_span[0])
            sheet.line((x, self.y), (x, self.y + self.h), weight=RULE_GRID, grey=True)
            sheet.label(tick_text(step, self.x_step), (x, self.y - 12), anchor="middle", patch=False)
            step += self.x_step
        step = self.y_span[0]
        while step <= self.y_span[1] + 1e-9:
            y = self.y + self.h * (step - self.y_span[0]) / (self.y_span[1] - self.y_span[0])
            sheet.line((self.x, y), (self.x + self.w, y), weight=RULE_GRID, grey=True)
            sheet.label(tick_text(step, self.y_step), (self.x - 5, y - 3.5), anchor="end", patch=False)
            step += self.y_step
        sheet.line((self.x, self.y + self.h), (self.x, self.y), (self.x + self.w, self.y), weight=RULE_FIELD)
        sheet.label(self.up.unit, (self.x - 5, self.y + self.h + 9), anchor="end", patch=False)
        sheet.label(self.across.unit, (self.x + self.w, self.y - 24), anchor="end", patch=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Falls:
    """A pump whose share [-] of a new one's falls by `per_year`: `now` at its `last` look.

    `below`: shares with the day it comes under each; `needs`: a booked job's day, and the share it takes.
    """

    name: str
    first: datetime.date
    last: datetime.date
    now: float
    per_year: float
    below: tuple[tuple[float, datetime.date], ...]
    needs: tuple[tuple[datetime.date, float], ...] = ()

    def on(self, day: datetime.date) -> float:
        """Its share on a day, by its line."""
        return self.now + self.per_year * (day - self.last).days / 365.25


def falling(one: Falls, wide: float, tall: float) -> Any:
    """The line through what was read, broken where nobody has looked yet; rings are what booked jobs take."""
    sheet = Sheet(wide, tall)
    x0, y0, w, h = _box(wide, tall)
    until = max([one.last, *(day for _, day in one.below), *(day for day, _ in one.needs)])
    days = max(1.08 * (until - one.first).days, 1.0)
    shares = [one.on(one.first), one.on(until), 1.0, *(share for share, _ in one.below), *(n for _, n in one.needs)]
    low, high = max(min(shares) - 0.05, 0.0), max(shares) + 0.03

    def at(day: datetime.date, share: float) -> Point:
        return x0 + w * (day - one.first).days / days, y0 + h * (share - low) / (high - low)

    sheet.rect(x0, y0, w, h, weight=RULE_FIELD)
    sheet.label(f"{one.name}, head left", (x0, y0 + h + 4))
    for share, day in one.below:
        x, y = at(day, share)
        sheet.line((x0, y), (x0 + w, y), weight=RULE_GRID, dash=(2, 2))
        sheet.label(f"{100 * share:.0f} %", (x0 - 4, y - 3), anchor="end")
        if day >= one.first:
            sheet.line((x, y), (x, y0), weight=0.8, dash=(1, 2))
            sheet.label(day.isoformat(), [(x, y0 - 12), (x + 4, y0 + 4), (x - 58, y0 + 4)], anchor="middle")
    sheet.line(at(one.first, one.on(one.first)), at(one.last, one.now), weight=2.0)
    sheet.line(at(one.last, one.now), at(until, max(one.on(until), low)), weight=1.3, dash=(4, 2))
    sheet.label(f"{100 * one.now:.0f} % now", [(x + 6, y + 6) for x, y in [at(one.last, one.now)]], face=VALUE)
    for day, share in one.needs:
        x, y = at(day, share)
        sheet.circle(x, y, 4, weight=1.8)
        sheet.label(f"needs {100 * share:.0f} %", [(x - 62, y + 6), (x - 62, y - 14), (x + 6, y + 6)])
    return sheet.finished()


# ------------------------------------------------------------ gear
# What a rig's file says of a pump and of a panel, drawn beside its keys.

_STEPS: Final = 48


def pump_curve(pump: Pump, band: float | None, system: System, wide: float, tall: float) -> Any:
    """What a pump gives, as it runs today: rings are what was written, dashes a plate's pump `band` [-] under it.

    A pump of a constant flow is a line straight up, to where its relief valve opens.
    """
    sheet, machine = Sheet(wide, tall), pump_alone(pump)
    written = _written(pump)
    if isinstance(machine, PistonPump):
        top = machine.unloader or pump.pressure or pump.max_pressure or read("1000 psi", "pressure")
        line = [(machine.flow, 0.0), (machine.flow, top)]
    else:
        flows = [machine.last_flow * n / _STEPS for n in range(_STEPS + 1)]
        line = [(flow, max(machine.curve(flow), 0.0) * _WATER) for flow in flows]
    shown = [*line, *written]
    spans = ((0.0, 1.05 * max(q for q, _ in shown)), (0.0, 1.05 * max([p for _, p in shown] + [pump.cut_off or 0.0])))
    axes = Axes(sheet, _box(wide, tall), scale("flow", system), scale("pressure", system), spans)
    axes.draw()
    if band is not None and pump.by_plate:
        under = [axes.at(q, p * (1.0 - band)) for q, p in line]
        sheet.line(*under, weight=1.0, dash=(4, 3))
        x, y = under[len(under) // 2]
        sheet.label(f"{100 * band:.0f} % under its plate", [(x - 60, y - 16), (x - 20, y - 26), (x - 90, y - 8)])
    sheet.line(*(axes.at(q, p) for q, p in line), weight=2.0)
    for q, p in written:
        x, y = axes.at(q, p)
        sheet.circle(x, y, 3, weight=1.4)
        sheet.keep_clear(x - 4, y - 4, 8, 8)
    if pump.cut_off is not None:
        x0, y = axes.at(0.0, pump.cut_off)
        sheet.line((x0, y), (x0 + axes.w, y), weight=1.0, dash=(1, 2))
        words = f"its switch stops it, {show(pump.cut_off, 'pressure', system)}"
        sheet.label(words, [(x0 + axes.w - 2, y + 4), (x0 + axes.w - 2, y - 11)], anchor="end")
    return sheet.finished()


def _written(pump: Pump) -> list[tuple[float, float]]:
    """Flow [m3/s] and pressure [Pa] of each point that was written of it."""
    if pump.of_kind.curve == "constant":
        return [(pump.flow, pump.pressure)] if pump.flow is not None and pump.pressure is not None else []
    points = [(flow, head * _WATER) for flow, head in curve_points(pump)]
    if pump.curve is not None or pump.best is None:
        return points
    return [points[0], *(point for point in points if abs(point[0] - pump.best.flow) < 1e-9)]


def dial(points: Sequence[DialPoint], off: float, wide: float, tall: float) -> Any:
    """A panel's dial: the share of stock at each tested mark, straight between them; dashes are `off` [-] of it."""
    sheet = Sheet(wide, tall)
    marks = [(point.setting, point.share) for point in points]
    spans = ((min(0.0, marks[0][0]), 1.05 * marks[-1][0]), (0.0, 1.08 * (1.0 + off) * max(share for _, share in marks)))
    axes = Axes(sheet, _box(wide, tall), Scale(per=1.0, unit="mark"), Scale(per=0.01, unit="% stock"), spans)
    axes.draw()
    for side in (1.0 - off, 1.0 + off):
        sheet.line(*(axes.at(mark, share * side) for mark, share in marks), weight=0.9, dash=(4, 3))
    sheet.line(*(axes.at(*mark) for mark in marks), weight=2.0)
    for mark, share in marks:
        x, y = axes.at(mark, share)
        sheet.circle(x, y, 3, weight=1.4)
        sheet.keep_clear(x - 4, y - 4, 8, 8)
        sheet.label(
            f"{100 * share:g} %", [(x + 10, y - 14), (x - 12, y + 9), (x - 24, y + 2)], anchor="middle", face=VALUE
        )
    return sheet.finished()
