"""What a plan's JSON has for a figure of a record, where several of its parts say it together; as on the paper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

Json = Mapping[str, Any]


def wetted(plan: Json, side: Json) -> float:
    """What a side is wetted with [m3] by the plan's acts; as asked where it has none."""
    wet = [
        act["m3"]
        for act in (plan.get("procedure") or {}).get("acts") or ()
        if act["act"] == "spray" and act["use"] == "wet" and act["run"] == side["run"]
        if act["section"] and act["section"]["surface"] == side["surface"]
    ]
    return float(sum(wet)) if wet else float(side["wet_m3"])


def water_in_all(plan: Json) -> float | None:
    """The most water of the whole job [m3], as on paper; of plans kept before that was said, what its uses come to."""
    water = plan["water"]
    return None if water is None else float(water.get("most_m3", water["need_m3"]))


def mix_by_side(plan: Json) -> Mapping[tuple[str, str], float]:
    """Mix planned for each (surface, run) [m3], without spare; empty of plans kept before parts were."""
    found: dict[tuple[str, str], float] = {}
    for mix in plan["mixes"]:
        for part in mix.get("parts", ()):
            key = (part["surface"], mix["run"])
            found[key] = found.get(key, 0.0) + part["mix_m3"]
    return found


def mix_made(mix: Json) -> float | None:
    """All the mix that stands in the tank, tankful by tankful [m3], what was in it before with it."""
    made = [batch.get("mix_m3") for batch in mix["batches"]]
    return float(sum(made)) if made and None not in made else mix["mix_m3"]
