"""A mix on its way through the hose: the dosing's test, where it enters, where to go on water, what no wall gets.

The hose is full of water when a wall's turn comes: with a wetting and a rinse through the same line, before each
section.  The line goes on mix while as much is still to wet as the hose holds, so the mix is at the tip when the wall
is wet; where the wetting is less, the rest goes into a bucket first.  It goes on water while as much mix is still to
spray as the hose holds, so nothing is lost; a stretch that takes less has the hose full of mix at its end, and that is
pushed into a bucket with water before the rinse.  Dispersion at the front is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

from planner.inputs.joined import JobInput, RunInput, Surface
from planner.plan.line_use import LineUse, Stretch
from planner.plan.mix_model import MixPlan, SurfaceMix

_NOISE = 1e-9


def carries_mix(run: RunInput) -> bool:
    """Whether the run sprays anything but plain water."""
    return run.premix or run.dosing is not None


def is_washer(run: RunInput) -> bool:
    """Whether the run sprays plain water from a gun."""
    return not carries_mix(run) and run.tip.pattern != "surface_cleaner"


def washed_by_others(job: JobInput, surface: Surface) -> bool:
    """Whether a run of plain water wets and rinses the surface; else the run that sprays its mix does."""
    return any(is_washer(other) and surface.name in other.surfaces for other in job.runs)


def section_of(job: JobInput, surface: Surface) -> float:
    """The largest section of a surface [m2]: smaller where the sun stands on it all day."""
    hot = job.day is not None and job.day.forecast is not None and job.day.forecast.sun == "full"
    row = surface.row
    return float(row["section_hot"] if hot and row["section_hot"] else row["section"])


def sections_of(job: JobInput, surface: Surface, area: float) -> int:
    """How many sections `area` [m2] of it is worked in, one at least."""
    return max(ceil(area / section_of(job, surface) - _NOISE), 1)


def test_volume(job: JobInput, walls: float) -> float:
    """What is filled at the tip to see what a panel or injector draws [m3]: a measure no more than a share of `walls`.

    The largest of the company's own measures that is, the smallest where none is.
    """
    defaults = job.tables["defaults"]
    measures: tuple[float, ...] = defaults["dosing_test" if job.company.units == "us" else "dosing_test_metric"]
    most = walls * defaults["dosing_test_share"] * (1.0 + _NOISE)
    return max((one for one in measures if one <= most), default=min(measures))


def line_use(job: JobInput, run: RunInput, parts: Sequence[SurfaceMix], fill: float) -> LineUse:
    """How the `parts` of a mix, in their order, go through a line that holds `fill` [m3]."""
    test = 0.0 if run.premix else test_volume(job, sum(part.mix for part in parts))
    push = fill if test > 0.0 else 0.0
    beside, water = [0.0] * len(parts), [0.0] * len(parts)
    beside[0] += test
    water[0] += push
    stretches = []
    for numbers, times in _stretches(job, run, parts):
        volumes = [parts[number].mix / times for number in numbers]
        walls = tuple(parts[number].surface.name for number in numbers)
        area, first = _chased([parts[number] for number in numbers], volumes, fill)
        lead = max(fill - _wetting(job, run, parts[numbers[0]]) / times, 0.0)
        stretches.append(Stretch(walls=walls, times=times, mix=sum(volumes), area=area, last=walls[first:], lead=lead))
        water[numbers[0]] += lead * times
        if area <= 0.0:
            beside[numbers[-1]] += fill * times
    return LineUse(
        test=test,
        primes=sum(beside) - test,
        beside=tuple(beside),
        stretches=tuple(stretches),
        push=push,
        water=tuple(water),
    )


def run_off(mix: MixPlan, part: SurfaceMix) -> tuple[float, float]:
    """What is run into buckets at one part of a mix [m3]: of the mix itself, and of plain water.

    Nothing is of a mix that can't be made.
    """
    if mix.mix is None:
        return 0.0, 0.0
    line = mix.line
    place = next((number for number, own in enumerate(mix.parts) if own is part), len(mix.parts))
    if place >= min(len(line.beside), len(line.water)):
        return 0.0, 0.0
    return line.beside[place], line.water[place]


def _wetting(job: JobInput, run: RunInput, part: SurfaceMix) -> float:
    """Water that wets a part through the mix's own line [m3]."""
    return part.area * float(part.surface.row["wet"]) if _waters(job, run, part.surface) else 0.0


def _waters(job: JobInput, run: RunInput, surface: Surface) -> bool:
    """Whether plain water goes through the mix's own line before or after it: its own run's, or through its hoses."""
    wets = surface.row["wet"] > 0.0 or (surface.row["rinse"] > 0.0 and surface.rinse == "now")
    hoses = {hose.name for hose in run.hoses}
    washers = [other for other in job.runs if is_washer(other) and surface.name in other.surfaces]
    return wets and (not washers or any(hoses & {hose.name for hose in other.hoses} for other in washers))


def _stretches(job: JobInput, run: RunInput, parts: Sequence[SurfaceMix]) -> Iterator[tuple[list[int], int]]:
    """Parts that are sprayed one after another without water between, by number; how many times over."""
    open_: list[int] = []
    for number, part in enumerate(parts):
        if _waters(job, run, part.surface):
            if open_:
                yield open_, 1
                open_ = []
            yield [number], sections_of(job, part.surface, part.area)
        else:
            open_.append(number)
    if open_:
        yield open_, 1


def _chased(parts: Sequence[SurfaceMix], volumes: Sequence[float], fill: float) -> tuple[float, int]:
    """What of a wall [m2] is left when the line goes on water, and which wall that is; 0 for less than a hoseful."""
    left = fill
    for number in reversed(range(len(parts))):
        if left <= volumes[number] * (1.0 + _NOISE):
            return left * parts[number].coverage, number
        left -= volumes[number]
    return 0.0, 0
