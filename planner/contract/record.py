"""A record as JSON: SI, the unit in the key, null where nothing was written; its parts named as the plan names them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from planner.inputs.models.quantities import Amount
from planner.inputs.models.record import (
    FlushDone,
    LotDone,
    MixDone,
    PumpWork,
    ReadingsDone,
    SideDone,
    TimesDone,
    WaterDone,
)
from planner.inputs.reading.handwriting import money_in
from planner.inputs.reading.strengths import Strength
from planner.inputs.record import DoneJob, Planned, StopPlanned
from planner.inputs.tables.pumps import has_stages
from planner.plan.mix.lots import active

FORMAT = 1
Json = dict[str, Any]
_CREW = ("lead", "second")


def planned_of(plan: Mapping[str, Any]) -> Planned:
    """The names in a plan's JSON."""
    return Planned(
        job=plan["id"],
        kind=plan["kind"],
        runs=tuple(run["name"] for run in plan["runs"]),
        mixes=tuple((mix["stock"], mix["run"], mix["lot"]) for mix in plan["mixes"]),
        sides=tuple((side["surface"], side["run"]) for side in plan["work"]),
        called=tuple(side.get("side") or "" for side in plan["work"]),
        stages=_stages_of(plan.get("yard")),
        stops=_stops_of(plan),
        crew=_crew_of(plan),
        rig=plan.get("rig") or "",
        tanks={one["name"]: one["volume_m3"] for one in plan["tanks"]} if "tanks" in plan else None,
        lots=frozenset(plan["lots"]) if "lots" in plan else None,
    )


def _acts_of(plan: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    return (plan.get("procedure") or {}).get("acts") or ()


def _stops_of(plan: Mapping[str, Any]) -> tuple[StopPlanned, ...] | None:
    """The stop points of a plan; None of one kept before it had acts."""
    return (
        None
        if not _acts_of(plan)
        else tuple(
            StopPlanned(
                number=act["number"],
                who=_CREW if act["who"] == "both" else (act["who"],),
                key=(act["before"], act.get("about") or "", *(act.get("asks") or ())),
            )
            for act in _acts_of(plan)
            if act["act"] == "stop_point"
        )
    )


def _crew_of(plan: Mapping[str, Any]) -> tuple[str, ...]:
    found = {act["who"] for act in _acts_of(plan)}
    return tuple(who for who in _CREW if found & {who, "both"})


def _stages_of(yard: Mapping[str, Any] | None) -> int | None:
    """How many stages a pump has; None where it has none or nobody wrote."""
    stages = yard.get("stages") if yard and has_stages(yard.get("kind")) else None
    return stages if isinstance(stages, int) else None


def record_json(done: DoneJob, planned: Planned, date: str | None, plan_number: str | None) -> Json:
    """What a record says. `date` is the job's own, where the record names no other."""
    record = done.record
    chemicals = {lot: chemical for chemical, _, lot in planned.mixes if lot is not None}
    return {
        "format": FORMAT,
        "job": planned.job,
        "plan": plan_number,
        "date": record.date.isoformat() if record.date is not None else date,
        "times": _times(record.times or TimesDone()),
        "water": _water(record.water or WaterDone()),
        "readings": [_readings(planned.runs[at], one) for at, one in sorted(done.readings.items())],
        "mixes": [_mix(planned.mixes[at], at, one) for at, one in sorted(done.mixes.items())],
        "sides": [_side(planned.sides[at], one) for at, one in sorted(done.sides.items())],
        "lots": [_lot(name, one, chemicals.get(name)) for name, one in sorted(record.lots.items())],
        "flush": _flush(record.flush or FlushDone()),
        "heels": [
            {"tank": tank, "stock": heel.stock, "strength": _strength(heel.strength, None), "volume_m3": heel.volume}
            for tank, heel in sorted(record.heels.items())
        ],
        "pump": _pump(record.pump) if record.pump is not None else None,
        "initials": [
            {"stop_point": int(number), "lead": one.lead, "second": one.second}
            for number, one in sorted(record.initials.items(), key=_number)
        ],
        "customer": record.customer,
        "deviations": record.deviations,
        "after": record.after,
        "callbacks": record.callbacks,
        "cost": record.cost,
        "spent": record.spent if record.spent is not None else money_in(record.cost),
        "crew_s": record.hours,
        "signed": record.signed,
        "signed_at": record.signed_at,
    }


def _times(times: TimesDone) -> Json:
    return {
        "arrived_s": times.arrived,
        "first_mix_s": times.first_mix,
        "flushed_s": times.flushed,
        "left_s": times.left,
    }


def _water(water: WaterDone) -> Json:
    return {
        "used_m3": water.used,
        "tap_m3": water.tap.volume if water.tap is not None else None,
        "tap_s": water.tap.seconds if water.tap is not None else None,
    }


def _readings(run: str, one: ReadingsDone) -> Json:
    return {
        "run": run,
        "gauge_open_pa": one.gauge_open,
        "gauge_closed_pa": one.gauge_closed,
        "bucket_m3": one.bucket.volume if one.bucket is not None else None,
        "bucket_s": one.bucket.seconds if one.bucket is not None else None,
        "jet_m": one.jet,
        "throw_m": one.throw,
        "standoff_m": one.standoff,
    }


def _mix(mix: tuple[str, str, str | None], at: int, one: MixDone) -> Json:
    chemical, run, lot = mix
    used = one.stock_used or Amount(volume=None, mass=None)
    return {
        "number": at + 1,
        "stock": chemical,
        "run": run,
        "lot": one.lot or lot,
        "stock_test": _strength(one.stock_test, chemical),
        "dial": one.dial,
        "batches": one.batches,
        "stock_m3": used.volume,
        "stock_kg": used.mass,
        "mix_m3": one.mix_made,
        "jug_left_m3": one.jug_left,
        "left_m3": one.left,
        "water_m3": one.water,
    }


def _side(side: tuple[str, str], one: SideDone) -> Json:
    surface, run = side
    return {
        "surface": surface,
        "run": run,
        "first_mix_s": one.first_mix,
        "sections": one.sections,
        "wet_m3": one.wet,
        "mix_m3": one.mix,
        "dwell_s": one.dwell,
        "rinse_m3": one.rinse,
    }


def _lot(name: str, one: LotDone, chemical: str | None) -> Json:
    left = one.on_hand or Amount(volume=None, mass=None)
    return {"lot": name, "test": _strength(one.test, chemical), "on_hand_m3": left.volume, "on_hand_kg": left.mass}


def _flush(flush: FlushDone) -> Json:
    residual = flush.residual
    return {
        "residual_mg_per_l": residual.value * 1000.0 if residual is not None else None,
        "residual_below": residual.below if residual is not None else None,
        "ph": flush.ph,
    }


def _pump(work: PumpWork) -> Json:
    return {
        "bath_s": work.bath,
        "spacers": list(work.spacers),
        "replaced": list(work.replaced),
        "checked": list(work.checked),
        "throw_before_m": work.throw_before,
        "stages": [
            {
                "number": int(number),
                "part": one.part,
                "spacer": one.spacer,
                "plate": one.plate,
                "cost": one.cost,
                "spent": money_in(one.cost),
            }
            for number, one in sorted(work.stages.items(), key=_number)
        ],
        "throw_after_m": work.throw_after,
        "gauge_before_pa": work.gauge_before,
        "gauge_closed_pa": work.gauge_closed,
        "bucket_before_m3": work.bucket_before.volume if work.bucket_before is not None else None,
        "bucket_before_s": work.bucket_before.seconds if work.bucket_before is not None else None,
        "bucket_m3": work.bucket.volume if work.bucket is not None else None,
        "bucket_s": work.bucket.seconds if work.bucket is not None else None,
    }


def _number(item: tuple[str, object]) -> int:
    return int(item[0])


def _strength(strength: Strength | None, chemical: str | None) -> Json | None:
    """A strength in the percent it was written in, and in g/L of the active where its chemical is known."""
    if strength is None:
        return None
    grams = active(strength, chemical) if chemical is not None else None
    return {"amount": strength.amount, "basis": strength.basis, "g_per_l": grams}
