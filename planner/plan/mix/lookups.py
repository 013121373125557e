"""What the tables say of a plan's chemicals: ranges for a surface, pairs that must not meet."""

from __future__ import annotations

from planner.chemistry.reactions import Pair
from planner.inputs.joined import Surface
from planner.inputs.reading.strengths import Strength
from planner.inputs.tables.chemicals import BLEACH
from planner.inputs.tables.outside import Outside
from planner.plan.between.heels import after_mix
from planner.plan.between.matrix import meets
from planner.plan.line.apparatus import available_chlorine
from planner.plan.mix.lots import active
from planner.plan.mix.model import EMPTY, LotToday, MixPlan
from planner.plan.model import JobPlan


def forbidden(plan: JobPlan, first: str, second: str) -> Pair | None:
    """What forbids two chemicals to meet, by the very pair or by their groups; None where they may."""
    return meets(first, second).pair


def bathed_before(plan: JobPlan, mix: MixPlan) -> tuple[str, ...]:
    """Parts of a mix's line that lay in acid today, rinsed and run out, and that the mix may not meet it in."""
    carried = plan.found
    return tuple(
        part
        for part in after_mix(EMPTY, mix).parts
        if part in carried.bathed
        and part not in carried.unflushed
        and forbidden(plan, mix.chemical, carried.parts.get(part, mix.chemical)) is not None
    )


def table_range(surface: Surface, lot: LotToday | None) -> tuple[float, float]:
    """The surface table's least and most for it [kg/m3]; a share by volume is of the lot as it is today."""
    least, most = surface.row["strength"]
    return _amount(least, surface.chemical or "", lot), _amount(most, surface.chemical or "", lot)


def outside_advice(plan: JobPlan, surface: Surface, chemical: str) -> Outside | None:
    """What people outside the trade advise of a chemical on this kind of surface; None where they say nothing."""
    rows: tuple[Outside, ...] = plan.input.tables["outside"]
    return next((row for row in rows if row.chemical == chemical and surface.kind in row.kinds), None)


def advised_most(advice: Outside, lot: LotToday | None) -> float:
    """The strongest mix they advise [kg/m3]; a share by volume is of the lot as it is today."""
    return _amount(advice.strength[1], advice.chemical, lot)


def _amount(strength: Strength, chemical: str, lot: LotToday | None) -> float:
    if strength.basis == "vol":
        return strength.amount / 100.0 * (lot.nominal or 0.0) if lot is not None else 0.0
    if chemical == BLEACH:
        return available_chlorine(strength)
    return active(strength, chemical) or 0.0
