"""What to drain before the frost, part by part of one rig: data/winter.yaml over what the rig has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planner.inputs.tables.chemicals import BLEACH
from planner.inputs.tables.rows import rows

if TYPE_CHECKING:
    from planner.inputs.models import Hose, Lot, Rig, Tank


def winter_steps(rig: Rig, lots: Sequence[Lot]) -> Iterator[str]:
    """One line a part, in the order one walks."""
    for row in rows("winter"):
        for said in _parts(row["part"], rig, lots):
            yield row["step"].format(**said)


def _parts(part: str, rig: Rig, lots: Sequence[Lot]) -> Iterator[dict[str, str]]:
    """What a row is said of; nothing where the rig has none."""
    bleach = [lot for lot in lots if lot.chemical == BLEACH]
    rest = [lot for lot in lots if lot.chemical != BLEACH]
    named: dict[str, Sequence[Tank | Hose | Lot]] = {
        "tank": rig.tanks,
        "hose": rig.hoses,
        "bleach": bleach,
        "stock": rest,
    }
    if part in named:
        yield from ({"name": one.name} for one in named[part])
    elif part == "pump":
        yield from ({"name": one.name, "winter": one.of_kind.winter} for one in rig.pumps)
    elif part in ("metered", "injector"):
        yield from ({"name": one.name} for one in rig.dosing if one.kind == part)
    elif {
        "supply": rig.supply_hose is not None,
        "eyewash": rig.carried is not None and rig.carried.eyewash is not None,
        "engine": any(one.driven_by == "engine" for one in rig.pumps) or (rig.power and rig.power.generator),
        "battery": any(one.driven_by == "battery" for one in rig.pumps) or (rig.power and rig.power.battery),
    }.get(part, True):
        yield {}
