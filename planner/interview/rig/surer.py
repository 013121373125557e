"""What would make a new rig surer: a bucket, a gauge and a throw, the key each fills, and what it is worth in reach."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from planner.archive.compare.figures import learning
from planner.frozen import dataclass
from planner.inputs.models.gear import Pump
from planner.inputs.models.quantities import Best
from planner.interview.answers import Here
from planner.interview.trial import lay_out
from planner.physics.lines import SolveError
from planner.plan.line.throw import still_reach
from planner.plan.model import JobPlan, RunPlan
from planner.plan.wear.altered import solve_altered, with_share

_TRIAL: Final = {"us": ("160 ft", "18 ft"), "si": ("48 m", "5.5 m")}
"""A house to try a rig on: so far around, so high (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surer:
    """One test: what is done, the key it fills, and the share of the reach [-] on which it bears, None for none."""

    test: str
    fills: str
    share: float | None


def trial_house(rig: str, setup: str, system: str) -> dict[str, Any]:
    """A job to try a rig on: a plain house at which nothing is unknown but the rig."""
    around, height = _TRIAL[system]
    return {
        "job": "Trial house",
        "rig": rig,
        "site": {"address": "a house to try the rig on"},
        "surfaces": [{"kind": "vinyl", "around": around, "height": height, "soil": "medium"}],
        "setup": setup,
        "tap": "5 gal in 50 s" if system == "us" else "10 L in 25 s",
        "access": {"power_line": "24 ft"},
    }


_SHELF: Final = "lots: [{{name: trial bleach, chemical: bleach, strength: 12.5 trade %, made: {}, on_hand: 55 gal}}]\n"
"""A shelf where there is none yet: a fresh drum of bleach as it is sold (common practice, no source)."""


def laid_out(here: Here, copy: Path) -> bool:
    """Lay the workspace into a copy to try the rig in; whether its shelf is the workspace's own."""
    lay_out(here, copy)
    shelf = copy / "stock.yaml"
    own = shelf.exists()
    if not own:
        shelf.write_text(_SHELF.format(datetime.date.today().isoformat()), encoding="utf-8")
    return own


def surer(plan: JobPlan) -> Iterator[Surer]:
    """What to measure on the plan's first run, the quickest first."""
    run = plan.runs[0]
    pump = run.input.pump
    if pump is None:
        return
    limits, by_head = plan.input.limits, pump.of_kind.wears == "head"
    if by_head:
        fills = "`condition`" if pump.curve is not None else "`shut_off`"
        yield Surer(test="read the gauge, gun shut", fills=fills, share=_lost(plan, run, _less_pressure(pump, limits)))
    fills = "`condition`" if pump.curve is not None else "a point of `curve`" if by_head else "`flow`"
    yield Surer(test="time a bucket at the tip", fills=fills, share=_lost(plan, run, _less_flow(pump, limits)))
    if run.reach is not None:
        worn = with_share(run.input, pump.share * (1.0 - limits["plate_band"])).pump
        yield Surer(test="pace out the throw", fills="`throw` of a record", share=_lost(plan, run, worn))
        band = limits["reach_recorded_factor"] - limits["reach_low_factor"]
        jobs = f"note the jet's height, {learning('jet', 'least'):g} jobs"
        yield Surer(test=jobs, fills="`jet` of a record", share=band)


def _less_flow(pump: Pump, limits: Mapping[str, float]) -> Pump:
    less = 1.0 - limits["plate_band"]
    if pump.best is not None:
        best = Best(flow=pump.best.flow * less, pressure=pump.best.pressure, head=pump.best.head)
        return pump.model_copy(update={"best": best})
    if pump.curve is not None:
        return pump.model_copy(update={"condition": pump.condition * less})
    return pump.model_copy(update={"flow": (pump.flow or 0.0) * less})


def _less_pressure(pump: Pump, limits: Mapping[str, float]) -> Pump:
    less = 1.0 - limits["plate_band"]
    if pump.shut_off is None:
        return pump.model_copy(update={"condition": pump.condition * less})
    return pump.model_copy(update={"shut_off": pump.shut_off * less})


def _lost(plan: JobPlan, run: RunPlan, pump: Pump | None) -> float | None:
    """The share of its reach [-] a run loses with this pump in place of its own."""
    if run.reach is None or pump is None:
        return None
    changed = replace(run.input, pump=pump)
    try:
        reach = still_reach(changed, solve_altered(plan.input, run, changed).tip_heads[0])
    except SolveError:
        return None
    return None if reach is None else max(1.0 - reach / run.reach.nominal, 0.0)


def unsaid(rig: Mapping[str, Any]) -> list[str]:
    """What nobody said of a rig and a plan would be truer with."""
    found = []
    for tank in rig["tanks"]:
        found += [f"the floor of {tank['name']}"] if "floor" not in tank else []
        found += [f"what {tank['name']} is made of"] if tank["holds"] != "water" and "wetted" not in tank else []
    for pump in rig["pumps"]:
        found += [f"the suction of {pump['name']}"] if "suction" not in pump else []
        found += [f"what is inside {pump['name']}"] if "wetted" not in pump else []
    for device in rig.get("dosing", ()):
        levels = {"at": "the levels of the test of", "drum_floor": "the floor of the drum beside"}
        missing = [words for key, words in levels.items() if device["kind"] == "metered" and key not in device]
        found += [f"{words} {device['name']}" for words in missing]
        found += [f"the jug of {device['name']}"] if device["kind"] == "injector" and "jug" not in device else []
    for hose in rig["hoses"]:
        found += [f"the rating of {hose['name']}"] if "rated" not in hose else []
        found += [f"the couplings of {hose['name']}"] if "couplings" not in hose else []
    supply = rig.get("supply_hose", {})
    found += ["the supply hose"] if not supply else [] if "backflow" in supply else ["backflow"]
    found += [] if "eyewash" in rig.get("carried", {}) else ["eyewash"]
    return found + ([] if "weights" in rig else ["weights, so no load is checked against its rating"])
