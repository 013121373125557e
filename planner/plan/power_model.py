"""What the plan says of electricity: each motor with its cord, what runs at once, and what feeds it. All SI."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class CordPlan:
    """A cord to a motor: `gauge` [AWG], `length` [m] one way, `carries` [A] where the table knows it.

    `drop` [V] is what it loses at full load with copper at `copper` [K] in air of `air` [K], `drop_cool` with copper at
    20 C; `thicker` [AWG] is the thinnest wire that keeps this length within the limit, `longest` [m] how far this wire
    gets; None: not known.
    """

    gauge: float
    length: float
    carries: float | None
    drop: float | None
    drop_cool: float | None
    thicker: float | None
    longest: float | None
    copper: float | None
    air: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MotorPlan:
    """One motor of this job. `volts` [V] on its plate, `supply` [V] what feeds it, `direct` from a battery.

    `amps` [A] at full load, None where neither plate nor table says; `from_plate` says which; `start_amps` [A] for
    the moment it starts. `seconds` [s] it runs on this job. `beside`: it runs whenever another one does.
    """

    pump: str
    power: float | None
    volts: float
    supply: float
    direct: bool
    amps: float | None
    from_plate: bool
    start_amps: float | None
    cord: CordPlan | None
    seconds: float
    beside: bool

    @property
    def watts(self) -> float | None:
        """What it takes from its supply [VA]."""
        return None if self.amps is None else self.supply * self.amps

    @property
    def drop_fraction(self) -> float | None:
        """What its cord loses, as a share of the supply's volts."""
        if self.cord is None or self.cord.drop is None:
            return None
        return self.cord.drop / self.supply


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What runs at once while `run` is sprayed: pumps with motors, its own first.

    Of those on the mains or a generator: `amps` [A] the most on one voltage, `watts` [VA] running, `start_watts`
    [VA] while the worst of them starts; other loads written on the rig are in all three. `battery_amps` [A] of
    those on the battery. None: one of the currents is not known, or none is of that kind.
    """

    run: str
    pumps: tuple[str, ...]
    amps: float | None
    watts: float | None
    start_watts: float | None
    starts: str
    battery_amps: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerPlan:
    """Electricity of one job: `generator` [W], `breaker` [A], `battery` [C] as written on the rig, None where not.

    `needed` [C] is what this job draws from the battery, `lasts` [s] how long the usable part of it gives the
    largest of the battery's loads. `worst` is the load that takes most.
    """

    motors: tuple[MotorPlan, ...]
    loads: tuple[Load, ...]
    worst: Load | None
    generator: float | None
    breaker: float | None
    battery: float | None
    usable: float | None
    needed: float | None
    lasts: float | None
    gfci: bool | None
    others: float
    assumed: tuple[str, ...]

    def motor(self, pump: str) -> MotorPlan | None:
        """The motor of a pump by the pump's name."""
        return next((motor for motor in self.motors if motor.pump == pump), None)

    def load(self, run: str) -> Load | None:
        """What runs while a run is sprayed."""
        return next((load for load in self.loads if load.run == run), None)
