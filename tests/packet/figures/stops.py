"""What a held job's page says of a stop: its two figures, what they differ by as printed, and each change that was tried."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planner.checks.model import CheckedJob
from planner.plan.model import Value
from planner.units import System, read
from tests.packet.figures.given import some
from tests.packet.figures.known import Known, Toward

_DOWN = ("reach", "low", "given")  # what there is, never more than it is; what is needed goes up


def stopped(checked: CheckedJob, system: System) -> Iterator[Known]:
    """Heights to the safe side, and the whole feet or tenths of a meter that lie between the printed two."""
    step = read("1 ft" if system == "us" else "0.1 m", "height")
    stops = [one for one in checked.findings if (one.code, one.level) == ("reach.short", "stop")]
    tried = [(f"tried.{n}", one) for n, one in enumerate((*checked.remedies, *checked.failed))]
    after = [(name, one.after) for name, one in tried if one.after is not None and one.code == "reach.short"]
    for name, one in [*(("stop", stop) for stop in stops), *after]:
        values = {key: value.amount for key, value in one.values.items() if isinstance(value, Value)}
        if not {"needed", "low"} <= set(values):
            continue
        needed, low = math.ceil(values["needed"] / step - 1e-6), math.floor(values["low"] / step + 1e-6)
        yield from some(f"{name}.low", values["low"], "length", "down")
        yield from some(f"{name}.missing", values.get("missing"), "length", "up")  # in still air, the owner's to read
        yield from some(f"{name}.apart", abs(needed - low) * step, "length", how="exact")
    for name, remedy in tried:
        for key, value in ((key, value) for change in remedy.changes for key, value in change.values.items()):
            if isinstance(value, Value) and value.dimension != "trade":
                family = {"height": "length"}.get(value.dimension, value.dimension)
                sides: tuple[Toward, ...] = (
                    ("near",) if key == "standoff" else ("down",) if key in _DOWN else ("up", "near")
                )
                for side in sides:
                    yield from some(f"{name}.{key}", value.amount, family, side)
