"""The owner's figures of a yard job: its bath, tub, neutraliser and test, each with its equation and what went in."""

from __future__ import annotations

import math

from planner.packet.blocks import Block, Heading, Span, Table, said
from planner.packet.sections.hours import on_site
from planner.packet.sections.owner.mix_figures import Figure, figure_table
from planner.packet.sections.reading import Reading
from planner.packet.sections.yard.safety import lot_today
from planner.plan.model import JobPlan
from planner.plan.wear.model import Found, beside, finer_than
from planner.plan.yard.model import BathPlan, BenchPoint, ThrowTest
from planner.units import System, show
from planner.words.figures import bath_name
from planner.words.measures import minutes, poured, side_of, warmer, weighed
from planner.words.spoken import spoken_name


def yard_blocks(reading: Reading) -> list[Block]:
    """Bath, test and time; nothing of a wash."""
    plan = reading.checked.plan
    yard = plan.yard
    if yard is None:
        return []
    system = reading.system
    blocks: list[Block] = []
    if yard.bath is not None:
        blocks += [Heading(spans=said("The bath")), figure_table(bath_figures(reading, yard.bath))]
    if yard.test is not None:
        blocks += [Heading(spans=said("The test")), figure_table(test_figures(yard.test, system))]
    if plan.time:
        blocks += [Heading(spans=said("The time")), _time(plan)]
    return blocks


def bath_figures(reading: Reading, bath: BathPlan) -> list[Figure]:
    """What the plan made of the bath. What does not apply has no row; of one not to be made only that."""
    plan, system = reading.checked.plan, reading.system
    asked = f"{bath_name(bath)}{', by default' if bath.default else ''}"
    strong = lot_today(plan, bath)
    lots = f"{lots_words(bath)}{f', {strong}' if strong else ''}"
    if not bath.reachable:
        return [Figure(name="the bath", value="cannot be made", equation="bath_parts", inputs=f"{asked}; {lots}")]
    if reading.checked.held:
        return [Figure(name="the bath", value="held: mix nothing", equation="bath_parts", inputs=f"{asked}; {lots}")]
    holds = f"{bath.strength:.1f} g/L"
    rows = [
        Figure(name="stock, water", value=f"{stock_words(bath, system)}, {poured(bath.water, system, 'up')}",
               equation="bath_parts", inputs=f"{asked}; {poured(bath.volume, system)} poured; {lots}"),
    ]  # fmt: skip
    if bath.acid is not None:
        value = f"{100.0 * bath.acid.mass_fraction:.1f} wt %, {bath.acid.normality:.2f} N, {holds}"
        warms = warmer(bath.acid.rise_high, system)
        rows.append(Figure(name="the bath holds", value=value, equation="acid_density",
                           inputs=f"{bath.acid.density / 1000.0:.3f} kg/L at 20 C; warms {warms} at most"))  # fmt: skip
    else:
        rows.append(Figure(name="the bath holds", value=holds, equation="bath_parts", inputs="crystals by weight"))
    if bath.dissolves is not None:
        most = f"{math.floor(bath.dissolves * 10.0) / 10.0:.1f} g/L"
        cold = show(plan.input.water.temperature, "temperature", system)
        rows.append(Figure(name="most that dissolves", value=most, equation="solubility", inputs=f"water of {cold}"))
    if bath.capacity is not None and bath.spent is not None:
        share = show(bath.spent / bath.capacity if bath.capacity else 0.0, "fraction", system)
        value = f"{weighed(bath.capacity, system, 'down')}, spent at {weighed(bath.spent, system, 'down')}"
        rows.append(Figure(name="scale it takes", value=value, equation=f"lime_{bath.chemical}",
                           inputs=f"{poured(bath.volume, system)} at {holds}; {share} of it used"))  # fmt: skip
    else:
        rows.append(Figure(name="scale it takes", value="none", equation=f"lime_{bath.chemical}",
                           inputs="its salt seals the scale"))  # fmt: skip
    rows += _tub(bath, system)
    for leftover in bath.neutralise:
        rows.append(Figure(name=spoken_name(leftover.agent), value=weighed(leftover.mass, system, "up"),
                           equation="neutralising_acid",
                           inputs=f"{leftover.purpose}; with its spare "
                                  f"{weighed(leftover.carry, system, 'up')}"))  # fmt: skip
        if leftover.rise is not None and leftover.rise > 0.0:
            rows.append(Figure(name=f"{spoken_name(leftover.agent)} warms it", value=warmer(leftover.rise, system),
                               equation="neutralising_heat", inputs=f"{holds}, all at once"))  # fmt: skip
    if bath.carbon_dioxide:
        gas = show(bath.carbon_dioxide, "air", system, digits=2, toward="up")
        rows.append(Figure(name="gas it gives", value=gas, equation="bath_gas", inputs="the fresh bath, all of it"))
    return rows


def line_words(test: ThrowTest, system: System) -> str:
    """What it is tested through: `150 ft of hose (red 1, red 2), tip long throw`."""
    hoses = test.run.hoses
    length = show(sum(hose.length for hose in hoses), "length", system)
    return f"{length} of hose ({', '.join(hose.name for hose in hoses)}), tip {test.run.tip.name}"


def stock_words(bath: BathPlan, system: System) -> str:
    """What of the stock goes in, as it is measured out."""
    if bath.stock_mass is not None:
        return weighed(bath.stock_mass, system, "down")
    return poured(bath.stock, system, "down")


def lots_words(bath: BathPlan) -> str:
    """The containers it is poured from, in their order."""
    names = [share.lot.name for share in bath.pours] or ([bath.lot.name] if bath.lot is not None else [])
    return " then ".join(names) or f"no lot of {spoken_name(bath.chemical)}"


def _tub(bath: BathPlan, system: System) -> list[Figure]:
    if bath.top is None or bath.across is None:
        return []
    marks = ", ".join(
        f"{level.what} {show(level.dip, 'dip', system, toward=side_of(level.what))}"
        for level in bath.levels
        if level.dip is not None
    )
    top = show(bath.top, "dip", system, toward="up")
    high = f"; {show(bath.height, 'dip', system)} high" if bath.height is not None else ""
    return [
        Figure(name="stick", value=f"{marks}; parts in {top}", equation="tub_level",
               inputs=f"{show(bath.across, 'dip', system)} across{high}")
    ]  # fmt: skip


def test_figures(test: ThrowTest, system: System) -> list[Figure]:
    """What the tested line shows sound and today."""
    line = f"{line_words(test, system)}, {show(test.run.tip_height, 'length', system)} up"
    rows: list[Figure] = []
    for name, point in (("sound", test.after), ("today", test.before)):
        share = f"{show(point.share, 'fraction', system, toward='down')} of a good pump's {test.of}"
        if point.ground is not None:
            far = show(point.ground, "length", system, toward="down")
            rows.append(Figure(name=f"throw, {name}", value=far, equation="ground_throw",
                               inputs=f"{share}; {line}; aimed at {_degrees(point)} degrees"))  # fmt: skip
        flow = f"{show(point.flow, 'flow', system)}{_closed(point, system)}"
        solved = "piston_flow" if test.of == "flow" else "operating_point"
        rows.append(Figure(name=f"flow, {name}", value=flow, equation=solved, inputs=share))
    for reading in test.found:
        against = beside(reading, finer_than(reading, test.found, test.of)) in ("under", "over")
        if reading.tells and reading.share is not None and not against:
            rows.append(_of_reading(reading, test, system))
    return rows


def _of_reading(one: Found, test: ThrowTest, system: System) -> Figure:
    """The pump by one reading: a share, or of a throw the range its band leaves."""
    equation = {"gauge": "operating_point", "bucket": "operating_point", "throw": "ground_throw"}[one.by]
    if one.by == "throw":
        high = show(one.high or 1.0, "fraction", system, toward="up")
        low = show(one.low, "fraction", system, toward="down") if one.low is not None else "less"
        paced = show(one.value, "length", system, toward="down")
        inputs = f"paced out {paced}, in the jet's band"
        return Figure(name="pump by its throw", value=f"{low} to {high}", equation=equation, inputs=inputs)
    share = show(one.share or 0.0, "fraction", system, toward="down")
    read = show(one.value, "pressure", system) if one.by == "gauge" else show(one.value, "flow", system)
    solved = "piston_flow" if test.of == "flow" else equation
    return Figure(name=f"pump by its {one.by}", value=share, equation=solved, inputs=f"read {read}")


def _degrees(point: BenchPoint) -> str:
    return f"{round(math.degrees(point.angle))}" if point.angle is not None else "no"


def _closed(point: BenchPoint, system: System) -> str:
    return f", closed {show(point.closed, 'pressure', system)}" if point.closed is not None else ""


def _time(plan: JobPlan) -> Table:
    rows = [(span.what, f"{minutes(span.seconds)} min") for span in plan.time if not span.road]
    rows.append(("in all", f"{minutes(on_site(plan))} min"))
    cells = tuple((what, (Span(text=took, strong=True),)) for what, took in rows)
    half = (len(cells) + 1) // 2
    paired = tuple((*cells[n], *(cells[n + half] if n + half < len(cells) else ("", ""))) for n in range(half))
    return Table(head=("Step", "Takes", "Step", "Takes"), rows=paired, widths=(3, 1, 3, 1), right=frozenset({1, 3}))
