"""The signs of the schematic: tank, tap, pond, valve, pump, gauge, dosing, reel, somebody with the gun."""

from __future__ import annotations

import math
from collections.abc import Callable

from planner.packet.drawings.kit import Point, Sheet
from planner.packet.fonts import wrapped
from planner.packet.style import LABEL
from planner.plan.model import RunPlan


def source(sheet: Sheet, run: RunPlan, pipe: float, base: float) -> None:
    """What the line draws from, at the left edge, joined at the height of the pipe."""
    feed = run.input.feed
    if feed == "tap":
        sheet.rect(6, base, 10, pipe - base + 16, weight=1.4)
        sheet.line((16, pipe), (56, pipe), weight=2.0)
        sheet.line((24, pipe), (24, pipe + 10), weight=1.6)
        sheet.line((18, pipe + 10), (30, pipe + 10), weight=2.2)
        sheet.label("tap", (32, pipe + 8))
        return
    if feed == "pond":
        wave = [(2 + 2 * n, base - 10 + 2 * math.sin(n)) for n in range(24)]
        sheet.line(*wave, weight=1.4)
        sheet.line((24, base - 16), (24, pipe), (56, pipe), weight=2.0)
        sheet.rect(20, base - 22, 8, 8, weight=1.2)
        sheet.label("pond", (4, base + 6))
        return
    sheet.rect(4, pipe - 14, 52, 48, weight=1.8)
    sheet.rect(5, pipe - 13, 50, 18, weight=1.0, fill=0.08)
    sheet.line((14, pipe - 14), (14, base), weight=1.2)
    sheet.line((46, pipe - 14), (46, base), weight=1.2)
    name = run.input.feed_tank.name if run.input.feed_tank is not None else feed
    for n, line in enumerate(wrapped(name, LABEL[0], LABEL[1], 46, 2)):
        sheet.label(line, (30, pipe + 23 - 12 * n), anchor="middle", patch=False)


def valve(sheet: Sheet, x: float, y: float) -> None:
    """A hand valve."""
    sheet.polygon((x - 8, y - 6), (x - 8, y + 6), (x + 8, y - 6), (x + 8, y + 6), weight=1.3)


def pump(sheet: Sheet, x: float, y: float) -> None:
    """A pump, its arrow the way the water goes."""
    sheet.circle(x, y, 14, weight=1.8)
    sheet.polygon((x - 6, y - 8), (x - 6, y + 8), (x + 10, y), weight=1.3)


def gauge(sheet: Sheet, x: float, y: float) -> None:
    """A gauge on its stem over the joint it reads."""
    sheet.line((x, y), (x, y + 14), weight=1.3)
    sheet.circle(x, y + 24, 10, weight=1.4)
    sheet.line((x, y + 24), (x + 5, y + 30), weight=1.2)
    sheet.circle(x, y, 3.4)
    sheet.keep_clear(x - 11, y + 13, 22, 22)


def dosing(sheet: Sheet, x: float, y: float, name: str) -> None:
    """A dosing panel or injector below the line."""
    sheet.line((x, y), (x, y - 10), weight=1.3)
    sheet.rect(x - 5, y - 18, 10, 9, weight=1.2, fill=0.2)
    sheet.keep_clear(x - 6, y - 19, 12, 10)
    sheet.label(name, [(x + 8, y - 18), (x, y - 34)], room=58)


def reel(sheet: Sheet, x: float, y: float) -> None:
    """A hose reel."""
    for radius in (13, 9, 5):
        sheet.circle(x, y, radius, weight=1.4)
    sheet.circle(x, y, 1.5, solid=True)
    sheet.keep_clear(x - 13, y - 13, 26, 26)


def lying(start: float, end: float, lie: Callable[[float], float]) -> list[Point]:
    """A hose lying on the ground from start to end, in gentle waves."""
    count = max(2, int((end - start) / 4))
    points = []
    for n in range(count + 1):
        x = start + (end - start) * n / count
        points.append((x, lie(x) + 1.6 * math.sin(n * 0.8)))
    return points


def worker(sheet: Sheet, x: float, ground: float, hand: float, tip: float) -> None:
    """Somebody holding the gun, the jet leaving upward."""
    sheet.circle(x, ground + 33, 4.2, solid=True)
    sheet.line((x, ground + 29), (x - 1, ground + 14), weight=2.2)
    sheet.line((x - 5, ground), (x - 1, ground + 14), (x + 5, ground), weight=2.0)
    sheet.line((x, hand), (tip, hand + 8), weight=2.0)
    sheet.circle(tip, hand + 8, 3.0)
    jet = [(tip + 2 + 1.2 * n, hand + 10 + 6 * n - 0.12 * n * n) for n in range(5)]
    sheet.line(*jet, weight=1.2)
    sheet.keep_clear(x - 6, ground, 12, 38)
