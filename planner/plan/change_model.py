"""What the plan says of a change of chemistry: which parts are flushed before a mix, with how much, where it goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

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
