"""At what hours the acts of a job are, by the clock of its plan."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Final

from planner.inputs.joined import Worked
from planner.plan.procedure.acts import Procedure, Spray
from planner.plan.procedure.flows import Flow
from planner.plan.procedure.totals import standings

_HOUR: Final = 3600.0


def worked_of(procedure: Procedure, moved: Sequence[Flow]) -> Worked:
    """The hours of the acts: of each run's spraying, of mix on each wall until its rinse is done, of the visit."""
    runs: dict[str, set[int]] = {}
    walls: dict[str, set[int]] = {}
    for act in procedure.acts:
        if isinstance(act.detail, Spray) and act.section is not None:
            runs.setdefault(act.detail.run, set()).update(_hours(act.start, act.end))
    for standing in standings(procedure, moved):
        walls.setdefault(standing.surface, set()).update(_hours(standing.start, standing.off))
    return Worked(
        runs={name: frozenset(hours) for name, hours in runs.items()},
        walls={name: frozenset(hours) for name, hours in walls.items()},
        visit=frozenset(_hours(procedure.starts, procedure.ends)),
    )


def _hours(start: float, end: float) -> range:
    return range(int(start // _HOUR), max(ceil(end / _HOUR - 1e-9), int(start // _HOUR) + 1))
