"""The page read at the wall: one row a surface, what stops the work, and the mix that is left in the hose."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Cell, Picture, Section, Span, Spans, Table, WriteIn
from planner.packet.drawings.wall import elevation
from planner.packet.figures import tightest
from planner.packet.measures import minutes, volume
from planner.packet.sections.facts import wordy
from planner.packet.sections.mixes import dial_text, pours, tank_name
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.told import jet_told
from planner.packet.sections.wash_ends import buckets_told, ends_of
from planner.packet.wording import section_from
from planner.packet.words import spoken_name
from planner.plan.drift import wind_stop
from planner.plan.mix_model import MixPlan, SurfaceWork
from planner.units import show

_WALL = (190.0, 165.0, 140.0, 120.0, 104.0)
_HELD = "held"


def section(reading: Reading) -> Section | None:
    """The work surface by surface; no page where none is planned."""
    plan, system = reading.checked.plan, reading.system
    if not plan.work:
        return None
    mixed = bool(plan.mixes)
    run = tightest(plan.runs)
    picture: tuple[Block, ...] = ()
    # The first page draws a plain job's, where it has room.
    if run is not None and (len(plan.runs) > 1 or run.input.past_eave > 0.0 or wordy(plan)):
        tight = run

        def paint(wide: float, tall: float) -> object:
            return elevation(tight, system, wide, tall)

        picture = (Picture(paint=paint, heights=_WALL, title=run.name, told=jet_told(tight, system)),)
    places: dict[str, tuple[Block, ...]] = {"wall": picture, "surfaces": (_surfaces(reading),)}
    # Of a mix that is not made nothing goes through the hose.
    ends = [end for mix, end in zip(plan.mixes, ends_of(reading), strict=True) if pours(reading, mix)]
    values: dict[str, Any] = {
        "mixed": "yes" if mixed else "no",
        "drawn": "yes" if picture else "no",
        "glass": "yes",
        "dwells": "yes" if any(one.dwell_most > 0 for one in plan.work) else "no",
        "trim": _trim(reading),
        **_wind(reading),
        "sets": _sets(reading),
        "buckets": "yes" if any(one["first"] == "yes" for one in ends) else "no",
        "ends": ends,
    }
    held = {str(n) for n, mix in enumerate(plan.mixes, start=1) if reading.held.holds(mix.run.name)}
    if reading.held.everything:
        held |= {"all"}
    return section_from("wash", template("wash"), values, places, held=frozenset(held))


def _surfaces(reading: Reading) -> Table:
    """One row for each surface and run, in the order of the work."""
    plan = reading.checked.plan
    several = len(plan.runs) > 1
    rows: list[tuple[Cell, ...]] = [_row(reading, one, several) for one in plan.work]
    if len(rows) > 2:
        rows.append(_all(reading))
    unit = "gal" if reading.system == "us" else "L"
    head = (
        "Surface",
        f"Wet, {unit}",
        "min",
        f"Mix, {unit}",
        "Apply, min",
        "Dwell, min",
        f"Rinse, {unit}",
        "Time on",
    )
    return Table(
        head=head, rows=tuple(rows), widths=(152, 49, 28, 49, 58, 59, 73, 48),
        right=frozenset(range(1, 7)), act=frozenset({3, 5}),
    )  # fmt: skip


def _row(reading: Reading, one: SurfaceWork, several: bool) -> tuple[Cell, ...]:
    plan, system = reading.checked.plan, reading.system
    mix, part = next(
        (
            (mix, part)
            for mix in plan.mixes
            if mix.run.name == one.run
            for part in mix.parts
            if part.surface.name == one.surface.name
        ),
        (None, None),
    )
    area = part.area if part is not None else one.surface.area
    kind = spoken_name(one.surface.kind)
    what = "" if one.surface.name.casefold().startswith(kind) else f"{kind}, "
    detail = f", {what}{show(area, 'area', system)}"
    holds = reading.held.holds(one.run)
    if one.sections > 1 and part is not None:
        each = show(one.section, "area", system, toward="down")
        pace = "" if holds else f", {minutes(one.apply / one.sections)} min each"
        detail += f": {one.sections} sections of up to {each}{pace}"
    if one.clean > 0:
        detail += f"; surface cleaner {minutes(one.clean)} min, {show(one.clean_volume, 'volume', system, toward='up')}"
    if several:
        detail += f" ({one.run})"
    buckets = buckets_told(mix, one.surface.name, system) if mix is not None and pours(reading, mix) else ()
    return (
        (Span(text=one.surface.name, strong=True), Span(text=detail), *_set(reading, mix), *buckets),
        volume(one.wet_volume, system, "up") if one.wet > 0 else "",
        minutes(one.wet) if one.wet > 0 else "",
        (_HELD if holds else volume(part.mix, system)) if part is not None else "water",
        minutes(one.apply) if one.apply > 0 and not holds else "",
        dwell(one),
        _rinse(one, reading),
        WriteIn(width=44, height=18),
    )


def _set(reading: Reading, mix: MixPlan | None) -> Spans:
    """What the dosing is set to for this wall, and the lot it is set for; nothing where one setting does all walls.

    A batch is known by its mix's number, a jug by what is in each measure of it.
    """
    if mix is None or not pours(reading, mix) or not _set_anew(reading, mix):
        return ()
    number = reading.checked.plan.mixes.index(mix) + 1
    if mix.kind == "premix":
        return (Span(text="; "), Span(text=f"batch of mix {number}", strong=True))
    if mix.kind == "injector":
        return (Span(text="; "), Span(text=f"jug of mix {number}", strong=True))
    opened = [one for one in mix.pours if one.stock > 0.0 and one.dial is not None] or list(mix.pours[:1])
    dials = [(one.dial if one.dial is not None else mix.dial or 0.0, one.lot.name) for one in opened]
    marks = [f"{dial_text(dial, mix)}, lot {lot}" for dial, lot in dials]
    return (Span(text="; "), Span(text=f"dial {', then '.join(marks)}", strong=True))


def _set_anew(reading: Reading, mix: MixPlan) -> bool:
    """Whether the tank, panel or injector of a mix makes another one in this job."""
    return sum(_device(one) == _device(mix) for one in reading.checked.plan.mixes) > 1


def _sets(reading: Reading) -> str:
    """What is set anew on the way, by name; nothing where one setting does all."""
    anew = [mix for mix in reading.checked.plan.mixes if pours(reading, mix) and _set_anew(reading, mix)]
    return " and ".join(dict.fromkeys(_device(mix) for mix in anew if mix.kind == "metered"))


def _device(mix: MixPlan) -> str:
    """What doses a mix, by name: its tank, its panel or its injector."""
    tank, dosing = mix.run.feed_tank, mix.run.dosing
    return dosing.name if dosing is not None else tank_name(tank.name) if tank is not None else ""


def dwell(one: SurfaceWork) -> str:
    """From the shortest to the longest dwell in whole minutes, the longest never rounded up."""
    if one.dwell_most <= 0:
        return ""
    least, most = minutes(one.dwell_least), minutes(one.dwell_most, "down")
    return least if least == most else f"{least} to {most}"


def _rinse(one: SurfaceWork, reading: Reading) -> str:
    if one.rinse > 0:
        return f"{volume(one.rinse_volume, reading.system, 'up')} in {minutes(one.rinse)} min"
    return "left to the rain" if one.surface.rinse == "leave" else ""


def _all(reading: Reading) -> tuple[Cell, ...]:
    plan, system = reading.checked.plan, reading.system
    held = any(reading.held.holds(one.run) for one in plan.work)
    mix = [part.mix for mix in plan.mixes for part in mix.parts]
    wet, rinse = [one.wet_volume for one in plan.work], [one.rinse_volume for one in plan.work]
    return (
        (Span(text="In all", strong=True),),
        _whole([volume(one, system, "up") for one in wet if one > 0]),
        _sum([one.wet for one in plan.work]) if any(wet) else "",
        _whole([volume(one, system) for one in mix]) if not held else "",
        _sum([one.apply for one in plan.work]) if mix and not held else "",
        "",
        f"{_whole([volume(one, system, 'up') for one in rinse if one > 0])} in "
        f"{_sum([one.rinse for one in plan.work])} min"
        if any(rinse)
        else "",
        "",
    )


def _sum(seconds: list[float]) -> str:
    """Minutes of all rows as they are printed, so a reader who adds them up gets the same."""
    return f"{sum(int(minutes(one).replace(',', '')) for one in seconds):,}"


def _whole(printed: list[str]) -> str:
    """The same of volumes; nothing where there are none."""
    tenths = sum(round(10 * float(one.replace(",", ""))) for one in printed)
    return "" if not printed else f"{tenths / 10:,.1f}" if tenths % 10 else f"{tenths // 10:,}"


def _trim(reading: Reading) -> str:
    """Metal and cloth the mix may wet only if it is rinsed off at once."""
    found = [f for f in reading.checked.findings if f.code == "mix.surface" and f.case == "rinse"]
    names = [f"{f.values.get('material', '')} on {f.values.get('surface', '')}" for f in found]
    return ", ".join(dict.fromkeys(names))


def _wind(reading: Reading) -> dict[str, str]:
    """The company's limits of wind; the lower stop where the mix is strong, or a roof or ladder is worked from."""
    plan, system = reading.checked.plan, reading.system
    limits = plan.input.limits

    def speed(name: str) -> str:
        return show(limits[name], "speed", system, toward="down") if name in limits else ""

    within = limits.get("trim_rinse_within")
    return {
        "wind": speed("wind_caution"),
        "gust": speed("gust_caution"),
        "wind_stop": speed(wind_stop(plan)),
        "trim_within": f"{minutes(within, 'down')} min" if within else "",
    }
