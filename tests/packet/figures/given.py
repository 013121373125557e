"""What a packet may say that is no figure of the plan: what was written, limits, the wording's own numbers, counts."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from planner.checks.model import CheckedJob
from planner.inputs.tables.defaults import default
from planner.inputs.tables.whole import limit_rows
from planner.locate import data_file, templates
from planner.plan.model import JobPlan
from planner.units import System, read
from tests.packet.figures.known import Known, Toward, number_of
from tests.packet.figures.read import Phrase, figures


def some(name: str, value: Any, family: str, *sides: Toward, how: Any = "plain") -> Iterator[Known]:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        for toward in sides or ("near",):
            yield Known(name=name, value=float(value), family=family, toward=toward, how=how)


def get(part: Any, *names: str) -> Any:
    for name in names:
        if part is None:
            return None
        part = part.get(name) if isinstance(part, dict) else getattr(part, name, None)
    return part


def inputs(plan: JobPlan) -> Iterator[Known]:
    """What somebody wrote and a page repeats: distances no longer, tanks no fuller, wind no weaker than written."""
    given = plan.input
    for surface in given.surfaces:
        yield from some(f"input.surface[{surface.name}].area", surface.area, "area")
        yield from some(f"input.surface[{surface.name}].section", get(surface.row, "section"), "area", "down")
        if surface.strength is not None:
            yield from _written(f"input.surface[{surface.name}].strength", surface.strength)
    for run in given.runs:
        yield from _of_run(run)
    water = given.water
    yield from some("input.water.static", water.static, "pressure")
    yield from some("input.water.residual", water.residual, "pressure")
    yield from some("input.water.test_flow", water.test_flow, "flow", "down")
    yield from some("input.water.temperature", water.temperature, "temperature")
    yield from some("input.water.chlorine", water.chlorine, "concentration", "near", "up")
    yield from some("input.water.level", abs(water.level) if water.level is not None else None, "length")
    forecast = get(given.day, "forecast")
    for key, side in (("low", "down"), ("high", "up"), ("wind", "up"), ("gust", "up")):
        family = "speed" if key in ("wind", "gust") else "temperature"
        yield from some(f"input.forecast.{key}", get(forecast, key), family, side)  # type: ignore[arg-type]
    yield from some("input.forecast.chance", get(forecast, "rain", "chance"), "fraction", "up")
    yield from some("input.forecast.rain", get(forecast, "rain", "start"), "clock", how="minute")
    yield from some("input.leave_yard", get(given.day, "leave_yard"), "clock", how="minute")
    for tank in get(given.rig, "tanks") or ():
        yield from some(f"input.tank[{tank.name}].volume", tank.volume, "volume", "down")
        yield from some(f"input.tank[{tank.name}].dead", tank.dead_volume, "volume", "up")
    for key, family, side in (
        ("fish_pond", "length", "down"), ("stream", "length", "down"), ("well", "length", "down"), ("cars", "length", "down"),
        ("rain_barrel", "length", "down"), ("storm_drain", "length", "down"), ("flower_beds", "area", "up"),
        ("downspouts", "count", "near"),
    ):  # fmt: skip
        yield from some(f"input.near.{key}", get(given.job, "near", key), family, side)  # type: ignore[arg-type]
    yield from some("input.near.flower_beds", get(given.job, "near", "flower_beds"), "area", "near")
    for key in ("power_line", "ladder"):
        yield from some(f"input.access.{key}", get(given.job, "access", key), "length", "down")
    yield from some("input.roof.eave", get(given.job, "access", "roof_work", "eave"), "length", "up")
    yield from some("input.building", get(given.job, "building", "height"), "length", "near", "up")
    for lot in given.lots:
        yield from some(f"input.lot[{lot.name}].container", get(lot, "container", "volume"), "volume")
        for strength in (lot.strength, get(lot, "tested", "strength")):
            if strength is not None:
                yield from _written(f"input.lot[{lot.name}].strength", strength)
    for use in given.chemicals:
        yield from some(f"input.dose[{use.stock}]", use.dose, "dose")


def laid_out(plan: JobPlan) -> Iterator[Known]:
    """Hose that is laid out at once, for one run or for some that follow each other."""
    off = [sum(hose.length for hose in run.hoses) - run.on_reel for run in plan.input.runs]
    for begin in range(len(off)):
        for end in range(begin + 1, len(off) + 1):
            yield from some("derived.laid_out", sum(off[begin:end]), "length", "up")


def _of_run(run: Any) -> Iterator[Known]:
    name = f"input.run[{run.name}]"
    length = sum(hose.length for hose in run.hoses)
    yield from some(f"{name}.length", length, "length")
    yield from some(f"{name}.off_reel", length - run.on_reel, "length")
    so_far = 0.0
    for hose in run.hoses:
        so_far += hose.length
        yield from some(f"{name}.hose[{hose.name}].length", hose.length, "length")
        yield from some(f"{name}.hose[{hose.name}].so_far", so_far, "length")
        yield from some(f"{name}.hose[{hose.name}].roughness", hose.roughness, "length")
        yield from bored(f"{name}.hose[{hose.name}].bore", hose.bore)
    yield from bored(f"{name}.orifice", get(run.tip, "orifice"))
    for key in ("standoff", "on_reel", "past_eave", "tip_height"):
        yield from some(f"{name}.{key}", getattr(run, key), "length")
    yield from some(f"{name}.uphill", abs(run.uphill), "length")
    yield from some(f"{name}.feed_head", run.feed_head, "length")
    # Low work asks no height: the card rounds the target itself up.
    yield from some(f"{name}.target", run.target, "length", "up")
    for fitting in run.fittings:
        yield from some(f"{name}.fittings", fitting.count, "count", how="exact")
    yield from some(f"{name}.cord.gauge", get(run.pump, "motor", "cord", "gauge"), "gauge", how="exact")
    yield from some(f"{name}.cord.length", get(run.pump, "motor", "cord", "length"), "length")
    if run.pump is not None:
        yield from some(f"{name}.crank", round(60.0 * default("plunger_speed")), "count", how="exact")
    yield from some(f"{name}.unloader", get(run.pump, "unloader"), "pressure", "up")
    yield from some(f"{name}.ratio", get(run.dosing, "water_to_stock"), "ratio", how="exact")
    yield from some(f"{name}.ratio", get(run.dosing, "water_to_stock"), "count", how="exact")
    for point in get(run.dosing, "dial") or ():
        yield from some(f"{name}.dial.setting", point.setting, "count", how="exact")
        yield from some(f"{name}.dial.share", point.share, "fraction")


def bored(name: str, bore: Any) -> Iterator[Known]:
    """A bore as it is sold: within half a percent, so 19 mm for three quarters of an inch."""
    if isinstance(bore, (int, float)):
        yield Known(name=name, value=bore, family="length", how="bore")
        yield Known(name=name, value=round(bore * 1000) / 1000, family="length", how="exact")


def _written(name: str, given: Any) -> Iterator[Known]:
    basis = {"trade": "trade %", "wt": "wt %", "vol": "vol %", "g_l": "g/L", "g_l_cl2": "g/L"}.get(given.basis)
    if basis is not None:
        # A lot of hypochlorite is said as strong as it is today, not as it was written.
        yield Known(name=name if basis != "trade %" else f"{name}_then", value=given.amount, family=basis)
    if given.basis == "vol" and given.amount:
        yield Known(name=name, value=100.0 / given.amount - 1.0, family="count")
        yield Known(name=name, value=1.0, family="count", how="exact")
        yield Known(name=name, value=round(100.0 / given.amount - 1.0, 6), family="ratio", how="exact")


def limits(plan: JobPlan) -> Iterator[Known]:
    """Limits as the company holds them; a distance to keep goes up, a wind to stop at down."""
    families = {"number": "count", "dip": "length", "head": "length"}
    for name, row in limit_rows().items():
        family = families.get(row.dimension, row.dimension)
        sides: tuple[Toward, ...] = ("up",) if row.looser == "lower" else ("down",)
        yield from some(f"limit.{name}", plan.input.limits.get(name, row.value), family, *sides)


def wording(sheet: str, system: System) -> Iterator[Known]:
    """Numbers that stand in the wording itself: `stir 2 min`, `within 10 s`; and those of the rows on hazards."""
    texts = [_template(sheet)]
    if sheet in ("safety", "yard_safety", "yard_test", "worksheet"):
        texts.append(data_file("hazards.yaml").read_text(encoding="utf-8"))
    if sheet.startswith("yard_"):
        texts += [
            _template("yard_acts"),
            _template("acts"),
            data_file("acts.yaml").read_text(encoding="utf-8").replace("**", ""),
        ]
    for figure in figures([Phrase(sheet=sheet, text=text) for text in texts], (), lambda _: False):
        if figure.unit in ("", "min", "s", "mg/L", "ft", "%", "mL", "L"):
            family = {"": "count", "min": "time", "s": "time", "mg/L": "concentration", "ft": "length", "%": "fraction",
                      "mL": "volume", "L": "volume"}  # fmt: skip
            value = float(number_of(figure.number))
            if figure.unit:
                value = read(f"{figure.number} {figure.unit}", family[figure.unit])
            yield Known(name=f"wording.{sheet}", value=value, family=family[figure.unit], how="exact")
    for number in (6.0, 8.0):  # the strip's reading that passes for water
        yield Known(name="wording.ph", value=number, family="count", how="exact")
    # The bucket and the jug a figure is told by, and how far a stick may be off: the sections' own round numbers.
    tools = ("5 gal", "1 gal", "1/8 in", "1/4 in") if system == "us" else ("20 L", "10 L", "3 mm", "6 mm")
    for text in tools:
        size = "length" if text.endswith(("in", "mm")) else "volume"
        yield Known(name="wording.tool", value=read(text, size), family=size, how="exact")


@lru_cache(maxsize=32)
def _template(sheet: str) -> str:
    path = templates() / f"{sheet}.md"
    text = path.read_text(encoding="utf-8") if path.is_file() else ""
    text = re.sub(r"\{#.*?#\}|\{%.*?%\}|^@.*?$", " ", text, flags=re.DOTALL | re.MULTILINE)
    return text.replace("**", "").replace("{{", "@").replace("}}", "@")


def counts(checked: CheckedJob) -> Iterator[Known]:
    """How many there are of a thing, and which one of them: bare whole numbers."""
    plan = checked.plan
    whole: list[tuple[str, int]] = [("table.rows", 0)]
    levels = [finding.level for finding in checked.findings]
    whole += [(f"count.{level}", levels.count(level)) for level in ("ok", "caution", "stop", "none")]
    open_ = [finding.level for finding in checked.findings if finding.accepted is None]
    whole += [(f"count.open_{level}", open_.count(level)) for level in ("caution", "stop")]
    whole += [("count.accepted", len(checked.findings) - len(open_)), ("count.runs", len(plan.runs))]
    whole += [("count.place", n) for n in plan.input.place_in_day or ()]
    whole += [("count.batch", n) for mix in plan.mixes for n in range(1, len(mix.batches) + 1)]
    whole += [("count.hoses", len(run.input.hoses)) for run in plan.runs]
    spouts = int(get(plan.input.job, "near", "downspouts") or 0)
    whole += [("count.spouts", n) for n in range(1, spouts + 1)]
    # What is closest to its limit tells at least three of the stops and cautions that differ, and counts the rest.
    worse = len({(one.level, one.code, one.about) for one in checked.findings if one.level in ("stop", "caution")})
    whole += [("count.under_every_check", n) for n in range(1, worse - 2)]
    date = plan.input.date
    whole += [("count.date", date.day), ("count.date", date.year)] if date is not None else []
    crew = get(plan.input.day, "crew")
    whole += [("count.crew", crew.count)] if crew is not None else []
    for name, number in whole:
        yield Known(name=name, value=float(number), family="count", how="exact")


def road_spans(plan: JobPlan) -> int:
    """How many of the spans are the way there: the first at most, for a surface may be called `drive` too."""
    return 1 if plan.time and plan.time[0].what == "drive" else 0
