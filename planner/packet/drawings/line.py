"""One hose run as a schematic: source to tip, and below it what a gauge would read at each joint.

Below each joint a black bar for the gun open and a white one for the gun
closed.  Stations are evenly spaced: the picture shows the order of things, the
values show the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.packet.drawings import symbols
from planner.packet.drawings.kit import Sheet
from planner.packet.pages.fonts import wrapped
from planner.packet.pages.style import LABEL, VALUE
from planner.plan.model import Joint, RunPlan
from planner.units import System, show
from planner.words.figures import gauge_of, unit
from planner.words.measures import gauge_number

MOST_STATIONS = 6
_FIRST, _LAST = 108.0, 464.0
_BARS = 23.0  # pt the longest bar is high
_BAR = 10.0
_RISE = 20.0
_GAP = 14.0  # pt between the bars and the rig's ground
_PIPE = 24.0  # pt from the rig's ground to the pipe
_OVER = 57.0  # pt from the ground at the tip to the end of the jet
_GAUGE = 36.0  # pt from the pipe to the top of what stands on it
_CROWDED = 4


def letter(n: int) -> str:
    """A station's letter: A, B, C."""
    return chr(ord("A") + n)


def stations(run: RunPlan) -> list[Joint]:
    """The joints that get bars: all of them while they fit, else inlet, gauge, tip and some between."""
    joints = list(run.joints)
    if len(joints) <= MOST_STATIONS:
        return joints
    ends = [n for n, joint in enumerate(joints) if joint.kind in ("inlet", "gauge")]
    first = len(ends)
    between = MOST_STATIONS - first - 1
    last = len(joints) - 1
    middle = [round(first - 1 + (n + 1) * (last - first + 1) / (between + 1)) for n in range(between)]
    return [joints[n] for n in sorted({*ends, *middle, last})]


def unlisted(run: RunPlan) -> list[Joint]:
    """The joints that have no bars of their own and belong in the table below."""
    shown = stations(run)
    return [joint for joint in run.joints if all(joint is not other for other in shown)]


def schematic(run: RunPlan, system: System, wide: float, tall: float) -> Any:
    """The whole run on one drawing."""
    sheet = Sheet(wide, tall)
    high = _BARS
    shown = stations(run)
    xs = _places(run, shown)
    floor = _floor(run)  # the bars stand here
    base = floor + high + _GAP + max(0.0, -_rise(run))  # the rig's ground
    pipe = base + _PIPE
    tip_ground = base + _rise(run)
    _ground(sheet, run, system, xs, base, tip_ground)
    _rig(sheet, run, shown, xs, pipe, base)
    _hoses(sheet, run, system, shown, xs, pipe, base, tip_ground)
    for n, joint in enumerate(shown):
        _bars(sheet, joint, _name(joint, n, xs), (xs[n], floor, high), run, system)
    sheet.line((0, floor), (wide, floor), weight=1.0)
    _legend(sheet, floor + high - 6, system, _limited(run))
    return sheet.finished()


def height(run: RunPlan) -> float:
    """The height in pt that the run's drawing takes."""
    rise = _rise(run)
    base = _floor(run) + _BARS + _GAP + max(0.0, -rise)
    return base + max(_PIPE + _GAUGE, rise + _OVER)


def _rise(run: RunPlan) -> float:
    """The ground at the tip above that of the rig as it is drawn, in pt; three metres and more is drawn full."""
    return max(-1.0, min(1.0, run.input.uphill / 3.0)) * _RISE


def _floor(run: RunPlan) -> float:
    """Where the bars stand, in pt: over one line of names or over two."""
    shown = stations(run)
    xs = _places(run, shown)
    names = [_name(joint, n, xs) for n, joint in enumerate(shown)]
    return 30.0 if any(len(lines) > 1 for lines in names) else 18.0


def _name(joint: Joint, n: int, xs: Sequence[float]) -> tuple[str, ...]:
    step = min((abs(xs[n] - x) for x in xs if x != xs[n]), default=80.0)
    return wrapped(f"{letter(n)} {joint.name}", LABEL[0], LABEL[1], step - 6, 2)


def _places(run: RunPlan, shown: Sequence[Joint]) -> list[float]:
    """Where the stations stand: evenly, with room for the reel after the gauge."""
    gaps = [1.0] * (len(shown) - 1)
    gauge = 1 if shown[0].kind == "inlet" else 0
    if gauge and len(shown) > _CROWDED:
        gaps[0] = 0.95
    if run.input.on_reel > 0 and gauge < len(gaps):
        gaps[gauge] = 1.4
    whole = sum(gaps) or 1.0
    xs = [_FIRST]
    for gap in gaps:
        xs.append(xs[-1] + (_LAST - _FIRST) * gap / whole)
    return xs


def _ground(sheet: Sheet, run: RunPlan, system: System, xs: Sequence[float], base: float, tip: float) -> None:
    start = _rig_end(run, xs)
    knee = start + 0.8 * (xs[-1] - 10 - start)
    sheet.line((0, base), (start, base), (knee, tip), (sheet.wide, tip), weight=1.2)
    up = run.input.uphill
    way = "up" if up > 0 else "down"
    words = "level" if abs(up) < 0.05 else f"{show(abs(up), 'length', system)} {way}"
    sheet.label(words, (sheet.wide - 1, tip - 12), anchor="end", must=True)


def _rig_end(run: RunPlan, xs: Sequence[float]) -> float:
    gauge = 1 if run.joints and run.joints[0].kind == "inlet" else 0
    return xs[gauge] + (44 if run.input.on_reel > 0 else 22)


def _rig(sheet: Sheet, run: RunPlan, shown: Sequence[Joint], xs: Sequence[float], pipe: float, base: float) -> None:
    """Source, valve, pump, gauge and reel."""
    pumped = run.input.pump is not None and shown[0].kind == "inlet"
    gauge_x = xs[1] if pumped and len(xs) > 1 else xs[0]
    symbols.source(sheet, run, pipe, base)
    sheet.line((56, pipe), (_rig_end(run, xs) - 14, pipe), weight=2.0)
    symbols.valve(sheet, 82, pipe)
    if pumped and run.input.pump is not None:
        pump_x = (xs[0] + gauge_x) / 2
        sheet.circle(xs[0], pipe, 3.4)
        symbols.pump(sheet, pump_x, pipe)
        sheet.label(run.input.pump.name, [(pump_x, pipe + 20), (pump_x, pipe - 24)], anchor="middle", room=66)
    symbols.gauge(sheet, gauge_x, pipe)
    dosing = run.input.dosing
    if dosing is not None:
        at = xs[0] - 14 if dosing.kind == "metered" and pumped else gauge_x - 26
        symbols.dosing(sheet, at, pipe, dosing.name)
    if run.input.on_reel > 0:
        symbols.reel(sheet, gauge_x + 32, pipe)
        sheet.label("reel", (gauge_x + 32, pipe + 17), anchor="middle")


def _hoses(
    sheet: Sheet, run: RunPlan, system: System, shown: Sequence[Joint], xs: Sequence[float], pipe: float, base: float,
    tip_ground: float,
) -> None:  # fmt: skip
    start = _rig_end(run, xs)
    person = xs[-1] - 14
    places = [(start - 14, pipe), (start, base + 4)]
    field = [(joint, x) for joint, x in zip(shown, xs, strict=True) if joint.kind not in ("inlet", "gauge", "tip")]

    def lie(x: float) -> float:
        knee = start + 0.8 * (xs[-1] - 10 - start)
        share = min(1.0, max(0.0, (x - start) / max(knee - start, 1.0)))
        return base + share * (tip_ground - base) + 5

    places += symbols.lying(start, person - 6, lie)
    hand = tip_ground + 20
    places += [(person - 6, tip_ground + 4), (person, hand)]
    sheet.line(*places, weight=2.4)
    for _, x in field:
        sheet.circle(x, lie(x), 3.4)
    symbols.worker(sheet, person, tip_ground, hand, xs[-1])
    _hose_names(sheet, run, system, [start + 4, *(x for _, x in field), person - 4], [joint for joint, _ in field], lie)


def _hose_names(
    sheet: Sheet, run: RunPlan, system: System, marks: Sequence[float], joints: Sequence[Joint], lie: Any
) -> None:
    ends = [joint.distance for joint in joints] + [float("inf")]
    begun = 0.0
    for n, end in enumerate(ends):
        pieces, distance = [], 0.0
        for hose in run.input.hoses:
            middle = distance + hose.length / 2
            if begun <= middle < end:
                pieces.append(hose)
            distance += hose.length
        begun = end
        if not pieces:
            continue
        left, right = marks[n], marks[n + 1]
        length = show(sum(hose.length for hose in pieces), "length", system)
        first = pieces[0].name if len(pieces) == 1 else f"{len(pieces)} hoses"
        x = (left + right) / 2
        y = lie(x) + 12
        room = max(40.0, right - left - 10)
        sheet.label(length, [(x, y), (x, y + 8), (x, y - 40)], anchor="middle", room=room)
        sheet.label(first, [(x, y + 12), (x, y + 20)], anchor="middle", room=room)


def _bars(
    sheet: Sheet, joint: Joint, name: Sequence[str], at: tuple[float, float, float], run: RunPlan, system: System
) -> None:
    x, floor, high = at
    top = max([1.0, *(j.open for j in run.joints), *(j.closed for j in run.joints if j.closed is not None)])
    opened = max(0.0, joint.open) / top * high
    sheet.line((x, floor + high + 4), (x, floor + high + _GAP - 2), weight=0.6, dash=(1, 2))
    if opened > 0.5:
        sheet.rect(x - _BAR - 1.5, floor, _BAR, opened, weight=1.0, fill=1.0)
    value = gauge_number(joint.open, system)[0]
    sheet.label(value, (x - _BAR - 4, floor + max(opened - 9, 4)), face=VALUE, anchor="end", patch=False, must=True)
    if joint.closed is not None and _limited(run):
        shut = max(0.0, joint.closed) / top * high
        if shut > 0.5:
            sheet.rect(x + 1.5, floor, _BAR, shut, weight=1.0)
        value = gauge_number(joint.closed, system)[0]
        sheet.label(
            value, (x + _BAR + 4, floor + max(shut - 9, 4)), face=("Planner-Semibold", 11), patch=False, must=True
        )
    for n, line in enumerate(name):
        sheet.label(line, (x, floor - 13 - 12 * n), anchor="middle", patch=False)


def _limited(run: RunPlan) -> bool:
    """True where something limits the pressure with the gun closed; else there is nothing to read then."""
    joint = gauge_of(run)
    return joint is not None and joint.closed is not None


def _legend(sheet: Sheet, y: float, system: System, closed: bool) -> None:
    sheet.rect(2, y, 9, 9, weight=1.0, fill=1.0)
    sheet.label(f"gun open, {unit('pressure', system)}", (16, y + 1), patch=False)
    if closed:
        sheet.rect(2, y - 15, 9, 9, weight=1.0)
        sheet.label("gun closed", (16, y - 14), patch=False)
