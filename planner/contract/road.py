"""What rides on the rig, and what feeds its motors, as the JSON contract writes it."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from planner.plan.road.model import Leg, Load, LoadItem, LoadPlan, MotorPlan, PowerPlan


class ItemJson(TypedDict):
    what: str
    kg: float
    kind: str
    stock: str | None
    m3: float | None
    tare_kg: float | None
    container_m3: float | None
    tank: str | None
    hazmat: bool
    apart: bool


class LegJson(TypedDict):
    moment: str
    to: str | None
    items: list[ItemJson]
    total_kg: float | None
    carried_kg: float
    water_kg: float
    hazmat_kg: NotRequired[float]


class BesideJson(TypedDict):
    first: str
    second: str
    gives: str
    apart: bool


class LoadJson(LegJson):
    rated_kg: float | None
    share: float | None
    reportable_kg: dict[str, float]
    beside: list[BesideJson]
    legs: list[LegJson]


class FedJson(TypedDict):
    run: str
    pumps: list[str]
    amps: float | None
    watts: float | None
    start_watts: float | None
    battery_amps: float | None


class MotorJson(TypedDict):
    pump: str
    volts: float
    supply_volts: float
    direct_current: bool
    amps: float | None
    start_amps: float | None
    watts: float | None
    seconds: float
    cord_gauge_awg: float | None
    cord_length_m: float | None
    cord_carries_amps: float | None
    drop_volts: float | None
    copper_k: float | None
    air_k: float | None
    drop_cool_volts: float | None
    drop_fraction: float | None
    arriving_volts: float | None


class PowerJson(TypedDict):
    amps: float | None
    drop_fraction: float | None
    volts: float | None
    watts: float | None
    start_watts: float | None
    generator_watts: float | None
    breaker_amps: float | None
    gfci: bool | None
    battery_coulombs: float | None
    battery_usable_coulombs: float | None
    battery_needed_coulombs: float | None
    battery_lasts_s: float | None
    loads: list[FedJson]
    motors: list[MotorJson]


def load_json(load: LoadPlan | None) -> LoadJson | None:
    """The leg of the road on which the rig weighs most, then every leg; null for work in the yard.

    `total_kg` and `rated_kg` are null where nobody wrote what the rig weighs; `carried_kg` is all but the rig itself.
    `hazmat_kg` is gross, on the way out.
    """
    if load is None:
        return None
    leg = load.heaviest
    return {
        **_leg(leg),
        "rated_kg": load.rated,
        "share": leg.total / load.rated if leg.total is not None and load.rated else None,
        "hazmat_kg": load.out.hazardous,
        "reportable_kg": {
            str(item.chemical): load.out.counted(str(item.chemical)) for item in load.out.items if item.regulated
        },
        "beside": [
            {"first": one.first, "second": one.second, "gives": one.gives, "apart": one.apart} for one in load.beside
        ],
        "legs": [{**_leg(one), "hazmat_kg": one.hazardous} for one in load.legs],
    }


def _leg(leg: Leg) -> LegJson:
    return {
        "moment": leg.moment,
        "to": leg.to or None,
        "items": [_item(item) for item in leg.items],
        "total_kg": leg.total,
        "carried_kg": leg.carried,
        "water_kg": leg.water,
    }


def _item(item: LoadItem) -> ItemJson:
    return {
        "what": item.what,
        "kg": item.mass,
        "kind": item.kind,
        "stock": item.chemical,
        "m3": item.volume or None,
        "tare_kg": item.tare or None,
        "container_m3": item.holds if item.tank is None else None,
        "tank": item.tank,
        "hazmat": item.regulated,
        "apart": item.apart,
    }


def power_json(power: PowerPlan | None) -> PowerJson | None:
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


def _load(load: Load) -> FedJson:
    return {
        "run": load.run,
        "pumps": list(load.pumps),
        "amps": load.amps,
        "watts": load.watts,
        "start_watts": load.start_watts,
        "battery_amps": load.battery_amps,
    }


def _motor(motor: MotorPlan) -> MotorJson:
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
