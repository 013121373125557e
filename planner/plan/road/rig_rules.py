"""How long a pump may run with its gun shut, on paper and in the acts; and of a rig's pumps the most they press."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import Literal

from planner.frozen import dataclass
from planner.inputs.joined import JobInput, RunInput
from planner.inputs.models.gear import Pump
from planner.physics.liquids import GRAVITY, REFERENCE_DENSITY, water_density
from planner.physics.pumps import PistonPump
from planner.plan.line.apparatus import pump_alone
from planner.plan.line.strain import shut_off_of
from planner.plan.model import RunPlan

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


def heats_in(run: RunPlan) -> float | None:
    """How soon the pump of a run is hot with its gun shut [s]; None: nobody knows."""
    return run.shut_off.seconds if run.shut_off is not None else None


def shut_borne(limits: Mapping[str, float], pump: Pump | None, heats: float | None) -> float:
    """How long a pump takes to get hot with its gun shut [s]; inf where a switch stops it or its water goes to a tank.

    `heats` [s]: what was worked out of it; None: nobody knows.
    """
    if pump is None or pump.cut_off is not None or pump.bypass:
        return inf
    return limits["shut_off_unknown"] if heats is None else heats


def shut_most(limits: Mapping[str, float], pump: Pump | None, heats: float | None) -> float:
    """How long it may run with its gun shut [s], on paper and in the acts alike; inf where a switch stops it."""
    if pump is None or pump.cut_off is not None:
        return inf
    known = limits["shut_off_unknown"] if heats is None or pump.bypass else heats
    round_and_round = limits["bypass_time"] if pump.of_kind.relief == "unloader" else inf
    return max(min(limits["shut_off_on_paper"], known, round_and_round), 0.0)


def way_to_switch(job: JobInput, run: RunInput) -> float:
    """From a run's gun to its pump's switch, and that turned [s]; 0 where somebody is left at the rig to turn it.

    Nobody is where one person works alone, or two hold a gun each; in the yard the gun is beside the pump.
    """
    crew = job.day.crew if job.day is not None else None
    both = [run, *(one for one in job.runs if one.name in run.same_time)]
    if job.kind == "yard" or (len(both) == 1 and (crew is None or crew.count > 1)):
        return 0.0
    minutes, far = job.tables["minutes"], max(one.length for one in both)
    return float(far / minutes["walk_pace"] + minutes["power"] * len(both))


def pump_rules(job: JobInput) -> list[PumpRule]:
    """Each pump of the job's rig, with water as warm as a faucet gives it."""
    return [_rule(job, pump) for pump in job.rig.pumps]


def _rule(job: JobInput, pump: Pump) -> PumpRule:
    limits, warm = job.limits, job.tables["defaults"]["water_warmest"]
    # A worn pump is made good again one day, and the card still hangs there.
    good = pump_alone(pump.model_copy(update={"condition": max(pump.condition, 1.0)}))
    held = shut_off_of(job, pump, good, water_density(warm), warm)
    seconds = shut_most(limits, pump, held.seconds if held is not None else None)
    if isinstance(good, PistonPump):
        highest = good.unloader
    else:
        head = REFERENCE_DENSITY * GRAVITY * good.curve(0.0)
        highest = min(head, good.cut_off) if good.cut_off is not None else head
    shut: Shut = "at_most" if seconds > 0.0 else "off_first"
    if not isinstance(good, PistonPump) and good.cut_off is not None:
        shut = "itself"
    elif highest is None:
        shut = "never"
    return PumpRule(
        pump=pump,
        shut=shut,
        seconds=seconds,
        highest=highest,
        engine=pump.driven_by == "engine",
    )
