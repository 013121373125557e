"""The JSON contract: SI, the unit in the key, what does not apply null.

A record is judged years later without the job's file, so the plan keeps what each run shows at five shares of its pump
(`wear`) and what each surface takes (`parts`); plans kept before these keys are compared without them.

A type stands in the module that writes it. `NotRequired` is what plans kept before it lack, or what only some have.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from pathlib import PurePath
from typing import NotRequired, TypedDict, cast

from planner.checks.model import CheckedJob, Remedy
from planner.contract.day import DayJson, day_json
from planner.contract.finding import FindingJson, finding_json
from planner.contract.mix import (
    FlushJson,
    MixJson,
    NeutralizerJson,
    WorkJson,
    change_json,
    flush_json,
    mixes_json,
    neutraliser_json,
    work_json,
)
from planner.contract.procedure import ActJson, StateJson, act_json, state_json
from planner.contract.road import LoadJson, PowerJson, load_json, power_json
from planner.contract.sky import HourJson, LightJson, OfSides, light_json, of_sides, weather_json
from planner.contract.water import (
    ActiveJson,
    AgentJson,
    BedsJson,
    ControlJson,
    OutletsJson,
    RunoffJson,
    WaterJson,
    active_json,
    agent_json,
    beds_json,
    controls_json,
    outlets_json,
    runoff_json,
    total_json,
    water_json,
)
from planner.contract.yard import BathJson, YardJson, bath_json, yard_json
from planner.faults import Fault, FaultJson, in_order
from planner.inputs.joined import JobInput
from planner.plan.between.flushing import flush_flow
from planner.plan.days.day import DayPlan
from planner.plan.line.model import Drift
from planner.plan.model import Joint, LossPart, RunPlan
from planner.plan.procedure.acts import State
from planner.plan.water.timing import Span
from planner.plan.wear.points import wear_points
from planner.remedies.edits import edits_of
from planner.units import System
from planner.words import cures
from planner.words.assumed import assumed_words

FORMAT = 1


class TankJson(TypedDict):
    name: str
    volume_m3: float


class LossJson(TypedDict):
    part: str
    pressure_pa: float
    velocity_m_per_s: float | None
    reynolds: float | None


class JointJson(TypedDict):
    name: str
    distance_m: float
    height_m: float
    open_pa: float
    closed_pa: float | None


class RunJson(TypedDict):
    name: str
    pump: str | None
    dosing: str | None
    same_time: list[str]
    condition: float | None
    tip: NotRequired[str]
    tip_pattern: NotRequired[str]
    flow_m3_per_s: float
    water_flow_m3_per_s: NotRequired[float]
    pump_flow_m3_per_s: float | None
    pump_head_m: float | None
    hydraulic_watts: float | None
    pump_pressure_pa: float | None
    inlet_pressure_pa: float | None
    tip_pressure_pa: float
    tip_velocity_m_per_s: float
    tip_height_m: float
    pump_height_m: float | None
    density_kg_per_m3: float
    shut_off_pressure_pa: float | None
    shut_off_s: float | None
    surge_pa: float | None
    surge_low_pa: float | None
    surge_high_pa: float | None
    rating_pa: NotRequired[float | None]
    hoses: NotRequired[list[str]]
    losses: list[LossJson]
    joints: NotRequired[list[JointJson]]
    suction_loss_pa: float | None
    reach_m: float | None
    reach_low_m: float | None
    reach_high_m: float | None
    reach_low_factor: float | None
    needed_m: float | None
    npsh_available_m: float | None
    acceleration_head_m: NotRequired[float | None]
    npsh_required_m: float | None
    reaction_n: float
    tap_pressure_pa: float | None
    cycling: bool
    bypassing: bool
    injector_draws: bool | None
    injector_behind_pa: float | None
    injector_full_pa: float | None
    injector_limit_pa: float | None


class WearPointJson(TypedDict):
    share: float
    throw_m: float | None
    ground_m: NotRequired[float | None]
    flow_m3_per_s: float | None
    gauge_closed_pa: float | None


class WearJson(TypedDict):
    of: str
    standoff_m: float
    tip_m: NotRequired[float]
    points: list[WearPointJson]


class WornRunJson(RunJson):
    wear: NotRequired[WearJson | None]
    roles: NotRequired[dict[str, RunJson]]


class SpanJson(TypedDict):
    what: str
    start_s: float | None
    seconds: float


class BreachJson(TypedDict):
    rule: str
    act: str
    state: str


class ProcedureJson(TypedDict):
    held: list[str]
    breaches: list[BreachJson]
    begin: StateJson
    end: StateJson
    acts: list[ActJson]


class LookJson(TypedDict):
    look: str
    place: str
    stock: str | None
    m3: float | None


class DriftJson(TypedDict):
    run: str
    droplet_m: float
    carried_m: float
    reaches: list[str]


class RemedyJson(TypedDict):
    """`edits`: key paths of the job's file, each with the text that goes there; null drops the key, and a text of
    several lines is a block below it."""

    finding: str
    about: str
    change: str
    kinds: list[str]
    on_rig: bool
    level: str | None
    added_s: float | None
    edits: list[list[str | None]]
    run: RunJson | None


class _OfBranch(TypedDict):
    branch: NotRequired[str]


class PlanJson(_OfBranch, OfSides):
    id: str
    title: str
    address: NotRequired[str | None]
    kind: str
    verdict: NotRequired[str]
    plan: str
    rig: NotRequired[str]
    tanks: NotRequired[list[TankJson]]
    lots: NotRequired[list[str]]
    yard_pump: NotRequired[str | None]
    assumed: list[str]
    runs: list[WornRunJson]
    mixes: list[MixJson]
    work: list[WorkJson]
    water: WaterJson | None
    beds: BedsJson | None
    flushes: list[FlushJson]
    load: LoadJson | None
    power: PowerJson | None
    time: list[SpanJson]
    procedure: NotRequired[ProcedureJson]
    looks: list[LookJson]
    runoff: list[RunoffJson]
    runoff_total: list[RunoffJson]
    downspouts: OutletsJson | None
    controls: list[ControlJson]
    active: list[ActiveJson]
    neutralise: list[NeutralizerJson]
    agents: list[AgentJson]
    bath: BathJson | None
    yard: NotRequired[YardJson | None]
    drift: list[DriftJson]
    weather: NotRequired[list[HourJson]]
    light: NotRequired[LightJson | None]
    measured: Mapping[str, object] | None
    findings: list[FindingJson]
    remedies: list[RemedyJson]


class DocumentJson(TypedDict):
    format: int
    faults: list[FaultJson]
    jobs: list[PlanJson]
    days: list[DayJson]


def document(
    jobs: Sequence[CheckedJob],
    faults: Sequence[Fault],
    system: System | None,
    days: Sequence[tuple[DayPlan, Sequence[CheckedJob]]] = (),
) -> DocumentJson:
    """The whole of `check --json`. `system` None: each company's own units in the messages."""
    return {
        "format": FORMAT,
        "faults": [fault.as_json() for fault in in_order(faults)],
        "jobs": [job_json(job, system or job.plan.input.company.units, wear=False) for job in jobs],
        "days": [day_json(day, of_day, system or day.jobs[0].input.company.units) for day, of_day in days],
    }


def plan_text(plan: PlanJson) -> str:
    """One job's document as the text that goes into its packet.

    Places are named by their file alone: a packet is the same wherever it was printed, and shows nobody's folders.
    """
    found: DocumentJson = {
        "format": FORMAT,
        "faults": [],
        "jobs": [placed(plan, lambda file: PurePath(file).name)],
        "days": [],
    }
    return json.dumps(found, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def placed(plan: PlanJson, named: Callable[[str], str]) -> PlanJson:
    """A plan whose findings name their files as `named` does."""
    findings = plan["findings"]
    return {
        **plan,
        "findings": [{**one, "where": {**one["where"], "file": named(one["where"]["file"])}} for one in findings],
    }


def job_json(checked: CheckedJob, system: System, *, wear: bool = True) -> PlanJson:
    """One job. What later steps of the plan settle is null or empty until they do.

    `wear`: also what each run shows with a worn pump, which a record is later held against; it takes as long as a plan.
    """
    plan = checked.plan
    of_branch: _OfBranch = {"branch": plan.input.company.branch} if plan.input.company.branch else {}
    return {
        **of_branch,
        **of_sides(plan, system),
        "id": plan.id,
        "title": plan.title,
        "address": plan.input.job.site.address if plan.kind == "wash" else None,
        "kind": plan.kind,
        "verdict": checked.verdict,
        "plan": plan.hash,
        "rig": plan.input.rig.rig,
        # What a record may name: every tank of the rig, and every container on the shelf.
        "tanks": [{"name": tank.name, "volume_m3": tank.volume} for tank in plan.input.rig.tanks],
        "lots": [lot.name for lot in plan.input.lots],
        "yard_pump": plan.input.yard.pump if plan.input.yard is not None else None,
        "assumed": list(assumed_words(plan, system)),
        # A yard job's test is a run of its own; what wear does to it is told by its points.
        "runs": [
            *(_worn(run, _wear(plan.input, run) if wear else None) for run in plan.runs),
            *(_worn(run, None) for run in (plan.yard.runs if plan.yard is not None else ())),
        ],
        "mixes": mixes_json(plan, system),
        "work": [work_json(work, plan) for work in plan.work],
        "water": water_json(plan),
        "beds": beds_json(plan),
        "flushes": [
            *(row for change in plan.changes for row in change_json(change)),
            *(flush_json(flush) for flush in (*plan.flushes, *(plan.yard.flushes if plan.yard is not None else ()))),
        ],
        "load": load_json(plan.load),
        "power": power_json(plan.power),
        "time": [_span(span) for span in plan.time],
        "procedure": _procedure(checked),
        "looks": [
            {"look": one.what, "place": one.place, "stock": one.chemical or None, "m3": one.volume}
            for one in plan.looks
        ],
        "runoff": runoff_json(plan.runoff),
        "runoff_total": total_json(plan.runoff),
        "downspouts": outlets_json(plan.runoff),
        "controls": controls_json(plan),
        "active": active_json(plan.runoff),
        "neutralise": [neutraliser_json(one, acts=not checked.held_by) for one in plan.neutralisers],
        "agents": [agent_json(one) for one in plan.agents],
        "bath": bath_json(plan.yard),
        "yard": yard_json(plan, wear=wear),
        "drift": [_drift(drift) for drift in plan.drift],
        "weather": weather_json(plan),
        "light": light_json(plan),
        "measured": None,
        "findings": [finding_json(finding, system, checked) for finding in checked.findings],
        "remedies": [_remedy(plan.input, remedy, system) for remedy in checked.remedies],
    }


def _procedure(checked: CheckedJob) -> ProcedureJson:
    """The acts, unless something holds the job: then nobody is to begin any."""
    found, held = checked.plan.procedure, checked.held_by
    return {
        "held": held,
        "breaches": [{"rule": rule, "act": act, "state": state} for rule, act, state in checked.breaches],
        "begin": state_json(found.begin if found is not None else State()),
        "end": state_json(found.end if found is not None else State()),
        "acts": [] if held or found is None else [act_json(act) for act in found.acts],
    }


def _span(span: Span) -> SpanJson:
    return {"what": span.what, "start_s": span.start, "seconds": span.seconds}


def _run(run: RunPlan) -> RunJson:
    reach = run.reach
    pump = run.input.pump
    return {
        "name": run.name,
        "pump": pump.name if pump is not None else None,
        "dosing": run.input.dosing.name if run.input.dosing is not None else "premix" if run.input.premix else None,
        "same_time": list(run.input.same_time),
        "condition": pump.condition if pump is not None else None,
        "hoses": [hose.name for hose in run.input.hoses],
        "tip": run.input.tip.name,
        "tip_pattern": run.input.tip.pattern,
        "flow_m3_per_s": run.flow,
        "water_flow_m3_per_s": flush_flow(run),
        "pump_flow_m3_per_s": run.pump_flow if pump is not None else None,
        "pump_head_m": run.pump_head,
        "hydraulic_watts": run.hydraulic_power if pump is not None else None,
        "pump_pressure_pa": run.pump_pressure,
        "inlet_pressure_pa": run.inlet_pressure if pump is not None else None,
        "tip_pressure_pa": run.tip_pressure,
        "tip_velocity_m_per_s": run.tip_velocity,
        "tip_height_m": run.tip_z,
        "pump_height_m": run.pump_z,
        "density_kg_per_m3": run.liquid.density,
        "shut_off_pressure_pa": run.shut_off_pressure,
        "shut_off_s": run.shut_off.seconds if run.shut_off is not None else None,
        "surge_pa": run.surge.nominal if run.surge is not None else None,
        "surge_low_pa": run.surge.low if run.surge is not None else None,
        "surge_high_pa": run.surge.high if run.surge is not None else None,
        "rating_pa": run.rating,
        "losses": [_loss(part) for part in run.losses],
        "joints": [_joint(joint) for joint in run.joints],
        "suction_loss_pa": run.suction_loss if pump is not None else None,
        "reach_m": reach.nominal if reach is not None else None,
        "reach_low_m": reach.low if reach is not None else None,
        "reach_high_m": reach.high if reach is not None else None,
        "reach_low_factor": reach.factor if reach is not None else None,
        "needed_m": run.needed,
        "npsh_available_m": run.npsh_available,
        "acceleration_head_m": run.acceleration_head,
        "npsh_required_m": run.npsh_required,
        "reaction_n": run.reaction,
        "tap_pressure_pa": run.tap_pressure,
        "cycling": run.cycling,
        "bypassing": run.bypassing,
        "injector_draws": run.injector_draws,
        "injector_behind_pa": run.injector.behind if run.injector is not None else None,
        "injector_full_pa": run.injector.full if run.injector is not None else None,
        "injector_limit_pa": run.injector.limit if run.injector is not None else None,
    }


def _worn(run: RunPlan, wear: WearJson | None) -> WornRunJson:
    found = cast("WornRunJson", {**_run(run), "wear": wear})
    if run.roles:
        # With each other tip that the job changes to.
        found["roles"] = {role: _run(one) for role, one in run.roles.items()}
    return found


def _wear(job: JobInput, run: RunPlan) -> WearJson | None:
    """What the run shows at several shares of its sound pump, of head or of flow; null without a pump."""
    points = wear_points(job, run)
    pump = run.input.pump
    if not points or pump is None:
        return None
    return {
        "of": pump.of_kind.wears,
        "standoff_m": run.input.standoff,
        "tip_m": run.input.tip_height,
        "points": [
            {
                "share": point.share,
                "throw_m": point.throw,
                "ground_m": point.ground,
                "flow_m3_per_s": point.flow,
                "gauge_closed_pa": point.closed,
            }
            for point in points
        ],
    }


def _remedy(job: JobInput, remedy: Remedy, system: System) -> RemedyJson:
    return {
        "finding": remedy.code,
        "about": remedy.about,
        "change": cures.sentence(remedy, system),
        "kinds": [change.kind for change in remedy.changes],
        "on_rig": remedy.on_rig,
        "level": remedy.after.level if remedy.after is not None else None,
        "added_s": remedy.added,
        "edits": [list(edit) for edit in edits_of(job, remedy)],
        "run": _run(remedy.run) if remedy.run is not None else None,
    }


def _loss(part: LossPart) -> LossJson:
    return {
        "part": part.part,
        "pressure_pa": part.pressure,
        "velocity_m_per_s": part.velocity,
        "reynolds": part.reynolds,
    }


def _drift(drift: Drift) -> DriftJson:
    """How far the forecast's wind carries drops of one size, and what is written as near within that."""
    return {
        "run": drift.run,
        "droplet_m": drift.droplet,
        "carried_m": drift.carried,
        "reaches": list(drift.reaches),
    }


def _joint(joint: Joint) -> JointJson:
    """What a gauge would read at a place on the line; `closed_pa` null where nothing limits it."""
    return {
        "name": joint.name,
        "distance_m": joint.distance,
        "height_m": joint.height,
        "open_pa": joint.open,
        "closed_pa": joint.closed,
    }
