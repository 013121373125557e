"""The page read at the reel: the acts from the flush to the leaving, where the water goes, what stays."""

from __future__ import annotations

from typing import Any

from planner.inputs.models.site import Near
from planner.inputs.tables.chemicals import ACIDS, ALKALIS, BLEACH, NO_STRIP, ended_by, kind_of, lawn_of, unseen_of
from planner.inputs.tables.defaults import default
from planner.packet.blocks import Block, Section, Span, Spans, Text
from planner.packet.sections.acts.acts import printing_of
from planner.packet.sections.acts.streams import sheets_of
from planner.packet.sections.mixes import on_the_wall, percent_of, pours, tank_name
from planner.packet.sections.reading import Reading, template
from planner.packet.wording import section_from
from planner.plan.between.changes import purpose_of
from planner.plan.between.flushing import LIFE, controls_of
from planner.plan.between.heels import keeps
from planner.plan.between.model import ChangeFlush
from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Spray
from planner.units import System, show
from planner.words.measures import drawn, minutes, strength, weighed
from planner.words.spoken import spoken_name


def section(reading: Reading) -> Section | None:
    """The acts from the flush to the leaving, and what stays; no page of a job on one sheet, nor for a held job."""
    plan = reading.checked.plan
    printing = printing_of(reading)
    acts = sheets_of(printing.telling.procedure).flush if printing is not None else ()
    if printing is None or not acts or printing.whole:
        return None
    names = list(dict.fromkeys(flush.run for flush in plan.flushes))
    left = list(dict.fromkeys(flush.leaves for flush in plan.flushes))
    never = [one for one in left if lawn_of(one) == "never"]
    unseen = [one for one in left if kind_of(one) in NO_STRIP]
    stays = tuple(Text(spans=(Span(text="Stays: "), *line)) for line in _stays(reading))
    places: dict[str, tuple[Block, ...]] = {"acts": printing.blocks(acts), "stays": stays}
    values: dict[str, Any] = {
        "lines": [_line(name, reading, len(names) > 1) for name in names],
        "stays": bool(stays),
        "flushed": any(isinstance(act.detail, Spray) and act.phase == "flush" for act in acts),
        "life": _life(plan),
        "drain": (plan.input.job.near or Near()).storm_drain is not None,
        "lye": bool(never),
        "kept": any(not ended_by(chemical) for chemical in never),
        "unseen": " or ".join(spoken_name(chemical) for chemical in unseen),
        "until": unseen_of(unseen),
        "control": _goes_to(plan),
    }
    return section_from("flush", template("flush"), values, places, role="lead")


def _goes_to(plan: JobPlan) -> str:
    """Where a written control takes the water; nothing where it only keeps it back, or not all of it."""
    waters = {mix.chemical for mix in plan.mixes} | {flush.leaves for change in plan.changes for flush in change.parts}
    ways = [control for control in controls_of(plan.input) if control.to]
    return next((control.to for control in ways if all(control.holds("storm_drain", water) for water in waters)), "")


def _line(name: str, reading: Reading, several: bool) -> dict[str, Any]:
    plan, system = reading.checked.plan, reading.system
    parts = [flush for flush in plan.flushes if flush.run == name]
    finding = next((f for f in reading.checked.findings if f.code == "flush.needed" and f.about == name), None)
    return {
        "name": name if several else "",
        "can": all(part.volume is not None for part in parts),
        "target": show(parts[0].target, "concentration", system, toward="down"),
        "for_life": finding is not None and finding.case == "for_life",
        "life_limit": show(plan.input.limits.get("residual_with_life", 0.0), "concentration", system, toward="down"),
        "inlet": show(plan.input.water.chlorine or 0.0, "concentration", system, toward="up"),
    }


def _life(plan: JobPlan) -> str:
    away = (plan.input.job.near or Near()).distances
    return " or ".join(f"the {spoken_name(name)}" for name in LIFE if name in away)


def _stays(reading: Reading) -> list[Spans]:
    """What each tank keeps for tomorrow."""
    plan, system = reading.checked.plan, reading.system
    made = [mix for mix in plan.mixes if pours(reading, mix)]
    lines: list[Spans] = []
    tanks: dict[str, MixPlan] = {}
    for mix in made:
        if mix.kind == "premix" and mix.run.feed_tank is not None:
            tanks[mix.run.feed_tank.name] = mix
    for name, mix in tanks.items():
        dead = mix.run.feed_tank.dead_volume if mix.run.feed_tank is not None else 0.0
        if mix.stays_for:
            held = f"{drawn(dead + mix.stays, system, 'up')} of {_strong(plan, mix)}: {mix.stays_for} mixes on it today"
            held += "; if that job is called off, neutralize it"
        elif dead > 0:
            held = f"{drawn(dead, system, 'up')} of {_strong(plan, mix)}: tomorrow's heel"
            held += "" if keeps(mix) else "; neutralize it if it is not used by then"
        else:
            held = "nothing: it is drained"
        lines.append((Span(text=f"{tank_name(name)[4:]}: ", strong=True), Span(text=held)))
    return lines


def _strong(plan: JobPlan, mix: MixPlan) -> str:
    if mix.chemical == BLEACH:
        return f"{spoken_name(mix.chemical)} at {strength(mix.target, mix.chemical, percent_of(plan))}"
    return f"{spoken_name(mix.chemical)}, {on_the_wall(plan, mix)}"


# ------------------------------------------------------------ flush first
# What is flushed before a mix of another chemistry: the values of its steps, and the same as a hold of the day.


_PH = frozenset({*ACIDS, *ALKALIS})
"""What a pH strip tells of, once it is thin."""


def values_of(number: int, change: ChangeFlush, plan: JobPlan, system: System) -> dict[str, Any]:
    """One flush as its template has it; what does not apply is empty."""
    tank, line = change.tank, change.line
    own = [part for part in line if part.through is None]
    agent = next((leftover for leftover in plan.neutralisers if leftover.purpose == purpose_of(change)), None)
    return {
        "number": number,
        "can": change.can,
        "place": place_of(change),
        "held": " and ".join(spoken_name(leaves) for leaves in change.leaves),
        "comes": _comes(change),
        "tank": tank_name(tank.part) if tank is not None else "",
        "drained": _up(tank.drained, system) if tank is not None and tank.drained > 0.0 else "",
        "together": change.together,
        "rinses": (tank.rinses or 0) - (1 if change.together else 0) if tank is not None else 0,
        "each": _up(tank.each, system) if tank is not None else "",
        "last": _up(tank.last, system) if tank is not None else "",
        "swill": minutes(default("swill")),
        "parts": ", ".join(part.part for part in line),
        "line": _up(sum(part.volume or 0.0 for part in own), system) if own else "",
        "line_minutes": minutes(sum(part.seconds or 0.0 for part in own)) if own else "",
        "whole": _up(change.volume, system),
        "minutes": minutes(change.seconds),
        "inlet": show(plan.input.water.chlorine or 0.0, "concentration", system, toward="up"),
        "target": show(target_of(change), "concentration", system, toward="down"),
        "chlorine": BLEACH in change.leaves,
        "ph": bool(_PH & set(change.leaves)),
        "drains_to": change.drains_to,
        "agent": spoken_name(agent.agent) if agent is not None else "",
        "carry": weighed(agent.carry, system, "up") if agent is not None else "",
    }


def place_of(change: ChangeFlush) -> str:
    """What is flushed, in a sentence."""
    tank = change.tank
    if tank is None:
        return f"the line of {change.run}"
    return f"{tank_name(tank.part)} and its line" if change.line else tank_name(tank.part)


def target_of(change: ChangeFlush) -> float:
    """The lowest of what may be left of anything [kg/m3]."""
    return min(part.target for part in change.parts)


def hold_of(change: ChangeFlush, plan: JobPlan, system: System) -> tuple[str, str]:
    """The same as a hold of a day's cover: its title, and its question."""
    one = values_of(0, change, plan, system)
    title = f"Before {plan.title}: {one['place']}, {one['held']} to {one['comes']}"
    if not change.can:
        return title, f"No flush gets down to {one['target']}; the water itself brings {one['inlet']}."
    steps = [f"{one['drained']} drained" if one["drained"] else ""]
    if one["tank"] and change.together:
        first = f"rinsed {one['rinses']} times with {one['each']}, then " if one["rinses"] else ""
        steps.append(f"{first}{one['last']} through tank and line")
    elif one["tank"]:
        steps.append(f"rinsed {one['rinses']} times with {one['each']}")
    if one["line"]:
        steps.append(f"{one['line']} through the line")
    steps.append(f"{one['minutes']} min in all")
    words = ", ".join(step for step in steps if step)
    read = [f"chlorine strip {one['target']} or less"] if one["chlorine"] else []
    read += ["pH strip 6 to 8"] if one["ph"] else []
    read += [unseen_of(change.leaves)] if unseen_of(change.leaves) else []
    return title, f"{words[:1].upper()}{words[1:]}; {', '.join(read) or 'clear, no foam'}?"


def _comes(change: ChangeFlush) -> str:
    return "clean water" if change.comes == "water" else spoken_name(change.comes)


def _up(volume: float, system: System) -> str:
    return drawn(volume, system, "up")
