"""The page read at the reel: what is flushed before a mix, each part a mix went through, where it goes, what stays."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.packet.blocks import Block, Cell, Section, Span, Spans, Table, Text
from planner.packet.measures import minutes, poured, strength
from planner.packet.sections.flush_first import values_of
from planner.packet.sections.mixes import on_the_wall, percent_of, pours, tank_name
from planner.packet.sections.reading import Reading, template, written
from planner.packet.wording import section_from
from planner.packet.words import added_up, spoken_name
from planner.plan.heels import keeps
from planner.plan.mix_model import FlushPlan, MixPlan
from planner.plan.model import JobPlan
from planner.plan.residuals import LIFE, controls_of
from planner.plan.runoff import remains_of
from planner.units import System, show

_HAIR = 1.0 - 1e-3  # the tap's own chlorine plus a hair is still the tap's own
_NOISE = 1e-9  # m3


def section(reading: Reading) -> Section | None:
    """What is flushed before a mix, then one part for each line that carried one; no page where there is neither."""
    plan, system = reading.checked.plan, reading.system
    if not plan.flushes and not plan.changes:
        return None
    names = list(dict.fromkeys(flush.run for flush in plan.flushes))
    stays = tuple(Text(spans=(Span(text="Stays: "), *line)) for line in _stays(reading))
    places: dict[str, tuple[Block, ...]] = {"stays": stays}
    lines = []
    for n, name in enumerate(names, start=1):
        parts = [flush for flush in plan.flushes if flush.run == name]
        places[f"parts {n}"] = (_parts(parts, system),)
        lines.append(_line(n, name, parts, reading, len(names) > 1))
    values: dict[str, Any] = {
        "changes": [values_of(n, change, plan, system) for n, change in enumerate(plan.changes, start=1)],
        "lines": lines,
        "stays": "yes" if places["stays"] else "no",
        "life": _life(plan),
        "drain": "yes" if isinstance(written(plan.input.job, "near", "storm_drain"), (int, float)) else "no",
        "lye": "yes" if any(flush.leaves == "caustic" for flush in plan.flushes) else "no",
        "control": _goes_to(plan),
    }
    held = {str(n) for n, name in enumerate(names, start=1) if reading.held.holds(name)}
    held |= {
        f"first {n}"
        for n, change in enumerate(plan.changes, start=1)
        if not change.can or reading.held.holds(change.run)
    }
    if reading.held.everything:
        held |= {"all"}
    return section_from("flush", template("flush"), values, places, held=frozenset(held))


def _goes_to(plan: JobPlan) -> str:
    """Where a written control takes the water; nothing where it only keeps it back, or not all of it."""
    waters = {mix.chemical for mix in plan.mixes} | {flush.leaves for change in plan.changes for flush in change.parts}
    ways = [one for one in controls_of(plan.input) if one.to]
    return next((one.to for one in ways if all(one.holds("storm_drain", water) for water in waters)), "")


def _line(number: int, name: str, parts: Sequence[FlushPlan], reading: Reading, several: bool) -> dict[str, Any]:
    plan, system = reading.checked.plan, reading.system
    mixes = [mix for mix in plan.mixes if mix.run.name == name]
    kinds = {mix.kind for mix in mixes}
    seconds = sum(part.seconds or 0.0 for part in parts)
    found = next((f for f in reading.checked.findings if f.code == "flush.needed" and f.about == name), None)
    tank = next((tank_name(mix.run.feed_tank.name) for mix in mixes if mix.run.feed_tank is not None), "")
    dosing = mixes[0].run.dosing if mixes else None
    left = [remains_of(mix) for mix in mixes if mix.mix is not None]
    target = parts[0].target
    life_limit = plan.input.limits.get("residual_with_life", 0.0)
    return {
        "number": number,
        "name": name if several else "",
        "kind": "premix" if "premix" in kinds else "metered" if "metered" in kinds else "injector",
        "tank": tank,
        "device": dosing.name if dosing is not None else "",
        # A tank was brought down to its heel for the mix after it; of every hoseful there is a pail.
        "spare": _caught(left[-1].spare, system) if left else "",
        "from_hose": _caught(sum(one.line for one in left), system),
        "can": "yes" if all(part.volume is not None for part in parts) else "no",
        "volume": _whole(parts, system),
        "minutes": minutes(seconds),
        "target": show(target, "concentration", system, toward="down"),
        "leaves": spoken_name(parts[0].leaves),
        "acid": "yes" if parts[0].leaves not in ("hypochlorite",) else "no",
        "for_life": "yes" if found is not None and found.case == "for_life" else "no",
        "life_limit": show(life_limit, "concentration", system, toward="down"),
        "inlet": show(plan.input.water.chlorine or 0.0, "concentration", system, toward="up"),
    }


def _caught(amount: float, system: System) -> str:
    """Mix [m3] that is caught in pails, to the greater side; nothing of what sums leave over."""
    return show(amount, "volume", system, toward="up") if amount > _NOISE else ""


def _parts(parts: Sequence[FlushPlan], system: System) -> Table:
    unit = "gal" if system == "us" else "L"
    rows: list[tuple[Cell, ...]] = []
    for part in parts:
        if part.volume is None or part.seconds is None or part.residual is None:
            rows.append((part.part, "no end", "", "dose it"))
            continue
        left = show(part.residual * _HAIR, "concentration", system, toward="up")
        rows.append(
            (
                part.part,
                show(part.volume, "volume", system, toward="up").rpartition(" ")[0],
                show(part.seconds, "time", system, toward="up"),
                left.rpartition(" ")[0],
            )
        )
    volumes = [part.volume for part in parts if part.volume is not None]
    seconds = sum(part.seconds or 0.0 for part in parts)
    if len(volumes) > 1 and len(volumes) == len(parts):
        whole = _whole(parts, system).rpartition(" ")[0]
        rows.append(((Span(text="the line, tip off", strong=True),), whole, f"{minutes(seconds)} min", ""))
    head = ("Part, in order", unit, "Time", "mg/L left")
    return Table(
        head=head, rows=tuple(rows), widths=(3.9, 1.6, 1.9, 2.2), right=frozenset({1, 2, 3}), act=frozenset({1, 2})
    )


def _whole(parts: Sequence[FlushPlan], system: System) -> str:
    """All of a line's parts as they are printed, so a reader who adds them up gets the same."""
    return added_up([part.volume for part in parts if part.volume is not None], system)


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
            held = f"{show(dead, 'volume', system, toward='up')} of {_strong(plan, mix)}: tomorrow's heel"
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
