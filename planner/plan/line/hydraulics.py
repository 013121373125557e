"""Each hose run at its operating point, with every run it is sprayed together with.

`coil` among a run's losses is what coiling adds; the hose's own row is its loss laid straight. An injector's
`max_back_pressure` and `full_draw` hold at the flow of its `loss` and go with the square of the pump's flow; without a
`loss` they hold at any. Past `full_draw`, and where nothing is known, it is solved as drawing, and the mix is a stop:
no strength is promised.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import MappingProxyType

from planner.frozen import dataclass
from planner.inputs.joined import JobInput, Role, RunInput
from planner.inputs.tables.defaults import default
from planner.physics import tips
from planner.physics.lines import Line, Operating, solve
from planner.physics.liquids import GRAVITY, atmospheric_pressure
from planner.physics.metering import back_pressure, ratio_at
from planner.physics.pumps import HeadPump, PistonPump, npsh_available
from planner.plan.line import apparatus
from planner.plan.line.apparatus import delivery_curve, system_curve
from planner.plan.line.joints import closed_outlet, hose_flows, joints_of, losses_of
from planner.plan.line.strain import acceleration_of, shut_off_of, speeds_of, strain_basis, surge_of
from planner.plan.line.throw import reach_of
from planner.plan.model import Basis, InjectorPlan, Liquid, Reach, RunPlan, Value


def plan_runs(
    job: JobInput, known: Sequence[RunPlan] = (), *, curves: bool = True, flight: bool = True
) -> tuple[RunPlan, ...]:
    """Every run of the job, in the order written. Raises SolveError, naming the run.

    `curves`: pump's and line's too, which only paper draws; `flight`: how far the jet gets. `known` are plans of the
    same job otherwise: those whose run, and whoever is sprayed with it, are the very same are taken over.
    """
    before = {plan.name: plan for plan in known}
    by_name = {run.name: run for run in job.runs}
    planned: dict[str, RunPlan] = {}
    for run in job.runs:
        if run.name in planned:
            continue
        group = [by_name[name] for name in by_name if name == run.name or name in run.same_time]
        if all(one.name in before and before[one.name].input is one for one in group):
            planned.update({one.name: before[one.name] for one in group})
            continue
        planned.update({plan.name: plan for plan in _plan_group(job, group, curves, flight)})
    return tuple(planned[name] for name in by_name)


def _plan_group(job: JobInput, group: list[RunInput], curves: bool, flight: bool) -> list[RunPlan]:
    """Runs sprayed at once from one pump: one solve, a plan each."""
    found = solved(job, group)
    drawing = [_drawing(run, found.point.pump_flow) for run in group]
    if any(run.dosing != before.dosing for run, before in zip(drawing, group, strict=True)):
        group, found = drawing, solved(job, drawing)
    return [
        replace(
            _run_plan(job, run, found.order.index(run.name), found, curves, flight),
            roles=MappingProxyType({role: _on_role(job, run, role, curves, flight) for role in roles_of(job, run)}),
        )
        for run in group
    ]


def roles_of(job: JobInput, run: RunInput) -> list[Role]:
    """Which tips a job changes to on a run: a cleaner only where it has flat work."""
    flat = any(wall.row["family"] == "flat" for wall in job.surfaces if wall.name in run.surfaces)
    return [role for role in run.tips if role == "rinse_tip" or (role == "cleaner" and flat)]


def _on_role(job: JobInput, run: RunInput, role: Role, curves: bool, flight: bool) -> RunPlan:
    """A run with another tip on, its stock shut."""
    line = run.with_role(role)
    return _run_plan(job, line, 0, solved(job, [line], stock=False), curves, flight)


def _drawing(run: RunInput, flow: float) -> RunInput:
    """The run with its injector's ratio as it is at `flow` [m3/s], where the flow of its test is written."""
    device = run.dosing
    if device is None or device.water_to_stock is None or device.ratio_flow is None or flow <= 0.0:
        return run
    ratio = ratio_at(tested=device.water_to_stock, tested_flow=device.ratio_flow, flow=flow)
    return replace(run, dosing=device.model_copy(update={"water_to_stock": ratio, "ratio_flow": flow}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """The `line` of runs sprayed at once, the `point` it works at, what leaves the tips, whether an injector draws."""

    line: Line
    point: Operating
    mix: Liquid
    draws: bool | None
    injector: InjectorPlan | None

    @property
    def order(self) -> list[str]:
        """The runs in the order of the point's figures."""
        return [branch.name for branch in self.line.runs]


def solved(job: JobInput, group: list[RunInput], *, stock: bool = True) -> Solved:
    """Runs sprayed at once; `stock` False: plain water, an injector shut.

    Raises planner.physics.lines.SolveError where their line has no operating point.
    """
    lead = group[0]
    water = apparatus.liquid(job.water.temperature, 0.0)
    if not stock:
        line = line_of(job, group, water=water, mix=water, draws=False)
        return Solved(line=line, point=solve(line), mix=water, draws=None, injector=None)
    mix = apparatus.liquid(
        job.water.temperature,
        max(apparatus.strongest(job, run) for run in group),
        max((apparatus.thickest(job, run) for run in group), key=lambda one: one[1]),
    )
    line = line_of(job, group, water=water, mix=mix)
    point = solve(line)
    draws: bool | None = None
    injector: InjectorPlan | None = None
    if _injects(lead):
        injector = _injector(job, lead, point)
        draws = None if injector.limit is None else injector.behind <= injector.limit
        if draws is False:
            # Too much pressure behind it: the injector passes plain water, so that is what is solved.
            mix = water
            line = line_of(job, group, water=water, mix=mix, draws=False)
            point = solve(line)
    return Solved(line=line, point=point, mix=mix, draws=draws, injector=injector)


def line_of(job: JobInput, group: list[RunInput], *, water: Liquid, mix: Liquid, draws: bool = True) -> Line:
    """The line of runs sprayed at once: water before an injector and in a metered suction, the mix after."""
    lead = group[0]
    injector = _injects(lead)
    draw = 0.0
    if injector and draws:
        assert lead.dosing is not None
        assert lead.dosing.water_to_stock is not None
        draw = 1.0 / lead.dosing.water_to_stock
    pump_height = lead.pump.height if lead.pump is not None else lead.feed_head if lead.falls else 0.0
    return Line(
        source=apparatus.source_of(lead, job.water, apparatus.fluid(mix if lead.premix else water)),
        pump=apparatus.pump_of(lead),
        pump_height=pump_height,
        trunk=apparatus.trunk_of(lead),
        branches=apparatus.branches_of(group),
        pumped=apparatus.fluid(water if injector else mix),
        sprayed=apparatus.fluid(mix),
        draw=draw,
    )


def _injects(run: RunInput) -> bool:
    return run.dosing is not None and run.dosing.kind == "injector"


def _injector(job: JobInput, run: RunInput, point: Operating) -> InjectorPlan:
    """What stands behind the run's injector while it draws, and what it draws against at the flow it then has."""
    dosing, defaults = run.dosing, job.tables["defaults"]
    assert dosing is not None
    loss = dosing.loss
    known = back_pressure(
        limit=dosing.max_back_pressure,
        full=dosing.full_draw,
        loss=loss.pressure if loss is not None else None,
        limit_of_loss=float(defaults["injector_limit_of_loss"]),
        below=float(defaults["injector_full_below"]),
    )
    if known is not None:
        known = known.at(point.pump_flow, loss.flow if loss is not None else None)
    return InjectorPlan(
        behind=point.outlet - point.trunk_loss,
        full=known.full if known is not None else None,
        limit=known.limit if known is not None else None,
    )


def _run_plan(
    job: JobInput,
    run: RunInput,
    index: int,
    found: Solved,
    curves: bool,
    flight: bool,
) -> RunPlan:
    line, point, mix = found.line, found.point, found.mix
    weight = mix.density * GRAVITY
    flow, tip_head = point.flows[index], point.tip_heads[index]
    velocity = tips.jet_velocity(tip_head)
    rating, weakest = _rating(run)
    still = closed_outlet(line)
    lowest = min(line.pump_height, 0.0, run.uphill)
    reach = reach_of(job, run, tip_head) if flight else None
    suction_gauge = line.source.pressure_at(line.pump_height, 0.0) - point.inlet
    npsh = None
    pulses = acceleration_of(job, run, point.pump_flow, line.source.fluid.density)
    if run.pump is not None:
        npsh = npsh_available(
            atmospheric_pressure(job.job.site.altitude or 0.0),
            point.inlet,
            mix.vapour_pressure,
            line.source.fluid.density,
        ) - (pulses[0] if pulses is not None else 0.0)
    tap = line.source.tap
    shut_off_pressure = None if still is None else still + weight * (line.pump_height - lowest)
    standing = max(shut_off_pressure or 0.0, point.outlet)
    blow = surge_of(job, run, flow, standing, mix.density)
    shut_off = shut_off_of(job, run.pump, line.pump, line.pumped.density, mix.temperature)
    return RunPlan(
        name=run.name,
        input=run,
        liquid=mix,
        flow=flow,
        pump_flow=point.pump_flow,
        pump_head=point.pump_head,
        pump_pressure=point.outlet,
        inlet_pressure=point.inlet,
        tip_pressure=weight * max(tip_head, 0.0),
        tip_velocity=velocity,
        tip_z=run.uphill + run.tip_height,
        pump_z=line.pump_height,
        shut_off_pressure=shut_off_pressure,
        rating=rating,
        weakest=weakest,
        losses=losses_of(line, index, point),
        suction_loss=suction_gauge,
        joints=joints_of(run, line, index, point, still),
        reach=reach,
        needed=run.target,
        npsh_available=npsh,
        npsh_required=run.pump.npsh_required if run.pump is not None else None,
        reaction=tips.reaction(mix.density, flow, velocity),
        beyond_curve=isinstance(line.pump, HeadPump) and point.pump_flow > line.pump.last_flow,
        cycling=point.cycling,
        bypassing=point.bypassing,
        injector_draws=found.draws,
        tap_pressure=tap.pressure(point.pump_flow) if tap is not None else None,
        pump_curve=delivery_curve(line, point) if curves else (),
        system_curve=system_curve(line, point) if curves else (),
        basis=_basis(run, line, point, flow, tip_head, mix, reach, pulses) | strain_basis(blow, shut_off),
        speeds=speeds_of(job, run, hose_flows(line, index, point), point.pump_flow, standing),
        surge=blow,
        shut_off=shut_off,
        acceleration_head=pulses[0] if pulses is not None else None,
        injector=found.injector,
        curve_end=line.pump.last_flow if isinstance(line.pump, HeadPump) else None,
    )


def _rating(run: RunInput) -> tuple[float | None, str | None]:
    """The lowest rating [Pa] on the pressure side and whose it is."""
    ratings = [(hose.rated, hose.name) for hose in run.hoses if hose.rated is not None]
    if run.pump is not None and run.pump.max_pressure is not None:
        ratings.append((run.pump.max_pressure, run.pump.name))
    return min(ratings) if ratings else (None, None)


def _basis(
    run: RunInput,
    line: Line,
    point: Operating,
    flow: float,
    tip_head: float,
    mix: Liquid,
    reach: Reach | None,
    pulses: tuple[float, float] | None,
) -> dict[str, Basis]:
    """Which equation gave each figure and what went into it."""
    length = Value(sum(hose.length for hose in run.hoses), "length")
    bore = Value(min(hose.bore for hose in run.hoses), "bore")
    tip = Value(apparatus.tip_orifice(run), "bore")
    settles = "piston_flow" if isinstance(line.pump, PistonPump) else "operating_point"
    solved = Basis(
        equation=settles,
        inputs=(
            ("pump", run.pump.name if run.pump is not None else "none, it falls" if run.falls else "tap alone"),
            ("hose", length),
            ("smallest bore", bore),
            ("tip", tip),
            ("rise to the tip", Value(run.uphill + run.tip_height - line.pump_height, "height")),
        ),
    )
    basis = {
        "flow": solved,
        "pump_pressure": solved,
        "tip_pressure": Basis(equation="tip_square_law", inputs=(("flow", Value(flow, "flow")), ("tip", tip))),
        "losses": Basis(
            equation="hose_friction",
            inputs=(
                ("flow", Value(flow, "flow")),
                ("water", Value(mix.temperature, "temperature")),
                ("roughness", Value(max(hose.roughness for hose in run.hoses), "roughness")),
            ),
        ),
        "shut_off_pressure": Basis(
            equation="shut_off", inputs=(("lowest point of the line", Value(min(0.0, run.uphill), "height")),)
        ),
        "reaction": Basis(
            equation="jet_reaction",
            inputs=(("flow", Value(flow, "flow")), ("jet", Value(tips.jet_velocity(tip_head), "speed"))),
        ),
    }
    if run.pump is not None:
        basis["npsh_available"] = Basis(
            equation="npsh",
            inputs=(
                ("pressure at the inlet", Value(point.inlet, "pressure")),
                ("water", Value(mix.temperature, "temperature")),
                *((("taken off for its strokes", Value(pulses[0], "head")),) if pulses is not None else ()),
            ),
        )
    if pulses is not None:
        basis["acceleration_head"] = Basis(
            equation="acceleration_head",
            inputs=(
                ("hose that counts", Value(pulses[1], "length")),
                ("crank, assumed", Value(default("plunger_speed"), "rotation")),
            ),
        )
    if reach is not None:
        basis["reach"] = Basis(
            equation="jet_height",
            inputs=(
                ("pressure at the tip", Value(mix.density * GRAVITY * tip_head, "pressure")),
                ("tip", tip),
                ("standoff", Value(run.standoff, "length")),
                (_low_end(reach.records), Value(reach.factor, "fraction")),
                ("wind for the low figure", Value(reach.wind, "speed")),
            ),
        )
    return basis


def _low_end(records: int) -> str:
    """What the low end of the jet's band rests on."""
    if not records:
        return "low end"
    return f"low end, learned from {'1 record' if records == 1 else f'{records} records'}:"
