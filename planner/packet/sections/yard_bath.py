"""The bath that takes the scale out: what is poured in which order, how long, when it is spent, how it is ended."""

from __future__ import annotations

from planner.packet.blocks import Block, Picture, Section
from planner.packet.drawings.tank import STOCK, WATER, Column, Level, tank_levels
from planner.packet.measures import poured, side_of, weighed
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.told import levels_told
from planner.packet.sections.yard_acts import at_the_stop, pages_of, yard_printing
from planner.packet.sections.yard_words import bath_name, role_in_yard, yard_of
from planner.packet.wording import section_from
from planner.packet.words import spoken_name
from planner.plan.yard_model import BathPlan
from planner.units import System, show

_TUB = (150.0, 132.0, 116.0)
_READ = 0.005  # m; levels nearer than this are not told apart on a stick


def section(reading: Reading) -> Section | None:
    """The sheet of the bath; None where nothing is descaled."""
    plan = reading.checked.plan
    yard = yard_of(plan)
    if yard is None or yard.bath is None:
        return None
    bath, system = yard.bath, reading.system
    printing, picture = yard_printing(reading), _picture(bath, system)
    acts = printing.blocks(pages_of(printing.telling.procedure.acts).bath) if printing is not None else ()
    before, stop, after = at_the_stop(acts)
    places: dict[str, tuple[Block, ...]] = {
        "tub": (picture,) if picture is not None else (),
        "before": before,
        "acts": (*stop, *after),
    }
    values = {
        "drawn": "yes" if picture is not None else "no",
        "wiped": "yes" if bath.wipe is not None and bath.passes else "no",
        "shaft": "yes" if yard.pump.kind == "centrifugal" else "no",
        "rust": "yes" if bath.capacity is None else "no",
        "capacity": weighed(bath.capacity, system, "down") if bath.capacity is not None else "",
        "spent": weighed(bath.spent, system, "down") if bath.spent is not None else "",
        "spent_ph": f"{bath.spent_ph:g}",
    }
    return section_from("yard_bath", template("yard_bath"), values, places, role=role_in_yard(reading))


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
