"""The test of a pump in the yard: throw along level ground, gauge with the gun closed, seconds of a bucket.

The line is a setup of the rig with plain water in it: a panel's loss is there, its dial is shut, an injector draws
nothing.  Before the work the pump stands at what the throw paced out says of it, else at its condition; after it at
all of its curve.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final, Literal

from fluids.numerics import brenth

from planner.inputs.joined import JobInput, RunInput
from planner.inputs.models import YardJob
from planner.physics import jets
from planner.physics.lines import Line, SolveError, solve
from planner.plan import apparatus
from planner.plan.altered import closed_at, with_share
from planner.plan.hydraulics import line_of
from planner.plan.wear_points import SHARES
from planner.plan.yard_model import BenchPoint, ThrowTest

BUCKET: Final = 5 * 231 * 0.0254**3
"""The bucket that is timed [m3]: 5 gal, whatever units the paper is in."""


def plan_test(job: JobInput, yard: YardJob) -> ThrowTest | None:
    """What the test shows today and with a sound pump; None where no line of this pump has an answer."""
    run = job.yard_run
    if run is None or run.pump is None:
        return None
    of: Literal["head", "flow"] = "flow" if run.pump.kind == "piston" else "head"
    share = run.pump.condition if of == "head" else 1.0
    try:
        says = _share_of(job, run, yard.throw) if yard.throw is not None else None
        share = says if says is not None else share
        before, after = (_point(job, run, at, flight=True) for at in (share, 1.0))
    except SolveError:
        return None
    return ThrowTest(
        run=run,
        of=of,
        before=before,
        after=after,
        written=yard.throw,
        written_share=says,
        limit=job.limits["pump_condition"],
        bucket=BUCKET,
    )


def bench_points(job: JobInput) -> tuple[BenchPoint, ...]:
    """What the test shows at each of wear_points.SHARES, so that any later reading is found between.

    None without a line. Raises SolveError where the line has no operating point at one of them.
    """
    run = job.yard_run
    return tuple(_point(job, run, share) for share in SHARES) if run is not None and run.pump is not None else ()


def _line(job: JobInput, run: RunInput) -> Line:
    water = apparatus.liquid(job.water.temperature, 0.0)
    return line_of(job, [run], water=water, mix=water, draws=False)


def _point(job: JobInput, run: RunInput, share: float, *, flight: bool = False) -> BenchPoint:
    """The signs at one share; `flight` also the way the jet goes."""
    line = _line(job, with_share(run, share))
    solved = solve(line)
    head = solved.tip_heads[0]
    landed = None
    path: tuple[tuple[float, float], ...] = ()
    if run.tip.pattern == "solid":
        orifice = apparatus.tip_orifice(run)
        landed = jets.furthest(head, orifice, above=run.tip_height)
        if landed is not None and flight:
            flown = jets.path(head, orifice, landed.angle, until=landed.distance, floor=-run.tip_height)
            path = tuple((along, max(run.tip_height + high, 0.0)) for along, high in flown if along <= landed.distance)
            path = (*path[:-1], (landed.distance, 0.0))
    return BenchPoint(
        share=share,
        ground=landed.distance if landed is not None else None,
        angle=landed.angle if landed is not None else None,
        flow=solved.flows[0],
        closed=closed_at(line),
        path=path,
    )


def _share_of(job: JobInput, run: RunInput, throw: float) -> float | None:
    """The share at which the jet lands just `throw` [m] away; None where no share between the points does."""
    shown = [(point.ground, point.share) for point in bench_points(job) if point.ground is not None]
    for (near, low), (far, high) in pairwise(shown):
        if near <= throw <= far and far > near:
            return float(brenth(lambda share: (_point(job, run, share).ground or 0.0) - throw, low, high, xtol=1e-9))
    return None
