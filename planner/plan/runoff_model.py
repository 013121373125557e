"""What the plan says of the water that leaves the walls, and of the agents that make leftovers harmless."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceRunoff:
    """What leaves one surface, of one chemical. Volumes in m3, strengths in kg/m3 as the mix's own.

    `mix` lands on it at `first`, which is what the first of the runoff holds; `water` wets and rinses it. `active`
    [kg] and `strength`, the mean at its foot, are None of soap, whose active nobody weighs. `times_acute`,
    `times_chronic`: how often the strength is the criterion for life in fresh water, `times_tap` what the tap itself
    carries; None of anything but chlorine. `ph` of acid and alkali, as if the wall took none of it.
    """

    surface: str
    chemical: str
    family: str
    mix: float
    water: float
    first: float
    active: float | None
    strength: float | None
    times_acute: float | None
    times_chronic: float | None
    times_tap: float | None
    ph: float | None

    @property
    def volume(self) -> float:
        """Mix and water together [m3]."""
        return self.mix + self.water


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlets:
    """What each of `count` downspouts of a roof takes, shared evenly: `volume` [m3] with `active` [kg]."""

    count: int
    chemical: str
    volume: float
    active: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ActiveLedger:
    """Where the active [kg] of one mix goes: `stock` and the tank's old `found` heel in; all the rest is out."""

    mix: str
    stock: float
    found: float
    walls: float
    spare: float
    heel: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunoffPlan:
    """The runoff of the job: by surface, for each chemical in all, by downspout, and where each mix's active goes."""

    surfaces: tuple[SurfaceRunoff, ...]
    totals: tuple[SurfaceRunoff, ...]
    outlets: Outlets | None
    ledger: tuple[ActiveLedger, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AgentNeed:
    """All of one agent this job takes: `mass` and, with its spare, `carry` [kg], for the leftovers of `against`.

    `lots` hold it; `on_hand` [kg] is None where nobody counted, `buy` [kg] what is wanted beyond it. `rise` [K] is
    how much warmer the strongest bucket gets, below 0 colder. `before` [kg]: what the jobs before took of its lots.
    """

    agent: str
    against: str
    lots: tuple[str, ...]
    mass: float
    carry: float
    on_hand: float | None
    buy: float
    rise: float | None
    before: float = 0.0
