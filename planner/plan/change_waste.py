"""What makes harmless what a flush between two chemistries drains and catches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from planner.inputs.joined import JobInput
from planner.plan.change_model import ChangeFlush
from planner.plan.mix_model import Neutraliser
from planner.plan.neutralisers import neutralised


def purpose_of(change: ChangeFlush) -> str:
    """What the neutraliser of a flush is for."""
    where = change.tank.part if change.tank is not None else f"the line of {change.run}"
    return f"the {change.leaves[0].replace('_', ' ')} drained from {where}"


def drained_neutralisers(
    job: JobInput, changes: Iterable[ChangeFlush], taken: Mapping[str, float]
) -> tuple[Neutraliser, ...]:
    """For each flush: what its tank is drained of, with its rinse water where that is caught too.

    `taken` [kg]: what the jobs before took of each lot.
    """
    planned = []
    for change in changes:
        tank, caught = change.tank, change.drains_to == "caught"
        drained = tank.drained if tank is not None else 0.0
        mass = drained * tank.strength if tank is not None else 0.0
        volume = drained + (change.volume if caught else 0.0)
        mass += change.mean * change.volume if caught else 0.0
        strength = mass / volume if volume > 0.0 else 0.0
        one = neutralised(job, change.leaves[0], purpose_of(change), volume, strength, taken)
        if one is not None:
            planned.append(one)
    return tuple(planned)
