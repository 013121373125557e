"""EPANET's answer for one of our lines, asked through the toolkit that wntr carries.

Independent of planner.physics.lines: the network goes out as an EPANET text file and the engine solves it by
its own gradient method with Swamee & Jain's friction factor.  Only the pump and tap curves are sampled from ours.

One EPANET network has one viscosity, one density and one flow per series, a line of ours may have three liquids
and an injector.  Everything upstream of the tips is therefore written as its exact similar image in the sprayed
liquid: a bore scaled so that the Reynolds number stays, a length and a K scaled so that the pressure lost stays.
What else EPANET needs to know: its g is 32.2 ft/s2; VISCOSITY multiplies 1.1e-5 ft2/s; a closed link leaks
1e-8 cfs per ft, so a constant flow is put in as a demand and the idle reservoir is set to the head found.
"""

from __future__ import annotations

import tempfile
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import count
from math import pi
from pathlib import Path

from planner.physics.lines import Branch, Fluid, Fork, Line
from planner.physics.liquids import GRAVITY
from planner.physics.parts import DevicePart, HosePart, MinorPart, Part
from planner.physics.pumps import HeadPump, PistonPump

EPANET_GRAVITY = 32.2 * 0.3048
EPANET_VISCOSITY = 1.1e-5 * 0.3048**2
CONNECTOR = 1e-5
"""Length [m] of the pipes that carry only a K: their own friction is a ten-thousandth of it."""

_DEMAND, _HEAD, _FLOW = 9, 10, 8
_SAMPLES = 600


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What EPANET finds: flows [m3/s], heads [m of the sprayed liquid], outlet pressure [Pa gauge]."""

    flows: tuple[float, ...]
    tip_heads: tuple[float, ...]
    pump_flow: float
    outlet: float
    cycling: bool = False
    bypassing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """How a stretch that carries another liquid, or less flow, is drawn in the sprayed liquid."""

    bore: float
    loss: float


@dataclass(slots=True)
class _Network:
    junctions: list[str] = field(default_factory=list)
    reservoirs: list[str] = field(default_factory=list)
    pipes: list[str] = field(default_factory=list)
    pumps: list[str] = field(default_factory=list)
    valves: list[str] = field(default_factory=list)
    emitters: list[str] = field(default_factory=list)
    curves: list[str] = field(default_factory=list)
    names: int = 0

    def name(self) -> str:
        self.names += 1
        return f"x{self.names}"

    def junction(self, name: str, height: float = 0.0, demand: float = 0.0) -> str:
        self.junctions.append(f"{name} {height!r} {demand * 1000.0!r}")
        return name

    def pipe(self, start: str, end: str, bore: float, length: float, roughness: float, k: float) -> None:
        self.pipes.append(f"{self.name()} {start} {end} {length!r} {bore * 1000.0!r} {roughness * 1000.0!r} {k!r} Open")

    def curve(self, name: str, points: Sequence[tuple[float, float]]) -> None:
        self.curves.extend(f"{name} {x * 1000.0!r} {y!r}" for x, y in points)

    def chain(self, start: str, parts: Sequence[Part], end: str, scale: _Scale) -> None:
        """The parts from `start` to `end` in order, or a connector where there are none."""
        pieces = [_piece(part) for part in parts] or [(0.05, CONNECTOR, 1.5e-6, 0.0)]
        gravity = EPANET_GRAVITY / GRAVITY
        for i, (bore, length, roughness, k) in enumerate(pieces):
            there = end if i == len(pieces) - 1 else self.junction(self.name())
            self.pipe(
                start,
                there,
                bore * scale.bore,
                length * scale.bore**5 * scale.loss * gravity,
                roughness * scale.bore,
                k * scale.bore**4 * scale.loss * gravity,
            )
            start = there

    def text(self, kinematic_viscosity: float) -> str:
        sections = {
            "JUNCTIONS": self.junctions,
            "RESERVOIRS": self.reservoirs,
            "PIPES": self.pipes,
            "PUMPS": self.pumps,
            "VALVES": self.valves,
            "EMITTERS": self.emitters,
            "CURVES": self.curves,
            "TIMES": ["Duration 0"],
            "OPTIONS": [
                "UNITS LPS",
                "HEADLOSS D-W",
                f"VISCOSITY {kinematic_viscosity / EPANET_VISCOSITY!r}",
                "SPECIFIC GRAVITY 1",
                "EMITTER EXPONENT 0.5",
                "TRIALS 1000",
                "ACCURACY 0.00001",
                "FLOWCHANGE 0.000001",
                "UNBALANCED STOP",
                "DAMPLIMIT 0.01",
            ],
        }
        body = "".join(f"[{name}]\n" + "\n".join(rows) + "\n\n" for name, rows in sections.items() if rows)
        return body + "[END]\n"


def _piece(part: Part) -> tuple[float, float, float, float]:
    """Bore, length, roughness [m] and K [-] of a pipe that stands for the part."""
    if isinstance(part, HosePart):
        return part.hose.bore, part.hose.length, part.hose.roughness, 0.0
    if isinstance(part, MinorPart):
        return part.bore, CONNECTOR, 1.5e-6, part.k
    if isinstance(part, DevicePart):
        bore = 0.02
        speed = part.rated_flow / (pi / 4.0 * bore * bore)
        return bore, CONNECTOR, 1.5e-6, part.rated_head * 2.0 * GRAVITY / speed**2
    raise NotImplementedError("EPANET knows no coils")


def epanet(line: Line) -> Answer:
    """The operating point by EPANET, deciding for itself whether a switch or an unloader opens."""
    if isinstance(line.pump, PistonPump):
        idle = 100.0
        for _ in range(3):
            free = _run(line, fed=line.pump.flow, idle=idle)
            idle = free.outlet / (line.sprayed.density * GRAVITY) + line.pump_height
        if line.pump.unloader is not None and free.outlet > line.pump.unloader:
            return _run(line, held=line.pump.unloader, bypassing=True)
        return free
    free = _run(line)
    if line.pump is None or line.pump.cut_off is None or free.outlet <= line.pump.cut_off:
        return free
    through = _run(line, pump=False)
    if through.outlet > line.pump.cut_off:
        return _marked(through)
    return _marked(_run(line, held=line.pump.cut_off))


def inp(
    line: Line, *, fed: float | None = None, held: float | None = None, idle: float = 0.0, pump: bool = True
) -> str:
    """The line as an EPANET input file.

    `fed` [m3/s] puts a constant flow into the pump's outlet, `held` [Pa] holds the pressure there,
    `pump` False leaves the pump out.
    """
    net = _Network()
    weight = line.sprayed.density * GRAVITY
    source_weight = line.source.fluid.density * GRAVITY
    grown = 1.0 + line.draw
    if fed is not None:
        net.junction("out", 0.0, -fed * grown)
        net.reservoirs.append(f"S {idle!r}")
        net.pipes.append("idle S out 1 20 0.0015 0 Closed")
    elif held is not None:
        net.reservoirs.append(f"out {held / weight + line.pump_height!r}")
    else:
        net.junction("out")
        tap = line.source.tap
        stands = tap.static / weight if tap is not None else line.source.level * source_weight / weight
        net.reservoirs.append(f"S {stands + line.pump_height * (1.0 - source_weight / weight)!r}")
        start = "S"
        if tap is not None and tap.test_flow is not None:
            start = net.junction("tap")
            net.valves.append("T S tap 50 GPV tapcurve 0")
            most = tap.flow(-20.0 * weight) or 0.0
            flows = [most * (i / _SAMPLES) ** 1.5 for i in range(_SAMPLES + 1)]
            net.curve("tapcurve", [(q * grown, (tap.static - tap.pressure(q)) / weight) for q in flows])
        scale = _scale(line, line.source.fluid)
        if pump and isinstance(line.pump, HeadPump):
            net.chain(start, line.source.parts, net.junction("in"), scale)
            net.pumps.append("P in out HEAD pumpcurve")
            net.curve("pumpcurve", _pump_points(line, line.pump))
        else:
            net.chain(start, line.source.parts, "out", scale)
    net.junction("joint")
    net.chain("out", line.trunk, "joint", _scale(line, line.pumped))
    _branches(net, "joint", line.branches, count())
    return net.text(line.sprayed.kinematic)


def _branches(net: _Network, start: str, branches: Sequence[Branch | Fork], numbers: Iterator[int]) -> None:
    for branch in branches:
        if isinstance(branch, Fork):
            there = net.junction(net.name())
            net.chain(start, branch.parts, there, _Scale(bore=1.0, loss=1.0))
            _branches(net, there, branch.branches, numbers)
            continue
        tip = net.junction(f"tip{next(numbers)}", branch.tip_height)
        net.emitters.append(f"{tip} {branch.coefficient * 1000.0!r}")
        net.chain(start, branch.parts, tip, _Scale(bore=1.0, loss=1.0))


def _scale(line: Line, fluid: Fluid) -> _Scale:
    grown = 1.0 + line.draw
    return _Scale(
        bore=grown * fluid.kinematic / line.sprayed.kinematic,
        loss=fluid.density / line.sprayed.density / grown**2,
    )


def _pump_points(line: Line, pump: HeadPump) -> list[tuple[float, float]]:
    """The pump's curve sampled until its head is gone; EPANET wants every head below the one before."""
    heavier = line.pumped.density / line.sprayed.density
    grown = 1.0 + line.draw
    points: list[tuple[float, float]] = []
    for i in range(2 * _SAMPLES):
        flow = pump.last_flow * i / _SAMPLES
        head = pump.curve(flow) * heavier - 1e-8 * i
        points.append((flow * grown, head))
        if head <= 0.0:
            break
    return points


def _run(
    line: Line,
    *,
    fed: float | None = None,
    held: float | None = None,
    idle: float = 0.0,
    pump: bool = True,
    bypassing: bool = False,
) -> Answer:
    with tempfile.TemporaryDirectory() as folder:
        base = Path(folder)
        (base / "line.inp").write_text(inp(line, fed=fed, held=held, idle=idle, pump=pump))
        from wntr.epanet.toolkit import ENepanet  # with all it brings it takes a second to load

        engine = ENepanet(version=2.2)
        engine.ENopen(str(base / "line.inp"), str(base / "line.rpt"), str(base / "line.bin"))
        try:
            with warnings.catch_warnings():
                # Negative pressure at a node is no fault here: node heights are not the parts' own.
                warnings.simplefilter("ignore")
                engine.ENsolveH()
            if engine.errcode == 1:
                raise AssertionError("EPANET did not converge")
            tips = [engine.ENgetnodeindex(f"tip{i}") for i in range(len(line.runs))]
            flows = tuple(engine.ENgetnodevalue(i, _DEMAND) / 1000.0 for i in tips)
            heads = tuple(engine.ENgetnodevalue(i, _HEAD) - b.tip_height for i, b in zip(tips, line.runs, strict=True))
            outlet = engine.ENgetnodevalue(engine.ENgetnodeindex("out"), _HEAD)
        finally:
            engine.ENclose()
    return Answer(
        flows=flows,
        tip_heads=heads,
        pump_flow=sum(flows) / (1.0 + line.draw),
        outlet=(outlet - line.pump_height) * line.sprayed.density * GRAVITY,
        bypassing=bypassing,
    )


def _marked(answer: Answer) -> Answer:
    return Answer(
        flows=answer.flows,
        tip_heads=answer.tip_heads,
        pump_flow=answer.pump_flow,
        outlet=answer.outlet,
        cycling=True,
    )
