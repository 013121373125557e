"""Frozen figures of the load on the road and of the loads on a supply of power."""

from __future__ import annotations

from planner.frozen import dataclass

YARD, ROAD, HOME = "yard", "road", "home"
"""Where a leg begins: leaving the yard, between two jobs, and after the last one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadItem:
    """One thing aboard: `mass` [kg] with its container's `tare` in it, `volume` [m3] of the liquid alone.

    `kind` is rig, water, heel, stock, soap, neutraliser or eyewash. `strength` [kg/m3] is the highest it may have,
    None where it has none. `holds` [m3] is one container full, or the `tank`; `packages` how many there are.
    `counted` [kg] is what a reportable quantity counts. `regulated`: hazardous material of the road's rules.
    `apart`: written as riding in a box of its own or in another vehicle.
    """

    what: str
    kind: str
    mass: float
    chemical: str | None = None
    volume: float = 0.0
    tare: float = 0.0
    strength: float | None = None
    holds: float | None = None
    packages: int = 1
    tank: str | None = None
    counted: float = 0.0
    regulated: bool = False
    apart: bool = False

    @property
    def package_mass(self) -> float:
        """Gross mass [kg] of one container, filled alike."""
        return self.mass / self.packages


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One stretch of road: `moment` is where it begins, `to` the job it leads to, empty for the yard.

    `weighed`: the rig's own weight is written and among the items. `water_density` in kg/m3.
    """

    moment: str
    to: str
    items: tuple[LoadItem, ...]
    weighed: bool
    water_density: float

    @property
    def carried(self) -> float:
        """All that is aboard [kg] but the rig itself; the crew is not counted."""
        return sum(item.mass for item in self.items if item.kind != "rig")

    @property
    def total(self) -> float | None:
        """Rig and all that is aboard [kg]; None where nobody wrote what the rig weighs."""
        return sum(item.mass for item in self.items) if self.weighed else None

    @property
    def water(self) -> float:
        """Plain water in the rig's tanks [kg]: what may be left out and filled at the site."""
        return sum(item.mass for item in self.items if item.kind == "water")

    @property
    def hazardous(self) -> float:
        """Gross mass [kg] of what the road counts as hazardous material, containers and all."""
        return sum(item.mass for item in self.items if item.regulated)

    def counted(self, chemical: str) -> float:
        """What a reportable quantity counts [kg] of a chemical aboard."""
        return sum(item.counted for item in self.items if item.chemical == chemical and item.regulated)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Two chemicals that must not meet and ride on one rig, and what they give.

    `first` is this job's. `heat_only`: no gas comes of it. `agent`: one is a dry neutraliser, carried for leftovers.
    `tank`: the tank a left-over mix of the second still stands in, `other_tank` the first's, empty where it is none.
    `apart`: written as kept apart.
    `cage`: the one that a box of its own would keep apart.
    """

    first: str
    second: str
    gives: str
    heat_only: bool
    agent: bool
    apart: bool
    tank: str
    cage: str
    other_tank: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPlan:
    """The load of a job: the leg that leads to it, and the way home where it is the last one.

    `rated` [kg] is what the rig may weigh, None where it is not written. `own` names the lots of this job.
    """

    legs: tuple[Leg, ...]
    rated: float | None
    own: frozenset[str]
    beside: tuple[Beside, ...]

    @property
    def out(self) -> Leg:
        """The leg to the job: everything it takes is aboard."""
        return self.legs[0]

    @property
    def heaviest(self) -> Leg:
        """The leg on which the rig weighs most; the first of equals."""
        return max(self.legs, key=lambda leg: leg.carried)


# ------------------------------------------------------------ power model
# What the plan says of electricity: each motor with its cord, what runs at once, and what feeds it. All SI.


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
    surge: float | None
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
