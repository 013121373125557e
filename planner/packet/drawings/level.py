"""What stands in a tank through the job: the level over time, what is done meanwhile, when the fill is open."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from planner.frozen import dataclass
from planner.packet.drawings.charts import Axes, Scale, scale
from planner.packet.drawings.kit import Sheet
from planner.packet.pages.fonts import fitted, width
from planner.packet.pages.style import LABEL, VALUE
from planner.plan.water.model import Phase, TankLevel
from planner.units import System, show

_LEFT, _BOTTOM, _RIGHT = 44.0, 28.0, 10.0
_BAND, _FILL, _GAP, _UNIT = 15.0, 8.0, 4.0, 16.0
_SHADE = 0.15
_MINUTE, _HOUR = 60.0, 3600.0
_LONG = 6 * _HOUR
_LEAST_LETTERS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """Steps that follow each other on one surface, or for one mix, under one name."""

    name: str
    phases: tuple[Phase, ...]

    @property
    def start(self) -> float:
        """When it begins [s]."""
        return self.phases[0].start

    @property
    def end(self) -> float:
        """When it ends [s]."""
        return _end(self.phases[-1])


def _end(phase: Phase) -> float:
    return phase.start + phase.seconds


def stages(phases: Sequence[Phase]) -> tuple[Stage, ...]:
    """The job in stages: set-up, a surface, a mix being made, the flush, packing."""

    def name(phase: Phase) -> str:
        if phase.start < 0.0:
            return "set up"
        return phase.what if phase.what in ("fill and mix", "flush first", "flush", "pack") else phase.about

    grouped = groupby(phases, key=name)
    return tuple(Stage(name=name, phases=tuple(of)) for name, of in grouped)


def level_chart(tank: TankLevel, phases: Sequence[Phase], system: System, wide: float, tall: float) -> Any:
    """The tank's level from arrival on, 0 being the end of set-up, its outlet dashed, the lowest point labelled."""
    sheet = Sheet(wide, tall)
    arrived, end = tank.points[0][0], tank.points[-1][0]
    time = Scale(per=_HOUR, unit="h") if end > _LONG else Scale(per=_MINUTE, unit="min")
    bar = tall - _BAND - _FILL - _GAP
    box = (_LEFT, _BOTTOM, wide - _LEFT - _RIGHT, bar - _GAP - _UNIT - _BOTTOM)
    axes = Axes(sheet, box, time, scale("volume", system), ((arrived, end), (0.0, tank.volume)))
    axes.draw()
    _band(sheet, axes, phases, tall - _BAND - 1)
    _fill(sheet, axes, tank, bar)
    sheet.line(*(axes.at(*point) for point in tank.points), weight=2.0)
    if tank.dead_volume > 0.0:
        _, y = axes.at(arrived, tank.dead_volume)
        sheet.line((axes.x, y), (axes.x + axes.w, y), weight=1.0, dash=(4, 3))
        words = f"outlet, {show(tank.dead_volume, 'volume', system, toward='up')}"
        sheet.label(words, [(axes.x + axes.w - 4, y + 4), (axes.x + axes.w / 2, y + 4)], anchor="end")
    _lowest(sheet, axes, tank, system)
    if tank.fills:
        _unfilled(sheet, axes, tank, phases, system)
    return sheet.finished()


def unfilled(tank: TankLevel, phases: Sequence[Phase]) -> list[tuple[float, float]]:
    """The level (s, m3) with the same draws and nothing running in, until it is dry."""
    points = [(tank.points[0][0], tank.start)]
    for phase in phases:
        before, after = points[-1][1], points[-1][1] - phase.draws.get(tank.name, 0.0)
        if after < tank.dead_volume:
            share = (before - tank.dead_volume) / (before - after)
            return [*points, (phase.start, before), (phase.start + share * phase.seconds, tank.dead_volume)]
        points += [(phase.start, before), (_end(phase), after)]
    return points


def _unfilled(sheet: Sheet, axes: Axes, tank: TankLevel, phases: Sequence[Phase], system: System) -> None:
    """The level without the tap, dashed, and when it would be dry; none where its name has no place."""
    points = [axes.at(*point) for point in unfilled(tank, phases)]
    words = "no tap" if tank.alone is None else f"no tap: dry after {show(tank.alone, 'time', system, toward='down')}"
    (x, y), wide = points[-1], width(words, *LABEL)
    places = [(x - 10 - wide, y + up) for up in (8, 20, 32, 44)] + [(x + 12, y + up) for up in (20, 32, 44, 56)]
    right, top = axes.x + axes.w, axes.y + axes.h
    named = sheet.label(words, [place for place in places if axes.x < place[0] < right - wide])
    if named or sheet.label(f"dashed: {words.replace(':', ',')}", (right - 2, top - 8.5), anchor="end"):
        sheet.line(*points, weight=1.2, dash=(3, 2))


def _lowest(sheet: Sheet, axes: Axes, tank: TankLevel, system: System) -> None:
    """Where it is dry, else where it stands lowest."""
    if tank.dry is not None:
        seconds, volume = tank.dry.at, tank.dead_volume
        words = f"dry after {show(seconds, 'time', system, toward='down')}"
    else:
        seconds, volume = tank.lowest_at, tank.lowest
        words = f"lowest {show(volume, 'volume', system, toward='down')}"
        if volume >= tank.volume * (1.0 - 1e-9):
            words = "stays full"
    x, y = axes.at(seconds, volume)
    sheet.circle(x, y, 4, weight=1.8)
    sheet.keep_clear(x - 5, y - 5, 10, 10)
    wide = width(words, *VALUE)
    places = [(x + 8, y - 14), (x - wide - 8, y - 14), (x + 8, y + 8), (x - wide - 8, y + 8)]
    sheet.label(words, places, face=VALUE, must=True)


def _band(sheet: Sheet, axes: Axes, phases: Sequence[Phase], bottom: float) -> None:
    """The stages by name, shaded while mix stands on a wall."""
    _side(sheet, "work", bottom + 4)
    for on, of in groupby(phases, key=lambda phase: phase.mix_on):
        together = tuple(of)
        if on:
            left, right = axes.at(together[0].start, 0.0)[0], axes.at(_end(together[-1]), 0.0)[0]
            sheet.rect(left, bottom, right - left, _BAND, weight=0.4, fill=_SHADE)
    for stage in stages(phases):
        left, right = axes.at(stage.start, 0.0)[0], axes.at(stage.end, 0.0)[0]
        sheet.line((left, bottom), (left, bottom + _BAND), (right, bottom + _BAND), (right, bottom), weight=0.8)
        sheet.line((left, bottom), (right, bottom), weight=0.8)
        words = fitted(stage.name, LABEL[0], right - left - 4, LABEL[1], LABEL[1])[0]
        if len(words) >= min(len(stage.name), _LEAST_LETTERS):
            striped = len({phase.mix_on for phase in stage.phases}) > 1
            sheet.label(words, ((left + right) / 2, bottom + 4.2), anchor="middle", patch=striped)


def _fill(sheet: Sheet, axes: Axes, tank: TankLevel, bottom: float) -> None:
    """Hatched while water runs into the tank."""
    _side(sheet, "fill", bottom + 0.6)
    for start, stop in tank.fills:
        left, right = axes.at(start, 0.0)[0], axes.at(stop, 0.0)[0]
        sheet.hatch(left, bottom, right - left, _FILL, gap=4.0)


def _side(sheet: Sheet, words: str, y: float) -> None:
    sheet.label(words, (_LEFT - 6, y), anchor="end", patch=False)
