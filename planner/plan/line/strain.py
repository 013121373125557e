"""What wears line and pump: water too fast in a hose, a gun that snaps shut, a pump that runs with the gun closed."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import Literal

from planner.inputs.joined import HosePiece, JobInput, RunInput
from planner.inputs.models.gear import Pump
from planner.inputs.tables.defaults import default
from planner.inputs.tables.whole import WIRE, HoseWall
from planner.physics.hoses import surge, velocity, wave_speed
from planner.physics.pumps import HeadPump, PistonPump, acceleration_head, best_power, heating_time, quarter_wave
from planner.plan.line.model import HoseSpeed, ShutOff, Surge
from planner.plan.model import Basis, Value


def wall_of(job: JobInput, hose: HosePiece, pressure: float) -> HoseWall:
    """What is assumed of a hose's wall: by its material, or as braided with wire where it is made for high pressure.

    An unrated hose is taken as made for the `pressure` [Pa] it is used at.
    """
    walls: dict[str, HoseWall] = job.tables["hose_walls"]
    wire = walls[WIRE]
    made_for = hose.rated if hose.rated is not None else pressure
    return wire if made_for >= wire.rated_from else walls[hose.material]


def speeds_of(
    job: JobInput, run: RunInput, flows: Sequence[float], pump_flow: float, pressure: float
) -> tuple[HoseSpeed, ...]:
    """How fast the water goes in each hose, suction first; `flows` in its own, `pump_flow` [m3/s]; `pressure` Pa.

    With water from a tap the hose to the pump is pushed through, and counts as pressure side.
    """
    before: Literal["suction", "pressure"] = "pressure" if run.feed == "tap" else "suction"
    speeds = [
        HoseSpeed(hose=hose.name, velocity=velocity(pump_flow, hose.bore), side=before, high_pressure=False)
        for hose in run.suction
    ]
    for hose, flow in zip(run.hoses, flows, strict=True):
        high = wall_of(job, hose, pressure).name == WIRE
        speeds.append(
            HoseSpeed(hose=hose.name, velocity=velocity(flow, hose.bore), side="pressure", high_pressure=high)
        )
    return tuple(speeds)


def acceleration_of(job: JobInput, run: RunInput, flow: float, density: float) -> tuple[float, float] | None:
    """Head [m] that the strokes of its plungers cost at the inlet, and how much suction hose [m] counts for it.

    None of a pump without strokes, and where no suction is written. Hose yields: only what lies within a quarter wave
    before the pump is hurried with each stroke (our choice), with its wall as stiff as it may be.
    """
    if run.pump is None or not run.pump.of_kind.pulses or not run.suction:
        return None
    speed, plungers = 60.0 * default("plunger_speed"), default("plungers")
    left, head, length = 1.0, 0.0, 0.0
    for hose in reversed(run.suction):
        wall = wall_of(job, hose, 0.0)
        most = quarter_wave(wave_speed(wall.wall_to_bore, max(wall.modulus), density), speed, plungers)
        counts = min(hose.length, left * most)
        head += acceleration_head(
            counts, velocity(flow, hose.bore), speed,
            pump=default("acceleration_pump"), liquid=default("acceleration_liquid"),
        )  # fmt: skip
        left, length = left - counts / most, length + counts
    return head, length


def surge_of(job: JobInput, run: RunInput, flow: float, pressure: float, density: float) -> Surge | None:
    """The hardest blow of any hose of the run when its gun snaps shut at `flow` [m3/s]; None where nothing flows.

    `pressure` [Pa] stands in the line, `density` [kg/m3] is the mix's.
    """
    if flow <= 0.0:
        return None
    blows = [_blow(hose, wall_of(job, hose, pressure), flow, density) for hose in run.hoses]
    return max(blows, key=lambda blow: blow.nominal)


def _blow(hose: HosePiece, wall: HoseWall, flow: float, density: float) -> Surge:
    speed = velocity(flow, hose.bore)
    softest, stiffest = (wave_speed(wall.wall_to_bore, modulus, density) for modulus in wall.modulus)
    # The ends lie a factor apart, so the middle is the one that is as far from either by factor.
    middle = sqrt(softest * stiffest)
    low, nominal, high = (surge(density, wave, speed) for wave in (softest, middle, stiffest))
    return Surge(hose=hose.name, velocity=speed, speed=middle, low=low, nominal=nominal, high=high)


def shut_off_of(
    job: JobInput, written: Pump | None, pump: HeadPump | PistonPump | None, density: float, temperature: float
) -> ShutOff | None:
    """How long a pump may stand against a closed gun; None where it stops itself, or its power is not known.

    All of the motor's power is taken to go into the water. Without its power written, a pump with a curve is taken to
    need its best power over the efficiency assumed; a constant flow's, an engine's for the most, is then unknown.
    `density` [kg/m3] and `temperature` [K] are the liquid's.
    """
    if written is None or pump is None:
        return None
    if isinstance(pump, HeadPump) and pump.cut_off is not None:
        return None
    if isinstance(pump, PistonPump) and pump.unloader is None:
        return None
    end = job.limits["shut_off_temperature"]
    known_by: Literal["motor", "curve"] = "motor"
    if written.motor is not None and written.motor.power is not None:
        power = written.motor.power
    elif isinstance(pump, HeadPump):
        # A worn pump gives less head but takes no less from its shaft.
        power = best_power(pump, density) / written.condition / job.tables["defaults"]["pump_efficiency"]
        known_by = "curve"
    else:
        return None
    if power <= 0.0:
        return None
    return ShutOff(
        seconds=heating_time(power, written.wetted_volume, density, temperature, end),
        power=power,
        volume=written.wetted_volume,
        start=temperature,
        end=end,
        known_by=known_by,
    )


def strain_basis(blow: Surge | None, shut_off: ShutOff | None) -> dict[str, Basis]:
    """Which equation gave surge and time to shut off, and what went in."""
    basis: dict[str, Basis] = {}
    if blow is not None:
        basis["surge"] = Basis(
            equation="water_hammer",
            inputs=(
                ("water in the hose", Value(blow.velocity, "velocity")),
                ("wave in the wall assumed", Value(blow.speed, "velocity")),
            ),
        )
    if shut_off is not None:
        source = {"motor": "motor", "curve": "shaft, by the curve"}[shut_off.known_by]
        basis["shut_off_time"] = Basis(
            equation="shut_off_heating",
            inputs=(
                (source, Value(shut_off.power, "power")),
                ("in the pump", Value(shut_off.volume, "volume")),
                ("from", Value(shut_off.start, "temperature")),
                ("to", Value(shut_off.end, "temperature")),
            ),
        )
    return basis
