"""What the plan says of supply over time: what is done when, what it draws from where, what stands in each tank.

All times are seconds from the start of the work: the end of set-up, when the first water is drawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

TAP = "tap"
POND = "pond"
NOWHERE = ""
"""Where water comes from that no tank of the rig gives; NOWHERE: the plan knows of no water."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """One step of the work, `seconds` long: `draws` [m3] by source that anybody takes meanwhile.

    `about` is the surface or, for a mix, its run. `mix_on`: mix stands on a wall, or is just being put there.
    """

    what: str
    about: str
    start: float
    seconds: float
    draws: Mapping[str, float]
    mix_on: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Dry:
    """A tank that does not last: `at` [s], in which phase, `short` [m3] by the job's end.

    `mix_on`: it is also short while mix stands on a wall. `wait` [s] for the tap to make up for it, None without a
    tap. `full_lasts`: it would last if it were full at the start, `room` [m3] fuller, `fills` [s] at the tap.
    """

    at: float
    what: str
    about: str
    short: float
    mix_on: bool
    wait: float | None
    full_lasts: bool
    room: float
    fills: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TankLevel:
    """One tank over the job. `points` are (s, m3), straight lines between them; `start` [m3] stood at arrival.

    `wanted` is what the job draws from it and `supplied` what the tap gives it [m3]; `fills` are the times (from, to)
    [s] in which water runs in. `alone` [s] is when it would be dry with no tap at all, None: never. `trips` with a
    full tank make up for `dry` where no tap fills it. `waited`: the acts wait for the tap, and it lasts.
    """

    name: str
    mix: bool
    volume: float
    dead_volume: float
    start: float
    end: float
    points: tuple[tuple[float, float], ...]
    lowest: float
    lowest_at: float
    wanted: float
    drawn: float
    supplied: float
    fills: tuple[tuple[float, float], ...]
    fill_flow: float | None
    alone: float | None
    dry: Dry | None
    trips: int | None
    waited: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TapShort:
    """A run that asks more of the tap than it gives, from `at` [s] on."""

    run: str
    at: float
    what: str
    about: str
    mix_on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TapOwed:
    """The tap is asked for more than it gives, beds and all: `wanted` and `gives` [m3] in the times where that is so.

    `at` [s] is the first of them, `what` is done in it; `mix_on`: mix stands on a wall in one of them. `wait` [s] is
    what the tap would need for the rest.
    """

    at: float
    what: str
    about: str
    wanted: float
    gives: float
    mix_on: bool
    wait: float

    @property
    def short(self) -> float:
        """What is wanted over what it gives [m3]."""
        return self.wanted - self.gives


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyPlan:
    """Will the water last? `tanks` that water is drawn from, the most drawn first, then `mix_tanks`.

    The work starts `begins` [s] after arrival. `pour` [m3/s] is how fast a mix tank is filled. `assumed`: the tap was
    never tested and an ordinary one is taken. `nowhere` [m3] is wanted with neither tap nor tank to give it.
    """

    begins: float
    phases: tuple[Phase, ...]
    tanks: tuple[TankLevel, ...]
    mix_tanks: tuple[TankLevel, ...]
    pour: float
    assumed: bool
    nowhere: float
    tap_short: tuple[TapShort, ...]
    tap_owed: TapOwed | None = None

    @property
    def main(self) -> TankLevel | None:
        """The water tank that is drawn on most."""
        return self.tanks[0] if self.tanks else None

    @property
    def dry_at(self) -> float | None:
        """When water first fails [s]: a tank dry, or a tap that cannot give what a run draws; None: never."""
        times = [tank.dry.at for tank in self.tanks if tank.dry is not None]
        return min([*times, *(one.at for one in self.tap_short)], default=None)

    @property
    def ends(self) -> float:
        """When the rig drives off [s]."""
        return self.phases[-1].start + self.phases[-1].seconds if self.phases else 0.0
