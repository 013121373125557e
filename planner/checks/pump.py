"""Whether a pump is powered, is fed, stays on its curve, and has a way out when the gun closes.

Powered: cord, generator, breaker and battery are up to the motors, and a GFCI stands between.
"""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level, check, over, under
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.road.model import Load, MotorPlan, PowerPlan
from planner.plan.water.tap import by_pail, sours
from planner.plan.yard.model import YardPlan


def _subjects(plan: JobPlan, power: PowerPlan | None) -> Iterator[tuple[str, MotorPlan | None]]:
    """Every run with its own pump's motor, then the motors of pumps that run beside them, by the pump's name."""
    own = set()
    for run in plan.runs:
        pump = run.input.pump
        motor = power.motor(pump.name) if power is not None and pump is not None else None
        own.add(motor.pump if motor is not None else "")
        yield run.name, motor
    for motor in power.motors if power is not None else ():
        if motor.pump not in own:
            yield motor.pump, motor


@check("power.drop")
def power_drop(plan: JobPlan) -> Iterator[Finding]:
    """What the cord to each motor loses, as a share of the supply's volts."""
    limits = plan.input.limits
    wheres = {run.name: run.input.where for run in plan.runs}
    for about, motor in _subjects(plan, plan.power):
        level: Level = "none"
        case = "none"
        values: dict[str, Value | str] = {}
        if motor is not None:
            cord, share = motor.cord, motor.drop_fraction
            values["pump"] = motor.pump
            if cord is None:
                case = "no_cord"
            elif motor.amps is None:
                case = "no_amps"
            elif cord.drop is None or share is None:
                case, values["gauge"] = "no_gauge", Value(cord.gauge, "gauge")
            else:
                most = limits["drop_direct" if motor.direct else "drop_caution"]
                level = "caution" if over(share, most) else "ok"
                case = level if level == "ok" or cord.thicker is not None else f"{level}_far"
                if level == "ok" and not motor.direct and over(share, limits["drop_note"]):
                    case, most = "ok_some", limits["drop_note"]
                values |= _cord_values(motor, share, most)
        yield Finding(
            code="power.drop", about=about, level=level, case=case, values=values, where=wheres.get(about, plan.where)
        )


def _cord_values(motor: MotorPlan, share: float, limit: float) -> dict[str, Value | str]:
    cord = motor.cord
    assert cord is not None
    assert cord.drop is not None
    assert cord.longest is not None
    assert cord.copper is not None
    values: dict[str, Value | str] = {
        "length": Value(cord.length, "length"),
        "gauge": Value(cord.gauge, "gauge"),
        "drop": Value(cord.drop, "voltage"),
        "share": Value(share, "fraction"),
        "supply": Value(motor.supply, "voltage"),
        "arriving": Value(motor.supply - cord.drop, "voltage"),
        "limit": Value(limit, "fraction"),
        "longest": Value(cord.longest, "length"),
        "copper": Value(cord.copper, "temperature"),
        "air": Value(cord.air, "temperature"),
    }
    if cord.thicker is not None:
        values["thicker"] = Value(cord.thicker, "gauge")
    return values


@check("power.current")
def power_current(plan: JobPlan) -> Iterator[Finding]:
    """What runs at once against generator, breaker and cord, run by run; then the battery over the whole job."""
    power = plan.power
    for run in plan.runs:
        load = power.load(run.name) if power is not None else None
        level: Level = "none"
        case = "none"
        values: dict[str, Value | str] = {}
        if power is not None and load is not None:
            mains = [motor for motor in power.motors if motor.pump in load.pumps and not motor.direct]
            if mains:
                level, case, values = _against_supply(plan, power, load, mains)
        yield Finding(
            code="power.current", about=run.name, level=level, case=case, values=values, where=run.input.where
        )
    if power is not None and any(motor.direct for motor in power.motors):
        yield _battery(plan, power)


def _against_supply(
    plan: JobPlan, power: PowerPlan, load: Load, mains: list[MotorPlan]
) -> tuple[Level, str, dict[str, Value | str]]:
    """The worst that can be said of a load on mains or a generator."""
    limits = plan.input.limits
    values: dict[str, Value | str] = {
        "pumps": ", ".join(motor.pump for motor in mains),
        "supply": Value(mains[0].supply, "voltage"),
    }
    for motor in mains:
        cord = motor.cord
        if cord is None or cord.carries is None or motor.amps is None:
            continue
        if over(motor.amps, cord.carries):
            thicker = _carrying(plan, motor.amps)
            return (
                "stop",
                "cord" if thicker is not None else "cord_far",
                values
                | {
                    "pump": motor.pump,
                    "amps": Value(motor.amps, "current"),
                    "gauge": Value(cord.gauge, "gauge"),
                    "carries": Value(cord.carries, "current"),
                    **({"thicker": Value(thicker, "gauge")} if thicker is not None else {}),
                },
            )
    if load.amps is None or load.watts is None or load.start_watts is None:
        return "none", "no_amps", values
    values |= {"amps": Value(load.amps, "current"), "watts": Value(load.watts, "power"), "starts": load.starts}
    times = limits["generator_start"]
    if power.generator is not None:
        values |= {
            "generator": Value(power.generator, "power"),
            "start": Value(load.start_watts, "power"),
            # What runs it and starts it too: a generator told of is no other caution.
            "least": Value(max(load.watts / limits["generator_load"], load.start_watts / times), "power"),
            "limit": Value(times, "fraction"),
        }
        if over(load.watts, power.generator):
            return "stop", "generator", values
    if power.surge is not None:
        values["surge"] = Value(power.surge, "power")
        if over(load.start_watts, power.surge):
            return "stop", "surge", values
    if power.breaker is not None:
        values["breaker"] = Value(power.breaker, "current")
        if over(load.amps, power.breaker):
            return "stop", "breaker", values
    if power.generator is not None and power.surge is None and over(load.start_watts, times * power.generator):
        return "caution", "start", values
    if power.generator is not None and over(load.watts, limits["generator_load"] * power.generator):
        return "caution", "near_generator", values | {"limit": Value(limits["generator_load"], "fraction")}
    if power.breaker is not None and over(load.amps, limits["breaker_share"] * power.breaker):
        return "caution", "near_breaker", values | {"limit": Value(limits["breaker_share"], "fraction")}
    if power.generator is not None:
        return "ok", "ok", values
    if power.breaker is not None:
        return "ok", "ok_breaker", values
    cord = mains[0].cord
    if len(mains) == 1 and cord is not None and cord.carries is not None:
        return (
            "ok",
            "ok_cord",
            values
            | {
                "gauge": Value(cord.gauge, "gauge"),
                "carries": Value(cord.carries, "current"),
            },
        )
    return "none", "no_supply", values


def _carrying(plan: JobPlan, amps: float) -> float | None:
    """Gauge of the thinnest cord that carries so much [A]; None where the table has none."""
    wires = plan.input.tables["electric"].wires
    fit = [wire.gauge for wire in wires if wire.carries is not None and not over(amps, wire.carries)]
    return max(fit, default=None)


def _battery(plan: JobPlan, power: PowerPlan) -> Finding:
    """What the job draws from the battery against what may be drawn."""
    pumps = ", ".join(motor.pump for motor in power.motors if motor.direct)
    values: dict[str, Value | str] = {"pumps": pumps}
    level: Level = "none"
    case = "no_battery_amps"
    if power.needed is not None:
        values["needed"] = Value(power.needed, "charge")
        case = "no_battery"
    if power.needed is not None and power.battery is not None and power.usable is not None:
        values |= {
            "battery": Value(power.battery, "charge"),
            "usable": Value(power.usable, "charge"),
            "whole": Value(power.needed / plan.input.limits["battery_usable"], "charge"),
        }
        level, case = "ok", "battery_ok"
        if over(power.needed, power.battery):
            level, case = "stop", "battery_flat"
        elif over(power.needed, power.usable):
            level, case = "caution", "battery_low"
    return Finding(code="power.current", about="battery", level=level, case=case, values=values, where=plan.where)


@check("power.gfci")
def power_gfci(plan: JobPlan) -> Iterator[Finding]:
    """A motor of mains voltage in the wet needs a GFCI; one that is not written of may be there, and is looked for."""
    power = plan.power
    mains = [motor for motor in power.motors if not motor.direct] if power is not None else []
    level: Level = "none"
    case = "none"
    values: dict[str, Value | str] = {}
    if plan.yard is not None:
        yield _gfci_at_bench(plan, plan.yard)
        return
    if power is not None and mains:
        values = {
            "pumps": ", ".join(motor.pump for motor in mains),
            "supply": Value(max(motor.supply for motor in mains), "voltage"),
        }
        if power.gfci is None:
            level, case = "caution", "not_written"
        else:
            level, case = ("ok", "ok") if power.gfci else ("stop", "missing")
    yield Finding(code="power.gfci", about="rig", level=level, case=case, values=values, where=plan.where)


def _gfci_at_bench(plan: JobPlan, yard: YardPlan) -> Finding:
    """The motor of a pump that is run on the bench: by water, on the rig's supply as far as anybody wrote."""
    motor, supply = yard.pump.motor, plan.input.rig.power
    values: dict[str, Value | str] = {"pump": yard.pump.name, "pumps": yard.pump.name}
    level: Level = "none"
    case = "bench_none"
    volts = None
    if motor is not None:
        # A plate nobody copied is taken for what the rig, or else a house, gives.
        own = supply.volts if supply is not None else None
        volts = motor.volts or own or float(plan.input.tables["defaults"]["volts"])
    if volts is not None and volts >= plan.input.tables["electric"].direct_below:
        values["supply"] = Value(volts, "voltage")
        gfci = supply.gfci if supply is not None else None
        level, case = ("ok", "bench_ok") if gfci else ("stop", "missing")
        if gfci is None:
            level, case = "caution", "not_written"
    return Finding(code="power.gfci", about="rig", level=level, case=case, values=values, where=plan.where)


# ------------------------------------------------------------ the pump


def _finding(code: str, run: RunPlan, level: Level, case: str, **values: Value | str) -> Finding:
    named = {"pump": run.input.pump.name if run.input.pump is not None else "", **values}
    return Finding(code=code, about=run.name, level=level, case=case, values=named, where=run.input.where)


@check("pump.suction")
def pump_suction(plan: JobPlan) -> Iterator[Finding]:
    """Head left at the pump's inlet against what the pump requires; a suction that gets to no clean water."""
    limits = plan.input.limits
    margin = limits["suction_margin"]
    for run in plan.runs:
        pump = run.input.pump
        if pump is not None and pump.draws is not None and by_pail(plan.input, run.input, plan.mixes):
            # What it wets, rinses and is flushed with would come out of a pail, which its suction does not get to.
            case = "no_pail" if sours(run.input, plan.mixes) else "no_water"
            yield _finding("pump.suction", run, "stop", case, tanks=" and ".join(pump.draws))
            continue
        if run.npsh_available is None or run.npsh_required is None:
            yield _finding("pump.suction", run, "none", "none")
            continue
        level: Level = "ok"
        case = "ok"
        if under(run.npsh_available, run.npsh_required):
            level, case = "stop", "starved"
        elif under(run.npsh_available, max(run.npsh_required + margin, run.npsh_required * limits["suction_ratio"])):
            level, case = "caution", "close"
        elif run.input.feed == "tap" and under(run.inlet_pressure, limits["suction_gauge"]):
            level, case = "caution", "pulls_on_tap"
        elif under(run.npsh_available, run.npsh_required + limits["suction_note"]):
            case = "ok_thin"
        if case in ("starved", "close") and run.acceleration_head is not None:
            case += "_strokes"
        yield _finding(
            "pump.suction",
            run,
            level,
            case,
            available=Value(run.npsh_available, "head"),
            required=Value(run.npsh_required, "head"),
            strokes=Value(run.acceleration_head or 0.0, "head"),
            margin=Value(margin, "head"),
            inlet=Value(run.inlet_pressure, "pressure"),
        )


@check("pump.curve")
def pump_curve(plan: JobPlan) -> Iterator[Finding]:
    """The operating point against the last point measured of the pump's curve, and against what its motor gives.

    No pump puts more into the water than its motor puts into the shaft: a curve that says so is wrong.
    """
    far = 1.0 + plan.input.limits["curve_beyond"]
    for run in plan.runs:
        pump = run.input.pump
        values: dict[str, Value | str] = {"flow": Value(run.pump_flow, "flow")}
        motor = _motor_power(plan, run)
        if motor is not None and over(run.hydraulic_power, motor):
            rise = Value(run.pump_pressure - run.inlet_pressure, "pressure")
            values |= {"rise": rise, "water": Value(run.hydraulic_power, "power"), "motor": Value(motor, "power")}
            yield _finding("pump.curve", run, "stop", "power", **values)
            continue
        if pump is None or run.curve_end is None:
            yield _finding("pump.curve", run, "none", "none")
            continue
        level: Level = "caution" if run.beyond_curve else "ok"
        case = "beyond" if run.beyond_curve else "ok"
        if over(run.pump_flow, far * run.curve_end):
            case = "far_beyond"
        yield _finding("pump.curve", run, level, case, **values, last=Value(run.curve_end, "flow"))


def _motor_power(plan: JobPlan, run: RunPlan) -> float | None:
    """What the pump's motor gives its shaft [W], or else takes from its supply; None where neither is known."""
    pump = run.input.pump
    if pump is None or pump.motor is None:
        return None
    motor = plan.power.motor(pump.name) if plan.power is not None else None
    return pump.motor.power if pump.motor.power is not None else motor.watts if motor is not None else None


@check("pump.unloader")
def pump_unloader(plan: JobPlan) -> Iterator[Finding]:
    """A constant flow without an unloader has nowhere to go when the gun closes."""
    for run in plan.runs:
        pump = run.input.pump
        if pump is None or pump.of_kind.relief != "unloader":
            yield _finding("pump.unloader", run, "none", "none")
            continue
        relief = {"relief": pump.of_kind.reliever, "a_relief": pump.of_kind.relief_called, "kind": pump.kind}
        if pump.unloader is None:
            yield _finding("pump.unloader", run, "stop", "missing", **relief)
        else:
            case = "bypassing" if run.bypassing else "ok"
            yield _finding("pump.unloader", run, "ok", case, **relief, unloader=Value(pump.unloader, "pressure"))


@check("pump.cycling")
def pump_cycling(plan: JobPlan) -> Iterator[Finding]:
    """A pump with a switch whose tip passes less than it gives at its cut-off starts and stops all day."""
    for run in plan.runs:
        pump = run.input.pump
        if pump is None or pump.cut_off is None:
            yield _finding("pump.cycling", run, "none", "none")
            continue
        level: Level = "caution" if run.cycling else "ok"
        yield _finding(
            "pump.cycling",
            run,
            level,
            "cycling" if run.cycling else "ok",
            cut_off=Value(pump.cut_off, "pressure"),
            pressure=Value(run.pump_pressure, "pressure"),
            flow=Value(run.flow, "flow"),
        )
