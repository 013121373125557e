"""A record as JSON: SI, the unit in the key, null where nothing was written; its parts named as the plan names them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NotRequired, TypedDict

from planner.contract.planned import acts_of
from planner.contract.recordable import written_json
from planner.inputs.models.record import FlushDone, MixDone, PumpWork, TimesDone, WaterDone
from planner.inputs.reading.handwriting import money_in
from planner.inputs.reading.strengths import Basis
from planner.inputs.record import DoneJob, Planned, StopPlanned
from planner.inputs.tables.pumps import has_stages

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson
    from planner.contract.yard import YardJson

FORMAT = 1
_CREW = ("lead", "second")


class TestJson(TypedDict):
    amount: float
    basis: Basis
    g_per_l: float | None


class TimesJson(TypedDict):
    arrived_s: float | None
    first_mix_s: float | None
    flushed_s: float | None
    left_s: float | None


class WaterDoneJson(TypedDict):
    used_m3: float | None
    tap_m3: NotRequired[float | None]
    tap_s: NotRequired[float | None]


class FlushDoneJson(TypedDict):
    residual_mg_per_l: float | None
    residual_below: NotRequired[bool | None]
    ph: float | None


class ReadingJson(TypedDict):
    run: str
    gauge_open_pa: float | None
    gauge_closed_pa: float | None
    bucket_m3: float | None
    bucket_s: float | None
    jet_m: float | None
    throw_m: NotRequired[float | None]
    standoff_m: float | None


class MixDoneJson(TypedDict):
    number: int
    stock: str
    run: str
    lot: str | None
    stock_test: TestJson | None
    dial: float | None
    stock_m3: float | None
    stock_kg: float | None
    batches: float | None
    mix_m3: float | None
    water_m3: float | None
    jug_left_m3: NotRequired[float | None]
    left_m3: float | None


class SideJson(TypedDict):
    surface: str
    run: str
    first_mix_s: NotRequired[float | None]
    sections: NotRequired[float | None]
    wet_m3: float | None
    mix_m3: float | None
    dwell_s: float | None
    rinse_m3: float | None


class LotDoneJson(TypedDict):
    lot: str
    test: TestJson | None
    on_hand_m3: float | None
    on_hand_kg: float | None


class HeelDoneJson(TypedDict):
    tank: str
    stock: str | None
    strength: TestJson | None
    volume_m3: float | None


class StageJson(TypedDict):
    number: int
    spacer: str | None
    plate: str | None
    part: str | None
    cost: str | None
    spent: NotRequired[float | None]


class PumpJson(TypedDict):
    bath_s: float | None
    spacers: list[str]
    replaced: list[str]
    checked: list[str]
    throw_before_m: float | None
    gauge_before_pa: NotRequired[float | None]
    bucket_before_m3: NotRequired[float | None]
    bucket_before_s: NotRequired[float | None]
    throw_after_m: float | None
    gauge_closed_pa: float | None
    bucket_m3: NotRequired[float | None]
    bucket_s: NotRequired[float | None]
    stages: NotRequired[list[StageJson]]


class InitialsJson(TypedDict):
    stop_point: int
    lead: str | None
    second: str | None


class RemarksJson(TypedDict):
    date: str | None
    status: NotRequired[str | None]
    customer: NotRequired[str | None]
    deviations: str | None
    after: str | None
    callback: NotRequired[bool | None]
    callbacks: str | None
    cost: str | None
    spent: NotRequired[float | None]
    crew_s: NotRequired[float | None]
    signed: str | None
    signed_at: str | None


class RecordJson(RemarksJson):
    format: int
    job: str
    plan: str | None
    times: TimesJson
    water: WaterDoneJson
    flush: FlushDoneJson
    readings: list[ReadingJson]
    mixes: list[MixDoneJson]
    sides: list[SideJson]
    lots: list[LotDoneJson]
    heels: NotRequired[list[HeelDoneJson]]
    pump: PumpJson | None
    initials: NotRequired[list[InitialsJson]]


def planned_of(plan: PlanJson) -> Planned:
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


def _stops_of(plan: PlanJson) -> tuple[StopPlanned, ...] | None:
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


def _crew_of(plan: PlanJson) -> tuple[str, ...]:
    found = {act["who"] for act in acts_of(plan)}
    return tuple(who for who in _CREW if found & {who, "both"})


def _stages_of(yard: YardJson | None) -> int | None:
    """How many stages a pump has; None where it has none or nobody wrote."""
    stages = yard.get("stages") if yard and has_stages(yard.get("kind")) else None
    return stages if isinstance(stages, int) else None


def record_json(done: DoneJob, planned: Planned, date: str | None, plan_number: str | None) -> RecordJson:
    """What a record says. `date` is the job's own, where the record names no other."""
    record = done.record
    chemicals = {lot: chemical for chemical, _, lot in planned.mixes if lot is not None}
    remarks: RemarksJson = written_json("", record)
    if remarks["status"] is None:
        del remarks["status"]  # so that what was recorded before there was one is the same again
    if remarks.get("callback") is None:
        remarks.pop("callback", None)  # so that what was recorded before it was asked for is the same again
    return {
        **remarks,
        "format": FORMAT,
        "job": planned.job,
        "plan": plan_number,
        "date": record.date.isoformat() if record.date is not None else date,
        "spent": record.spent if record.spent is not None else money_in(record.cost),
        "times": written_json("times", record.times or TimesDone()),
        "water": written_json("water", record.water or WaterDone()),
        "flush": written_json("flush", record.flush or FlushDone()),
        "readings": [written_json("readings", one, run=planned.runs[at]) for at, one in sorted(done.readings.items())],
        "mixes": [_mix(planned.mixes[at], at, one) for at, one in sorted(done.mixes.items())],
        "sides": [
            written_json("sides", one, surface=planned.sides[at][0], run=planned.sides[at][1])
            for at, one in sorted(done.sides.items())
        ],
        "lots": [written_json("lots", one, chemicals.get(name), lot=name) for name, one in sorted(record.lots.items())],
        "heels": [written_json("heels", heel, tank=tank) for tank, heel in sorted(record.heels.items())],
        "pump": _pump(record.pump) if record.pump is not None else None,
        "initials": [
            written_json("initials", one, stop_point=int(number))
            for number, one in sorted(record.initials.items(), key=_number)
        ],
    }


def _mix(mix: tuple[str, str, str | None], at: int, one: MixDone) -> MixDoneJson:
    chemical, run, lot = mix
    done: MixDoneJson = written_json("mixes", one, chemical, number=at + 1, stock=chemical, run=run)
    return {**done, "lot": one.lot or lot}


def _pump(work: PumpWork) -> PumpJson:
    stages = [
        written_json("pump.stages", one, number=int(number), spent=money_in(one.cost))
        for number, one in sorted(work.stages.items(), key=_number)
    ]
    done: PumpJson = written_json("pump", work, stages=stages)
    return done


def _number(item: tuple[str, object]) -> int:
    return int(item[0])
