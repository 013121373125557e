"""The JSON contract: SI, the unit in the key, what does not apply null."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.checks.model import CheckedJob, Finding
from planner.commands.day_json import day_json
from planner.commands.mix_json import (
    beds_json,
    flush_json,
    mix_json,
    neutraliser_json,
    water_json,
    work_json,
)
from planner.faults import Fault, in_order
from planner.packet import words
from planner.plan.day import DayPlan
from planner.plan.model import LossPart, RunPlan
from planner.plan.timing import Span
from planner.units import System

FORMAT = 1


def document(
    jobs: Sequence[CheckedJob],
    faults: Sequence[Fault],
    system: System | None,
    days: Sequence[tuple[DayPlan, Sequence[CheckedJob]]] = (),
) -> dict[str, Any]:
    """The whole of `check --json`. `system` None: each company's own units in the messages."""
    return {
        "format": FORMAT,
        "faults": [fault.as_json() for fault in in_order(faults)],
        "jobs": [job_json(job, system or job.plan.input.company.units) for job in jobs],
        "days": [day_json(day, of_day) for day, of_day in days],
    }


def job_json(checked: CheckedJob, system: System) -> dict[str, Any]:
    """One job. What later steps of the plan settle is null or empty until they do."""
    plan = checked.plan
    return {
        "id": plan.id,
        "title": plan.title,
        "kind": plan.kind,
        "verdict": checked.verdict,
        "plan": plan.hash,
        "assumed": list(plan.notes),
        "runs": [_run(run) for run in plan.runs],
        "mixes": [mix_json(mix) for mix in plan.mixes],
        "work": [work_json(work) for work in plan.work],
        "water": water_json(plan),
        "beds": beds_json(plan),
        "flushes": [flush_json(flush) for flush in plan.flushes],
        "load": None,
        "power": None,
        "time": [_span(span) for span in plan.time],
        "neutralise": [neutraliser_json(one) for one in plan.neutralisers],
        "bath": None,
        "findings": [_finding(finding, system) for finding in checked.findings],
        "remedies": [],
    }


def _span(span: Span) -> dict[str, Any]:
    return {"what": span.what, "start_s": span.start, "seconds": span.seconds}


def _run(run: RunPlan) -> dict[str, Any]:
    reach = run.reach
    pump = run.input.pump
    return {
        "name": run.name,
        "pump": pump.name if pump is not None else None,
        "dosing": run.input.dosing.name if run.input.dosing is not None else "premix" if run.input.premix else None,
        "same_time": list(run.input.same_time),
        "condition": pump.condition if pump is not None else None,
        "flow_m3_per_s": run.flow,
        "pump_flow_m3_per_s": run.pump_flow if pump is not None else None,
        "pump_head_m": run.pump_head,
        "pump_pressure_pa": run.pump_pressure,
        "inlet_pressure_pa": run.inlet_pressure if pump is not None else None,
        "tip_pressure_pa": run.tip_pressure,
        "tip_velocity_m_per_s": run.tip_velocity,
        "tip_height_m": run.tip_z,
        "pump_height_m": run.pump_z,
        "density_kg_per_m3": run.liquid.density,
        "shut_off_pressure_pa": run.shut_off_pressure,
        "shut_off_s": None,
        "surge_pa": None,
        "rating_pa": run.rating,
        "losses": [_loss(part) for part in run.losses],
        "suction_loss_pa": run.suction_loss if pump is not None else None,
        "reach_m": reach.nominal if reach is not None else None,
        "reach_low_m": reach.low if reach is not None else None,
        "reach_high_m": reach.high if reach is not None else None,
        "needed_m": run.needed,
        "npsh_available_m": run.npsh_available,
        "npsh_required_m": run.npsh_required,
        "reaction_n": run.reaction,
        "tap_pressure_pa": run.tap_pressure,
        "cycling": run.cycling,
        "bypassing": run.bypassing,
        "injector_draws": run.injector_draws,
    }


def _loss(part: LossPart) -> dict[str, Any]:
    return {
        "part": part.part,
        "pressure_pa": part.pressure,
        "velocity_m_per_s": part.velocity,
        "reynolds": part.reynolds,
    }


def _finding(finding: Finding, system: System) -> dict[str, Any]:
    accepted = finding.accepted
    return {
        "code": finding.code,
        "about": finding.about,
        "level": finding.level,
        "accepted": accepted is not None,
        "reason": accepted[0] if accepted is not None else None,
        "by": accepted[1] if accepted is not None else None,
        "message": words.message(finding, system),
        "remedy": words.remedy(finding, system),
        "basis": words.basis(finding.code),
        "where": finding.where.as_json(),
    }
