"""Where a job's water comes from, with what nobody wrote filled in and named."""

from __future__ import annotations

import datetime

from planner.faults import Where
from planner.inputs.joined import WaterInput
from planner.inputs.models import Job, Rig, Water
from planner.inputs.models.learned import LearnedTap
from planner.inputs.tables.defaults import default, default_list


def water_of(
    job: Job, rig: Rig, date: datetime.date | None, where: Where, known: LearnedTap | None = None
) -> WaterInput:  # fmt: skip
    """The job's water, joined; `where` is the place of `water` or `tap`, or the job's own.

    `known` is the tap as records found it, which counts where the job itself says nothing of its flow.
    """
    water = job.water or Water()
    assumed: list[str] = []
    bucket = job.tap or water.bucket
    static, residual, flow = water.static, None, None
    learned_tap = known if takes_known_tap(job) else None
    tested = bucket is not None or water.flow_test is not None or learned_tap is not None
    if water.source in ("tap", "hydrant"):
        if water.flow_test is not None:
            residual, flow = water.flow_test.pressure, water.flow_test.flow
        elif bucket is not None:
            # A bucket is filled by an open tap: all of its pressure is spent.
            residual, flow = 0.0, bucket.flow
        elif learned_tap is not None:
            residual, flow = 0.0, learned_tap.flow
        elif job.water is None:
            # Nothing is known of the tap: an ordinary one, and the paper asks for a bucket test on arrival.
            residual, flow = 0.0, default("tap_flow")
            assumed.append("tap")
        if static is None:
            static = default("tap_static")
            assumed.append("static")
    temperature = water.temperature if water.temperature is not None else job.temperature
    if temperature is None:
        assumed.append("temperature")
        temperature = usual_temperature(date)
    backflow = water.backflow
    inherited = backflow is None and rig.supply_hose is not None
    if inherited and rig.supply_hose is not None:
        backflow = rig.supply_hose.backflow
    chlorine = water.chlorine
    if chlorine is None and water.source != "pond":
        chlorine = default("tap_chlorine")
    return WaterInput(
        source=water.source,
        static=static,
        residual=residual,
        test_flow=flow,
        tested=tested,
        temperature=temperature,
        level=water.level,
        backflow=backflow,
        backflow_on_hose=inherited,
        chlorine=chlorine,
        assumed=tuple(assumed),
        where=where,
    )


def takes_known_tap(job: Job) -> bool:
    """Whether the job draws on a tap whose flow nobody wrote."""
    water = job.water or Water()
    return water.source == "tap" and job.tap is None and water.bucket is None and water.flow_test is None


def usual_temperature(date: datetime.date | None) -> float:
    """Mains water's usual temperature [K] in a month, or where no date is known."""
    return default("water_temperature") if date is None else default_list("water_temperature_by_month")[date.month - 1]
