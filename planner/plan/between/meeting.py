"""What the plan says of two things that meet: where, what comes of it, and what a planned flush takes out in time."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from planner.chemistry.reactions import Answer
from planner.frozen import dataclass
from planner.plan.between.matrix import Gas, gas_of
from planner.plan.between.sites import OnWall
from planner.plan.mix.model import MixPlan

Cleared = Mapping[str, frozenset[str]]
"""Tanks and parts of a line with the chemicals that a planned flush takes out of them."""

Kind = Literal[
    "heel", "feed", "pump", "part", "rinse", "rinse_kept", "wall", "line", "runoff", "wall_before", "site_before",
    "site_today", "site_near",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """`first` is there when `second` comes: at `place`, as `answer` says, with so much active [kg] of each.

    None mass: nobody knows, or there is no end to it. `cleared`: a planned flush takes the first out in time.
    `surfaces` are shared walls, `before` what a wall bore, `mix` and `other` the mixes of this job that meet; None
    where only its water does. `run` is the run whose water it is, `address` that of a site that may be this one.
    """

    kind: Kind
    place: str
    first: str
    second: str
    answer: Answer
    first_mass: float | None
    second_mass: float | None
    mix: MixPlan | None
    other: MixPlan | None = None
    surfaces: tuple[str, ...] = ()
    before: OnWall | None = None
    cleared: bool = False
    run: str = ""
    address: str = ""

    @property
    def gas(self) -> Gas | None:
        """The most gas these amounts could give; None where none comes of it, or nobody knows how much.

        What pores keep of an earlier mix is a small part of it that nobody knows.
        """
        if self.kind in ("wall_before", "site_before"):
            return None
        return gas_of(self.first, self.first_mass, self.second, self.second_mass)
