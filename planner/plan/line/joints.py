"""Where the pressure goes: what each part costs, and what a gauge would read at each joint."""

from __future__ import annotations

from planner.inputs.joined import RunInput
from planner.physics.hoses import reynolds, velocity
from planner.physics.lines import Line, Operating, paths
from planner.physics.liquids import GRAVITY
from planner.physics.parts import CoilPart, HosePart, MinorPart
from planner.physics.pumps import HeadPump, PistonPump
from planner.plan.model import Joint, LossPart


def losses_of(line: Line, index: int, point: Operating) -> tuple[LossPart, ...]:
    """What each part between the pump's outlet and the tip costs, in the order the water meets it."""
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
    path = paths(line, point.flows)[index]
    alone = [row for row in path if isinstance(row[0], HosePart)]
    # Fittings and coil of a hose that others share are the run's own: one row each, whichever hose they sit on.
    rows = [[row] for row in alone]
    rows += [found for kind in (MinorPart, CoilPart) if (found := [row for row in path if isinstance(row[0], kind)])]
    for row in rows:
        first, _ = row[0]
        bore, most = first.bore, max(flow for _, flow in row)
        parts.append(
            LossPart(
                part=first.name,
                pressure=sprayed.density * GRAVITY * sum(part.head(flow, sprayed.kinematic) for part, flow in row),
                velocity=None if bore is None else velocity(most, bore),
                reynolds=None if bore is None else reynolds(most, bore, sprayed.kinematic),
            )
        )
    return tuple(parts)


def hose_flows(line: Line, index: int, point: Operating) -> list[float]:
    """Flow [m3/s] in each hose of a run from the pump on: a hose others share carries theirs too."""
    return [flow for part, flow in paths(line, point.flows)[index] if isinstance(part, HosePart)]


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
    path = paths(line, point.flows)[index]
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
            name="gauge" if line.pump is not None else "tank" if run.falls else "tap",
            kind="gauge",
            distance=0.0,
            height=line.pump_height,
            open=point.outlet,
            closed=closed,
        )
    )
    hoses = [(part, flow) for part, flow in path if isinstance(part, HosePart)]
    coils = [part for part, _ in path if isinstance(part, CoilPart)]
    fittings = sum(part.head(flow, viscosity) for part, flow in path if isinstance(part, MinorPart))
    left = point.outlet - point.trunk_loss
    distance, height = 0.0, line.pump_height
    for n, (part, flow) in enumerate(hoses):
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
                name="tip" if last else f"{part.name} | {hoses[n + 1][0].name}",
                kind="tip" if last else "joint",
                distance=distance,
                height=height,
                open=left,
                closed=None if closed is None else closed + weight * (line.pump_height - height),
            )
        )
    return tuple(joints)
