"""The drawings by themselves: labels on the sheet, apart from each other, nothing left out in silence."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from reportlab.graphics.shapes import Drawing

from planner.inputs.models.rig import Dosing
from planner.packet.drawings.charts import along, meeting
from planner.packet.drawings.kit import Sheet, nice_step, tick_text
from planner.packet.drawings.level import unfilled
from planner.packet.drawings.line import MOST_STATIONS, schematic, stations, unlisted
from planner.packet.drawings.marks import heights, marks
from planner.packet.drawings.states import HEIGHTS, STACKED, States, states
from planner.packet.drawings.tank import SOAP, STOCK, WATER, Column, Level, dial, tank_levels
from planner.packet.drawings.wall import elevation
from planner.packet.pages.fonts import width
from planner.packet.pages.style import MEASURE
from planner.units import System, read
from tests.packet.builders import FT, PSI, run, thing
from tests.packet.figures.jobs import job_of
from tests.packet.figures.known import table_step

RUNS = {
    "tank": lambda: run(),
    "tap": lambda: run(pump=None, feed="tap", dosing=None, closed=58 * PSI, hoses=1),
    "pond": lambda: run(feed="pond", closed=None, uphill=-4 * FT, on_reel=0.0),
    "12 hoses": lambda: run(hoses=12, hose_names=[f"long green hose number {n}" for n in range(12)]),
    "4 hoses": lambda: run(hoses=4),
    "injector": lambda: run(dosing=thing(Dosing, name="venturi on the left wall", kind="injector")),
    "level": lambda: run(uphill=0.0, on_reel=0.0, hoses=1),
    "high pressure": lambda: run(opened=2400 * PSI, closed=3000 * PSI, tip_pressure=2100 * PSI),
    "roof": lambda: run(past_eave=4 * FT, needed=18, nominal=24, low=20),
    "short": lambda: run(nominal=29, low=24),
    "very short": lambda: run(nominal=12, low=9, needed=60),
    "falls": lambda: run(falls=True),
    "no flow": lambda: run(falls=True, flow=0.0, tip_pressure=0.0, opened=30 * PSI),
}
PICTURES = {
    "schematic": (schematic, 504, 206),
    "low schematic": (schematic, 504, 160),
    "elevation": (elevation, 289, 230),
    "low elevation": (elevation, 289, 140),
    "lowest elevation": (elevation, 252, 104),
    "curves": (meeting, 246, 172),
    "along": (along, 246, 150),
}


def labels(drawing: Drawing) -> list[tuple[str, tuple[float, float, float, float], float]]:
    """(text, box) of each label; a letter's height is taken as its x-height to cap band."""
    boxes = []
    for shape in drawing.contents:
        if type(shape).__name__ == "String":
            wide = width(shape.text, shape.fontName, shape.fontSize)
            boxes.append(
                (shape.text, (shape.x, shape.y, shape.x + wide, shape.y + 0.66 * shape.fontSize), shape.fontSize)
            )
    return boxes


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("picture", PICTURES)
@pytest.mark.parametrize("case", RUNS)
def test_labels_lie_on_the_sheet_and_apart(case: str, picture: Any, system: System) -> None:
    paint, wide, tall = PICTURES[picture]
    found = labels(paint(RUNS[case](), system, wide, tall))
    assert found
    for text, (x0, y0, x1, y1), size in found:
        assert x0 >= -0.6, text
        assert x1 <= wide + 0.6, text
        assert y0 >= -1, text
        assert y1 <= tall + 1, text
        assert size >= 10
    for (one, (a0, b0, a1, b1), _), (other, (c0, d0, c1, d1), _) in itertools.combinations(found, 2):
        assert a1 <= c0 or c1 <= a0 or b1 <= d0 or d1 <= b0, (one, other)


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("case", RUNS)
def test_every_station_has_both_its_values(case: str, system: System) -> None:
    plan = RUNS[case]()
    texts = [text for text, _, _ in labels(schematic(plan, system, 504, 206))]
    for joint in stations(plan):
        scale = read("1 psi" if system == "us" else "1 bar", "pressure")
        for pressure in (joint.open, joint.closed if plan.joints[1].closed is not None else None):
            if pressure is not None:
                step = table_step("pressure", "psi" if system == "us" else "bar", pressure / scale)
                number = math.floor(pressure / scale / float(step) + 0.5) * step  # type: ignore[arg-type]
                wanted = f"{float(number):,.{int(step < 1)}f}".replace("-", "−")
                assert wanted in texts, (joint.name, wanted)


def test_nothing_closed_means_no_white_bar() -> None:
    texts = [text for text, _, _ in labels(schematic(RUNS["pond"](), "us", 504, 206))]
    assert "gun open, psi" in texts
    assert "gun closed" not in texts


def test_a_long_line_keeps_pump_gauge_and_tip_and_lists_the_rest() -> None:
    plan = RUNS["12 hoses"]()
    shown, left = stations(plan), unlisted(plan)
    assert len(shown) == MOST_STATIONS
    assert [joint.kind for joint in shown[:2]] == ["inlet", "gauge"]
    assert shown[-1].kind == "tip"
    assert len(shown) + len(left) == len(plan.joints)
    assert all(any(joint is other for other in (*shown, *left)) for joint in plan.joints)


def test_the_wall_says_needed_jet_and_worst_each_to_its_safe_side() -> None:
    texts = [text for text, _, _ in labels(elevation(run(nominal=39.9, low=31.9, needed=30.2), "us", 289, 230))]
    assert {"needed 31 ft", "jet 39 ft", "at worst 31 ft", "12 ft"} <= set(texts)


def test_a_roof_is_drawn_with_its_eave_below_what_the_jet_must_reach() -> None:
    roof = run(past_eave=12 * FT, needed=18, nominal=24, low=20)
    for eave, words in ((11 * FT, "roof, to scale"), (None, "roof, eave not to scale")):
        drawing = elevation(roof, "us", 252, 120, eave)
        assert words in [text for text, _, _ in labels(drawing)]
        slope = next(shape for shape in drawing.contents if getattr(shape, "strokeWidth", 0) == 3.2)
        x0, low, x1, high = slope.points
        assert low < high
        assert x0 < x1


def test_the_point_where_pump_and_line_meet_is_labelled() -> None:
    texts = [text for text, _, _ in labels(meeting(run(), "us", 246, 172))]
    assert "9.1 gpm, 55 psi" in texts


@pytest.mark.parametrize(("span", "most", "step"), [(16, 5, 5), (80, 5, 20), (0.7, 4, 0.2), (1200, 4, 500), (0, 4, 1)])
def test_scales_step_by_one_two_or_five(span: float, most: int, step: float) -> None:
    assert nice_step(span, most) == pytest.approx(step)


def test_scale_numbers_have_the_decimals_of_their_step() -> None:
    assert tick_text(0.4, 0.2) == "0.4"
    assert tick_text(-20, 20) == "−20"
    assert tick_text(-0.0, 20) == "0"


def test_a_label_without_room_is_refused_unless_it_must_stand() -> None:
    sheet = Sheet(100, 40)
    assert sheet.label("one", (10, 10))
    assert not sheet.label("two", (10, 10))
    assert sheet.label("two", (10, 10), must=True)


def apart(drawing: Drawing, wide: float, tall: float) -> list[str]:
    """Each label lies on the sheet and touches no other."""
    found = labels(drawing)
    for text, (x0, y0, x1, y1), size in found:
        assert -0.6 <= x0 < x1 <= wide + 0.6, text
        assert -1 <= y0 < y1 <= tall + 1, text
        assert size >= 10
    for (one, (a0, b0, a1, b1), _), (other, (c0, d0, c1, d1), _) in itertools.combinations(found, 2):
        assert a1 <= c0 or c1 <= a0 or b1 <= d0 or d1 <= b0, (one, other)
    return [text for text, _, _ in found]


def batch(title: str, *levels: Any) -> Column:
    """A batch of (what, inches, readable)."""
    fills = {"water": WATER, "soap": SOAP}
    return Column(title=title, note="80 gal in all", levels=tuple(
        Level(what=what, depth=inches * 0.0254, fill=fills.get(what, STOCK), read=read, amount="30 fl oz")
        for what, inches, read in levels))  # fmt: skip


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("tall", [230, 440])
@pytest.mark.parametrize(
    "columns",
    [
        (batch("Batch 1", ("water", 14.125, True), ("stock", 24.5, True), ("soap", 24.6, False)),),
        (batch("Batch 1", ("heel", 0.4, False), ("water", 8.4, True), ("stock", 9.1, False), ("soap", 9.15, False)),
         batch("Batches 2 to 14", ("heel", 0.3, False), ("water", 3.0, True), ("stock", 6.0, True))),
        (batch("Batch 1", ("heel", 29.0, False), ("water", 29.2, False), ("stock", 29.4, False), ("soap", 29.5, False)),),
    ],
)  # fmt: skip
def test_levels_of_a_tank_are_labelled_on_the_sheet_and_apart(
    columns: tuple[Column, ...], tall: float, system: System
) -> None:
    texts = apart(tank_levels(columns, 30.5 * 0.0254, system, 246, tall), 246, tall)
    for column in columns:
        assert column.title in texts
        for level in column.levels:
            assert any(level.what in text for text in texts), level.what


def test_a_readable_level_says_its_depth_in_eighths_and_another_its_volume() -> None:
    columns = (batch("Batch 1", ("water", 14.125, True), ("soap", 14.3, False)),)
    texts = apart(tank_levels(columns, 30.5 * 0.0254, "us", 246, 290), 246, 290)
    assert "14 1/8 in water" in texts
    assert "soap 30 fl oz" in texts


def test_the_levels_stand_to_scale() -> None:
    drawing = tank_levels((batch("Batch 1", ("water", 10, True), ("stock", 20, True)),), 0.762, "us", 246, 290)
    fills = [s for s in drawing.contents if type(s).__name__ == "Rect" and s.strokeColor is not None and s.width > 100]
    water, stock = sorted(fills, key=lambda rect: rect.y)[:2]
    assert stock.height == pytest.approx(water.height, rel=1e-6)


@pytest.mark.parametrize("setting", [1.0, 1.9, 3.0])
def test_a_dial_shows_its_own_points_and_where_to_set_it(setting: float) -> None:
    texts = apart(dial([(1, 0.04), (2, 0.09), (3, 0.16)], setting, f"set {setting}", "us", 203, 84), 203, 84)
    assert {f"set {setting}", "1", "3", "4.0 %", "16.0 %"} <= set(texts)


@pytest.mark.parametrize(("wide", "tall"), [*((MEASURE, tall) for tall in HEIGHTS), (252.0, STACKED[0])])
@pytest.mark.parametrize(
    "what",
    [
        States(kind="knob", water="", mix="", mark="2.15", until="until stop point 4", then="second, on your call"),
        States(
            kind="paths", water="clean water", mix="acid bucket tank", until="until stop point 4", then="you, at “Mix”"
        ),
    ],
)
def test_both_states_say_as_much_when_they_are_small(what: States, wide: float, tall: float) -> None:
    texts = apart(states(what, wide, tall), wide, tall)
    assert {"Water", "Mix", what.until, what.then} <= set(texts)
    named = [what.mark, "W"] if what.kind == "knob" else [what.water, what.mix]
    assert [texts.count(name) for name in named] == [2, 2]


@pytest.mark.parametrize(
    "walls",
    [
        (("vinyl 1", 11), ("vinyl 2", 2)),
        (("front", 1), ("back", 2), ("left", 1), ("right", 1), ("porch", 3), ("garage", 4), ("barn", 24)),
        (("north wall over the long porch by the lake", 40),),
        (("south slope", 120), ("b", 1)),
    ],
)
@pytest.mark.parametrize("least", [False, True])
def test_each_section_has_its_mark_and_where_there_is_room_its_number(
    walls: tuple[tuple[str, int], ...], least: bool
) -> None:
    tall = heights(walls)[least]
    drawing = marks(walls, MEASURE, tall)
    texts = apart(drawing, MEASURE, tall)
    lines = [shape for shape in drawing.contents if type(shape).__name__ == "PolyLine"]
    assert len(lines) == sum(count - 1 for _, count in walls)
    numbers = [int(text) for text in texts if text.isdigit()]
    if max(count for _, count in walls) < 25:
        assert numbers == [n for _, count in walls for n in range(1, count + 1)]
    for name, _ in walls:
        assert any(name.startswith(text.rstrip("…")) for text in texts if not text.isdigit())


@pytest.mark.ci
def test_without_the_tap_the_tank_is_dry_when_the_plan_says_so() -> None:
    tank, phases = (supply := job_of("2026-06-09/10-millrace").plan.supply).tanks[0], supply.phases
    points = unfilled(tank, phases)
    assert tank.alone is not None
    assert points[-1] == pytest.approx((tank.alone, tank.dead_volume), rel=0.02)
    assert [volume for _, volume in points] == sorted((volume for _, volume in points), reverse=True)
    held = job_of("2026-06-09/20-granary").plan.supply
    assert held.tanks[0].alone is None
    assert unfilled(held.tanks[0], held.phases)[-1][1] > held.tanks[0].dead_volume
