"""The second person's page: their own acts in time order, what is near, what neutralizes leftovers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from planner.packet.blocks import Block, Cell, Section, Span, Table, WriteIn
from planner.packet.measures import drawn, in_all, steps_of, volume, warmer, weighed
from planner.packet.sections.acts import printing_of, sheets_of, side_by_side
from planner.packet.sections.mixes import ACIDS
from planner.packet.sections.reading import Reading, template, written
from planner.packet.wording import section_from
from planner.packet.words import spoken_name
from planner.plan.mix_model import Neutraliser
from planner.plan.model import JobPlan
from planner.plan.neutralisers import NEVER_LAWN, not_neutralised
from planner.plan.residuals import controls_of, kept_from, kept_out, waters_of
from planner.plan.runoff_model import SurfaceRunoff
from planner.units import System, show, show_number

_NEAR = (
    ("fish_pond", "fish pond", "Turn the runoff away; cover it."),
    ("stream", "stream", "Berm above the bank."),
    ("well", "well", "Cap it; turn the runoff away."),
    ("rain_barrel", "rain barrel", "Take its pipe off, lid on."),
    ("storm_drain", "storm drain", "Cover it; pump to the lawn."),
    ("cars", "cars", "Move or cover them; rinse if wet."),
)
_MOST_SPOUTS = 10
_MOST_WALLS = 4
_BOX = WriteIn(width=400, height=18)


def section(reading: Reading) -> Section | None:
    """The grounds; no page where only water is used and nothing is near."""
    plan = reading.checked.plan
    near = written(plan.input.job, "near")
    printing = printing_of(reading)
    acts = printing.blocks(sheets_of(printing.telling.procedure).grounds, clock=True) if printing is not None else ()
    if not plan.mixes and near is None and not acts:
        return None
    spouts = int(written(near, "downspouts") or 0)
    places: dict[str, tuple[Block, ...]] = {
        "acts": side_by_side(acts),
        "spouts": (_spouts(spouts),) if spouts else (),
        "near": (_near(reading),),
        "neutralisers": (_neutralisers(reading),) if plan.neutralisers else (),
        "runoff": (_runoff(reading),) if _differing(plan) else (),
    }
    chemicals = {mix.chemical for mix in plan.mixes}
    values: dict[str, Any] = {
        "crew": "yes" if acts else "no",
        **_beds(reading),
        **_alone(reading),
        **_told_of_runoff(reading),
        **_let_go(reading),
        "agents": _agents(reading),
        "kept": " and ".join(spoken_name(one) for one in not_neutralised(plan.input, plan.mixes, plan.neutralisers)),
        "apart": "yes" if len({one.of for one in plan.neutralisers}) > 1 else "no",
        "lawn": "yes" if any(one.of not in NEVER_LAWN for one in plan.neutralisers) else "no",
        "alkali": " and ".join(
            dict.fromkeys(spoken_name(one.of) for one in plan.neutralisers if one.of in NEVER_LAWN)
        ).capitalize(),
        "fizz": "yes" if any(one.of == "percarbonate" for one in plan.neutralisers) else "no",
        "spouts": spouts,
        "more_spouts": max(spouts - _MOST_SPOUTS, 0),
        "near": "yes" if _listed(plan) else "no",
        "controls": _controls(plan),
        "windows": "yes" if written(near, "open_windows") else "no",
        "neutralisers": "yes" if plan.neutralisers else "no",
        "thinned": "yes" if any(one.thin_to is not None for one in plan.neutralisers) else "no",
        "bleach": "yes" if "hypochlorite" in chemicals else "no",
        "acid": "yes" if chemicals & set(ACIDS) else "no",
        "mixed": "yes" if plan.mixes else "no",
    }
    return section_from("grounds", template("grounds"), values, places)


def _beds(reading: Reading) -> dict[str, str]:
    """How large the beds are and their water in all, as the acts have it; empty where there are none."""
    plan, system = reading.checked.plan, reading.system
    beds = plan.beds
    if beds is None:
        return {"beds": ""}
    return {
        "beds": show(beds.area, "area", system, toward="up"),
        "whole": " ".join(in_all(beds.before + beds.during + beds.after, system)),
    }


def _told_of_runoff(reading: Reading) -> dict[str, str]:
    """How much the runoff is over what life bears, and what each downspout of a roof takes; empty where not known."""
    plan, system = reading.checked.plan, reading.system
    runoff = plan.runoff
    words = dict.fromkeys(
        ("whole_gal", "active", "what", "foot", "ph", "times", "tap_times", "spout_gal", "spout_mass", "spout_what"), ""
    )
    words["runoff"] = "no" if runoff is None else "table" if _differing(plan) else "line"
    if runoff is None:
        return words
    unit = "gal" if system == "us" else "L"
    (whole, *others) = runoff.totals
    if not others and whole.active is not None:
        words["whole_gal"] = f"{volume(whole.volume, system, 'up')} {unit}"
        words["active"] = weighed(whole.active, system, "up")
        words["what"] = _active_name(whole.chemical)
        words["ph" if whole.ph is not None else "foot"] = _at_foot(whole, system)
    chlorine = next((one for one in runoff.totals if one.times_acute is not None), None)
    if chlorine is not None:
        words["times"] = show_number(chlorine.times_acute or 0.0, "number", system, digits=2)[0]
        words["tap_times"] = show_number(chlorine.times_tap or 0.0, "number", system, digits=2)[0]
        words["tap_times"] = words["tap_times"] if chlorine.times_tap else ""
    if runoff.outlets is not None:
        words["spout_gal"] = f"{volume(runoff.outlets.volume, system, 'up')} {unit}"
        words["spout_mass"] = weighed(runoff.outlets.active, system, "up")
        words["spout_what"] = _active_name(runoff.outlets.chemical)
    return words


def _differing(plan: JobPlan) -> bool:
    """Whether the walls' runoffs differ enough for a table: by their chemical, or by a tenth in strength."""
    runoff = plan.runoff
    if runoff is None:
        return False
    strengths = [one.strength for one in runoff.surfaces if one.strength is not None]
    return len(runoff.totals) > 1 or (len(strengths) > 1 and max(strengths) > 1.1 * min(strengths))


def _active_name(chemical: str) -> str:
    return {"hypochlorite": "chlorine", "muriatic": "acid"}.get(chemical, spoken_name(chemical))


def _runoff(reading: Reading) -> Table:
    """What leaves each wall: mix, water, active, and how strong it still is at the foot."""
    plan, system = reading.checked.plan, reading.system
    assert plan.runoff is not None
    unit = "gal" if system == "us" else "L"
    walls, totals = plan.runoff.surfaces, plan.runoff.totals
    # A chemical of one wall is told once; of too many walls only the whole is.
    sums = [one for one in totals if sum(wall.chemical == one.chemical for wall in walls) > 1]
    shown = [*walls, *sums] if len(walls) <= _MOST_WALLS else list(totals)
    several = len(totals) > 1
    active = "Chemical" if several else _active_name(totals[0].chemical).capitalize()
    rows = []
    for one in shown:
        name = f"{one.surface}, {_active_name(one.chemical)}" if several and one.surface == "in all" else one.surface
        rows.append(
            (
                name,
                volume(one.mix, system, "up"),
                volume(one.water, system, "up") if one.water > 0.0 else "0",
                weighed(one.active, system, "up") if one.active is not None else "soap",
                _at_foot(one, system),
            )
        )
    return Table(
        head=("Wall", f"Mix, {unit}", f"Water, {unit}", active, "At its foot"), rows=tuple(rows),
        widths=(3.0, 1.3, 1.5, 1.6, 2.4), right=frozenset({1, 2, 3, 4}),
    )  # fmt: skip


def _at_foot(one: SurfaceRunoff, system: System) -> str:
    if one.ph is not None:
        tenths = steps_of(one.ph * 10.0, "down" if one.ph < 7.0 else "up")
        return f"pH {tenths / 10:.1f}"
    if one.strength is None:
        return ""
    return show(one.strength, "concentration", system, digits=2, toward="up")


def _let_go(reading: Reading) -> dict[str, str]:
    """What a strip must read before a leftover goes anywhere, as the company holds it."""
    limits, system = reading.checked.plan.input.limits, reading.system
    chlorine = limits["let_go_chlorine"]
    step = 1.0 if abs(chlorine * 1e3 - round(chlorine * 1e3)) < 1e-9 else 0.1
    return {
        "strip": show(chlorine, "concentration", system, step=step, toward="down"),
        "ph_low": show_number(limits["let_go_ph_low"], "number", system, step=0.1, toward="up")[0].removesuffix(".0"),
        "ph_high": show_number(limits["let_go_ph_high"], "number", system, step=0.1, toward="down")[0].removesuffix(
            ".0"
        ),
    }


def _agents(reading: Reading) -> list[dict[str, str]]:
    """Each agent in all, the lots that hold it, and what is not there and has to be bought."""
    plan, system = reading.checked.plan, reading.system
    return [
        {
            "name": spoken_name(one.agent),
            "carry": weighed(one.carry, system, "up"),
            "lots": ", ".join(one.lots),
            "buy": weighed(one.buy, system, "up") if one.buy > 0.0 else "",
            "acid": "yes" if one.against == "acid" else "no",
            "alkali": "yes" if one.against == "alkali" else "no",
            "weigh": "yes" if one.lots and one.on_hand is None else "no",
            "warms": _warms(plan, one.rise, system),
        }
        for one in plan.agents
    ]


def _warms(plan: JobPlan, rise: float | None, system: System) -> str:
    """How much warmer the strongest pail gets, where that is worth a word; else nothing."""
    return warmer(rise, system) if rise is not None and rise > plan.input.limits["neutralise_warm"] else ""


def _alone(reading: Reading) -> dict[str, str]:
    """A single leftover that needs no thinning is told in a line; more of them, or stronger ones, take the table."""
    plan, system = reading.checked.plan, reading.system
    one, *others = plan.neutralisers or (None,)
    if one is None or others or one.thin_to is not None:
        return {"one": "no"}
    return {
        "one": "yes",
        # There is one mix, and its name is on every other page.
        "leftover": _purpose(replace(one, purpose=one.purpose.partition(" of ")[0]), system),
        "agent": spoken_name(one.agent),
        "alone_warms": _warms(plan, one.rise, system),
        "mass": weighed(one.mass, system, "up"),
        "carry": weighed(one.carry, system, "up"),
    }


def _purpose(one: Neutraliser, system: System) -> str:
    """What it is for, with how much that is where the words do not say it."""
    amount = drawn(one.volume, system, "up")
    return one.purpose if system == "us" and "gallon" in one.purpose else f"{one.purpose} ({amount})"


def _spouts(count: int) -> Table:
    rows = tuple(
        (f"{n}", WriteIn(width=210, height=20), WriteIn(width=90, height=20), WriteIn(width=90, height=20))
        for n in range(1, min(count, _MOST_SPOUTS) + 1)
    )
    return Table(
        head=("", "Downspout ends where?", "Bag or flow", "Who waters it"), rows=rows, widths=(0.4, 5.2, 2.4, 2.4)
    )


def _listed(plan: JobPlan) -> list[tuple[str, str, float, str]]:
    near = written(plan.input.job, "near")
    found = [(key, words, written(near, key), act) for key, words, act in _NEAR]
    return [(key, words, distance, act) for key, words, distance, act in found if isinstance(distance, (int, float))]


def _controls(plan: JobPlan) -> list[dict[str, str]]:
    """What the crew builds to keep the runoff in, a line each, with what near this job it is for."""
    names = {key: words for key, words, _ in _NEAR}
    acid = bool({mix.chemical for mix in plan.mixes} & set(ACIDS))
    return [
        {
            "act": f"{one.act} {one.with_acid if acid else ''}".strip(),
            "for": " and ".join(f"the {names[place]}" for place in kept_from(plan, one)),
        }
        for one in controls_of(plan.input)
    ]


def _near(reading: Reading) -> Table:
    """What is near, how far, and how it is kept safe: as written, else what to do; boxes where nothing is near."""
    plan, system = reading.checked.plan, reading.system
    listed = _listed(plan)
    rows: list[tuple[Cell, ...]] = [
        (
            (Span(text=words, strong=True),),
            show(distance, "length", system, toward="down"),
            ", ".join(one.says for one in kept_out(plan.input, key, waters_of(plan))) or act,
        )
        for key, words, distance, act in listed
    ]
    if not listed:
        count = 1 if written(plan.input.job, "near") is not None else 3
        rows = [(WriteIn(width=110, height=20), WriteIn(width=50, height=20), _BOX) for _ in range(count)]
    return Table(
        head=("What is near", "How far", "Keep it safe"), rows=tuple(rows), widths=(2.5, 1.7, 5.8),
        right=frozenset({1}) if listed else frozenset(),
    )  # fmt: skip


def _neutralisers(reading: Reading) -> Table:
    """By weight, rounded up, for a leftover and each heel: thinned first where it is too strong."""
    plan, system = reading.checked.plan, reading.system
    rows = []
    for one in plan.neutralisers:
        thin = "as it is"
        if one.thin_to is not None:
            thin = f"fill up to {drawn(one.thin_to, system, 'up')}"
        rows.append(
            (
                _purpose(one, system),
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
