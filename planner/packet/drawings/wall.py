"""The wall in elevation, to scale: the jet's highest path in still air, what is needed, and the band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.packet.drawings.kit import Sheet
from planner.packet.pages.fonts import width
from planner.packet.pages.style import LABEL, VALUE
from planner.plan.model import RunPlan
from planner.units import System, show
from planner.words.figures import reached

_BOTTOM, _TOP, _LEFT, _LABELS = 30.0, 8.0, 26.0, 96.0
_EAVE = 0.65  # an eave that was not written is drawn at so much of the height that is needed


def elevation(
    run: RunPlan, system: System, wide: float, tall: float, eave: float | None = None, beside: Sequence[RunPlan] = ()
) -> Any:
    """The run's wall with the path of its jet. Heights and what lies along the ground share one scale.

    A wall is drawn from its front, as wide as there is room, a roof from its side: its `eave` [m] where that is known.
    `beside`: the same run otherwise, whose jets are dotted, each named `jet N` from 0.
    """
    sheet = Sheet(wide, tall)
    needed = run.needed or 0.0
    reach = run.reach
    reaches = [one.reach for one in (run, *beside) if one.reach is not None]
    top = max([needed, 1.0, *(high for one in reaches for high in (one.high, *(height for _, height in one.path)))])
    standoff, beyond = run.input.standoff, run.input.past_eave
    room_across = wide - _LEFT - _LABELS - 6
    upward = (tall - _BOTTOM - _TOP) / top
    across = room_across / (standoff + (beyond + 2.0 if beyond else 0.45 * max(needed, 3.0)))
    scale = min(upward, across)
    ground = _BOTTOM
    tip_x = _LEFT
    wall_x = tip_x + standoff * scale
    end_x = min(wide - _LABELS - 6, wall_x + (beyond * scale + 14 if beyond else 1.6 * needed * scale + 40))
    at_x = wall_x + beyond * scale  # what is asked of the jet is asked here

    def y(height: float) -> float:
        return ground + height * scale

    if beyond:
        _roof(sheet, (wall_x, at_x), ground, (y(min(eave, needed) if eave else _EAVE * needed), y(needed)))
    else:
        _house(sheet, wall_x, end_x, ground, y(needed))
        sheet.line((wall_x, ground), (wall_x, y(needed)), weight=2.6)
    if reach is not None:
        left = at_x - 10 if beyond else wall_x + 2
        sheet.hatch(left, y(reach.low), end_x - left, y(reach.high) - y(reach.low))
    sheet.line((4, ground), (end_x + 6, ground), weight=1.6)
    _person(sheet, tip_x, ground, y(run.input.tip_height))
    if reach is not None and len(reach.path) > 1:
        path = [(tip_x + along * scale, max(y(height), ground)) for along, height in reach.path]
        sheet.line(*path, weight=2.0)
        sheet.line((path[-1][0], y(reach.nominal)), (end_x + 4, y(reach.nominal)), weight=1.0)
    for n, other in enumerate(beside):
        if other.reach is not None and len(other.reach.path) > 1:
            begins = wall_x - other.input.standoff * scale
            points = [(begins + along * scale, max(y(height), ground)) for along, height in other.reach.path]
            sheet.line(*points, weight=2.0, dash=(2, 3))
            sheet.drawing.contents[-1].name = f"jet {n}"
    sheet.line((at_x - 16, y(needed)), (end_x + 6, y(needed)), weight=2.0, dash=(6, 3))
    _labels(sheet, run, system, end_x + 8, y)
    _standoff(sheet, tip_x, wall_x, ground, show(standoff, "length", system))
    room = wide - wall_x - 18
    scaled = "heights to scale" if not beyond else "to scale" if eave else "eave not to scale"
    words = next((w for w in (f"{'roof' if beyond else 'wall'}, {scaled}", scaled) if width(w, *LABEL) <= room), "")
    sheet.label(words, (wall_x + 18, ground - 22), room=room)
    return sheet.finished()


def _roof(sheet: Sheet, across: tuple[float, float], ground: float, up: tuple[float, float]) -> None:
    """One slope from its eave to where the mix must land."""
    (left, right), (eave, ridge) = across, up
    sheet.line((left, ground), (left, eave), weight=1.4)
    sheet.line((right, ground), (right, ridge), weight=1.4)
    sheet.line((left - 4, eave - 4 * (ridge - eave) / max(right - left, 1.0)), (right, ridge), weight=3.2)


def _house(sheet: Sheet, left: float, right: float, ground: float, top: float) -> None:
    """A plain gable behind the wall line, for the eye only."""
    x0, x1 = left + 10, right - 6
    if x1 - x0 < 24 or top - ground < 20:
        return
    eave = ground + (top - ground) * 0.68
    middle = (x0 + x1) / 2
    sheet.polygon((x0, ground), (x0, eave), (middle, top), (x1, eave), (x1, ground), weight=1.2)
    rows = 6
    for n in range(1, rows):
        height = ground + n * (eave - ground) / rows
        sheet.line((x0, height), (x1, height), weight=0.35, grey=True)
    w, h = min((x1 - x0) * 0.16, 18.0), (eave - ground) * 0.3
    for x in (x0 + (x1 - x0) * 0.14, x1 - (x1 - x0) * 0.14 - w):
        sheet.rect(x, ground + (eave - ground) * 0.48, w, h, weight=0.8)
        sheet.line(
            (x + w / 2, ground + (eave - ground) * 0.48), (x + w / 2, ground + (eave - ground) * 0.48 + h), weight=0.6
        )
    sheet.rect(middle - w * 0.7, ground, w * 1.4, (eave - ground) * 0.38, weight=0.8)


def _person(sheet: Sheet, x: float, ground: float, tip: float) -> None:
    """Somebody holding the wand; the tip is at x."""
    tall = max(16.0, min(30.0, (tip - ground) * 1.3 if tip > ground else 16.0))
    head, hip, feet = ground + tall, ground + 0.45 * tall, x - 8
    sheet.circle(feet, head - 2.5, 2.6, solid=True)
    sheet.line((feet, head - 5), (feet, hip), weight=1.3)
    sheet.line((feet - 3.5, ground), (feet, hip), (feet + 3.5, ground), weight=1.3)
    sheet.line((feet, ground + 0.75 * tall), (x, max(tip, ground + 2)), weight=1.3)


def _labels(sheet: Sheet, run: RunPlan, system: System, x: float, y: Any) -> None:
    figures = reached(run, system)
    needed = " ".join(figures.needed) if figures else show(run.needed or 0.0, "length", system, toward="up")
    lines = [(f"needed {needed}", y(run.needed or 0.0), VALUE)]
    if run.reach is not None:
        nominal = show(run.reach.nominal, "length", system, toward="down")
        low = show(run.reach.low, "length", system, toward="down")
        lines.append((f"jet {nominal}", y(run.reach.nominal), VALUE))
        lines.append((f"at worst {low}", y(run.reach.low), LABEL))
    room = sheet.wide - x
    lines.sort(key=lambda line: line[1])
    heights: list[float] = []
    for _, height, _ in lines:  # upward, never closer than a line of type
        heights.append(max(height, heights[-1] + 14) if heights else max(height, 16))
    over = heights[-1] + 10 - sheet.tall
    if over > 0:
        heights = [min(h, sheet.tall - 10 - 14 * (len(heights) - 1 - n)) for n, h in enumerate(heights)]
    for (text, _, face), height in zip(lines, heights, strict=True):
        sheet.label(text, (x, height - 3.5), face=face, room=room)


def _standoff(sheet: Sheet, left: float, right: float, ground: float, text: str) -> None:
    y = ground - 9
    for x in (left, right):
        sheet.line((x, y - 4), (x, y + 4), weight=1.0)
    sheet.line((left, y), (right, y), weight=1.0)
    sheet.label(text, ((left + right) / 2, ground - 22), face=LABEL, anchor="middle", must=True)
