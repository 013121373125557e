"""What the plan has settled before anything has an order."""

from __future__ import annotations

from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.plan.between.model import ChangeFlush
from planner.plan.mix.model import (
    EMPTY,
    Carried,
    FlushPlan,
    Look,
    LotToday,
    MixPlan,
    Neutraliser,
    SurfaceWork,
)
from planner.plan.model import RunPlan
from planner.plan.water.model import BedWater


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the plan has settled before anything has an order; `beds` say how much and how often."""

    job: JobInput
    runs: tuple[RunPlan, ...]
    mixes: tuple[MixPlan, ...] = ()
    work: tuple[SurfaceWork, ...] = ()
    changes: tuple[ChangeFlush, ...] = ()
    flushes: tuple[FlushPlan, ...] = ()
    neutralisers: tuple[Neutraliser, ...] = ()
    looks: tuple[Look, ...] = ()
    shelf: tuple[LotToday, ...] = ()
    beds: BedWater | None = None
    found: Carried = EMPTY
