"""The first page of a yard job, enough on its own: which pump, what is done to it, go or stop, what matters."""

from __future__ import annotations

from planner.packet.blocks import Block, Code, Fields, Gap, HoldList, KeyFigures, Section, Spans, Tile, WriteIn, said
from planner.packet.dates import long_date
from planner.packet.figures import bench_bucket
from planner.packet.findings import with_numbers
from planner.packet.measures import gauge, gauge_number, in_parts, minutes, poured, poured_number, timed, weighed
from planner.packet.pages import in_head
from planner.packet.sections.card import accepted_blocks, letters, verdict
from planner.packet.sections.facts import crew_of, emergency, place_in_day, weather
from planner.packet.sections.hours import clock, on_site
from planner.packet.sections.reading import Reading, spoken, template
from planner.packet.sections.yard_words import (
    bath_name,
    hand_words,
    lot_today,
    lots_words,
    opened,
    pours_bath,
    when_in_yard,
    yard_of,
)
from planner.packet.wording import section_from
from planner.packet.words import spoken_name
from planner.plan.model import JobPlan
from planner.plan.yard_model import BathPlan, YardPlan
from planner.units import System, show, show_number

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
        "figures": (Gap(height=4.0), KeyFigures(tiles=tuple(_tiles(reading, yard)[:4]))),
        "holds": (HoldList(),),
        "emergency": (_emergency(plan),),
        "accepted": tuple(accepted_blocks(reading)),
        "clock": tuple(clock(plan, reading.system)),
        "letters": tuple(letters(plan)),
    }
    values = {
        "title": plan.title,
        "pump": yard.pump.name,
        "held": "yes" if reading.held else "no",
        "acid": "yes" if yard.bath is not None else "no",
        "notes": yard.notes or "",
    }
    return section_from("yard_card", template("yard_card"), values, places)


def work_words(yard: YardPlan) -> str:
    """What is done, in order: `take the scale out, rebuild, test`."""
    return ", ".join(_WORDS[work] for work in yard.works)


def _facts(plan: JobPlan, yard: YardPlan, system: System) -> Fields:
    stages = f", {_count(yard.stages, 'stage')}" if yard.stages else ""
    wetted = f"; its parts: {', '.join(yard.pump.wetted)}" if yard.pump.wetted else ""
    crew = crew_of(plan)
    outside = (
        "outdoors, on level ground, by water" if yard.bath is not None or yard.test is not None else "at the bench"
    )
    rows: list[tuple[str, Spans | WriteIn]] = [
        *(() if in_head(plan.title) else (("Job", said(plan.title)),)),
        ("Pump", said(f"{yard.pump.name}, {yard.pump.kind}{stages}{wetted}.")),
        ("Work", said(f"{work_words(yard).capitalize()}.")),
        ("Where", said(f"In the yard, {outside}.{f' Crew: {crew}.' if crew else ''}")),
        ("When", when_in_yard(plan, long_date(plan.input.date, system), place_in_day(plan), system)),
        ("Weather", with_numbers(weather(plan, system))),
    ]
    if yard.replace:
        rows.append(("Replace", said(f"{', '.join(yard.replace)}.")))
    return Fields(rows=tuple(rows), label=56.0)


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _emergency(plan: JobPlan) -> Fields:
    """The telephone numbers; the yard's own address to write in, for nobody finds `the yard`."""
    known = emergency(plan)
    mine = [(label, value) for label, value in known.rows if label != "We are at"]
    return Fields(rows=(("We are at", WriteIn(width=150, height=18)), *mine), label=known.label)


def _tiles(reading: Reading, yard: YardPlan) -> list[Tile]:
    """Bath, acid, what neutralises it, and what the test should show; without a bath the parts and the time."""
    system = reading.system
    tiles = _bath(reading, yard.bath, system) if yard.bath is not None else []
    tiles += _tests(yard, system)
    if len(tiles) < 4:
        tiles.insert(0, _takes(reading, yard))
    if len(tiles) < 4 and opened(yard) and (yard.pump.kind == "centrifugal" or yard.replace):
        tiles.insert(0, _stages(yard))
    return tiles


def _bath(reading: Reading, bath: BathPlan, system: System) -> list[Tile]:
    plan = reading.checked.plan
    number, unit = poured_number(bath.volume, system)
    parts = in_parts(bath.amount, bath.basis)
    lines = (f"{bath_name(bath)},", *((parts,) if parts else ()))
    if not pours_bath(reading):
        none = Tile(label="Acid to pour", number="none", unit="", lines=("held: see", "what clears it"), failing=True,
                    last="mix nothing")  # fmt: skip
        return [
            Tile(label="Bath", number=number, unit=unit, lines=(f"{bath_name(bath)},", "asked for"), last="held"),
            none,
        ]
    tiles = [Tile(label="Bath", number=number, unit=unit, lines=lines, last=f"soak {minutes(bath.soak, 'down')} min")]
    if bath.stock_mass is not None:
        number, _, unit = weighed(bath.stock_mass, system, "down").rpartition(" ")
    else:
        number, unit = poured_number(bath.stock, system, "down")
    strong = lot_today(plan, bath)
    name = f"of {lots_words(bath)},"
    tiles.append(
        Tile(label=f"{spoken_name(bath.chemical).capitalize()} to pour", number=number, unit=unit,
             lines=(name, *((strong,) if strong else ())), last=f"into {poured(bath.water, system, 'up')} of water")
    )  # fmt: skip
    if bath.neutralise:
        one = bath.neutralise[0]
        number, _, unit = weighed(one.mass, system, "up").rpartition(" ")
        lines = (f"of {spoken_name(one.agent)},", "a spoon at a time;" if one.agent == "lime" else "a cup at a time;")
        last = hand_words(plan, one.agent, system)
        tiles.append(Tile(label="To neutralise it", number=number, unit=unit, lines=lines, last=last))
    return tiles


def _tests(yard: YardPlan, system: System) -> list[Tile]:
    test = yard.test
    if test is None:
        return []
    after, before = test.after, test.before
    closed = f"gun closed {gauge(after.closed, system)}" if after.closed is not None else ""
    tiles = []
    if after.ground is not None:
        number, unit = show_number(after.ground, "length", system, toward="down")
        now = (
            f"now {show(before.ground, 'length', system, toward='down')};" if before.ground is not None else "now none;"
        )
        tiles.append(
            Tile(label="Throw when sound", number=number, unit=unit, lines=("along level ground,", now), last=closed)
        )
    elif after.closed is not None:
        number, unit = gauge_number(after.closed, system)
        tiles.append(
            Tile(label="Gauge when sound", number=number, unit=unit, lines=("at the pump,",), last="gun closed")
        )
    size, name = bench_bucket(test.bucket, system)
    seconds, today = after.bucket(size), before.bucket(size)
    if seconds is not None:
        now = f"now {timed(today)} s" if today is not None else "now nothing"
        tiles.append(Tile(label="Bucket when sound", number=timed(seconds), unit="s",
                          lines=(f"{name} at the tip;",), last=now))  # fmt: skip
    return tiles


def _takes(reading: Reading, yard: YardPlan) -> Tile:
    seconds = on_site(reading.checked.plan)
    return Tile(label="Takes", number=minutes(seconds), unit="min", lines=("in all,",), last=spoken(work_words(yard)))


def _stages(yard: YardPlan) -> Tile:
    if yard.pump.kind != "centrifugal":
        number = f"{len(yard.replace)}"
        return Tile(label="Parts to replace", number=number, unit="", lines=("and what is worn;",), last="named above")
    parts = f"{len(yard.replace)} to replace" if yard.replace else "replace what is worn"
    if yard.stages is None:
        return Tile(label="Stages", number="count", unit="", lines=("not written on", "the rig;"), last=parts)
    if yard.stages == 1:
        return Tile(label="Stage", number="1", unit="", lines=("its parts laid", "out in order;"), last=parts)
    return Tile(label="Stages", number=f"{yard.stages}", unit="", lines=("laid out in order,",), last=parts)
