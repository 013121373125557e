"""What holds of a rig's pumps whatever the job: how long a gun may stay shut, and the most they press."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planner.inputs.joined import JobInput
from planner.inputs.models.gear import Pump
from planner.physics.constants import GRAVITY
from planner.physics.liquids import REFERENCE_DENSITY, water_density
from planner.physics.pumps import PistonPump
from planner.plan.apparatus import pump_alone
from planner.plan.strain import shut_off_of

Shut = Literal["itself", "never", "off_first", "at_most"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpRule:
    """One pump: whether it stops `itself` with the gun shut, may `never` see it shut, or stands it `at_most` `seconds`.

    `highest` [Pa] is the most at its outlet as new, over what feeds it; None: nothing limits it. `engine` where it has
    no motor of its own.
    """

    pump: Pump
    shut: Shut
    seconds: float
    highest: float | None
    engine: bool


def pump_rules(job: JobInput) -> list[PumpRule]:
    """Each pump of the job's rig, with water as warm as a faucet gives it."""
    return [_rule(job, pump) for pump in job.rig.pumps]


def _rule(job: JobInput, pump: Pump) -> PumpRule:
    limits, warm = job.limits, job.tables["defaults"]["water_warmest"]
    # A worn pump is made good again one day, and the card still hangs there.
    good = pump_alone(pump.model_copy(update={"condition": max(pump.condition, 1.0)}))
    held = shut_off_of(job, pump, good, water_density(warm), warm)
    seconds = limits["shut_off_on_paper"]
    if isinstance(good, PistonPump):
        seconds, highest = min(seconds, limits["bypass_time"]), good.unloader
    else:
        head = REFERENCE_DENSITY * GRAVITY * good.curve(0.0)
        highest = min(head, good.cut_off) if good.cut_off is not None else head
        if held is None:
            seconds = min(seconds, limits["shut_off_unknown"])
    if held is not None:
        seconds = min(seconds, held.seconds)
    shut: Shut = "at_most" if seconds > 0.0 else "off_first"
    if not isinstance(good, PistonPump) and good.cut_off is not None:
        shut = "itself"
    elif highest is None:
        shut = "never"
    return PumpRule(
        pump=pump,
        shut=shut,
        seconds=max(seconds, 0.0),
        highest=highest,
        engine=pump.kind == "piston" and pump.motor is None,
    )
