"""What is asked of a record, figure by figure: what was planned beside each, and the unit a bare number is given.

That unit is the planned figure's own, as on the paper: `40 fl oz` beside `[gal]` would be taken for forty gallons.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from planner.archive.compare.differences import mix_by_side, mix_made, water_in_all, wetted
from planner.archive.compare.wear import water_flow
from planner.chemistry import hypochlorite
from planner.inputs.reading.handwriting import with_unit
from planner.inputs.record import Planned
from planner.inputs.tables.pumps import has_stages
from planner.plan.mix.model import named_mix
from planner.units import System, Toward, show, show_number
from planner.words.dates import clock_text
from planner.words.figures import bench_bucket, bucket, bucket_name
from planner.words.jugs import rest
from planner.words.measures import (
    GALLON,
    dial_number,
    gauge_number,
    in_all,
    minutes,
    minutes_between,
    poured_number,
    rounded,
    strength_number,
    volume,
    weighed,
)

_CLOCK = "By the 24 hour clock, such as `13:05`, or with am or pm, such as `1:05 pm`."
_BUCKET = "Seconds alone, such as `38`; or another bucket whole, such as `3 gal in 22 s`."
_LINES = 8  # of a bench sheet whose pump says no number of stages


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One figure: its key path, what it is, what was planned, and the unit a bare number is given (`{}` its place).

    `more` is what `?` says of it.
    """

    path: str
    about: str
    planned: str = ""
    unit: str = ""
    more: str = ""


def in_unit(text: str, unit: str) -> str:
    """An answer with the question's unit, where it has none of its own."""
    lead, _, after = unit.rpartition(" {} ")
    return with_unit(text, after, lead)


def questions(
    plan: Mapping[str, Any], planned: Planned, system: System, percent: str = "trade"
) -> Iterator[Question]:  # fmt: skip
    """Every question of a job, in the order of its page for what was done; `percent` is the company's own."""
    if planned.kind == "yard":
        yield from _of_pump(plan, planned, system)
    else:
        yield from _of_times(plan, planned, system)
        water = water_in_all(plan)
        whole, unit = in_all(water or 0.0, system)
        planned_water = f"up to {whole} {unit}" if water is not None else ""
        yield Question(path="water.used", about="Water in all", planned=planned_water, unit=unit)
        yield from _of_tap(plan["water"], system)
        for number, run in enumerate(plan["runs"], 1):
            yield from _of_run(number, run, plan, system)
        for number in range(1, len(plan["mixes"]) + 1):
            yield from _of_mix(number, plan, system, percent)
        for number, side in enumerate(plan["work"], 1):
            yield from _of_side(number, side, plan, system, several=len(plan["work"]) > 1)
        if plan["flushes"]:
            if any(flush.get("from", "hypochlorite") == "hypochlorite" for flush in plan["flushes"]):
                yield _of_residual(plan, system)
            more, about = "What a pH strip shows, such as `7`.", "pH at the tip after the flush"
            yield Question(path="flush.ph", about=about, planned="6 to 8", more=more)
    yield Question(path="deviations", about="What went otherwise, and why")
    yield Question(path="after", about="Plants, glass, property, leftovers")
    yield Question(path="callbacks", about="What the customer rang about since")
    yield Question(
        path="cost", about="What it came to, in words", more="Such as `6 gal bleach, 5.5 hours`, or `$62.50`."
    )
    yield Question(path="spent", about="What it came to in money", more="Such as `312.50`; it is added up over jobs.")
    yield Question(path="hours", about="Hours of all hands together", unit="h")
    yield Question(path="signed", about="Signed, lead")
    yield Question(path="signed_at", about="Date and time signed")
    if planned.kind == "yard":
        yield from _of_stages(plan)


def _of_times(plan: Mapping[str, Any], planned: Planned, system: System) -> Iterator[Question]:
    at: dict[str, float] = {}
    sides = {surface for surface, _ in planned.sides}
    for number, span in enumerate(plan["time"]):
        if span["start_s"] is None:
            at.clear()
            break
        road = number == 0 and span["what"] == "drive"  # a surface may be called so too
        if not road:
            at.setdefault("arrived", span["start_s"])
        if span["what"] in sides and not road:
            at.setdefault("first_mix", span["start_s"])
        end = span["start_s"] + span["seconds"]
        at["left"] = end
        if span["what"] == "flush":
            at["flushed"] = end
    for key, about in (("arrived", "Arrived"), ("first_mix", "First spray"), ("flushed", "Flushed"), ("left", "Left")):
        planned_at = clock_text(at[key], system) if key in at else ""
        yield Question(path=f"times.{key}", about=about, planned=planned_at, more=_CLOCK)


def _of_tap(water: Mapping[str, Any] | None, system: System) -> Iterator[Question]:
    """The bucket at the tap; plans kept before they named their source are asked too."""
    if water is None or water.get("source", "tap") not in ("tap", "hydrant"):
        return
    flow = water.get("tap_m3_per_s")
    yield Question(
        path="water.tap",
        about="Bucket at the open tap",
        planned=bucket(flow, system) if flow else "",
        unit=f"{bucket_name(system)} in {{}} s",
        more=_BUCKET,
    )


def _of_residual(plan: Mapping[str, Any], system: System) -> Question:
    """What the strip at the tip should read: the least any flush at the job's end aims at."""
    after = [flush["target_mg_per_l"] for flush in plan["flushes"] if flush["when"] == "after"]
    target = min((one for one in after if one is not None), default=None)
    planned, unit = _number(target * 1e-3 if target is not None else None, "concentration", system, "down")
    more = "What the strip reads, such as `2`; `<1` where it reads less than its lowest mark."
    about = "Chlorine at the tip after the flush"
    return Question(path="flush.residual", about=about, planned=planned, unit=unit, more=more)


def _timed_bucket(plan: Mapping[str, Any], run: str) -> float | None:
    """The bucket [m3] that the plan's own acts have a run timed with; None where they have none of it timed."""
    for act in (plan.get("procedure") or {}).get("acts") or ():
        timed = act["act"] == "spray" and act["run"] == run and (act["expect"] or {}).get("what") == "bucket"
        if timed:
            return float(act["m3"])
    return None


def _of_run(number: int, run: Mapping[str, Any], plan: Mapping[str, Any], system: System) -> Iterator[Question]:
    name, path = run["name"], f"readings.{number}"
    for key, about, value in (
        ("gauge_open", "gauge open", run["pump_pressure_pa"]),
        ("gauge_closed", "gauge closed", closed_of(run)),
    ):
        planned, unit = _gauge(value, system)
        yield Question(path=f"{path}.{key}", about=f"{name}: {about}", planned=planned, unit=unit)
    flow, held = water_flow(run), _timed_bucket(plan, name)
    planned = bucket(flow, system, held) if flow else ""
    unit = f"{bucket_name(system, held)} in {{}} s"
    hood = run.get("tip_pattern") == "surface_cleaner"  # nothing is caught from under it, and it throws nowhere
    if not hood:
        yield Question(path=f"{path}.bucket", about=f"{name}: bucket", planned=planned, unit=unit, more=_BUCKET)
    planned, unit = _number(run["reach_m"], "length", system, "down")
    yield Question(path=f"{path}.jet", about=f"{name}: jet gets to", planned=planned, unit=unit)
    if not hood:
        yield Question(path=f"{path}.throw", about=f"{name}: throw along the ground", unit=unit)


def closed_of(run: Mapping[str, Any]) -> float | None:
    """What the gauge shows with the gun closed [Pa], where it sits, as on the paper."""
    gauge = next((joint for joint in run.get("joints", ()) if joint["name"] == "gauge"), None)
    found: float | None = gauge["closed_pa"] if gauge is not None else run["shut_off_pressure_pa"]
    return found


def _of_mix(number: int, plan: Mapping[str, Any], system: System, percent: str) -> Iterator[Question]:
    mix, name = plan["mixes"][number - 1], named_mix(plan, number)
    path, gallons = f"mixes.{number}", _unit("volume", system)
    tested, unit = _strength(mix["strength_today_g_per_l"], mix["stock"], percent)
    about, more = f"{name}: stock test", "What the strip or the titration of the stock read."
    yield Question(path=f"{path}.stock_test", about=about, planned=tested, unit=unit, more=more)
    if mix["setting"].get("dial") is not None:
        dial = dial_number(mix["setting"]["dial"], long=mix["setting"]["dial"] > 30.0)
        yield Question(path=f"{path}.dial", about=f"{name}: dial", planned=dial)
    used, unit = _used(mix, system)
    yield Question(path=f"{path}.stock_used", about=f"{name}: stock used", planned=used, unit=unit)
    if mix["batches"]:
        tankfuls = str(len(mix["batches"]))
        yield Question(path=f"{path}.batches", about=f"{name}: tankfuls mixed", planned=tankfuls)
        made, unit = _volume(mix_made(mix), system)
        yield Question(path=f"{path}.mix_made", about=f"{name}: mix made", planned=made, unit=unit)
    jug = mix.get("jug_left_m3")
    if jug is not None:
        told, unit = _jug_left(mix, system)
        about, more = f"{name}: left in the jug", "What stood in it once the draw test was read."
        yield Question(path=f"{path}.jug_left", about=about, planned=told, unit=unit, more=more)
    left = mix.get("left_over_m3") or 0.0
    over, unit = _volume(left, system, "up") if left > 1e-9 else (f"0 {gallons}", gallons)
    yield Question(path=f"{path}.left", about=f"{name}: left over", planned=over, unit=unit)


def _jug_left(mix: Mapping[str, Any], system: System) -> tuple[str, str]:
    """What the draw test leaves, as the step that reads it has it; of plans kept before they had the test, as then."""
    test = mix.get("jug_test")
    if test is None:
        number, unit = rounded(mix["jug_left_m3"], "volume", system, "up")
    else:
        parts = [(part["what"], part["m3"]) for part in test["filled"]]
        low, high = test["down_between_m3"]
        left = rest(parts, test["down_m3"], (low, high), system, active=test["soap_thins"])
        number, unit = left.number, left.unit
    return f"{number} {unit}", unit


def _strength(grams: float | None, chemical: str, percent: str) -> tuple[str, str]:
    """A stock's planned strength [g/L] in the unit its test is written in."""
    number, unit = strength_number(grams or 1.0, chemical, percent, "down", caustic=hypochlorite.USUAL_CAUSTIC)
    return (f"{number} {unit}" if grams else ""), unit


def _used(mix: Mapping[str, Any], system: System) -> tuple[str, str]:
    """Stock to be used, as the page for what was done has it."""
    if mix["stock_kg"] is not None:
        told = weighed(mix["stock_kg"], system, "down")
        return told, told.rpartition(" ")[2]
    if not mix["stock_m3"]:
        return "", _unit("volume", system)
    number, unit = poured_number(mix["stock_m3"], system, "down")
    return f"{number} {unit}", unit


def _of_side(
    number: int, side: Mapping[str, Any], plan: Mapping[str, Any], system: System, *, several: bool
) -> Iterator[Question]:  # fmt: skip
    name = f"{side.get('side') or side['surface']}, {side['run']}"
    path, gallons = f"sides.{number}", _unit("volume", system)
    least, most = (seconds or 0.0 for seconds in side["dwell_s"])
    dwell = f"{minutes_between(least, most)} min" if most else ""

    def water(value: float | None) -> str:
        return f"{volume(value, system, 'up')} {gallons}" if value else ""

    first, sections = side.get("first_mix_s"), str(side.get("sections") or "")
    if most and several:  # of one side alone the job's own time says it
        at = clock_text(first, system) if first is not None else ""
        yield Question(path=f"{path}.first_mix", about=f"{name}: first mix on it", planned=at, more=_CLOCK)
    yield Question(path=f"{path}.sections", about=f"{name}: in how many sections", planned=sections)
    yield Question(path=f"{path}.wet", about=f"{name}: wet", planned=water(wetted(plan, side)), unit=gallons)
    if most:
        own = mix_by_side(plan).get((side["surface"], side["run"]))
        mixed = f"{volume(own, system)} {gallons}" if own else ""
        yield Question(path=f"{path}.mix", about=f"{name}: mix", planned=mixed, unit=gallons)
        yield Question(path=f"{path}.dwell", about=f"{name}: dwell", planned=dwell, unit="min")
    yield Question(path=f"{path}.rinse", about=f"{name}: rinse", planned=water(side["rinse_m3"]), unit=gallons)


def _of_pump(plan: Mapping[str, Any], planned: Planned, system: System) -> Iterator[Question]:
    """Times, parts, and the test before and after; plans kept before baths were worked out are asked too."""
    yield from (
        Question(path=one.path, about=about, planned=one.planned, more=one.more)
        for one in _of_times(plan, planned, system)
        if (about := {"times.arrived": "Begun", "times.left": "Over"}.get(one.path))
    )
    bath = plan.get("bath")
    soak = f"{minutes(bath['soak_s'], 'down')} min" if bath is not None else ""
    yield Question(path="pump.bath", about="Time in the bath", planned=soak, unit="min")
    spacers = "Such as `2 thin, none, 1 thick`; or by number of the stage, `4: thick`."
    yield Question(path="pump.spacers", about="Spacers from the root of the shaft, with commas", more=spacers)
    parts = ", ".join((plan.get("yard") or {}).get("replace", ()))
    more = "Such as `shaft seal, diffuser plates`."
    yield Question(path="pump.replaced", about="Parts replaced, with commas", planned=parts, more=more)
    more = "Such as `impellers, shaft`."
    yield Question(path="pump.checked", about="Parts looked at and kept, with commas", more=more)
    test = (plan.get("yard") or {}).get("throw") or {}
    volume_of, size = bench_bucket(test.get("bucket_m3"), system)
    whens = (
        ("before", "throw_before", "gauge_before", "bucket_before"),
        ("after", "throw_after", "gauge_closed", "bucket"),
    )
    for when, throw, gauge, timed in whens:
        shown = test.get(when) or {}
        flow = shown.get("flow_m3_per_s")
        far, unit = _number(shown.get("ground_m"), "length", system, "down")
        yield Question(path=f"pump.{throw}", about=f"Throw {when}", planned=far, unit=unit)
        closed, unit = _gauge(shown.get("gauge_closed_pa"), system)
        yield Question(path=f"pump.{gauge}", about=f"Gauge closed, {when}", planned=closed, unit=unit)
        seconds, unit = f"{size} in {round(volume_of / flow)} s" if flow else "", f"{size} in {{}} s"
        yield Question(path=f"pump.{timed}", about=f"Bucket {when}", planned=seconds, unit=unit, more=_BUCKET)


def _of_stages(plan: Mapping[str, Any]) -> Iterator[Question]:
    """Every line of the bench sheet, last: who wrote spacers and parts above ends with a dot."""
    yard = plan.get("yard") or {}
    if not {"descale", "rebuild"} & set(yard.get("work", ())):
        return
    stages = yard.get("stages") if has_stages(yard.get("kind")) else None
    what = "Stage" if stages else "Line"
    keys: tuple[tuple[str, str], ...] = (
        ("spacer", "spacer"), ("plate", "plate"), ("part", "other part"), ("cost", "cost"),
    )  # fmt: skip
    if not stages:
        keys = (("part", "which part"), ("spacer", "spacer"), ("plate", "how it was found"), ("cost", "cost"))
    if not has_stages(yard.get("kind")):
        keys = tuple(pair for pair in keys if pair[0] != "spacer")
    for number in range(1, (stages or max(_LINES, len(yard.get("spacers", ())))) + 1):
        for key, about in keys:
            yield Question(path=f"pump.stages.{number}.{key}", about=f"{what} {number}: {about}")


def _unit(dimension: str, system: System) -> str:
    return show_number(1.0, dimension, system)[1]


def _gauge(value: float | None, system: System) -> tuple[str, str]:
    """A planned pressure with its unit, as a gauge is read, nothing where none was planned; and the unit apart."""
    number, unit = gauge_number(value or 0.0, system)
    return (f"{number} {unit}" if value is not None else ""), unit


def _volume(value: float | None, system: System, toward: Toward = "near") -> tuple[str, str]:
    """The same of a volume."""
    number, unit = rounded(value or GALLON, "volume", system, toward)
    return (f"{number} {unit}" if value is not None else ""), unit


def _number(value: float | None, dimension: str, system: System, toward: Toward = "near") -> tuple[str, str]:
    """A planned figure with its unit, nothing where none was planned; and the unit apart."""
    if value is None:
        return "", _unit(dimension, system)
    return show(value, dimension, system, toward=toward), show_number(value, dimension, system, toward=toward)[1]
