"""The first page of a yard job, enough on its own: which pump, what is done to it, go or stop, what matters."""

from __future__ import annotations

from planner.packet.blocks import Block, Code, Fields, Section, Spans, WriteIn, said
from planner.packet.findings import with_numbers
from planner.packet.pages import in_head
from planner.packet.sections.card import accepted_blocks, letters, verdict
from planner.packet.sections.facts import crew_of, emergency, weather
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.yard_safety import safety
from planner.packet.sections.yard_words import (
    role_in_yard,
    when_in_yard,
    yard_of,
)
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.plan.yard_model import YardPlan
from planner.units import System

_WORDS = {"descale": "take the scale out", "rebuild": "rebuild", "test": "test"}


def section(reading: Reading) -> Section | None:
    """The card of a yard job."""
    plan, system = reading.checked.plan, reading.system
    yard = yard_of(plan)
    if yard is None:
        return None
    places: dict[str, tuple[Block, ...]] = {
        "facts": (_facts(plan, yard, system),),
        "code": (Code(text=f"{plan.id} {plan.hash}"),),
        "verdict": (verdict(reading),),
        "emergency": (_emergency(plan),),
        "accepted": tuple(accepted_blocks(reading)),
        "letters": tuple(letters(plan)),
        **safety(reading, yard),
    }
    values = {
        "title": plan.title,
        "pump": yard.pump.name,
        "acid": "yes" if yard.bath is not None else "no",
        "notes": yard.notes or "",
        "chemical": "yes" if places["wear"] else "no",
    }
    return section_from("yard_card", template("yard_card"), values, places, role=role_in_yard(reading))


def work_words(yard: YardPlan) -> str:
    """What is done, in order: `take the scale out, rebuild, test`."""
    return ", ".join(_WORDS[work] for work in yard.works)


def _facts(plan: JobPlan, yard: YardPlan, system: System) -> Fields:
    stages = f", {_count(yard.stages, 'stage')}" if yard.stages else ""
    wetted = f"; its parts: {', '.join(yard.pump.wetted)}" if yard.pump.wetted else ""
    crew = crew_of(plan)
    rows: list[tuple[str, Spans | WriteIn]] = [
        *(() if in_head(plan.title) else (("Job", said(plan.title)),)),
        ("Pump", said(f"{yard.pump.name}, {yard.pump.kind}{stages}{wetted}.")),
        ("Work", said(f"{work_words(yard).capitalize()}.{f' Crew: {crew}.' if crew else ''}")),
        ("When", when_in_yard(plan, system)),
        ("Weather", with_numbers(weather(plan, system))),
    ]
    if yard.replace:
        rows.append(("Replace", said(f"{', '.join(yard.replace)}.")))
    return Fields(rows=tuple(rows), label=52.0)


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _emergency(plan: JobPlan) -> Fields:
    """The telephone numbers; the yard's own address to write in, for nobody finds `the yard`."""
    known = emergency(plan)
    mine = [(label, value) for label, value in known.rows if label != "We are at"]
    return Fields(rows=(("We are at", WriteIn(width=104, height=18)), *mine), label=known.label)
