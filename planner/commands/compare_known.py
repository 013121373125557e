"""What the workspace has today, and what learned.yaml says in it, for `planner compare` to learn beside."""

from __future__ import annotations

from planner.archive.compare.learn import Before, Known, place_of
from planner.inputs.desk import Desk
from planner.inputs.learned import OWN_REACH, own_paces


def known(desk: Desk) -> Known:
    """What the workspace has today, for the learning to keep to."""
    rigs = [desk.rig_named(name) for name in desk.rig_files()]
    sound = [rig.value for rig in rigs if rig is not None and rig.value is not None]
    own = desk.surfaces.value.surfaces if desk.surfaces.value is not None else ()
    lots = desk.stock.value.lots if desk.stock.value is not None else ()
    return Known(
        pumps={(rig.rig, pump.name) for rig in sound for pump in rig.pumps},
        kinds=desk.kinds(),
        lots={lot.name for lot in lots},
        own_covers={row.kind for row in own if row.cover is not None},
        own_paces=own_paces(desk.surfaces.value),
        tips={(rig.rig, tip.name) for rig in sound for tip in rig.tips},
        own_reach=desk.company.value is not None and OWN_REACH in desk.company.value.limits,
        before=_before(desk),
    )


def _before(desk: Desk) -> dict[tuple[str, ...], Before]:
    """What learned.yaml has before this call, by its place there; nothing of a file that cannot be read."""
    now = desk.learned.value
    if now is None:
        return {}
    raw = desk.learned.raw or {}
    return {
        **{
            place_of("pumps", rig, pump): Before(value=one.condition)
            for rig, pumps in now.pumps.items()
            for pump, one in pumps.items()
        },
        **{
            place_of("jets", rig, tip): Before(value=one.low)
            for rig, tips in now.jets.items()
            for tip, one in tips.items()
        },
        **{place_of("surfaces", kind): Before(value=one.cover) for kind, one in now.surfaces.items()},
        **{place_of("paces", kind): Before(value=one.minutes) for kind, one in now.paces.items()},
        **{
            place_of("lots", lot): Before(text=str(raw["lots"][lot]["strength"]), on=one.on)
            for lot, one in now.lots.items()
        },
        **{
            place_of("taps", name): Before(value=one.flow, text=str(raw["taps"][name]["flow"]))
            for name, one in now.taps.items()
        },
    }
