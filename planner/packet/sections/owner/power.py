"""Electricity on paper: every motor's figures, for the owner."""

from __future__ import annotations

from planner.packet.blocks import Block, Heading, Span, Table, said
from planner.packet.sections.owner.mix_figures import Figure, short_title
from planner.packet.sections.reading import Reading
from planner.plan.model import JobPlan
from planner.plan.road.model import CordPlan, Load, MotorPlan, PowerPlan
from planner.units import System, show, show_number


def power_blocks(reading: Reading) -> list[Block]:
    """For the worksheet: each motor and its cord, then what runs at once; nothing where no pump has a motor."""
    plan, system = reading.checked.plan, reading.system
    figures = figures_of(plan, system)
    if not figures:
        return []
    rows = tuple(
        (
            figure.name,
            (Span(text=figure.value, strong=True),),
            short_title(figure.equation),
            figure.inputs,
        )
        for figure in figures
    )
    table = Table(head=("Figure", "Value", "Equation", "What went in"), rows=rows, widths=(2.1, 2.3, 3.2, 4.4))
    return [Heading(spans=said("Power: a licensed electrician decides")), table]


def figures_of(plan: JobPlan, system: System) -> list[Figure]:
    """What the plan made of the electricity. What does not apply has no row."""
    power = plan.power
    if power is None:
        return []
    figures = [figure for motor in power.motors for figure in _motor(motor, system)]
    seen: set[tuple[str, ...]] = set()
    for load in power.loads:
        if load.pumps not in seen and load.watts is not None:
            figures += _load(load, power, system)
        seen.add(load.pumps)
    if power.needed is not None:
        figures.append(_battery(power, power.needed, system))
    return figures


def _motor(motor: MotorPlan, system: System) -> list[Figure]:
    volts = show(motor.volts, "voltage", system)
    if motor.amps is None:
        return [Figure(name=f"{motor.pump} draws", value="not known", equation="motor_current",
                       inputs=f"plate {volts}; no current on it and none in the table")]  # fmt: skip
    shaft = f", {_shaft(motor.power, system)}" if motor.power is not None else ""
    equation = "plate_current" if motor.from_plate else "direct_current" if motor.direct else "motor_current"
    rows = [
        Figure(
            name=f"{motor.pump} draws",
            value=show(motor.amps, "current", system, toward="up"),
            equation=equation,
            inputs=f"plate {volts}{shaft}; {show(motor.supply, 'voltage', system)} feeds it",
        )
    ]
    cord = motor.cord
    if cord is not None and cord.drop is not None and cord.drop_cool is not None and motor.drop_fraction is not None:
        cool = show(cord.drop_cool, "voltage", system)
        rows.append(
            Figure(
                name="its cord loses",
                value=_loses(cord.drop, motor.drop_fraction, system),
                equation="cord_drop",
                inputs=f"{_cord(cord, system)}; copper at {_warm(cord.copper, system)} in air of "
                f"{_warm(cord.air, system)}, at 20 C {cool}",
            )
        )
        rows.append(
            Figure(
                name="gets to it",
                value=show(motor.supply - cord.drop, "voltage", system, step=0.1, toward="down"),
                equation="cord_drop",
                inputs=f"{show(motor.supply, 'voltage', system)} less the cord's; plate {volts}",
            )
        )
    return rows


def _warm(temperature: float | None, system: System) -> str:
    return show(temperature or 0.0, "temperature", system, toward="up")


def _shaft(power: float, system: System) -> str:
    """`3/4 hp` motors are sold by horsepower to the US reader, by watts to any other."""
    if system == "si":
        return show(power, "power", system)
    number, unit = show_number(power, "power", system, unit="hp", step=0.01)
    return f"{number.rstrip('0').rstrip('.')} {unit}"


def _load(load: Load, power: PowerPlan, system: System) -> list[Figure]:
    """What runs at once from mains or generator, and while it starts."""
    assert load.watts is not None
    fed = []
    if power.generator is not None:
        fed.append(f"generator {show(power.generator, 'power', system, toward='down')}")
    if power.breaker is not None:
        fed.append(f"breaker {show(power.breaker, 'current', system)}")
    pumps = [motor.pump for motor in power.motors if motor.pump in load.pumps and not motor.direct]
    others = f"; other loads {show(power.others, 'power', system, toward='up')}" if power.others else ""
    rows = [
        Figure(
            name="runs at once",
            value=show(load.watts, "power", system, toward="up"),
            equation="running_power",
            inputs=f"{', '.join(pumps)}{others}; {' and '.join(fed) or 'what feeds it is not given'}",
        )
    ]
    if load.start_watts is not None:
        rows.append(
            Figure(
                name="for a moment",
                value=show(load.start_watts, "power", system, toward="up"),
                equation="starting_power",
                inputs=f"{load.starts} starts{', the others run' if len(pumps) > 1 or power.others else ''}",
            )
        )
    return rows


def _battery(power: PowerPlan, needed: float, system: System) -> Figure:
    held = "no battery listed"
    if power.battery is not None and power.usable is not None:
        held = (
            f"{show(power.usable, 'charge', system, toward='down')} of {show(power.battery, 'charge', system)} "
            "may be drawn"
        )
        if power.lasts is not None:
            held += f"; lasts {show(power.lasts, 'time', system, toward='down')} without a pause"
    on = ", ".join(
        f"{motor.pump} {show(motor.seconds, 'time', system, toward='up')}" for motor in power.motors if motor.direct
    )
    return Figure(
        name="from the battery",
        value=show(needed, "charge", system, toward="up"),
        equation="battery_charge",
        inputs=f"{on}; {held}",
    )


def _cord(cord: CordPlan, system: System) -> str:
    return f"{show(cord.gauge, 'gauge', system)}, {show(cord.length, 'length', system)}"


def _loses(drop: float, share: float, system: System) -> str:
    return f"{show(drop, 'voltage', system)}, {show(share, 'fraction', system, toward='up')}"
