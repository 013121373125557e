"""The test of a pump in the yard: throw along level ground, gauge with the gun closed, seconds of a bucket.

The line is a setup of the rig with plain water in it: a panel's loss is there, its dial is shut, an injector draws
nothing.  Before the work the pump stands at what gauge, bucket or throw of that morning say of it, else at its
condition; after it at all of its curve.

What was read stands in `ThrowTest.found`, each with its own band (`plan/wear/model.py`): gauge and bucket as a share, a
throw only outside the jet's band, none above sound; the first that tells is taken.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import inf
from typing import Final

from fluids.numerics import brenth

from planner.inputs.joined import JobInput, RunInput
from planner.inputs.models import YardJob
from planner.inputs.tables.defaults import default
from planner.physics import jets
from planner.physics.lines import Line, SolveError, solve
from planner.plan.line import apparatus
from planner.plan.line.hydraulics import line_of, plan_runs
from planner.plan.model import RunPlan
from planner.plan.wear.altered import closed_at, with_share
from planner.plan.wear.model import By, Found, Side, told_by
from planner.plan.wear.points import SHARES
from planner.plan.yard.model import BenchPoint, ThrowTest

BUCKET: Final = 5 * 231 * 0.0254**3
BUCKET_SI: Final = 0.010
"""The bucket that is timed [m3]: 5 gal, or 10 L where the company measures in liters, so that a pail holds it."""

_LOOKED_AT: Final = (0.2, 0.3, 0.45, *(share for share in SHARES if share < 1.0), 1.0)
"""Shares between which a reading is looked for [-]; no pump is better than sound, and below the least none works."""
_FLAT: Final = 1e-6


def plan_test(job: JobInput, yard: YardJob) -> ThrowTest | None:
    """What the test shows today and with a sound pump; None where no line of this pump has an answer."""
    run = job.yard_run
    if run is None or run.pump is None:
        return None
    of, share = run.pump.of_kind.wears, run.pump.share
    try:
        readings = tuple(_readings(job, run, yard))
        reading = told_by(readings, of)
        share = reading.share if reading is not None and reading.share is not None else share
        before, after = (_point(job, run, at, flight=True) for at in (share, 1.0))
    except SolveError:
        return None
    return ThrowTest(
        run=run,
        of=of,
        before=before,
        after=after,
        written=yard.throw,
        found=readings,
        limit=job.limits["pump_condition"],
        bucket=bucket_of(job, ""),
    )


def bucket_of(job: JobInput, feed: str) -> float:
    """The bucket that is timed [m3]: half of it, and half again, where the tank it is drawn from holds no more."""
    bucket = BUCKET_SI if job.company.units == "si" else BUCKET
    tank = next((tank for tank in job.rig.tanks if tank.name == feed), None)
    room = tank.volume - tank.dead_volume if tank is not None else inf
    return next((bucket / n for n in (1, 2, 4) if bucket / n <= room), bucket / 4)


def test_runs(job: JobInput, test: ThrowTest | None, *, opened: bool) -> tuple[RunPlan, ...]:
    """The line of a test as a run of its own, with the pump as it stands and, where it is `opened`, once it is sound.

    No wall is before it, and its jug is shut: an injector passes the pump's own flow.
    """
    if test is None:
        return ()
    points = {test.run.name: test.before, **({f"{test.run.name} after": test.after} if opened else {})}
    found = []
    for name, point in points.items():
        run = replace(with_share(test.run, point.share), name=name, same_time=())
        (planned,) = plan_runs(replace(job, runs=(run,)), curves=False, flight=False)
        found.append(replace(planned, flow=point.flow, pump_flow=point.flow, needed=None))
    return tuple(found)


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


# --------------------------------------------------------------------------------- what was read this morning


def _readings(job: JobInput, run: RunInput, yard: YardJob) -> list[Found]:
    """Gauge, bucket and throw that were written, in the order they are believed in; no throw where there is no jet."""
    pump = run.pump
    assert pump is not None
    gauge_error = default("gauge_error") if pump.cut_off is None else default("switch_error")
    # The jet's own band: records of jets at a wall narrow it, a throw along the ground never.
    jet = 1.0 - job.limits["reach_band"]

    @cache
    def point(share: float) -> BenchPoint:
        return _point(job, run, share)

    shown: dict[By, Callable[[float], float | None]] = {
        "gauge": lambda share: point(share).closed,
        "bucket": lambda share: point(share).flow,
        "throw": lambda share: point(share).ground,
    }
    flow = yard.bucket.flow if yard.bucket is not None else None
    read: list[tuple[By, float | None, float, float]] = [
        ("gauge", yard.gauge, 1.0 - gauge_error, 1.0 + gauge_error),
        ("bucket", flow, 1.0 - default("bucket_error"), 1.0 + default("bucket_error")),
        ("throw", yard.throw, jet, 2.0 - jet),
    ]
    found = []
    for by, value, least, most in read:
        sound = shown[by](1.0) if value is not None else None
        if value is not None and sound is not None:
            found.append(_read(by, value, sound, shown[by], least, most))
    return found


def _read(
    by: By, value: float, sound: float, shown: Callable[[float], float | None], least: float, most: float
) -> Found:
    """A reading as a share: it may truly be anything from `value` / `most` to `value` / `least`."""
    points = [(one, share) for share in _LOOKED_AT if (one := shown(share)) is not None]
    flat = len(points) < 2 or points[-2][0] > sound * (1.0 - _FLAT)
    share, low, high = (_share_of(shown, points, at) for at in (value, value / most, value / least))
    side: Side = "inside"
    if value / most > sound:
        side = "high"
    elif value / least < sound:
        side = "low" if share is not None else "short"
    elif flat:
        side = "flat"
    return Found(by=by, value=value, sound=sound, share=share, low=low, high=high, side=side)


def _share_of(shown: Callable[[float], float | None], points: list[tuple[float, float]], value: float) -> float | None:
    """The share at which `value` is shown, 1 where a sound pump shows no more; None where no pump shows so little."""
    if not points or value >= points[-1][0]:
        return 1.0
    for (near, low), (far, high) in pairwise(points):
        if near <= value <= far and far > near * (1.0 + _FLAT):
            return float(brenth(lambda share: (shown(share) or 0.0) - value, low, high, xtol=1e-9))
    return None
