"""The page read at the reel: the acts from the flush to the leaving, where the water goes, what stays."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Section, Span, Spans, Text
from planner.packet.measures import drawn, poured, strength
from planner.packet.sections.acts import printing_of, sheets_of, side_by_side
from planner.packet.sections.mixes import on_the_wall, percent_of, pours, tank_name
from planner.packet.sections.reading import Reading, template, written
from planner.packet.wording import section_from
from planner.packet.words import spoken_name
from planner.plan.heels import keeps
from planner.plan.mix_model import MixPlan
from planner.plan.model import JobPlan
from planner.plan.residuals import LIFE, controls_of
from planner.units import show


def section(reading: Reading) -> Section | None:
    """The acts from the flush to the leaving, and what stays; no page for a held job."""
    plan = reading.checked.plan
    printing = printing_of(reading)
    acts = sheets_of(printing.telling.procedure).flush if printing is not None else ()
    if printing is None or not acts:
        return None
    names = list(dict.fromkeys(flush.run for flush in plan.flushes))
    stays = tuple(Text(spans=(Span(text="Stays: "), *line)) for line in _stays(reading))
    places: dict[str, tuple[Block, ...]] = {"acts": side_by_side(printing.blocks(acts)), "stays": stays}
    values: dict[str, Any] = {
        "lines": [_line(name, reading, len(names) > 1) for name in names],
        "stays": "yes" if stays else "no",
        "life": _life(plan),
        "drain": "yes" if isinstance(written(plan.input.job, "near", "storm_drain"), (int, float)) else "no",
        "lye": "yes" if any(flush.leaves == "caustic" for flush in plan.flushes) else "no",
        "control": _goes_to(plan),
    }
    return section_from("flush", template("flush"), values, places)


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
    """What each tank keeps for tomorrow, and what is left of each lot. Nothing was made of what is held."""
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
    for lot in dict.fromkeys(share.lot.name for mix in made for share in mix.pours):
        today = next((one for one in plan.shelf if one.name == lot), None)
        if today is None or today.on_hand is None:
            continue
        shares = [share for mix in made for share in mix.pours if share.lot.name == lot]
        left = max(today.on_hand - sum(share.stock for share in shares), 0.0)
        # A weak lot and the spare take more than is planned.
        least = max(today.on_hand - max(sum(share.pull for share in shares), today.on_hand - left), 0.0)
        amount, at_least = poured(left, system, "down"), poured(least, system, "down")
        least_said = "none" if at_least.startswith("under ") else f"at least {at_least}"
        spent = f", {least_said} with the spare used" if at_least != amount else ""
        words = f"about {amount} left{spent}; cap tight, upright, out of the sun"
        if left < 1e-9 * today.on_hand:
            words = "empty; cap it, it still gives off gas"
        lines.append((Span(text=f"lot {lot}: ", strong=True), Span(text=words)))
    return lines


def _strong(plan: JobPlan, mix: MixPlan) -> str:
    if mix.chemical == "hypochlorite":
        return f"{spoken_name(mix.chemical)} at {strength(mix.target, mix.chemical, percent_of(plan))}"
    return f"{spoken_name(mix.chemical)}, {on_the_wall(plan, mix)}"
