"""Electricity of the job: what each motor draws through its cord, what runs at once, how long a battery lasts.

A cord's copper is taken as air + 45 K times the square of its share of what the cord carries: 75 C at all of it in air
of 30 C, the least that is taken for a cord in the sun (no source read). A wire thicker than the table of cords counts
as the thickest there. Its drop is judged against the volts of the supply, not of the plate; the drop at 20 C stands
beside it. `volts` of the rig feed the motors whose plate they fit; any other motor hangs on its own system (230 on 240
V, 12 on a battery). A load is one run's pump and the pumps named `beside`, in watts of volts times amps; two runs of
different pumps are taken one after another. A start is held against three times the generator's rating, never against a
breaker, which rides through it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isclose

from planner.inputs.joined import JobInput
from planner.inputs.models import Motor, Pump, RigPower
from planner.inputs.tables.defaults import default
from planner.inputs.tables.electric import ElectricTables, MotorColumn, Wire
from planner.physics import electric
from planner.plan.model import RunPlan
from planner.plan.road.model import CordPlan, Load, MotorPlan, PowerPlan
from planner.plan.sky.weather import on_visit


def on_mains(volts: float | None) -> bool:
    """Whether a motor of so many `volts`, None where nobody says, has a plug and can give a shock."""
    return volts is None or volts >= default("mains_from")


def plan_power(job: JobInput, runs: Sequence[RunPlan], seconds: Mapping[str, float]) -> PowerPlan | None:
    """The electricity of a job; None where no pump it uses has a motor. `seconds`: how long each pump works."""
    power = job.rig.power
    beside = [pump for pump in job.rig.pumps if power is not None and pump.name in power.beside] if runs else []
    pumps = {run.input.pump.name: run.input.pump for run in runs if run.input.pump is not None}
    # With no pump of its own running, nothing runs beside it.
    pumps |= {pump.name: pump for pump in beside} if pumps else {}
    tables: ElectricTables = job.tables["electric"]
    assumed: list[str] = []
    motors = {
        pump.name: _motor(
            pump,
            pump.motor,
            power,
            tables,
            seconds=seconds.get(pump.name, 0.0),
            beside=pump in beside,
            limits=job.limits,
            air=_air(job, tables),
            default_volts=float(job.tables["defaults"]["volts"]),
            assumed=assumed,
        )
        for pump in pumps.values()
        if pump.motor is not None
    }
    if not motors:
        return None
    others = power.others or 0.0 if power is not None else 0.0
    system = _system(power, tables, float(job.tables["defaults"]["volts"]))
    loads = tuple(
        load
        for run in runs
        if run.input.pump is not None
        for load in [_load(run.name, run.input.pump.name, motors, others, system)]
        if load is not None
    )
    battery = power.battery if power is not None else None
    usable = None if battery is None else battery * job.limits["battery_usable"]
    drawn = [motor for motor in motors.values() if motor.direct]
    needed = None
    if drawn and all(motor.amps is not None for motor in drawn):
        needed = sum((motor.amps or 0.0) * motor.seconds for motor in drawn)
    largest = max((load.battery_amps or 0.0 for load in loads), default=0.0)
    return PowerPlan(
        motors=tuple(motors.values()),
        loads=loads,
        worst=max(loads, key=lambda load: (load.watts or 0.0, load.battery_amps or 0.0), default=None),
        generator=power.generator if power is not None else None,
        surge=power.surge if power is not None else None,
        breaker=power.breaker if power is not None else None,
        battery=battery,
        usable=usable,
        needed=needed,
        lasts=electric.battery_time(usable, largest) if usable is not None and largest > 0.0 else None,
        gfci=power.gfci if power is not None else None,
        others=others,
        assumed=tuple(dict.fromkeys(assumed)),
    )


def _motor(
    pump: Pump,
    motor: Motor,
    power: RigPower | None,
    tables: ElectricTables,
    *,
    seconds: float,
    beside: bool,
    limits: Mapping[str, float],
    air: float,
    default_volts: float,
    assumed: list[str],
) -> MotorPlan:
    volts = motor.volts
    if volts is None:
        volts = _unwritten(power, tables, default_volts)
        assumed.append(f"{pump.name}: {volts:g} V")
    direct = volts < tables.direct_below
    column = None if direct else next((c for c in tables.columns if c.least <= volts <= c.most), None)
    supply = _supply(volts, direct, power, column, tables)
    amps = motor.amps
    if amps is None and motor.power is not None:
        if direct:
            amps = electric.direct_current(motor.power, volts, tables.efficiency)
        elif column is not None:
            amps = electric.full_load_current(motor.power, column.points)
    start = motor.start_amps
    if start is None and amps is not None and not direct:
        locked = None
        if motor.power is not None and column is not None and column.starts:
            locked = electric.full_load_current(motor.power, column.starts)
        # A plate that draws more than the table's motor starts on more too.
        start = amps * tables.start if locked is None else max(locked, amps * tables.start if motor.amps else 0.0)
    return MotorPlan(
        pump=pump.name,
        power=motor.power,
        volts=volts,
        supply=supply,
        direct=direct,
        amps=amps,
        from_plate=motor.amps is not None,
        start_amps=start,
        cord=_cord(motor, amps, supply, direct, tables, limits["drop_direct" if direct else "drop_caution"], air),
        seconds=seconds,
        beside=beside,
    )


def _unwritten(power: RigPower | None, tables: ElectricTables, default_volts: float) -> float:
    """The volts of a motor whose plate was not read: what the rig gives."""
    if power is not None and power.volts is not None:
        return power.volts
    if power is not None and power.battery is not None and power.generator is None and power.breaker is None:
        return tables.battery
    return default_volts


def _supply(
    volts: float, direct: bool, power: RigPower | None, column: MotorColumn | None, tables: ElectricTables
) -> float:
    """What feeds a motor [V]: the rig's own voltage where that fits its plate, else the system such motors hang on."""
    own = power.volts if power is not None else None
    if own is not None and isclose(own, volts, rel_tol=default("volts_alike")):
        return own
    if direct:
        # A 12 V pump's plate may say 13.6 V: batteries come in steps of twelve.
        return tables.battery * max(1, round(volts / tables.battery))
    return column.supply if column is not None else volts


def _cord(
    motor: Motor,
    amps: float | None,
    supply: float,
    direct: bool,
    tables: ElectricTables,
    most_drop: float,
    air: float,
) -> CordPlan | None:
    if motor.cord is None:
        return None
    length = motor.cord.length
    wire = next((wire for wire in tables.wires if wire.gauge == motor.cord.gauge), None)
    drop = cool = thicker = longest = copper = None
    if amps is not None:
        limit = most_drop * supply
        thicker = _thinnest_within(limit, length, amps, tables, air)
        if wire is not None:
            # A cord that has run all morning is warm: what it loses then is what the motor has to live with.
            copper = _copper(wire, amps, tables, air)
            warm = electric.resistance_at(wire.resistance, copper)
            drop = electric.cord_drop(length, amps, warm)
            cool = electric.cord_drop(length, amps, wire.resistance)
            longest = electric.longest_cord(limit, amps, warm)
    return CordPlan(
        gauge=motor.cord.gauge,
        length=length,
        # The table is of flexible cord; battery cable is insulated otherwise.
        carries=wire.carries if wire is not None and not direct else None,
        drop=drop,
        drop_cool=cool,
        thicker=thicker,
        longest=longest,
        copper=copper,
        air=air,
    )


def _air(job: JobInput, tables: ElectricTables) -> float:
    """The air a cord lies in [K]: the high of the visit, and never less than what its table is for."""
    high = on_visit(job).high
    return max(high if high is not None else tables.air, tables.air)


def _copper(wire: Wire, amps: float, tables: ElectricTables, air: float) -> float:
    """How warm a wire gets [K]; one too thick for the table of cords counts as the thickest in it."""
    carries = wire.carries or max(one.carries or 0.0 for one in tables.wires)
    return electric.conductor_temperature(amps, carries, air, tables.hot - tables.air)


def _thinnest_within(limit: float, length: float, amps: float, tables: ElectricTables, air: float) -> float | None:
    """Gauge of the thinnest wire that loses no more than `limit` [V]; None where even the thickest loses more."""
    fit = [
        wire
        for wire in tables.wires
        if electric.cord_drop(length, amps, electric.resistance_at(wire.resistance, _copper(wire, amps, tables, air)))
        <= limit
    ]
    return max((wire.gauge for wire in fit), default=None)


def _system(power: RigPower | None, tables: ElectricTables, default_volts: float) -> float:
    """The voltage other loads hang on: the rig's, unless that is a battery's."""
    own = power.volts if power is not None else None
    return own if own is not None and own >= tables.direct_below else default_volts


def _load(run: str, pump: str, motors: dict[str, MotorPlan], others: float, system: float) -> Load | None:
    """What runs while one run is sprayed: its own pump and those beside it; None where none of them has a motor."""
    own = motors.get(pump)
    running = [motor for motor in motors.values() if motor is own or motor.beside]
    if not running:
        return None
    mains = [motor for motor in running if not motor.direct]
    amps = watts = start = None
    starts = ""
    known = [(motor, motor.amps, motor.start_amps) for motor in mains]
    if mains and all(current is not None for _, current, _ in known):
        drawn = [(motor.supply, current or 0.0, at_start or 0.0) for motor, current, at_start in known]
        if others:
            drawn.append((system, others / system, others / system))
        watts = electric.running_power((volts, current) for volts, current, _ in drawn)
        start = electric.starting_power(drawn)
        by_voltage = {volts: sum(c for v, c, _ in drawn if v == volts) for volts, _, _ in drawn}
        amps = max(by_voltage.values())
        starts = max(mains, key=lambda one: one.supply * ((one.start_amps or 0.0) - (one.amps or 0.0))).pump
    battery = [motor for motor in running if motor.direct]
    battery_amps = None
    if battery and all(motor.amps is not None for motor in battery):
        battery_amps = sum(motor.amps or 0.0 for motor in battery)
    return Load(
        run=run,
        pumps=tuple(motor.pump for motor in sorted(running, key=lambda one: one is not own)),
        amps=amps,
        watts=watts,
        start_watts=start,
        starts=starts,
        battery_amps=battery_amps,
    )


def with_beside(job: JobInput, seconds: Mapping[str, float]) -> Mapping[str, float]:
    """How long each pump works [s], with those that run beside others: as long as they all do."""
    everyone = sum(seconds.values())
    beside = job.rig.power.beside if job.rig.power is not None else ()
    return {**seconds, **(dict.fromkeys(beside, everyone) if seconds else {})}
