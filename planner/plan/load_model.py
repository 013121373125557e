"""What the rig weighs on each leg of the road, and what hazardous material rides: frozen figures in SI."""

from __future__ import annotations

from dataclasses import dataclass

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
