"""The water of a job over time: the tank's level as a drawing and step by step, and when the fill is open."""

from __future__ import annotations

from itertools import pairwise

from planner.packet.blocks import Block, Heading, Picture, Span, Table, said
from planner.packet.drawings.level import level_chart, stages
from planner.packet.sections.hours import arrives
from planner.packet.sections.owner.mix_figures import Figure, short_title
from planner.packet.sections.reading import Reading
from planner.packet.sections.told import level_told
from planner.plan.model import JobPlan
from planner.plan.water.model import SupplyPlan, TankLevel
from planner.units import System, show
from planner.words.dates import MINUTE, clock_text

_CHART = (172.0, 150.0)


def supply_blocks(reading: Reading) -> list[Block]:
    """For the worksheet: every water tank's level, the steps that draw on it, its figures with their basis."""
    plan, system = reading.checked.plan, reading.system
    supply = plan.supply
    if supply is None:
        return []
    blocks: list[Block] = []
    for tank in supply.tanks:
        blocks += [
            Heading(spans=said(f"The {tank.name} tank through the job, {_from(plan, system)}")),
            _picture(tank, supply, system),
            _steps(tank, supply, plan, system),
            _figures(figures_of(tank, supply, plan, system)),
        ]
    return blocks


def work_starts(plan: JobPlan) -> float | None:
    """When set-up is done [s from midnight]; None where nobody wrote when the rig leaves."""
    at = arrives(plan)
    return None if at is None or plan.supply is None else at + plan.supply.begins


def _time(plan: JobPlan, seconds: float, system: System) -> str:
    start = work_starts(plan)
    return (
        clock_text(start + seconds, system, step=MINUTE)
        if start is not None
        else show(seconds, "time", "us", step=60.0)
    )


def _from(plan: JobPlan, system: System) -> str:
    start = work_starts(plan)
    return "counted from the end of set-up" + (
        f" at {clock_text(start, system, step=MINUTE)}" if start is not None else ""
    )


def _picture(tank: TankLevel, supply: SupplyPlan, system: System) -> Picture:
    def paint(wide: float, tall: float) -> object:
        return level_chart(tank, supply.phases, system, wide, tall)

    title = f"The {tank.name} tank through the job"
    return Picture(paint=paint, heights=_CHART, title=title, told=level_told(tank, system))


def standing(tank: TankLevel, seconds: float) -> float:
    """What stands in the tank [m3] at a time [s], straight between the level's points."""
    for (before, low), (after, high) in pairwise(tank.points):
        if seconds <= after:
            return low + (high - low) * (seconds - before) / (after - before) if after > before else high
    return tank.points[-1][1]


def _steps(tank: TankLevel, supply: SupplyPlan, plan: JobPlan, system: System) -> Table:
    rows = []
    for stage in stages(supply.phases):
        takes = sum(phase.draws.get(tank.name, 0.0) for phase in stage.phases)
        low = min(
            [standing(tank, stage.end), *(v for s, v in tank.points if stage.start <= s <= stage.end)],
        )
        rows.append(
            (
                (Span(text=stage.name, strong=True),),
                _time(plan, stage.start, system),
                show(stage.end - stage.start, "time", system, toward="up"),
                show(takes, "volume", system, toward="up") if takes > 0.0 else "",
                show(low, "volume", system, toward="down"),
                show(standing(tank, stage.end), "volume", system, toward="down"),
            )
        )
    head = ("Step", "From", "Lasts", "Takes", "Lowest", "Stands after")
    return Table(head=head, rows=tuple(rows), widths=(4, 2.4, 1.8, 1.6, 1.6, 1.8), right=frozenset({2, 3, 4, 5}))


def figures_of(tank: TankLevel, supply: SupplyPlan, plan: JobPlan, system: System) -> list[Figure]:
    """What the plan made of one tank; what does not apply has no row."""
    water = plan.input.water
    rows = []
    if tank.fill_flow is not None:
        hose = plan.input.rig.supply_hose
        through = f"{show(hose.length, 'length', system)} of {show(hose.bore, 'bore', system)}" if hose else "no hose"
        test = "never tested, an ordinary tap assumed" if supply.assumed else (
            f"{show(water.test_flow or 0.0, 'flow', system)} at {show(water.residual or 0.0, 'pressure', system)}"
        )  # fmt: skip
        inputs = f"tap {show(water.static or 0.0, 'pressure', system)} still, {test}; {through}; over the tank's rim"
        flow = show(tank.fill_flow, "flow", system, toward="down")
        rows.append(Figure(name="the tap fills", value=flow, equation="tap_fill", inputs=inputs))
    start = show(tank.start, "volume", system, toward="down")
    taken = show(tank.wanted, "volume", system, toward="up")
    given = show(tank.supplied, "volume", system, toward="down")
    dead = show(tank.dead_volume, "volume", system, toward="up")
    outlet = f"; {dead} below the outlet" if tank.dead_volume > 0.0 else ""
    rows.append(
        Figure(name="lowest level", value=show(tank.lowest, "volume", system, toward="down"), equation="tank_balance",
               inputs=f"{start} at arrival; takes {taken}, gets {given}{outlet}")
    )  # fmt: skip
    if tank.fill_flow is not None:
        alone = "never dry" if tank.alone is None else f"dry after {show(tank.alone, 'time', system, toward='down')}"
        inputs = "the same draws, nothing running in"
        rows.append(Figure(name="without the tap", value=alone, equation="tank_balance", inputs=inputs))
    if tank.dry is not None:
        short = show(tank.dry.short, "volume", system, toward="up")
        at = show(tank.dry.at, "time", system, toward="down")
        wait = (
            f"; the tap makes up for it in {show(tank.dry.wait, 'time', system, toward='up')}" if tank.dry.wait else ""
        )
        trips = f"; full tanks to haul: {tank.trips}" if tank.trips else ""
        rows.append(Figure(name="short of water", value=f"{short}, dry after {at}", equation="tank_balance",
                           inputs=f"at {f'{tank.dry.what} {tank.dry.about}'.strip()}{wait}{trips}"))  # fmt: skip
    return rows


def _figures(figures: list[Figure]) -> Table:
    rows = tuple(
        (
            figure.name,
            (Span(text=figure.value, strong=True),),
            short_title(figure.equation),
            figure.inputs,
        )
        for figure in figures
    )
    return Table(head=("Figure", "Value", "Equation", "What went in"), rows=tuple(rows), widths=(2.1, 2.3, 3.2, 4.4))
