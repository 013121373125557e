"""Where the pressure goes: what each part costs, and what a gauge would read at each joint."""

from __future__ import annotations

from planner.inputs.joined import RunInput
from planner.physics.constants import GRAVITY
from planner.physics.hoses import reynolds, velocity
from planner.physics.lines import Line, Operating
from planner.physics.parts import CoilPart, HosePart, MinorPart
from planner.physics.pumps import HeadPump, PistonPump
from planner.plan.model import Joint, LossPart


def losses_of(line: Line, index: int, point: Operating) -> tuple[LossPart, ...]:
    """What each part between the pump's outlet and the tip costs, in the order the water meets it."""
    flow, branch = point.flows[index], line.branches[index]
    pumped, sprayed = line.pumped, line.sprayed
    parts = [
        LossPart(
            part=part.name,
            pressure=pumped.density * GRAVITY * part.head(point.pump_flow, pumped.kinematic),
            velocity=None,
            reynolds=None,
        )
        for part in line.trunk
    ]
    for part in branch.parts:
        bore = part.bore
        parts.append(
            LossPart(
                part=part.name,
                pressure=sprayed.density * GRAVITY * part.head(flow, sprayed.kinematic),
                velocity=None if bore is None else velocity(flow, bore),
                reynolds=None if bore is None else reynolds(flow, bore, sprayed.kinematic),
            )
        )
    return tuple(parts)


def closed_outlet(line: Line) -> float | None:
    """Pressure [Pa] at the pump's outlet with every gun closed; None where nothing limits it."""
    pump, tap = line.pump, line.source.tap
    still = line.source.pressure_at(line.pump_height, 0.0)
    if pump is None:
        return still
    if isinstance(pump, PistonPump):
        return pump.unloader
    if isinstance(pump, HeadPump) and pump.cut_off is not None:
        return max(pump.cut_off, tap.static if tap is not None else pump.cut_off)
    return still + line.pumped.density * GRAVITY * pump.curve(0.0)


def joints_of(run: RunInput, line: Line, index: int, point: Operating, closed: float | None) -> tuple[Joint, ...]:
    """Every place a gauge could sit, pump to tip.

    The ground is taken to rise evenly along the hose; fittings' losses are shared out by hose.
    """
    flow, branch = point.flows[index], line.branches[index]
    weight = line.sprayed.density * GRAVITY
    viscosity = line.sprayed.kinematic
    total = sum(hose.length for hose in run.hoses) or 1.0
    joints = []
    if line.pump is not None:
        still = line.source.pressure_at(line.pump_height, 0.0)
        joints.append(
            Joint(name="pump in", kind="inlet", distance=0.0, height=line.pump_height, open=point.inlet, closed=still)
        )
    joints.append(
        Joint(
            name="gauge" if line.pump is not None else "tap",
            kind="gauge",
            distance=0.0,
            height=line.pump_height,
            open=point.outlet,
            closed=closed,
        )
    )
    hoses = [part for part in branch.parts if isinstance(part, HosePart)]
    coils = [part for part in branch.parts if isinstance(part, CoilPart)]
    fittings = sum(part.head(flow, viscosity) for part in branch.parts if isinstance(part, MinorPart))
    left = point.outlet - point.trunk_loss
    distance, height = 0.0, line.pump_height
    for n, part in enumerate(hoses):
        lost = part.head(flow, viscosity) + fittings / len(hoses)
        for coil in coils:
            alone = CoilPart(name=coil.name, coils=tuple(h for h in coil.coils if h is part.hose))
            lost += alone.head(flow, viscosity)
        distance += part.hose.length
        last = n == len(hoses) - 1
        next_height = run.uphill + run.tip_height if last else run.uphill * distance / total
        left -= weight * (lost + next_height - height)
        height = next_height
        joints.append(
            Joint(
                name="tip" if last else f"{part.name} | {hoses[n + 1].name}",
                kind="tip" if last else "joint",
                distance=distance,
                height=height,
                open=left,
                closed=None if closed is None else closed + weight * (line.pump_height - height),
            )
        )
    return tuple(joints)
