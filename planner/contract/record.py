"""A record as JSON: SI, the unit in the key, null where nothing was written; its parts named as the plan names them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from planner.contract.planned import acts_of
from planner.contract.recordable import written_json
from planner.inputs.models.record import FlushDone, MixDone, PumpWork, TimesDone, WaterDone
from planner.inputs.reading.handwriting import money_in
from planner.inputs.record import DoneJob, Planned, StopPlanned
from planner.inputs.tables.pumps import has_stages

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


def _stops_of(plan: Mapping[str, Any]) -> tuple[StopPlanned, ...] | None:
    """The stop points of a plan; None of one kept before it had acts."""
    return (
        None
        if not acts_of(plan)
        else tuple(
            StopPlanned(
                number=act["number"],
                who=_CREW if act["who"] == "both" else (act["who"],),
                key=(act["before"], act.get("about") or "", *(act.get("asks") or ())),
            )
            for act in acts_of(plan)
            if act["act"] == "stop_point"
        )
    )


def _crew_of(plan: Mapping[str, Any]) -> tuple[str, ...]:
    found = {act["who"] for act in acts_of(plan)}
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
        **written_json("", record),
        "format": FORMAT,
        "job": planned.job,
        "plan": plan_number,
        "date": record.date.isoformat() if record.date is not None else date,
        "spent": record.spent if record.spent is not None else money_in(record.cost),
        "times": written_json("times", record.times or TimesDone()),
        "water": written_json("water", record.water or WaterDone()),
        "flush": written_json("flush", record.flush or FlushDone()),
        "readings": [
            {"run": planned.runs[at], **written_json("readings", one)} for at, one in sorted(done.readings.items())
        ],
        "mixes": [_mix(planned.mixes[at], at, one) for at, one in sorted(done.mixes.items())],
        "sides": [
            {"surface": planned.sides[at][0], "run": planned.sides[at][1], **written_json("sides", one)}
            for at, one in sorted(done.sides.items())
        ],
        "lots": [
            {"lot": name, **written_json("lots", one, chemicals.get(name))} for name, one in sorted(record.lots.items())
        ],
        "heels": [{"tank": tank, **written_json("heels", heel)} for tank, heel in sorted(record.heels.items())],
        "pump": _pump(record.pump) if record.pump is not None else None,
        "initials": [
            {"stop_point": int(number), **written_json("initials", one)}
            for number, one in sorted(record.initials.items(), key=_number)
        ],
    }


def _mix(mix: tuple[str, str, str | None], at: int, one: MixDone) -> Json:
    chemical, run, lot = mix
    done = written_json("mixes", one, chemical)
    return {**done, "number": at + 1, "stock": chemical, "run": run, "lot": one.lot or lot}


def _pump(work: PumpWork) -> Json:
    stages = [
        {"number": int(number), "spent": money_in(one.cost), **written_json("pump.stages", one)}
        for number, one in sorted(work.stages.items(), key=_number)
    ]
    return {**written_json("pump", work), "stages": stages}


def _number(item: tuple[str, object]) -> int:
    return int(item[0])
