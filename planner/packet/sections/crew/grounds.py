"""The second person's page: their own acts in time order, what is near, what neutralizes leftovers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from planner.inputs.tables.chemicals import ACIDS, ALKALIS, BLEACH, foams
from planner.packet.blocks import Block, Section, StepHead, Table
from planner.packet.sections.acts.acts import Printing, printing_of
from planner.packet.sections.acts.streams import Stage, role_of_second, sheets_of
from planner.packet.sections.reading import Reading, let_go, template
from planner.packet.wording import section_from
from planner.plan.between.neutralisers import NEVER_LAWN, not_neutralised
from planner.plan.mix.lookups import bathed_before
from planner.plan.mix.model import MixPlan, Neutraliser
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import StopPoint
from planner.units import System, show
from planner.words.jugs import JugFull, fulls_of
from planner.words.measures import drawn, in_all, warmer, weighed
from planner.words.spoken import for_mixes, spoken_name


def section(reading: Reading) -> Section | None:
    """The grounds; no page where only water is used and nothing is near."""
    plan = reading.checked.plan
    printing = printing_of(reading)
    stages = sheets_of(printing.telling.procedure).second if printing is not None else ()
    if not plan.mixes and not stages:
        return None
    places: dict[str, tuple[Block, ...]] = {
        "heads": (StepHead(),),
        **{f"stage {n}": printing.stage(stage) for n, stage in enumerate(stages, start=1) if printing is not None},
        "neutralisers": (_neutralisers(reading),) if _carried(plan) else (),
    }
    chemicals = {mix.chemical for mix in plan.mixes}
    values: dict[str, Any] = {
        "stages": [_stage(printing, stage) for stage in stages if printing is not None],
        "notes": _notes(reading),
        "faucet": _faucet(reading),
        **_beds(reading),
        **_alone(reading),
        **let_go(reading),
        "agents": _agents(reading),
        "kept": " and ".join(spoken_name(one) for one in not_neutralised(plan.input, plan.mixes, plan.neutralisers)),
        "apart": len({leftover.of for leftover in plan.neutralisers}) > 1,
        "lawn": any(leftover.of not in NEVER_LAWN for leftover in plan.neutralisers),
        "alkali": " and ".join(
            dict.fromkeys(spoken_name(leftover.of) for leftover in plan.neutralisers if leftover.of in NEVER_LAWN)
        ).capitalize(),
        "fizz": any(leftover.of in ALKALIS and foams(leftover.of) for leftover in plan.neutralisers),
        "neutralisers": bool(_carried(plan)),
        "thinned": any(leftover.thin_to is not None for leftover in plan.neutralisers),
        "bleach": BLEACH in chemicals,
        "acid": bool(chemicals & set(ACIDS)),
        "mixed": bool(plan.mixes),
    }
    return section_from("grounds", template("grounds"), values, places, role=role_of_second(reading))


def _stage(printing: Printing, stage: Stage) -> dict[str, str]:
    """An event of the second's sheet: which, and when it begins on the plan's clock."""
    first = stage.acts[0]
    number = str(first.detail.number) if isinstance(first.detail, StopPoint) else ""
    return {"key": stage.key, "at": printing.telling.clock(first), "number": number}


def _faucet(reading: Reading) -> str:
    """What keeps what is in the tank out of the tap, where that is no air gap."""
    water = reading.checked.plan.input.water
    if water.source not in ("tap", "hydrant"):
        return ""
    guard = (water.backflow or "none").replace("_", " ").replace("rpz", "RPZ")
    if guard == "none":
        return "No backflow protection is known: connect nothing to the faucet without it."
    return "" if guard == "air gap" else f"At the faucet: {guard}."


def _notes(reading: Reading) -> list[str]:
    """What is to be known at a panel's or an injector's drum: a bath a pump lay in, the soap's pick-up."""
    plan = reading.checked.plan
    bathed = dict.fromkeys(name for mix in plan.mixes for name in bathed_before(plan, mix))
    notes = [
        f"{name} was in acid today. If the rinse of its yard job is not checked off, fill nothing and call."
        for name in bathed
    ]
    for mix in plan.mixes:
        if mix.kind == "metered" and mix.soap_share > 0 and mix.soaps:
            dose = show(mix.soap_share, "dose", reading.system)
            notes.append(f"Soap pick-up in lot {' then '.join(share.lot.name for share in mix.soaps)}: {dose}.")
        notes += [_full_jug(mix, jug, reading) for jug in fulls_of(mix, reading.system)]
    return notes


def _full_jug(mix: MixPlan, one: JugFull, reading: Reading) -> str:
    """What a full jug is made of: "For a 5 gal jug: 1 1/4 gal of water, 3 3/4 gal of lot H-1"."""
    parts = [(one.water, "water"), (one.stock, f"lot {one.lot}"), (one.soap, "soap")]
    made = ", ".join(f"{amount} of {what}" for amount, what in parts if amount)
    run = f" of {mix.run.name}" if len(reading.checked.plan.runs) > 1 else ""
    more = f" It takes {one.times}, one after another; the steps say what it takes in all." if one.times > 1 else ""
    return f"For a {one.size} jug{run}: {made}.{more}"


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


def _agents(reading: Reading) -> list[dict[str, str | bool]]:
    """Each agent in all, the lots that hold it, and what is not there and has to be bought."""
    plan, system = reading.checked.plan, reading.system
    return [
        {
            "name": spoken_name(need.agent),
            "carry": weighed(need.carry, system, "up"),
            "lots": ", ".join(need.lots),
            "buy": weighed(need.buy, system, "up") if need.buy > 0.0 else "",
            "acid": need.against == "acid",
            "alkali": need.against == "alkali",
            "weigh": bool(need.lots and need.on_hand is None),
            "warms": _warms(plan, need.rise, system),
        }
        for need in plan.agents
    ]


def _warms(plan: JobPlan, rise: float | None, system: System) -> str:
    """How much warmer the strongest pail gets, where that is worth a word; else nothing."""
    return warmer(rise, system) if rise is not None and rise > plan.input.limits["neutralise_warm"] else ""


def _alone(reading: Reading) -> dict[str, str | bool]:
    """A single leftover that needs no thinning is told in a line; more of them, or stronger ones, take the table."""
    plan, system = reading.checked.plan, reading.system
    leftover, *others = _carried(plan) or (None,)
    if leftover is None or others or leftover.thin_to is not None:
        return {"one": False}
    return {
        "one": True,
        # There is one mix, and its name is on every other page.
        "leftover": _purpose(replace(leftover, purpose=leftover.purpose.partition(" of ")[0]), system),
        "agent": spoken_name(leftover.agent),
        "alone_warms": _warms(plan, leftover.rise, system),
        "mass": weighed(leftover.mass, system, "up"),
        "carry": weighed(leftover.carry, system, "up"),
    }


def _purpose(one: Neutraliser, system: System) -> str:
    """What it is for, with how much that is where the words do not say it."""
    amount = drawn(one.volume, system, "up")
    return one.purpose if system == "us" and "gallon" in one.purpose else f"{one.purpose} ({amount})"


def _carried(plan: JobPlan) -> tuple[Neutraliser, ...]:
    """What is carried for leftovers that no act pours."""
    return tuple(leftover for leftover in plan.neutralisers if not leftover.given)


def _neutralisers(reading: Reading) -> Table:
    """By weight, rounded up, for a leftover and each heel: thinned first where it is too strong."""
    plan, system = reading.checked.plan, reading.system
    rows = []
    for leftover in _carried(plan):
        thin = "as it is"
        if leftover.thin_to is not None:
            thin = f"fill up to {drawn(leftover.thin_to, system, 'up')}"
        rows.append(
            (
                _purpose(replace(leftover, purpose=for_mixes(plan, leftover.purpose)), system),
                thin,
                spoken_name(leftover.agent),
                weighed(leftover.mass, system, "up"),
                weighed(leftover.carry, system, "up"),
            )
        )
    return Table(
        head=("For", "First", "Then stir in", "By weight", "Carry"), rows=tuple(rows), widths=(4.2, 2.4, 1.9, 1.4, 1.4),
        right=frozenset({3, 4}), act=frozenset({3}),
    )  # fmt: skip
