"""Figures of what wears line and pump, and of what the wind carries off: frozen, in SI."""

from __future__ import annotations

from typing import Literal

from planner.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Surge:
    """What a gun that snaps shut adds in `hose` [Pa]: between `low` and `high` by what is assumed of its wall.

    `nominal` is their geometric mean, `velocity` m/s what is stopped, `speed` m/s that of the wave at nominal.
    """

    hose: str
    velocity: float
    speed: float
    low: float
    nominal: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoseSpeed:
    """How fast the water goes in one hose [m/s]; `side` is that of the pump, `high_pressure` hose made for it."""

    hose: str
    velocity: float
    side: Literal["suction", "pressure"]
    high_pressure: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ShutOff:
    """How long [s] a pump with its gun closed takes to warm what stands in it to the limit.

    `power` W goes into `volume` m3, which stands at `start` K; `known_by` says where the power is taken from.
    """

    seconds: float
    power: float
    volume: float
    start: float
    end: float
    known_by: Literal["motor", "curve"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """How far [m] the forecast's wind carries drops of one size [m] from a run's highest target.

    `reaches` names what is written as near and stands within, by its key in the job.
    """

    run: str
    droplet: float
    carried: float
    reaches: tuple[str, ...]
