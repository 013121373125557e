"""The runoff of a job as JSON: by surface, in all, by downspout, and where the active of each mix goes."""

from __future__ import annotations

from typing import Any

from planner.plan.between.flushing import controls_of, kept_from
from planner.plan.between.model import AgentNeed, RunoffPlan, SurfaceRunoff
from planner.plan.model import JobPlan


def runoff_json(plan: RunoffPlan | None) -> list[dict[str, Any]]:
    """What leaves each surface; empty where no mix is made. Strengths in g/L of the active as sold."""
    return [_row(one) for one in plan.surfaces] if plan is not None else []


def total_json(plan: RunoffPlan | None) -> list[dict[str, Any]]:
    """The same for the whole job, a row for each chemical."""
    return [_row(one) for one in plan.totals] if plan is not None else []


def _row(one: SurfaceRunoff) -> dict[str, Any]:
    return {
        "surface": one.surface,
        "chemical": one.chemical,
        "active_kg": one.active,
        "volume_m3": one.volume,
        "strength_g_per_l": one.strength,
        "mix_m3": one.mix,
        "water_m3": one.water,
        "first_g_per_l": one.first if one.active is not None else None,
        "times_acute": one.times_acute,
        "times_chronic": one.times_chronic,
        "times_tap": one.times_tap,
        "ph": one.ph,
    }


def outlets_json(plan: RunoffPlan | None) -> dict[str, Any] | None:
    """What each downspout of the roofs takes, shared evenly; null where no roof is sprayed or none is written."""
    out = plan.outlets if plan is not None else None
    if out is None:
        return None
    return {"count": out.count, "chemical": out.chemical, "each_m3": out.volume, "each_kg": out.active}


def controls_json(plan: JobPlan) -> list[dict[str, Any]]:
    """Each kind of control that is written, and what near this job it keeps the runoff from."""
    return [{"kind": one.kind, "keeps_from": list(kept_from(plan, one))} for one in controls_of(plan.input)]


def active_json(plan: RunoffPlan | None) -> list[dict[str, Any]]:
    """Where the active of each mix comes from and goes: stock + found = walls + spare + heel.

    Nothing stays in a line or a test's bucket: the test is drawn onto the wall, and the line chased with water.
    """
    return [
        {
            "mix": one.mix,
            "stock_kg": one.stock,
            "found_kg": one.found,
            "walls_kg": one.walls,
            "spare_kg": one.spare,
            "line_kg": 0.0,
            "heel_kg": one.heel,
            "test_kg": 0.0,
        }
        for one in (plan.ledger if plan is not None else ())
    ]


def agent_json(one: AgentNeed) -> dict[str, Any]:
    """One agent in all: what to carry, what is on the shelf, what to buy; `rise` of the strongest bucket."""
    return {
        "agent": one.agent,
        "against": one.against,
        "lots": list(one.lots),
        "kg": one.mass,
        "carry_kg": one.carry,
        "on_hand_kg": one.on_hand,
        "buy_kg": one.buy,
        "rise_delta_k": one.rise,
    }
