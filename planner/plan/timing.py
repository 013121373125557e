"""The job on the clock: elapsed minutes of each step, from leaving the last place to driving off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from planner.chemistry.reactions import ACIDS
from planner.inputs.joined import JobInput
from planner.plan.mix_model import FlushPlan, MixPlan, SurfaceWork

_MINUTE = 60.0
WALK_ROUND: Final = 15 * _MINUTE
SET_UP: Final = 20 * _MINUTE
SET_UP_ROOF: Final = 20 * _MINUTE
SET_UP_ACID: Final = 15 * _MINUTE
FLUSH_LEAST: Final = 5 * _MINUTE
PACK: Final = 20 * _MINUTE
"""Minutes of a visit that do not depend on the walls (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One step of the visit: `start` [s] from local midnight, None where nobody wrote when the rig leaves."""

    what: str
    start: float | None
    seconds: float


def plan_time(
    job: JobInput,
    mixes: Sequence[MixPlan],
    work: Sequence[SurfaceWork],
    flushes: Sequence[FlushPlan],
    leaves: float | None,
) -> tuple[Span, ...]:
    """Every step of the visit, one after another, beginning when the rig `leaves` [s from midnight] for it."""
    if job.kind != "wash":
        return ()
    spans: list[Span] = []
    now = leaves
    for what, seconds in _steps(job, mixes, work, flushes):
        if seconds <= 0.0:
            continue
        spans.append(Span(what=what, start=now, seconds=seconds))
        now = None if now is None else now + seconds
    return tuple(spans)


def _steps(
    job: JobInput, mixes: Sequence[MixPlan], work: Sequence[SurfaceWork], flushes: Sequence[FlushPlan]
) -> list[tuple[str, float]]:
    drive = job.day.drive.get(job.id.rpartition("/")[2], 0.0) if job.day is not None else 0.0
    roof = any(one.surface.row["family"] == "roof" for one in work)
    acid = any(mix.chemical in ACIDS for mix in mixes)
    set_up = SET_UP + (SET_UP_ROOF if roof else 0.0) + (SET_UP_ACID if acid else 0.0)
    steps = [("drive", drive), ("walk-round", WALK_ROUND), ("set up", set_up)]
    tap = job.water.test_flow
    fill = sum(batch.water for mix in mixes for batch in mix.batches)
    steps.append(("fill and mix", fill / tap if tap else 0.0))
    steps += [(one.surface.name, surface_seconds(one)) for one in work]
    flush = sum(part.seconds or 0.0 for part in flushes)
    steps += [("flush", max(flush, FLUSH_LEAST) if mixes else 0.0), ("pack", PACK)]
    return steps


def surface_seconds(work: SurfaceWork) -> float:
    """Elapsed time of one surface [s]: section by section where a section takes a fixed time, else step by step.

    Sections dwell while the next is sprayed, so only the last one's dwell is waited for.
    """
    section = work.surface.row["section_time"]
    if section and work.apply > 0.0:
        return float(work.sections * section)
    return work.clean + work.wet + work.apply + work.dwell_most + work.rinse
