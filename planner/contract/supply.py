"""Water over time as the JSON contract writes it: seconds from the start of the work, below 0 during set-up."""

from __future__ import annotations

from typing import Any

from planner.plan.water.model import Phase, SupplyPlan, TankLevel


def supply_json(supply: SupplyPlan | None) -> dict[str, Any]:
    """The level of the water tank drawn on most, when water fails, and every tank and step behind it.

    Levels and what is lowest begin with the arrival, set-up's own included, and count what stays below the outlet.
    Without a water tank they are null and empty.
    """
    main = supply.main if supply is not None else None
    return {
        "lowest_tank_m3": main.lowest if main is not None else None,
        "runs_dry_at_s": supply.dry_at if supply is not None else None,
        "level": _points(main) if main is not None else [],
        "tank": main.name if main is not None else None,
        "work_begins_s": supply.begins if supply is not None else None,
        "fill_m3_per_s": main.fill_flow if main is not None else None,
        "fill": [[start, stop] for start, stop in main.fills] if main is not None else [],
        "tap": _tap(supply),
        "tanks": [_tank(tank) for tank in (*supply.tanks, *supply.mix_tanks)] if supply is not None else [],
        "steps": [_phase(phase) for phase in supply.phases] if supply is not None else [],
    }


def _tap(supply: SupplyPlan | None) -> dict[str, Any] | None:
    """What the tap is asked for and gives in the steps that ask for more than it gives; null where it gives all."""
    owed = supply.tap_owed if supply is not None else None
    if owed is None:
        return None
    return {
        "from_s": owed.at,
        "wanted_m3": owed.wanted,
        "gives_m3": owed.gives,
        "short_m3": owed.short,
        "wait_s": owed.wait,
        "mix_on": owed.mix_on,
    }


def _points(tank: TankLevel) -> list[list[float]]:
    return [[seconds, volume] for seconds, volume in tank.points]


def _tank(tank: TankLevel) -> dict[str, Any]:
    dry = tank.dry
    return {
        "tank": tank.name,
        "holds": "mix" if tank.mix else "water",
        "start_m3": tank.start,
        "end_m3": tank.end,
        "lowest_m3": tank.lowest,
        "lowest_at_s": tank.lowest_at,
        "dead_m3": tank.dead_volume,
        "volume_m3": tank.volume,
        "wanted_m3": tank.wanted,
        "drawn_m3": tank.drawn,
        "filled_m3": tank.supplied,
        "level": _points(tank),
        "fill": [[start, stop] for start, stop in tank.fills],
        "lasts_alone_s": tank.alone,
        "runs_dry_at_s": dry.at if dry is not None else None,
        "short_m3": dry.short if dry is not None else None,
        "wait_s": dry.wait if dry is not None else None,
        "trips": tank.trips,
    }


def _phase(phase: Phase) -> dict[str, Any]:
    return {
        "what": phase.what,
        "about": phase.about or None,
        "start_s": phase.start,
        "seconds": phase.seconds,
        "draws_m3": dict(phase.draws),
        "mix_on": phase.mix_on,
    }
