"""A record asked for on the terminal, figure by figure: what was planned stands beside each, a blank is not written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from planner.commands.record_sources import Source, from_answers
from planner.inputs.handwriting import is_blank, with_unit
from planner.inputs.record import Planned
from planner.packet.figures import BUCKET, BUCKET_SI, bucket
from planner.packet.measures import clock_text, poured, volume
from planner.units import System, show, show_number

_ANSWERS = "your answers"
_LINES = 8  # of a bench sheet whose pump says no number of stages


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One figure: its key path, what it is, what was planned, and the unit a bare number is given (`{}` its place)."""

    path: str
    about: str
    planned: str = ""
    unit: str = ""


def ask(plan: Mapping[str, Any], planned: Planned, system: System, revision: int) -> tuple[Source, bool] | None:
    """The record somebody types in, and whether they want it kept; None where nothing was written.

    `revision` is the one the archive holds, 0 for none. An end of input stops the questions and keeps the answers.
    """
    print(f"{planned.job}  {plan['title']}, plan {plan['plan']}")
    if revision:
        print(f"Revision {revision} is in the archive; what you write now becomes revision {revision + 1}.")
    print("Write what was done; a number alone takes the unit shown. Enter leaves it blank, a dot ends the questions.")
    answers: dict[str, str] = {}
    labels: dict[str, str] = {}
    ended = False
    for question in questions(plan, planned, system):
        labels[question.path] = question.about
        text = _answer(question)
        if text is None:
            ended = True
            break
        if text:
            answers[question.path] = text
    if not answers:
        return None
    whole = {"job": planned.job, "plan": str(plan["plan"]), **answers}
    count = len(answers)
    which = f"these {count} answers" if count > 1 else "this answer"
    kept = _yes(f"Keep {which} as the record? [Y/n] ", ended)
    return from_answers(whole, "typed in", _ANSWERS, labels), kept


def _yes(prompt: str, ended: bool) -> bool:
    """The answer; where the input itself has ended, no: nobody is there to agree."""
    try:
        return input(prompt).strip().lower() in ("", "y", "yes")
    except (EOFError, KeyboardInterrupt):
        print()
        return False


def _answer(question: Question) -> str | None:
    """One good answer, empty for a blank; None where the questions are to end."""
    unit = f" [{question.unit.replace('{}', '..')}]" if question.unit else ""
    planned = f", planned {question.planned}" if question.planned else ""
    while True:
        try:
            text = input(f"{question.about}{planned}{unit}: ").strip()
        except (EOFError, KeyboardInterrupt):
            print()
            return None
        if text == ".":
            return None
        if is_blank(text):
            return ""
        given = in_unit(text, question.unit)
        faults = from_answers({"job": "asked", question.path: given}, _ANSWERS, _ANSWERS).read.faults
        if not faults:
            return given
        for fault in faults:
            print(f"  {fault.message}; {fault.remedy}")


def in_unit(text: str, unit: str) -> str:
    """An answer with the question's unit, where it has none of its own."""
    lead, _, after = unit.rpartition(" {} ")
    return with_unit(text, after, lead)


def questions(plan: Mapping[str, Any], planned: Planned, system: System) -> Iterator[Question]:
    """Every question of a job, in the order of its page for what was done."""
    if planned.kind == "yard":
        yield from _of_pump(plan, planned, system)
    else:
        yield from _of_times(plan, planned)
        water = plan["water"]["need_m3"] if plan["water"] is not None else None
        yield Question(
            path="water.used",
            about="Water in all",
            planned=_shown(water, "volume", system, "up"),
            unit=_unit("volume", system),
        )
        yield from _of_tap(plan["water"], system)
        for number, run in enumerate(plan["runs"], 1):
            yield from _of_run(number, run, system)
        for number, mix in enumerate(plan["mixes"], 1):
            yield from _of_mix(number, mix, system)
        for number, side in enumerate(plan["work"], 1):
            yield from _of_side(number, side, system)
        if plan["flushes"]:
            yield Question(path="flush.residual", about="Chlorine at the tip after the flush", unit="mg/L")
            yield Question(path="flush.ph", about="pH at the tip after the flush")
    yield Question(path="deviations", about="What went otherwise, and why")
    yield Question(path="after", about="Plants, glass, property, leftovers")
    yield Question(path="callbacks", about="What the customer rang about since")
    yield Question(path="cost", about="What it came to, in words")
    yield Question(path="spent", about="What it came to in money")
    yield Question(path="hours", about="Hours of all hands together", unit="h")
    yield Question(path="signed", about="Signed, lead")
    yield Question(path="signed_at", about="Date and time signed")
    if planned.kind == "yard":
        yield from _of_stages(plan)


def _of_times(plan: Mapping[str, Any], planned: Planned) -> Iterator[Question]:
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
    first = "First mix" if plan["mixes"] else "First jet"
    for key, about in (("arrived", "Arrived"), ("first_mix", first), ("flushed", "Flushed"), ("left", "Left")):
        yield Question(path=f"times.{key}", about=about, planned=clock_text(at[key]) if key in at else "")


def _of_tap(water: Mapping[str, Any] | None, system: System) -> Iterator[Question]:
    """The bucket at the tap; plans kept before they named their source are asked too."""
    if water is None or water.get("source", "tap") not in ("tap", "hydrant"):
        return
    flow = water.get("tap_m3_per_s")
    size = "5 gal" if system == "us" else "20 L"
    yield Question(
        path="water.tap",
        about="Bucket at the open tap",
        planned=bucket(flow, system) if flow else "",
        unit=f"{size} in {{}} s",
    )


def _of_run(number: int, run: Mapping[str, Any], system: System) -> Iterator[Question]:
    name, path = run["name"], f"readings.{number}"
    pressure, length = _unit("pressure", system), _unit("length", system)
    open_, closed = run["pump_pressure_pa"], run["shut_off_pressure_pa"]
    gauges = (("gauge_open", "gauge open", open_), ("gauge_closed", "gauge closed", closed))
    for key, about, value in gauges:
        planned = _shown(value, "pressure", system)
        yield Question(path=f"{path}.{key}", about=f"{name}: {about}", planned=planned, unit=pressure)
    size = "5 gal" if system == "us" else "20 L"
    flow = run["flow_m3_per_s"]
    planned = bucket(flow, system) if flow else ""
    yield Question(path=f"{path}.bucket", about=f"{name}: bucket", planned=planned, unit=f"{size} in {{}} s")
    jet = _shown(run["reach_m"], "length", system, "down")
    yield Question(path=f"{path}.jet", about=f"{name}: jet gets to", planned=jet, unit=length)
    yield Question(path=f"{path}.throw", about=f"{name}: throw along the ground", unit=length)


def _of_mix(number: int, mix: Mapping[str, Any], system: System) -> Iterator[Question]:
    name, path, gallons = f"{mix['stock']}, {mix['run']}", f"mixes.{number}", _unit("volume", system)
    strength = mix["strength_today_g_per_l"]
    bleach = mix["stock"] == "hypochlorite"
    tested = f"{show_number(strength / 10.0 if bleach else strength, 'number', 'us', step=0.1)[0]}" if strength else ""
    label = "trade %" if bleach else "g/L"
    planned = f"{tested} {label}" if tested else ""
    yield Question(path=f"{path}.stock_test", about=f"{name}: stock test", planned=planned, unit=label)
    if mix["setting"].get("dial") is not None:
        dial = show_number(mix["setting"]["dial"], "number", "us", step=0.01)[0]
        yield Question(path=f"{path}.dial", about=f"{name}: dial", planned=dial)
    if mix["stock_kg"] is not None:
        planned, unit = _shown(mix["stock_kg"], "mass", system), _unit("mass", system)
    else:
        planned, unit = (poured(mix["stock_m3"], system) if mix["stock_m3"] else ""), gallons
    yield Question(path=f"{path}.stock_used", about=f"{name}: stock used", planned=planned, unit=unit)
    if mix["batches"]:
        tankfuls = str(len(mix["batches"]))
        yield Question(path=f"{path}.batches", about=f"{name}: tankfuls mixed", planned=tankfuls)
        made = _shown(mix["mix_m3"], "volume", system)
        yield Question(path=f"{path}.mix_made", about=f"{name}: mix made", planned=made, unit=gallons)
    yield Question(path=f"{path}.left", about=f"{name}: left over", planned="0", unit=gallons)


def _of_side(number: int, side: Mapping[str, Any], system: System) -> Iterator[Question]:
    name, path, gallons = f"{side['surface']}, {side['run']}", f"sides.{number}", _unit("volume", system)
    least, most = (round((seconds or 0.0) / 60.0) for seconds in side["dwell_s"])
    dwell = f"{least} to {most} min" if most else ""

    def water(value: float | None) -> str:
        return f"{volume(value, system, 'up')} {gallons}" if value else ""

    yield Question(path=f"{path}.wet", about=f"{name}: wet", planned=water(side["wet_m3"]), unit=gallons)
    if most:
        yield Question(path=f"{path}.mix", about=f"{name}: mix", unit=gallons)
        yield Question(path=f"{path}.dwell", about=f"{name}: dwell", planned=dwell, unit="min")
    yield Question(path=f"{path}.rinse", about=f"{name}: rinse", planned=water(side["rinse_m3"]), unit=gallons)


def _of_pump(plan: Mapping[str, Any], planned: Planned, system: System) -> Iterator[Question]:
    """Times, parts, and the test before and after; plans kept before baths were worked out are asked too."""
    length, pressure = _unit("length", system), _unit("pressure", system)
    yield from (
        Question(path=one.path, about=about, planned=one.planned)
        for one in _of_times(plan, planned)
        if (about := {"times.arrived": "Begun", "times.left": "Over"}.get(one.path))
    )
    bath = plan.get("bath")
    soak = _shown(bath["soak_s"], "time", system, "down") if bath is not None else ""
    yield Question(path="pump.bath", about="Time in the bath", planned=soak, unit="min")
    yield Question(path="pump.spacers", about="Spacers from the root of the shaft, with commas")
    planned_parts = ", ".join((plan.get("yard") or {}).get("replace", ()))
    yield Question(path="pump.replaced", about="Parts replaced, with commas", planned=planned_parts)
    yield Question(path="pump.checked", about="Parts looked at and kept, with commas")
    test = (plan.get("yard") or {}).get("throw") or {}
    size, volume_of = ("5 gal", BUCKET) if system == "us" else ("20 L", BUCKET_SI)
    whens = (
        ("before", "throw_before", "gauge_before", "bucket_before"),
        ("after", "throw_after", "gauge_closed", "bucket"),
    )
    for when, throw, gauge, timed in whens:
        shown = test.get(when) or {}
        flow = shown.get("flow_m3_per_s")
        far = _shown(shown.get("ground_m"), "length", system, "down")
        yield Question(path=f"pump.{throw}", about=f"Throw {when}", planned=far, unit=length)
        closed = _shown(shown.get("gauge_closed_pa"), "pressure", system)
        yield Question(path=f"pump.{gauge}", about=f"Gauge closed, {when}", planned=closed, unit=pressure)
        seconds = f"{size} in {round(volume_of / flow)} s" if flow else ""
        yield Question(path=f"pump.{timed}", about=f"Bucket {when}", planned=seconds, unit=f"{size} in {{}} s")


def _of_stages(plan: Mapping[str, Any]) -> Iterator[Question]:
    """Every line of the bench sheet, last: who wrote spacers and parts above ends with a dot."""
    yard = plan.get("yard") or {}
    if not {"descale", "rebuild"} & set(yard.get("work", ())):
        return
    stages = yard.get("stages") if yard.get("kind") == "centrifugal" else None
    what = "Stage" if stages else "Line"
    keys: tuple[tuple[str, str], ...] = (
        ("spacer", "spacer"), ("plate", "plate"), ("part", "other part"), ("cost", "cost"),
    )  # fmt: skip
    if not stages:
        keys = (("part", "which part"), ("spacer", "spacer"), ("plate", "how it was found"), ("cost", "cost"))
    if yard.get("kind") != "centrifugal":
        keys = tuple(pair for pair in keys if pair[0] != "spacer")
    for number in range(1, (stages or max(_LINES, len(yard.get("spacers", ())))) + 1):
        for key, about in keys:
            yield Question(path=f"pump.stages.{number}.{key}", about=f"{what} {number}: {about}")


def _unit(dimension: str, system: System) -> str:
    return show_number(1.0, dimension, system)[1]


def _shown(value: float | None, dimension: str, system: System, toward: Any = "near") -> str:
    return show(value, dimension, system, toward=toward) if value is not None else ""
