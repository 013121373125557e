"""What rides on the rig as the JSON contract writes it."""

from __future__ import annotations

from typing import Any

from planner.plan.road.model import Leg, LoadItem, LoadPlan


def load_json(load: LoadPlan | None) -> dict[str, Any] | None:
    """The leg of the road on which the rig weighs most, then every leg; null for work in the yard.

    `total_kg` and `rated_kg` are null where nobody wrote what the rig weighs; `carried_kg` is all but the rig itself.
    `hazmat_kg` is gross, on the way out.
    """
    if load is None:
        return None
    leg = load.heaviest
    return {
        **_leg(leg),
        "rated_kg": load.rated,
        "share": leg.total / load.rated if leg.total is not None and load.rated else None,
        "hazmat_kg": load.out.hazardous,
        "reportable_kg": {
            str(item.chemical): load.out.counted(str(item.chemical)) for item in load.out.items if item.regulated
        },
        "beside": [
            {"first": one.first, "second": one.second, "gives": one.gives, "apart": one.apart} for one in load.beside
        ],
        "legs": [_leg(one) | {"hazmat_kg": one.hazardous} for one in load.legs],
    }


def _leg(leg: Leg) -> dict[str, Any]:
    return {
        "moment": leg.moment,
        "to": leg.to or None,
        "items": [_item(item) for item in leg.items],
        "total_kg": leg.total,
        "carried_kg": leg.carried,
        "water_kg": leg.water,
    }


def _item(item: LoadItem) -> dict[str, Any]:
    return {
        "what": item.what,
        "kg": item.mass,
        "kind": item.kind,
        "stock": item.chemical,
        "m3": item.volume or None,
        "tare_kg": item.tare or None,
        "container_m3": item.holds if item.tank is None else None,
        "tank": item.tank,
        "hazmat": item.regulated,
        "apart": item.apart,
    }
