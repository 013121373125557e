"""The second person's page: beds, downspouts, what is near and how it is kept safe, what makes leftovers harmless."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Cell, Section, Span, Table, WriteIn
from planner.packet.measures import minutes, volume, weighed
from planner.packet.sections.mixes import ACIDS, spoken_name
from planner.packet.sections.reading import Reading, spoken, template, written
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.plan.work import BEDS, BEDS_UNDER_ROOF
from planner.units import show

_NEAR = (
    ("fish_pond", "fish pond"),
    ("stream", "stream"),
    ("well", "well"),
    ("rain_barrel", "rain barrel"),
    ("storm_drain", "storm drain"),
    ("cars", "cars"),
)
_MOST_SPOUTS = 10
_BOX = WriteIn(width=400, height=20)


def section(reading: Reading) -> Section | None:
    """The grounds; no page where only water is used and nothing is near."""
    plan = reading.checked.plan
    near = written(plan.input.job, "near")
    if not plan.mixes and near is None:
        return None
    spouts = int(written(near, "downspouts") or 0)
    places: dict[str, tuple[Block, ...]] = {
        "beds": tuple(_beds(reading)),
        "spouts": (_spouts(spouts),) if spouts else (),
        "near": (_near(reading),),
        "neutralisers": (_neutralisers(reading),) if plan.neutralisers else (),
    }
    beds = plan.beds
    chemicals = {mix.chemical for mix in plan.mixes}
    values: dict[str, Any] = {
        "beds": "yes" if beds is not None else "no",
        "every": minutes(beds.every, "down") if beds is not None else "",
        "spouts": spouts,
        "more_spouts": max(spouts - _MOST_SPOUTS, 0),
        "near": "yes" if _listed(plan) else "no",
        "windows": "yes" if written(near, "open_windows") else "no",
        "neutralisers": "yes" if plan.neutralisers else "no",
        "thinned": "yes" if any(one.thin_to is not None for one in plan.neutralisers) else "no",
        "bleach": "yes" if "hypochlorite" in chemicals else "no",
        "acid": "yes" if chemicals & set(ACIDS) else "no",
        "mixed": "yes" if plan.mixes else "no",
    }
    held = frozenset({"all"}) if reading.held.everything else frozenset()
    return section_from("grounds", template("grounds"), values, places, held=held)


def _beds(reading: Reading) -> list[Block]:
    """Water for the beds, with minutes at the tap's own flow where it is known."""
    plan, system = reading.checked.plan, reading.system
    beds, flow = plan.beds, plan.input.water.test_flow
    if beds is None:
        return []
    roof = beds.before > beds.area * (BEDS[0] + BEDS_UNDER_ROOF[0]) / 2
    each = beds.area * (BEDS_UNDER_ROOF if roof else BEDS)[1]
    rows = []
    for when, amount in (
        ("before any mix is out", beds.before),
        (f"each {minutes(beds.every, 'down')} min while out", each),
        ("after the last rinse", beds.after),
    ):
        row: tuple[Cell, ...] = (when, volume(amount, system, "up"))
        rows.append((*row, minutes(amount / flow)) if flow else row)
    whole = volume(beds.before + beds.during + beds.after, system, "up")
    total: tuple[Cell, ...] = ((Span(text="in all, about", strong=True),), whole)
    rows.append((*total, "") if flow else total)
    unit = "gal" if system == "us" else "L"
    head = (f"Beds, {show(beds.area, 'area', system, toward='up')}", unit, "min")
    count = 3 if flow else 2
    return [
        Table(head=head[:count], rows=tuple(rows), widths=(6, 2, 2)[:count], right=frozenset({1, 2}),
              act=frozenset({1, 2}))
    ]  # fmt: skip


def _spouts(count: int) -> Table:
    rows = tuple(
        (f"{n}", WriteIn(width=210, height=20), WriteIn(width=90, height=20), WriteIn(width=90, height=20))
        for n in range(1, min(count, _MOST_SPOUTS) + 1)
    )
    return Table(
        head=("", "Downspout ends where?", "Bag or flow", "Who waters it"), rows=rows, widths=(0.4, 5.2, 2.4, 2.4)
    )


def _listed(plan: JobPlan) -> list[tuple[str, float]]:
    near = written(plan.input.job, "near")
    found = [(words, written(near, key)) for key, words in _NEAR]
    return [(words, distance) for words, distance in found if isinstance(distance, (int, float))]


def _near(reading: Reading) -> Table:
    """What is near, how far, and how it is kept safe: as written, or a box to write it in."""
    plan, system = reading.checked.plan, reading.system
    control = spoken(written(plan.input.job, "near", "control"))
    listed = _listed(plan)
    rows: list[tuple[Cell, ...]] = [
        (
            (Span(text=words, strong=True),),
            show(distance, "length", system, toward="down"),
            control if control and words != "cars" else _BOX,
        )
        for words, distance in listed
    ]
    if not listed:
        count = 1 if written(plan.input.job, "near") is not None else 3
        rows = [(WriteIn(width=110, height=20), WriteIn(width=50, height=20), _BOX) for _ in range(count)]
    return Table(
        head=("What is near", "How far", "How it is kept safe"), rows=tuple(rows), widths=(2.6, 1.8, 6.0),
        right=frozenset({1}) if listed else frozenset(),
    )  # fmt: skip


def _neutralisers(reading: Reading) -> Table:
    """By weight, rounded up, for a leftover and each heel: thinned first where it is too strong."""
    plan, system = reading.checked.plan, reading.system
    rows = []
    for one in plan.neutralisers:
        amount = show(one.volume, "volume", system, toward="up")
        thin = "as it is"
        if one.thin_to is not None:
            thin = f"fill up to {show(one.thin_to, 'volume', system, toward='up')}"
        rows.append(
            (
                one.purpose if system == "us" and "gallon" in one.purpose else f"{one.purpose} ({amount})",
                thin,
                spoken_name(one.agent),
                weighed(one.mass, system, "up"),
                weighed(one.carry, system, "up"),
            )
        )
    return Table(
        head=("For", "First", "Then stir in", "By weight", "Carry"), rows=tuple(rows), widths=(4.2, 2.4, 1.9, 1.4, 1.4),
        right=frozenset({3, 4}), act=frozenset({3}),
    )  # fmt: skip
