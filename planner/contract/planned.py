"""What a plan's JSON has for a figure of a record where several of its keys say it together; all as on the paper.

Each takes the plan and the run, mix or side the figure is of. Plans kept before a key was are read without it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from planner.plan.mix.names import told_apart

if TYPE_CHECKING:
    from planner.contract.mix import MixJson, WorkJson
    from planner.contract.plan import PlanJson, WornRunJson
    from planner.contract.procedure import ActJson
    from planner.contract.yard import ThrowJson

Pair = tuple[float | None, float | None]

NOT_DONE = ("cancelled", "moved")
"""What a job's status is where none of it was done on its day."""


def moments(plan: PlanJson) -> tuple[dict[str, float], bool]:
    """When the rig arrives, the first wall is begun, all is flushed and the rig leaves [s], and whether that is on the
    clock: where nobody wrote when it sets out it is from then on."""
    at: dict[str, float] = {}
    now, sides, dated = 0.0, {side["surface"] for side in plan["work"]}, True
    for number, span in enumerate(plan["time"]):
        start = now if span["start_s"] is None else span["start_s"]
        dated = dated and span["start_s"] is not None
        now = start + span["seconds"]
        if number > 0 or span["what"] != "drive":  # a surface may be called so too
            at.setdefault("arrived", start)
            if span["what"] in sides:
                at.setdefault("first_mix", start)
        if span["what"] == "flush":
            at["flushed"] = now
        at["left"] = now
    return at, dated


def acts_of(plan: PlanJson) -> Sequence[ActJson]:
    """The plan's acts; none of a held one, and of one kept before it had them."""
    procedure = plan.get("procedure")
    return (procedure.get("acts") or ()) if procedure else ()


def bench_test(plan: PlanJson) -> ThrowJson | None:
    """The test of a yard job's pump; None of another job, and of one kept before it had any."""
    yard = plan.get("yard")
    return (yard.get("throw") or None) if yard else None


def named_mix(plan: PlanJson, number: int) -> str:
    """What mix `number`, from 1, is called; one kept before its mixes had walls goes without them."""
    return told_apart([(mix["stock"], mix["run"], mix.get("surfaces", ())) for mix in plan["mixes"]], number)


def water_in_all(plan: PlanJson, _: object) -> float | None:
    """The most water of the whole job [m3]; of plans kept before that was said, what its uses come to."""
    water = plan["water"]
    return None if water is None else float(water.get("most_m3", water["need_m3"]))


def gauge_closed(_: object, run: WornRunJson) -> float | None:
    """What the gauge shows with the gun closed [Pa], where it sits."""
    gauge = next((joint for joint in run.get("joints", ()) if joint["name"] == "gauge"), None)
    return gauge["closed_pa"] if gauge is not None else run["shut_off_pressure_pa"]


def water_flow(_: object, run: WornRunJson) -> float:
    """Plain water at a run's tip [m3/s], as a bucket is filled: an injector's stock is not in it. Of plans kept before
    it was, that of what is sprayed."""
    return float(run.get("water_flow_m3_per_s") or run["flow_m3_per_s"])


def thrown(_: object, run: WornRunJson) -> Pair:
    """The least and the most a jet goes along the ground [m], from a worn pump to a sound one."""
    wear = run.get("wear")
    far = [point["ground_m"] for point in (wear["points"] if wear else ()) if point["ground_m"] is not None]
    return (min(far), max(far)) if far else (None, None)


def stock(_: object, mix: MixJson) -> Pair:
    """Stock to be used [m3], or of a dry one [kg]."""
    return mix["stock_m3"], mix["stock_kg"]


def tankfuls(_: object, mix: MixJson) -> float | None:
    """How many there are; None of a mix made in no tank."""
    return float(len(mix["batches"])) if mix["batches"] else None


def mix_made(_: object, mix: MixJson) -> float | None:
    """All the mix that stands in the tank, tankful by tankful [m3], what was in it before with it."""
    made = [volume for batch in mix["batches"] if (volume := batch.get("mix_m3")) is not None]
    return float(sum(made)) if made and len(made) == len(mix["batches"]) else mix["mix_m3"]


def left_over(_: object, mix: MixJson) -> float:
    """What is left of a mix [m3]."""
    return mix.get("left_over_m3") or 0.0


def of_the_mix(_: object, mix: MixJson) -> Pair:
    """Up to all the mix [m3]."""
    return None, mix["mix_m3"]


def wetted(plan: PlanJson, side: WorkJson) -> float:
    """What a side is wetted with [m3] by the plan's acts; as asked where it has none."""
    wet = [
        act["m3"] or 0.0
        for act in acts_of(plan)
        if act["act"] == "spray" and act["use"] == "wet" and act["run"] == side["run"]
        if act["section"] and act["section"]["surface"] == side["surface"]
    ]
    return float(sum(wet)) if wet else float(side["wet_m3"])


def mix_of_side(plan: PlanJson, side: WorkJson) -> float | None:
    """Mix planned for a side [m3], without spare; None of one without, and of plans kept before parts were."""
    parts = [part for mix in plan["mixes"] if mix["run"] == side["run"] for part in mix.get("parts", ())]
    mixed = [part["mix_m3"] for part in parts if part["surface"] == side["surface"]]
    return sum(mixed) if mixed else None


def residual(plan: PlanJson, _: object) -> float | None:
    """What the strip at the tip should read [kg/m3]: the least any flush at the job's end aims at."""
    targets = [flush["target_mg_per_l"] for flush in plan["flushes"] if flush["when"] == "after"]
    return min((one * 1e-3 for one in targets if one is not None), default=None)


PLANNED: Final[Mapping[str, Callable[[PlanJson, Any], Any]]] = {
    one.__name__: one
    for one in (
        water_in_all, gauge_closed, water_flow, thrown, stock, tankfuls, mix_made, left_over, of_the_mix, wetted,
        mix_of_side, residual,
    )
}  # fmt: skip
"""The readings a row of data/recordable.yaml may name."""
