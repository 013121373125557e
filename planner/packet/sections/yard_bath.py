"""The bath that takes the scale out: what is poured in which order, how long, when it is spent, how it is ended."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.chemistry.bath import CARBON_DIOXIDE_PER_PROTON
from planner.packet.blocks import Block, Bullet, Picture, Section, Span, Text
from planner.packet.drawings.tank import STOCK, WATER, Column, Level, tank_levels
from planner.packet.findings import message_of, remedy_of, with_numbers
from planner.packet.measures import minutes, poured, side_of, warmer, weighed
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.told import levels_told
from planner.packet.sections.yard_safety import wear_words
from planner.packet.sections.yard_words import (
    bath_name,
    kept_out,
    lots_words,
    pours_bath,
    stock_words,
    stops,
    yard_of,
)
from planner.packet.wording import section_from
from planner.packet.words import spoken_name
from planner.plan.mix_model import Neutraliser
from planner.plan.model import JobPlan
from planner.plan.yard_end import FIRST_RINSE
from planner.plan.yard_model import BathPlan, YardPlan
from planner.plan.yard_parts import hydrogen_metals
from planner.units import System, Toward, show

_TUB = (250.0, 225.0, 200.0, 175.0, 150.0)
_READ = 0.005  # m; levels nearer than this are not told apart on a stick


def section(reading: Reading) -> Section | None:
    """The sheet of the bath; None where nothing is descaled."""
    plan = reading.checked.plan
    yard = yard_of(plan)
    if yard is None or yard.bath is None:
        return None
    bath = yard.bath
    made = pours_bath(reading)
    picture = _picture(bath, reading.system) if made else None
    places: dict[str, tuple[Block, ...]] = {
        "short": () if made else tuple(_short(reading)),
        "tub": (picture,) if picture is not None else (),
    }
    values = _values(plan, yard, bath, reading.system) if made else {}
    known = {"made": "yes" if made else "no", "drawn": "yes" if picture is not None else "no", "bath": bath_name(bath)}
    return section_from("yard_bath", template("yard_bath"), {**known, **values}, places)


def _short(reading: Reading) -> list[Block]:
    """What keeps the bath from being mixed and what clears it, and not one figure to pour by."""
    blocks: list[Block] = [Text(spans=(Span(text="Mix no bath.", strong=True),), use="reading")]
    for finding in stops(reading):
        cure = remedy_of(finding, reading.system, reading.checked)
        message = message_of(finding, reading.system)
        words = f"{message} To clear it: {cure[:1].lower()}{cure[1:]}" if cure else message
        blocks.append(Bullet(spans=with_numbers(words)))
    return blocks


def _values(plan: JobPlan, yard: YardPlan, bath: BathPlan, system: System) -> dict[str, Any]:
    water, stock = _levels(bath)
    wear = wear_words(bath)
    return {
        "chemical": spoken_name(bath.chemical),
        "volume": poured(bath.volume, system),
        "dry": "yes" if bath.stock_mass is not None else "no",
        "water": poured(bath.water, system, "up"),
        "water_dip": _dip(water, system, "up"),
        "stock": stock_words(bath, system),
        "stock_dip": _dip(stock, system, "down"),
        "lots": lots_words(bath),
        "pours": _pours(bath, system),
        "warms": warmer(bath.acid.rise_high, system) if bath.acid else "",
        "top": show(bath.top, "dip", system, toward="up") if bath.top is not None else "",
        "free": show(bath.free, "dip", system, toward="down") if bath.free is not None and bath.free > 0.0 else "",
        "wear": wear[:1].upper() + wear[1:],
        "soak": minutes(bath.soak, "down"),
        "tub_least": poured(bath.tub_least, system, "up"),
        "hydrogen": " or ".join(_all_but_last(hydrogen_metals())),
        "apart": " and ".join(yard.parts.apart),
        "metals": " and ".join(kept_out(yard)),
        "stainless": "yes" if any(part.fate == "pits" for part in yard.parts.out) else "no",
        "inside": "no" if yard.parts.nothing_inside else "yes",
        "written": "yes" if yard.parts.written else "no",
        "unknown": " and ".join(yard.parts.unknown),
        "rust": "yes" if bath.capacity is None else "no",
        "wiped": "yes" if bath.wipe is not None and bath.passes else "no",
        "passes": bath.passes,
        "wipe_least": minutes(bath.wipe[0], "down") if bath.wipe is not None else "",
        "wipe_most": minutes(bath.wipe[1], "down") if bath.wipe is not None else "",
        "rinse": poured(bath.rinse, system, "up"),
        "rinses": bath.rinses,
        "rinse_agent": weighed(bath.rinse_agent, system, "up") if bath.rinse_agent > 0.0 else "",
        "rinse_with": spoken_name(bath.rinse_with),
        "capacity": weighed(bath.capacity, system, "down") if bath.capacity is not None else "",
        "spent": weighed(bath.spent, system, "down") if bath.spent is not None else "",
        "spent_ph": f"{bath.spent_ph:g}",
        "shaft": "yes" if yard.pump.kind == "centrifugal" else "no",
        "rows": [_row(bath, one, system) for one in bath.neutralise if one.purpose != FIRST_RINSE],
        **_ends(bath, system),
        "agents": _agents(bath),
        "bleached": bath.bleached,
        "works": " ".join(yard.works),
    }


def _all_but_last(names: Sequence[str]) -> tuple[str, str]:
    return ", ".join(names[:-1]), names[-1]


def _levels(bath: BathPlan) -> tuple[float | None, float | None]:
    """Where water, and then the whole bath, stands on the stick [m]; None where it cannot be told."""
    water = next((level.dip for level in bath.levels if level.what == "water"), None)
    stock = next((level.dip for level in bath.levels if level.what != "water" and level.by_stick), None)
    return water, stock


def _dip(depth: float | None, system: System, toward: Toward) -> str:
    return show(depth, "dip", system, toward=toward) if depth is not None else ""


def _pours(bath: BathPlan, system: System) -> list[dict[str, str]]:
    """What each container gives, in order, where it is more than one."""
    given = [one for one in bath.pours if one.stock > 0.0 or one.mass > 0.0]
    if len(given) < 2:
        return []
    return [
        {
            "lot": one.lot.name,
            "amount": weighed(one.mass, system, "down") if one.mass > 0.0 else poured(one.stock, system, "down"),
        }
        for one in given
    ]


def _gas(bath: BathPlan, one: Neutraliser, system: System) -> str:
    """The gas of neutralising, as an order of magnitude; nothing of what gives none of its own."""
    if not bath.carbon_dioxide or not CARBON_DIOXIDE_PER_PROTON.get(one.agent):
        return ""
    return show(bath.carbon_dioxide, "air", system, digits=2, toward="up")


def _ends(bath: BathPlan, system: System) -> dict[str, str]:
    """What lies open beside the tub, with its spare; nothing where nothing is known to end the bath."""
    first = next((one for one in bath.neutralise if one.purpose != FIRST_RINSE), None)
    if first is None:
        return {"ends_mass": "", "ends_agent": ""}
    return {"ends_mass": weighed(first.carry, system, "up"), "ends_agent": spoken_name(first.agent)}


def _row(bath: BathPlan, one: Neutraliser, system: System) -> dict[str, str]:
    return {
        "agent": spoken_name(one.agent),
        "key": one.agent,
        "carbon": _gas(bath, one, system),
        "warms": warmer(one.rise, system) if one.rise is not None and one.rise > 0.0 else "",
        "mass": weighed(one.mass, system, "up"),
        "carry": weighed(one.carry, system, "up"),
        "what": one.purpose,
    }


def _agents(bath: BathPlan) -> str:
    return " or ".join(dict.fromkeys(spoken_name(one.agent) for one in bath.neutralise))


def _picture(bath: BathPlan, system: System) -> Picture | None:
    """The tub with its stick; None where nobody wrote how wide it is."""
    if any(level.dip is None for level in bath.levels) or not bath.levels:
        return None
    levels = []
    for level in bath.levels:
        name = level.what if level.what == "water" else spoken_name(bath.chemical)
        side = side_of(level.what)
        amount = weighed(level.mass, system, side) if level.mass is not None else poured(level.added, system, side)
        fill = WATER if level.what == "water" else STOCK
        if level.mass is not None:
            continue
        levels.append(
            Level(what=name, depth=level.dip or 0.0, fill=fill, read=level.by_stick, amount=amount, side=side)
        )
    if bath.top is not None and levels and bath.top > levels[-1].depth + _READ:
        amount = show(bath.top, "dip", system, toward="up")
        levels.append(Level(what="with the parts", depth=bath.top, fill=0.0, read=False, amount=amount))
    across = show(bath.across, "dip", system) if bath.across is not None else ""
    deep = bath.height if bath.height is not None else max(level.depth for level in levels) * 1.15
    foot = f"the tub, {across} across" + (
        f", {show(bath.height, 'dip', system)} deep" if bath.height is not None else ""
    )
    column = Column(title="The bath", note=f"{poured(bath.volume, system)}, {bath_name(bath)}", levels=tuple(levels))

    def paint(wide: float, tall: float) -> object:
        return tank_levels([column], deep, system, wide, tall, foot=foot)

    told = levels_told(levels, system)
    return Picture(
        paint=paint, heights=_TUB, title="The tub", told=f"From the floor up: {told}. It is {foot.partition(', ')[2]}."
    )
