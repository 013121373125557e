"""The page read at the reel: the acts from the flush to the leaving, where the water goes, what stays."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Section, Span, Spans, Text
from planner.packet.measures import drawn, strength
from planner.packet.sections.acts import printing_of
from planner.packet.sections.mixes import on_the_wall, percent_of, pours, tank_name
from planner.packet.sections.reading import Reading, template, written
from planner.packet.sections.streams import sheets_of
from planner.packet.wording import section_from
from planner.packet.words import spoken_name
from planner.plan.heels import keeps
from planner.plan.mix_model import MixPlan
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Spray
from planner.plan.residuals import LIFE, controls_of
from planner.units import show


def section(reading: Reading) -> Section | None:
    """The acts from the flush to the leaving, and what stays; no page of a job on one sheet, nor for a held job."""
    plan = reading.checked.plan
    printing = printing_of(reading)
    acts = sheets_of(printing.telling.procedure).flush if printing is not None else ()
    if printing is None or not acts or printing.whole:
        return None
    names = list(dict.fromkeys(flush.run for flush in plan.flushes))
    stays = tuple(Text(spans=(Span(text="Stays: "), *line)) for line in _stays(reading))
    places: dict[str, tuple[Block, ...]] = {"acts": printing.blocks(acts), "stays": stays}
    values: dict[str, Any] = {
        "lines": [_line(name, reading, len(names) > 1) for name in names],
        "stays": "yes" if stays else "no",
        "flushed": "yes" if any(isinstance(act.detail, Spray) and act.phase == "flush" for act in acts) else "no",
        "life": _life(plan),
        "drain": "yes" if isinstance(written(plan.input.job, "near", "storm_drain"), (int, float)) else "no",
        "lye": "yes" if any(flush.leaves == "caustic" for flush in plan.flushes) else "no",
        "control": _goes_to(plan),
    }
    return section_from("flush", template("flush"), values, places, role="lead")


def _goes_to(plan: JobPlan) -> str:
    """Where a written control takes the water; nothing where it only keeps it back, or not all of it."""
    waters = {mix.chemical for mix in plan.mixes} | {flush.leaves for change in plan.changes for flush in change.parts}
    ways = [one for one in controls_of(plan.input) if one.to]
    return next((one.to for one in ways if all(one.holds("storm_drain", water) for water in waters)), "")


def _line(name: str, reading: Reading, several: bool) -> dict[str, Any]:
    plan, system = reading.checked.plan, reading.system
    parts = [flush for flush in plan.flushes if flush.run == name]
    found = next((f for f in reading.checked.findings if f.code == "flush.needed" and f.about == name), None)
    return {
        "name": name if several else "",
        "can": "yes" if all(part.volume is not None for part in parts) else "no",
        "target": show(parts[0].target, "concentration", system, toward="down"),
        "for_life": "yes" if found is not None and found.case == "for_life" else "no",
        "life_limit": show(plan.input.limits.get("residual_with_life", 0.0), "concentration", system, toward="down"),
        "inlet": show(plan.input.water.chlorine or 0.0, "concentration", system, toward="up"),
    }


def _life(plan: JobPlan) -> str:
    near = written(plan.input.job, "near")
    return " or ".join(f"the {spoken_name(name)}" for name in LIFE if written(near, name) is not None)


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
        if dead > 0:
            held = f"{drawn(dead, system, 'up')} of {_strong(plan, mix)}: tomorrow's heel"
            held += "" if keeps(mix) else "; neutralize it if it is not used by then"
        else:
            held = "nothing: it is drained"
        lines.append((Span(text=f"{tank_name(name)[4:]}: ", strong=True), Span(text=held)))
    return lines


def _strong(plan: JobPlan, mix: MixPlan) -> str:
    if mix.chemical == "hypochlorite":
        return f"{spoken_name(mix.chemical)} at {strength(mix.target, mix.chemical, percent_of(plan))}"
    return f"{spoken_name(mix.chemical)}, {on_the_wall(plan, mix)}"
