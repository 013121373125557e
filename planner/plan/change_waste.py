"""What makes harmless what a flush between two chemistries drains and catches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from planner.inputs.joined import JobInput
from planner.plan.change_model import ChangeFlush
from planner.plan.mix_model import Neutraliser
from planner.plan.neutralisers import neutralised


def purpose_of(change: ChangeFlush, leaves: str = "") -> str:
    """What the neutraliser of a flush is for: of what its tank held, or of what else its line did."""
    leaves = leaves or change.leaves[0]
    held = change.tank is not None and change.tank.leaves == leaves
    where = change.tank.part if held and change.tank is not None else f"the line of {change.run}"
    return f"the {leaves.replace('_', ' ')} drained from {where}"


def drained_neutralisers(
    job: JobInput, changes: Iterable[ChangeFlush], taken: Mapping[str, float]
) -> tuple[Neutraliser, ...]:
    """For each flush: what its tank is drained of, with its rinse water where that is caught too.

    A tank and a line that held two things are two pails, never one.
    `taken` [kg]: what the jobs before took of each lot.
    """
    planned = []
    for change in changes:
        tank, caught = change.tank, change.drains_to == "caught"
        for leaves in change.leaves:
            drained = tank.drained if tank is not None and tank.leaves == leaves else 0.0
            mass = drained * tank.strength if tank is not None else 0.0
            parts = [part for part in change.parts if part.leaves == leaves and caught]
            water = sum(part.volume or 0.0 for part in parts)
            volume = drained + water
            # All that its own water brings: with one chemical the mean of the whole flush.
            alone = len(change.leaves) == 1
            mass += change.mean * water if alone else sum(part.strength * part.holds for part in parts)
            strength = mass / volume if volume > 0.0 else 0.0
            one = neutralised(job, leaves, purpose_of(change, leaves), volume, strength, taken)
            if one is not None:
                planned.append(one)
    return tuple(planned)
