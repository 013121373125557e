"""How long one run's solve takes beside EPANET's open, solve and close of the same line, in one process.

Run by hand: python tests/bench/bench_solve.py [rounds].  EPANET reads a prepared input file, so writing it is not
counted against it; reading it is, as one would have to for every new job.  Our figure is the solve of a line that
is already built.  Both answers are printed, so that the times are of the same work.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from wntr.epanet.toolkit import ENepanet

from planner.physics.hoses import Hose
from planner.physics.lines import Branch, Fluid, Line, Source, solve
from planner.physics.liquids import water_density, water_viscosity
from planner.physics.parts import HosePart, MinorPart
from planner.physics.pumps import centrifugal
from planner.physics.tips import bore_coefficient
from tests.oracle import inp

GPM, PSI, INCH, FOOT = 6.30901964e-5, 6894.757293168, 0.0254, 0.3048
CURVE = ((0.0, 70.0), (4.0, 66.0), (8.0, 58.0), (12.0, 46.0), (16.0, 31.0), (20.0, 12.0))
DEMAND = 9


def booster_line() -> Line:
    """Tank, suction, booster, two hoses in series with fittings, a 1/4 in tip: an ordinary run."""
    temperature = 288.7
    water = Fluid(density=water_density(temperature), viscosity=water_viscosity(temperature))
    suction = Hose(bore=INCH, length=6.0 * FOOT, roughness=1.5e-6)
    hose = Hose(bore=0.75 * INCH, length=100.0 * FOOT, roughness=1e-5)
    return Line(
        source=Source(
            fluid=water,
            level=0.6,
            parts=(HosePart(name="suction", hose=suction), MinorPart(name="foot valve", k=2.0, bore=INCH)),
        ),
        pump=centrifugal([(q * GPM, p * PSI / (998.2 * 9.80665)) for q, p in CURVE]),
        pump_height=0.6,
        trunk=(),
        branches=(
            Branch(
                name="run",
                parts=(
                    HosePart(name="red 1", hose=hose),
                    HosePart(name="red 2", hose=hose),
                    MinorPart(name="fittings", k=3.0, bore=0.75 * INCH),
                ),
                coefficient=bore_coefficient(0.25 * INCH, 0.95),
                tip_height=3.0,
            ),
        ),
        pumped=water,
        sprayed=water,
    )


def _timed(work: Callable[[], float]) -> tuple[float, float]:
    start = time.perf_counter()
    answer = work()
    return time.perf_counter() - start, answer


def main(rounds: int) -> None:
    """Times both, turn about, and prints medians and their ratio."""
    line = booster_line()
    with tempfile.TemporaryDirectory() as folder:
        base = Path(folder)
        (base / "line.inp").write_text(inp(line))

        def by_epanet() -> float:
            engine = ENepanet(version=2.2)
            engine.ENopen(str(base / "line.inp"), str(base / "line.rpt"), str(base / "line.bin"))
            engine.ENsolveH()
            flow = engine.ENgetnodevalue(engine.ENgetnodeindex("tip0"), DEMAND) / 1000.0
            engine.ENclose()
            return float(flow)

        def by_us() -> float:
            return solve(line).flows[0]

        for work in (by_us, by_epanet):
            work()
        ours: list[float] = []
        theirs: list[float] = []
        for _ in range(rounds):
            seconds, our_flow = _timed(by_us)
            ours.append(seconds)
            seconds, their_flow = _timed(by_epanet)
            theirs.append(seconds)
    us, them = statistics.median(ours), statistics.median(theirs)
    print(f"planner.physics.lines.solve     {us * 1e6:9.1f} us   {our_flow / GPM:.4f} gpm")
    print(f"EPANET open + solveH + close    {them * 1e6:9.1f} us   {their_flow / GPM:.4f} gpm")
    print(f"ratio ours / EPANET             {us / them:9.3f}      medians of {rounds}, turn about, one process")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
