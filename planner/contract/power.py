"""Electricity as the JSON contract writes it."""

from __future__ import annotations

from typing import Any

from planner.plan.road.model import Load, MotorPlan, PowerPlan


def power_json(power: PowerPlan | None) -> dict[str, Any] | None:
    """The load that takes most, the worst cord, and every motor; null where no pump of the job has a motor.

    `amps` and `watts` are those of mains or generator, or of the battery where nothing else is fed.
    """
    if power is None:
        return None
    worst = power.worst
    fed = [motor for motor in power.motors if worst is not None and motor.pump in worst.pumps]
    mains = [motor for motor in fed if not motor.direct]
    amps = worst.amps if worst is not None and mains else worst.battery_amps if worst is not None else None
    supplies = {motor.supply for motor in (mains or fed)}
    volts = supplies.pop() if len(supplies) == 1 else None
    watts = worst.watts if worst is not None and mains else amps * volts if amps and volts else None
    return {
        "amps": amps,
        "drop_fraction": max(
            (motor.drop_fraction for motor in power.motors if motor.drop_fraction is not None), default=None
        ),
        "volts": volts,
        "watts": watts,
        "start_watts": worst.start_watts if worst is not None else None,
        "generator_watts": power.generator,
        "breaker_amps": power.breaker,
        "gfci": power.gfci,
        "battery_coulombs": power.battery,
        "battery_usable_coulombs": power.usable,
        "battery_needed_coulombs": power.needed,
        "battery_lasts_s": power.lasts,
        "loads": [_load(load) for load in power.loads],
        "motors": [_motor(motor) for motor in power.motors],
    }


def _load(load: Load) -> dict[str, Any]:
    return {
        "run": load.run,
        "pumps": list(load.pumps),
        "amps": load.amps,
        "watts": load.watts,
        "start_watts": load.start_watts,
        "battery_amps": load.battery_amps,
    }


def _motor(motor: MotorPlan) -> dict[str, Any]:
    cord = motor.cord
    return {
        "pump": motor.pump,
        "volts": motor.volts,
        "supply_volts": motor.supply,
        "direct_current": motor.direct,
        "amps": motor.amps,
        "start_amps": motor.start_amps,
        "watts": motor.watts,
        "seconds": motor.seconds,
        "cord_gauge_awg": cord.gauge if cord is not None else None,
        "cord_length_m": cord.length if cord is not None else None,
        "cord_carries_amps": cord.carries if cord is not None else None,
        "drop_volts": cord.drop if cord is not None else None,
        "copper_k": cord.copper if cord is not None else None,
        "air_k": cord.air if cord is not None else None,
        "drop_cool_volts": cord.drop_cool if cord is not None else None,
        "drop_fraction": motor.drop_fraction,
        "arriving_volts": motor.supply - cord.drop if cord is not None and cord.drop is not None else None,
    }
