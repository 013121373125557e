"""The test of a pump before and after: throw along level ground, closed gauge and bucket, each with a box beside it."""

from __future__ import annotations

import math
from typing import Any

from planner.packet.blocks import Block, Cell, Picture, Section, Span, Table, Text, WriteIn
from planner.packet.drawings.ground import Jet, along_ground
from planner.packet.figures import BUCKET, BUCKET_SI, gauge_number
from planner.packet.findings import with_numbers
from planner.packet.sections.reading import Reading, template, written
from planner.packet.sections.yard_words import opened, yard_of
from planner.packet.wording import section_from
from planner.plan.yard_model import BenchPoint, ThrowTest, YardPlan
from planner.units import System, show, show_number

_GROUND = (120.0, 106.0, 94.0, 82.0)
_TALL = 19.0
_SAME = 0.3  # m; jets that land nearer each other than this are one


def section(reading: Reading) -> Section | None:
    """The test's sheet; without a line to test on only its boxes."""
    plan, system = reading.checked.plan, reading.system
    yard = yard_of(plan)
    if yard is None:
        return None
    held, test = reading.held.everything, yard.test
    picture = _picture(test, system) if test is not None else None
    places: dict[str, tuple[Block, ...]] = {
        "table": () if held else (_table(yard, system),),
        "ground": (picture,) if picture is not None else (),
        "paced": tuple(_paced(test, system)) if test is not None else (),
    }
    values: dict[str, Any] = {
        "held": "yes" if held else "no",
        "opened": "yes" if opened(yard) else "no",
        "drawn": "yes" if picture is not None else "no",
        "kind": yard.pump.kind,
        "line": line_words(test, system) if test is not None else "",
        "angle": _angle(test.after) if test is not None else "",
        "tip": test.run.tip.name if test is not None else "",
        "tip_height": show(test.run.tip_height, "length", system) if test is not None else "",
        "thrown": "yes" if test is not None and test.after.ground is not None else "no",
        "unloader": _pressure(written(yard.pump, "unloader"), system),
    }
    run = frozenset({"test"}) if held else frozenset[str]()
    return section_from("yard_test", template("yard_test"), values, places, held=run)


def line_words(test: ThrowTest, system: System) -> str:
    """What it is tested through: `150 ft of hose (red 1, red 2), long throw`."""
    hoses = test.run.hoses
    length = show(sum(hose.length for hose in hoses), "length", system)
    return f"{length} of hose ({', '.join(hose.name for hose in hoses)}), tip {test.run.tip.name}"


def _pressure(value: object, system: System) -> str:
    return " ".join(gauge_number(float(value), system)) if isinstance(value, (int, float)) else ""


def _angle(point: BenchPoint) -> str:
    """How far up the gun is held, in whole degrees."""
    return f"{round(math.degrees(point.angle))}" if point.angle is not None else ""


def _paced(test: ThrowTest, system: System) -> list[Block]:
    """What the throw that was paced out before says of the pump."""
    if test.written is None:
        return []
    thrown = show(test.written, "length", system, toward="down")
    sound = test.after.ground
    if sound is None:
        words = f"Paced out before: {thrown}; this line's tip throws no jet to pace, so it tells nothing."
    elif test.written_share is None:
        far = test.written > sound
        side = "more than a sound pump throws" if far else "less than any pump throws"
        words = f"Paced out before: {thrown}, {side} on this line. Pace it again."
    else:
        share = show(test.written_share, "fraction", system, toward="down")
        what = "flow" if test.of == "flow" else "head"
        words = f"Paced out before: {thrown}, which is the throw of a pump with {share} of its {what}"
        limit = show(test.limit, "fraction", system)
        words += f"; under {limit} it is worn or limed." if test.written_share < test.limit else "."
    return [Text(spans=with_numbers(words))]


def _picture(test: ThrowTest, system: System) -> Picture | None:
    after, before = test.after, test.before
    if after.ground is None:
        return None
    sound = _jet(after, "sound", system)
    today = _jet(before, "as the pump stands today", system) if before.ground is not None else None
    if today is not None and abs(today.ground - sound.ground) < _SAME:
        today = None

    def paint(wide: float, tall: float) -> object:
        return along_ground(sound, today, wide, tall)

    told = f"Sound the jet lands {sound.words} away along level ground"
    told += f", as the pump stands today {today.words}." if today is not None else "."
    return Picture(paint=paint, heights=_GROUND, title="The throw", told=told)


def _jet(point: BenchPoint, name: str, system: System) -> Jet:
    ground = point.ground or 0.0
    return Jet(path=point.path, ground=ground, words=show(ground, "length", system, toward="down"), name=name)


def _table(yard: YardPlan, system: System) -> Table:
    """What is expected now and after, and what was measured."""
    test = yard.test
    twice = opened(yard)
    unit = "ft" if system == "us" else "m"
    size, name = (BUCKET, "5 gal") if system == "us" else (BUCKET_SI, "20 L")
    rows: list[tuple[Cell, ...]] = []

    def row(
        label: str, keys: tuple[str, str], planned: tuple[str, str], unit: str, spoken: str, lead: str = ""
    ) -> None:
        cells: list[Cell] = [label]
        for key, figure, when in zip(keys, planned, ("before", "after"), strict=True):
            cells.append((Span(text=figure, strong=True),))
            if twice or when == "after":
                about = f"{spoken}, {when}" if twice else spoken
                box = WriteIn(
                    width=1000, height=_TALL, name=f"pump.{key}", label=about, planned=figure, unit=unit, lead=lead
                )
                cells.append(box)
        rows.append(tuple(cells))

    if yard.pump.kind != "piston" or (test is not None and test.after.ground is not None):
        row(f"Throw, {unit}", ("throw_before", "throw_after"), _both(test, lambda p: _far(p, system)), unit, "Throw")
    pressure = gauge_number(0.0, system)[1]
    row(f"Closed, {pressure}", ("gauge_before", "gauge_closed"), _both(test, lambda p: _shut(p, system)),
        pressure, "Gauge closed")  # fmt: skip
    row(f"{name} in, s", ("bucket_before", "bucket"), _both(test, lambda p: _seconds(p, size)), "s", "Bucket",
        f"{name} in")  # fmt: skip
    head = ("", "now", "measured", "after", "measured") if twice else ("", "now", "sound", "measured")
    widths = (76.0, 40.0, 52.0, 40.0, 52.0) if twice else (76.0, 40.0, 44.0, 80.0)
    right = frozenset({1, 3}) if twice else frozenset({1, 2})
    return Table(head=head, rows=tuple(rows), widths=widths, tight=True, right=right)


def _both(test: ThrowTest | None, told: Any) -> tuple[str, str]:
    return (told(test.before), told(test.after)) if test is not None else ("", "")


def _far(point: BenchPoint, system: System) -> str:
    return show_number(point.ground, "length", system, toward="down")[0] if point.ground is not None else ""


def _shut(point: BenchPoint, system: System) -> str:
    return gauge_number(point.closed, system)[0] if point.closed is not None else ""


def _seconds(point: BenchPoint, size: float) -> str:
    seconds = point.bucket(size)
    return f"{round(seconds)}" if seconds is not None else ""
