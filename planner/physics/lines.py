"""The line solve: one source, perhaps a pump, and every hose run that is sprayed from it at once.

The unknown is the flow through the pump (or the pressure at its outlet, where the flow is fixed).  What
reaches the joint where runs part falls as flow rises, what the runs take rises: one root, bracketed
outside and inside, and one more for every hose that several runs share.  A bracket that fails raises
SolveError; no last iterate is ever passed off as an answer.

Pressures are gauge total heads, rho g (H - z), at each point's own height; z is above the rig's ground.
Velocity head is counted once: the tip's energy is the exit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from fluids.numerics import brenth

from planner.frozen import dataclass
from planner.physics.liquids import GRAVITY
from planner.physics.parts import Part, total_head
from planner.physics.pumps import HeadPump, PistonPump
from planner.physics.supply import Tap
from planner.physics.tips import flow as tip_flow

_FLOW_TOLERANCE = 1e-16
_HEAD_TOLERANCE = 1e-12
_STEP_TOLERANCE, _MOST_STEPS, _NUDGE = 1e-9, 40, 1e-6
"""After a step so small Newton's next is a million times smaller still."""


class SolveError(RuntimeError):
    """The line could not be solved; the message names what failed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fluid:
    """`density` [kg/m3] and dynamic `viscosity` [Pa s]."""

    density: float
    viscosity: float

    @property
    def kinematic(self) -> float:
        """Kinematic viscosity [m2/s]."""
        return self.viscosity / self.density


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What the pump draws from: a `tap` at the rig's ground, or still liquid standing at `level` [m].

    `parts` lie between source and pump and carry `fluid`.
    """

    fluid: Fluid
    level: float = 0.0
    tap: Tap | None = None
    parts: tuple[Part, ...] = ()

    def pressure_at(self, height: float, flow: float) -> float:
        """Gauge pressure [Pa] that arrives at `height` [m] while `flow` [m3/s] is drawn."""
        weight = self.fluid.density * GRAVITY
        given = self.tap.pressure(flow) if self.tap is not None else weight * self.level
        return given - weight * (height + total_head(self.parts, flow, self.fluid.kinematic))


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """One hose run from the joint: its `parts` in order, the tip's `coefficient` [m3/s per m^0.5] and height [m]."""

    name: str
    parts: tuple[Part, ...]
    coefficient: float
    tip_height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fork:
    """Hose that several runs share: its `parts` in order from the pump, then the `branches` that part from it."""

    parts: tuple[Part, ...]
    branches: tuple[Branch | Fork, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A source, perhaps a pump at `pump_height` [m], a `trunk` shared by all, and the runs, some behind one hose.

    `draw` is the share an injector at the pump's outlet adds to the flow (0: none, 0.1 for 10 to 1); its
    loss is a trunk part and takes the pump's own flow.  `pumped` flows in the pump, `sprayed` in the runs.
    """

    source: Source
    pump: HeadPump | PistonPump | None
    pump_height: float
    trunk: tuple[Part, ...]
    branches: tuple[Branch | Fork, ...]
    pumped: Fluid
    sprayed: Fluid
    draw: float = 0.0

    @property
    def runs(self) -> tuple[Branch, ...]:
        """Every hose run, in the order its tip is met going through the branches."""
        return tuple(_runs(self.branches))


@dataclass(frozen=True, slots=True, kw_only=True)
class Operating:
    """Where the line settles: flows [m3/s], pressures [Pa], heads [m].

    `flows` and `tip_heads` follow the line's runs; `pump_flow` goes through the pump, `outlet` is the gauge
    pressure at its outlet, `inlet` at its inlet, `trunk_loss` Pa.
    """

    flows: tuple[float, ...]
    tip_heads: tuple[float, ...]
    pump_flow: float
    pump_head: float
    inlet: float
    outlet: float
    trunk_loss: float
    cycling: bool = False
    bypassing: bool = False


def solve(line: Line) -> Operating:
    """The operating point. Raises SolveError, naming the run, where no bracketed root is found."""
    if isinstance(line.pump, PistonPump):
        return _with_piston(line, line.pump)
    free = _with_head(line, lambda flow: _outlet_with_pump(line, flow))
    cut_off = line.pump.cut_off if line.pump is not None else None
    if cut_off is None or free.outlet <= cut_off:
        return free
    # The switch holds the outlet at its cut-off; a tap stronger than that pushes on through the pump.
    through = _with_head(line, lambda flow: line.source.pressure_at(line.pump_height, flow))
    held = through if through.outlet > cut_off else _at_outlet(line, cut_off)
    return replace(held, cycling=True)


def branch_flow(branch: Branch, joint_head: float, kinematic_viscosity: float) -> float:
    """Flow [m3/s] a run takes from a joint at `joint_head` [m]; 0 where its tip stands too high."""
    available = joint_head - branch.tip_height
    if available <= 0.0:
        return 0.0
    most = tip_flow(branch.coefficient, available)

    def surplus(flow: float) -> float:
        spent = total_head(branch.parts, flow, kinematic_viscosity) + (flow / branch.coefficient) ** 2
        return available - spent

    return _root(surplus, 0.0, most, _FLOW_TOLERANCE, branch.name)


def taken(line: Line, joint_head: float) -> tuple[float, ...]:
    """Flow [m3/s] of every run with `joint_head` [m] where the branches begin."""
    return _into(line.branches, joint_head, line.sprayed.kinematic)


def paths(line: Line, flows: Sequence[float]) -> tuple[tuple[tuple[Part, float], ...], ...]:
    """Every part each run's liquid goes through after the trunk, with what flows in it [m3/s] at the runs' `flows`."""
    return tuple(_paths(line.branches, iter(flows)))


def _runs(branches: Sequence[Branch | Fork]) -> Iterator[Branch]:
    for branch in branches:
        if isinstance(branch, Fork):
            yield from _runs(branch.branches)
        else:
            yield branch


def _paths(branches: Sequence[Branch | Fork], flows: Iterator[float]) -> Iterator[tuple[tuple[Part, float], ...]]:
    for branch in branches:
        if isinstance(branch, Branch):
            flow = next(flows)
            yield tuple((part, flow) for part in branch.parts)
            continue
        own = [next(flows) for _ in _runs(branch.branches)]
        shared = tuple((part, sum(own)) for part in branch.parts)
        yield from ((*shared, *rest) for rest in _paths(branch.branches, iter(own)))


def _into(branches: Sequence[Branch | Fork], head: float, viscosity: float) -> tuple[float, ...]:
    flows: list[float] = []
    for branch in branches:
        if isinstance(branch, Fork):
            flows += _into_fork(branch, head, viscosity)
        else:
            flows.append(branch_flow(branch, head, viscosity))
    return tuple(flows)


def _into_fork(fork: Fork, head: float, viscosity: float) -> tuple[float, ...]:
    """What the runs behind a shared hose take: the more flows in it, the less head gets to where they part.

    All at once where that settles; else by roots within roots, one a wye, which always do and take long.
    """
    settled = _settled(fork, head, viscosity)
    if settled is not None:
        return settled

    def behind(flow: float) -> tuple[float, ...]:
        return _into(fork.branches, head - total_head(fork.parts, flow, viscosity), viscosity)

    most = sum(behind(0.0))
    names = ", ".join(run.name for run in _runs(fork.branches))
    return behind(_root(lambda flow: sum(behind(flow)) - flow, 0.0, most, _FLOW_TOLERANCE, names))


def _stretches(branches: Sequence[Branch | Fork], first: int) -> Iterator[tuple[tuple[Part, ...], range]]:
    """Every stretch of hose with the numbers of the runs it feeds, counted from `first`."""
    for branch in branches:
        if isinstance(branch, Fork):
            count = sum(1 for _ in _runs(branch.branches))
            yield branch.parts, range(first, first + count)
            yield from _stretches(branch.branches, first)
            first += count
        else:
            yield branch.parts, range(first, first + 1)
            first += 1


def _settled(fork: Fork, head: float, viscosity: float) -> tuple[float, ...] | None:
    """The flows behind a fork by Newton's method on the head each run is left with; None where it does not settle.

    The slope of a loss is taken over a millionth of its flow: it only leads there, what is found is the flows with
    which nothing is left over.
    """
    runs = list(_runs((fork,)))
    stretches = list(_stretches((fork,), 0))
    heads = [head - run.tip_height for run in runs]
    if max(heads) <= 0.0:
        return (0.0,) * len(runs)
    if min(heads) <= 0.0:
        return None
    flows = [tip_flow(run.coefficient, own) / len(runs) for run, own in zip(runs, heads, strict=True)]
    for _ in range(_MOST_STEPS):
        left = [own - (q / run.coefficient) ** 2 for own, run, q in zip(heads, runs, flows, strict=True)]
        slopes = [[0.0] * len(runs) for _ in runs]
        for n, (run, q) in enumerate(zip(runs, flows, strict=True)):
            slopes[n][n] = 2.0 * q / run.coefficient**2
        for parts, fed in stretches:
            flow = sum(flows[n] for n in fed)
            lost = total_head(parts, flow, viscosity)
            slope = (total_head(parts, flow * (1.0 + _NUDGE), viscosity) - lost) / (flow * _NUDGE)
            for n in fed:
                left[n] -= lost
                for m in fed:
                    slopes[n][m] += slope
        steps = _solved(slopes, left)
        if steps is None:
            return None
        # Never past a tenth of what flows: a tip that nearly gets nothing is found from above.
        after = [max(q + step, 0.1 * q) for q, step in zip(flows, steps, strict=True)]
        moved = max(abs(new - old) / old for new, old in zip(after, flows, strict=True))
        flows = after
        if moved < _STEP_TOLERANCE:
            return tuple(flows)
    return None


def _solved(matrix: list[list[float]], right: list[float]) -> list[float] | None:
    """A few linear equations by elimination; None where they have no one answer."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    count = len(rows)
    for n in range(count):
        best = max(range(n, count), key=lambda m: abs(rows[m][n]))
        rows[n], rows[best] = rows[best], rows[n]
        if rows[n][n] == 0.0:
            return None
        for m in range(n + 1, count):
            share = rows[m][n] / rows[n][n]
            rows[m] = [a - share * b for a, b in zip(rows[m], rows[n], strict=True)]
    found = [0.0] * count
    for n in reversed(range(count)):
        rest = sum(rows[n][m] * found[m] for m in range(n + 1, count))
        found[n] = (rows[n][count] - rest) / rows[n][n]
    return found


def _outlet_with_pump(line: Line, flow: float) -> float:
    pressure = line.source.pressure_at(line.pump_height, flow)
    if isinstance(line.pump, HeadPump):
        pressure += line.pumped.density * GRAVITY * line.pump.curve(flow)
    return pressure


def _joint_head(line: Line, outlet: float, pump_flow: float) -> float:
    """Total head [m] of the sprayed liquid after the trunk, above the rig's ground."""
    weight = line.sprayed.density * GRAVITY
    return (outlet - _trunk_loss(line, pump_flow)) / weight + line.pump_height


def _trunk_loss(line: Line, pump_flow: float) -> float:
    head = total_head(line.trunk, pump_flow, line.pumped.kinematic)
    return line.pumped.density * GRAVITY * head


def _with_head(line: Line, outlet_at: Callable[[float], float]) -> Operating:
    """Operating point of anything whose outlet pressure falls as its flow rises."""
    highest = _joint_head(line, outlet_at(0.0), 0.0)
    grown = 1.0 + line.draw
    most = sum(tip_flow(b.coefficient, highest - b.tip_height) for b in line.runs) / grown
    if most <= 0.0:
        return _operating(line, 0.0, outlet_at(0.0), tuple(0.0 for _ in line.runs))
    branch = _only(line)
    if branch is not None:

        def surplus(flow: float) -> float:
            spray = flow * grown
            spent = total_head(branch.parts, spray, line.sprayed.kinematic) + (spray / branch.coefficient) ** 2
            return _joint_head(line, outlet_at(flow), flow) - branch.tip_height - spent

        flow = _root(surplus, 0.0, most, _FLOW_TOLERANCE, branch.name)
        return _operating(line, flow, outlet_at(flow), (flow * grown,))

    def unbalanced(flow: float) -> float:
        return sum(taken(line, _joint_head(line, outlet_at(flow), flow))) - flow * grown

    flow = _root(unbalanced, 0.0, most, _FLOW_TOLERANCE, _names(line))
    outlet = outlet_at(flow)
    return _operating(line, flow, outlet, taken(line, _joint_head(line, outlet, flow)))


def _with_piston(line: Line, pump: PistonPump) -> Operating:
    """A constant flow has to go somewhere: the outlet rises until the tips pass it, or the unloader opens."""
    outlet = _outlet_for(line, pump.flow)
    if pump.unloader is not None and outlet > pump.unloader:
        return replace(_at_outlet(line, pump.unloader), bypassing=True)
    return _operating(line, pump.flow, outlet, taken(line, _joint_head(line, outlet, pump.flow)))


def _outlet_for(line: Line, pump_flow: float) -> float:
    """Outlet pressure [Pa] at which the runs together take what the pump gives."""
    wanted = pump_flow * (1.0 + line.draw)
    weight = line.sprayed.density * GRAVITY

    def outlet_of(joint_head: float) -> float:
        return weight * (joint_head - line.pump_height) + _trunk_loss(line, pump_flow)

    branch = _only(line)
    if branch is not None:
        spent = total_head(branch.parts, wanted, line.sprayed.kinematic) + (wanted / branch.coefficient) ** 2
        return outlet_of(branch.tip_height + spent)
    low = min(run.tip_height for run in line.runs)
    high = max(
        run.tip_height
        + sum(part.head(wanted, line.sprayed.kinematic) for part, _ in path)
        + (wanted / run.coefficient) ** 2
        for run, path in zip(line.runs, paths(line, [0.0] * len(line.runs)), strict=True)
    )
    joint = _root(lambda h: wanted - sum(taken(line, h)), low, high, _HEAD_TOLERANCE, _names(line))
    return outlet_of(joint)


def _at_outlet(line: Line, outlet: float) -> Operating:
    """Operating point with the outlet held at a pressure; the pump gives what the tips pass."""
    grown = 1.0 + line.draw
    if not line.trunk:
        flows = taken(line, _joint_head(line, outlet, 0.0))
        return _operating(line, sum(flows) / grown, outlet, flows)
    most = sum(taken(line, _joint_head(line, outlet, 0.0))) / grown
    if most <= 0.0:
        return _operating(line, 0.0, outlet, tuple(0.0 for _ in line.runs))
    flow = _root(
        lambda q: sum(taken(line, _joint_head(line, outlet, q))) - q * grown,
        0.0,
        most,
        _FLOW_TOLERANCE,
        _names(line),
    )
    return _operating(line, flow, outlet, taken(line, _joint_head(line, outlet, flow)))


def _operating(line: Line, pump_flow: float, outlet: float, flows: tuple[float, ...]) -> Operating:
    inlet = line.source.pressure_at(line.pump_height, pump_flow)
    weight = line.pumped.density * GRAVITY
    joint = _joint_head(line, outlet, pump_flow)
    return Operating(
        flows=flows,
        tip_heads=tuple(
            (q / b.coefficient) ** 2 if q > 0.0 else min(joint - b.tip_height, 0.0)
            for q, b in zip(flows, line.runs, strict=True)
        ),
        pump_flow=pump_flow,
        pump_head=(outlet - inlet) / weight if line.pump is not None else 0.0,
        inlet=inlet,
        outlet=outlet,
        trunk_loss=_trunk_loss(line, pump_flow),
    )


def _names(line: Line) -> str:
    return ", ".join(run.name for run in line.runs)


def _only(line: Line) -> Branch | None:
    """The run of a line that has no other."""
    first = line.branches[0]
    return first if len(line.branches) == 1 and isinstance(first, Branch) else None


def _root(surplus: Callable[[float], float], low: float, high: float, tolerance: float, name: str) -> float:
    """Root of a falling function between `low` and `high`; raises SolveError with the run's name."""
    at_low, at_high = surplus(low), surplus(high)
    if at_low <= 0.0:
        return low
    if at_high >= 0.0:
        return high
    try:
        return float(brenth(surplus, low, high, xtol=tolerance, fa=at_low, fb=at_high))
    except Exception as error:
        raise SolveError(f"no operating point found for {name}: {error}") from error
