"""The crew's own pace out of one record: what the minutes at the wall come to as a share of the table's.

A pace moves what hands do and a section's fixed time, never dwell, and no step under volume / flow
(`plan/water/model.py`, used both ways). A surface cleaner's water goes with its minutes. The job runs from its first
wall, as the page has it, to flushed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from planner.archive.compare.figures import learning
from planner.plan.water.model import Pace, Step

if TYPE_CHECKING:
    from planner.contract.mix import WorkJson
    from planner.contract.plan import PlanJson

Stood = Mapping[tuple[str, str], float]
"""Dwell [s] as it was written, by surface and run."""

LEAST_PART: Final = 0.9
"""Share of a job's moving minutes one kind must make for the job to tell of it (common practice, no source)."""

_EQUAL: Final = 1e-12
_MOST_STEPS: Final = 100


def pace_of(row: WorkJson) -> Pace:
    """One row of a plan's `work` as it was planned from."""
    table, least, dwell = row["table"], row["least"], row["dwell_s"]
    return Pace(
        wet=Step(table=table["wet_s"], least=least["wet_s"]),
        apply=Step(table=table["apply_s"], least=least["apply_s"]),
        rinse=Step(table=table["rinse_s"], least=least["rinse_s"]),
        clean=Step(table=table["clean_s"]),
        # Plans kept before it waited for the longest.
        dwell=table.get("dwell_s", dwell[1]),
        soaks=row["sections"] * dwell[0],
        sections=table["sections_s"],
    )


def crew_pace(plan: PlanJson, planned: float, done: float, stood: Stood) -> tuple[str, float] | None:
    """The kind of surface a job tells of, and its factor [-] on the table's minutes; None where it tells of none.

    `planned` and `done` [s]: from the first work at a wall to the end of the flush. What no crew can hurry,
    fill-and-mix, waits and flush, is taken as planned, dwell as it was written; where it was not, the job tells of
    nothing if the least and the longest dwell lie far apart beside its moving minutes. What was learned before is not
    in the answer. A job of several kinds tells of one that makes nearly all of it. Plans kept before these keys tell of
    none.
    """
    work = plan["work"]
    if not work or any("table" not in row for row in work):
        return None
    rows = [(row["kind"], row["pace_factor"], pace_of(row)) for row in work]
    moving: dict[str, float] = {}
    for kind, _, pace in rows:
        moving[kind] = moving.get(kind, 0.0) + pace.moving
    kind, most = max(moving.items(), key=lambda item: item[1])
    if not most > 0.0 or most < LEAST_PART * sum(moving.values()):
        return None
    if _unknown(work, stood) > (1.0 - LEAST_PART) * sum(moving.values()):
        return None
    own = [_as_stood(row, pace, stood) for row, (of, _, pace) in zip(work, rows, strict=True) if of == kind]
    others = [(row, pace) for row, (of, _, pace) in zip(work, rows, strict=True) if of != kind]
    # Everything but this kind stays as planned, the little there is of another at its own pace too.
    rest = planned - sum(pace.seconds(factor) for of, factor, pace in rows if of == kind)
    rest += sum(_as_stood(row, pace, stood).dwell - pace.dwell for row, pace in others if pace.sections is None)
    return kind, factor_of(own, done - rest)


def _as_stood(row: WorkJson, pace: Pace, stood: Stood) -> Pace:
    """The work with the dwell that was written for it, else as long as it was planned to stand."""
    return replace(pace, dwell=stood.get((row["surface"], row["run"]), pace.dwell))


def _unknown(work: Sequence[WorkJson], stood: Stood) -> float:
    """How far the dwell nobody wrote may have been shorter than the plan's [s]; a fixed section time hides it."""
    return float(
        sum(
            row["dwell_s"][1] - row["dwell_s"][0]
            for row in work
            if row["table"]["sections_s"] is None and (row["surface"], row["run"]) not in stood
        )
    )


def factor_of(paces: Sequence[Pace], seconds: float) -> float:
    """The factor [-] at which these take `seconds`; the largest where several do, as the gun needs all of it.

    Less than the gun needs is read as all it needs, unless a crew that is not held by any gun would have to be
    quicker than anything real: that factor is given then, to be set aside.
    """
    least = learning("surface_range", "low")
    if seconds < _at(paces, least):
        free = [_unheld(pace) for pace in paces]
        if seconds < _at(free, least):
            return _solved(free, seconds)
    return _solved(paces, seconds)


def _at(paces: Sequence[Pace], factor: float) -> float:
    return sum(pace.seconds(factor) for pace in paces)


def _unheld(pace: Pace) -> Pace:
    """The same work by a gun that needs no time."""
    wet, apply, rinse = (replace(step, least=0.0) for step in (pace.wet, pace.apply, pace.rinse))
    return replace(pace, wet=wet, apply=apply, rinse=rinse)


def _solved(paces: Sequence[Pace], seconds: float) -> float:
    """Elapsed time is made of straight pieces that only get steeper: from the right, tangents end at the answer."""
    target = max(seconds, _at(paces, 0.0))
    factor = 1.0
    while _at(paces, factor) < target:
        factor *= 2.0
    for _ in range(_MOST_STEPS):
        over = _at(paces, factor) - target
        slope = sum(pace.slope(factor) for pace in paces)
        if over <= _EQUAL * target or not slope > 0.0:
            break
        factor = max(factor - over / slope, 0.0)
    return factor
