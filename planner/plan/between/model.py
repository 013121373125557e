"""Frozen figures of changes between mixes and of runoff."""

from __future__ import annotations

from typing import Literal

from planner.frozen import dataclass

PartKind = Literal["tank", "pump", "dosing", "hose"]
DrainsTo = Literal["lawn", "sanitary", "caught"]
"""Where flush water may go: lawn or gravel, a sanitary sewer with its owner's leave, or caught and neutralised."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangePart:
    """One part to flush: it held `leaves` at `strength` [kg/m3] and is brought to `residual`, at most `target` [kg/m3].

    `volume` [m3] of water and `seconds` for it; None where no water gets there. `holds` [m3] is what it holds when it
    is flushed, of a tank its heel. A tank: `drained` [m3] first, then `rinses` times `each` [m3], the `last` [m3] of
    them by itself. `through`: the tank whose rinse water washes this part, so that it takes none of its own.
    """

    part: str
    kind: PartKind
    leaves: str
    strength: float
    target: float
    volume: float | None
    seconds: float | None
    residual: float | None
    holds: float = 0.0
    drained: float = 0.0
    rinses: int | None = None
    each: float = 0.0
    last: float = 0.0
    through: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeFlush:
    """Everything flushed before the mix of this name is made or drawn: `comes` is its chemical, "water" for a feed.

    `drains_to` by how strong its water is on average, `mean` [kg/m3]. `other` [m3] is what the other way round, tank
    and line apart or together, would take; None where there is no other.
    """

    mix: str
    run: str
    comes: str
    parts: tuple[ChangePart, ...]
    drains_to: DrainsTo
    mean: float
    together: bool = False
    other: float | None = None

    @property
    def can(self) -> bool:
        """Whether water gets every part to its target."""
        return all(part.volume is not None for part in self.parts)

    @property
    def volume(self) -> float:
        """Water it takes [m3]."""
        return sum(part.volume or 0.0 for part in self.parts)

    @property
    def seconds(self) -> float:
        """Elapsed time it takes [s]."""
        return sum(part.seconds or 0.0 for part in self.parts)

    @property
    def tank(self) -> ChangePart | None:
        """The tank among its parts."""
        return next((part for part in self.parts if part.kind == "tank"), None)

    @property
    def line(self) -> tuple[ChangePart, ...]:
        """Pump, panel and hose among its parts."""
        return tuple(part for part in self.parts if part.kind != "tank")

    @property
    def leaves(self) -> tuple[str, ...]:
        """What its parts held."""
        return tuple(dict.fromkeys(part.leaves for part in self.parts))


# ------------------------------------------------------------ runoff model
# What the plan says of the water that leaves the walls, and of the agents that make leftovers harmless.


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
