"""Whether the pump is fed, stays on its curve, and has a way out when the gun closes."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level, check, over, under
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.water.tap import by_pail, sours


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
        yield _finding(
            "pump.suction",
            run,
            level,
            case,
            available=Value(run.npsh_available, "head"),
            required=Value(run.npsh_required, "head"),
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
