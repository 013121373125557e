"""What dries on a wall, and how often it is wetted again: frozen, in SI."""

from __future__ import annotations

from planner.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Dries:
    """How long a film of mix stays wet on a surface [s], `low` to `high`, in so much `sun` [W/m2].

    `supposed`: nobody wrote how humid the air is, or how warm it gets, and it is taken as dry and hot. `shade`: the
    longest time of the day's light [s from midnight] in which the surface is in the shade of its own building; None
    where there is none, or nobody knows.
    """

    nominal: float
    low: float
    high: float
    sun: float
    supposed: bool = False
    shade: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mists:
    """A surface that is wetted again with its mix: so many times in all, no longer than `every` [s] apart."""

    count: int
    every: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedSides:
    """The `order` of a job's walls where it is not the one written, because mix stays wet longer so on `wall`.

    There a film stays wet `low` [s] at worst, in the order written `written`. It is worked `sooner` than as written, or
    later. `shade` [s from midnight]: that it is worked in; None where it is not.
    """

    order: tuple[str, ...]
    wall: str
    low: float
    written: float
    sooner: bool
    shade: tuple[float, float] | None
