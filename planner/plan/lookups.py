"""What the tables say of a plan's chemicals: ranges for a surface, bans, pairs that must not meet."""

from __future__ import annotations

from planner.chemistry.reactions import Ban, Pair, banned, meeting
from planner.inputs.joined import Surface
from planner.inputs.strengths import Strength
from planner.plan.apparatus import available_chlorine
from planner.plan.mix_model import LotToday
from planner.plan.model import JobPlan
from planner.plan.shelf import active


def forbidden(plan: JobPlan, first: str, second: str) -> Pair | None:
    """The row that forbids two chemicals to meet."""
    return meeting(first, second, [Pair(**row) for row in plan.input.tables["reactions"]["pairs"]])


def ban_on(plan: JobPlan, chemical: str, material: str) -> Ban | None:
    """The row that bans a chemical from a material, by any spelling of it."""
    table = plan.input.tables["reactions"]
    name = material.casefold().replace(" ", "_").replace("-", "_")
    return banned(chemical, table["same"].get(name, name), [Ban(**row) for row in table["bans"]])


def table_range(surface: Surface, lot: LotToday | None) -> tuple[float, float]:
    """The surface table's least and most for it [kg/m3]; a share by volume is of the lot as it is today."""
    least, most = surface.row["strength"]
    return _amount(least, surface.chemical or "", lot), _amount(most, surface.chemical or "", lot)


def _amount(strength: Strength, chemical: str, lot: LotToday | None) -> float:
    if chemical == "hypochlorite":
        return available_chlorine(strength)
    if strength.basis == "vol":
        return strength.amount / 100.0 * (lot.nominal or 0.0) if lot is not None else 0.0
    return active(strength, chemical) or 0.0
