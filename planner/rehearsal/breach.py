"""A breach of a rule: which rule, at which act, and what stood how, in plain words with figures."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from planner.frozen import dataclass
from planner.units import show
from planner.units.table import System

Rule = Literal["clean", "order", "section", "meet", "pump", "balance", "people", "end", "paper"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """`act` is an act's id, empty where it is none's."""

    rule: str
    act: str
    state: str


@dataclass(slots=True)
class Log:
    """The breaches found so far, each once; it says figures in the reader's units."""

    units: System
    found: dict[Breach, None] = field(default_factory=dict)

    def add(self, rule: Rule, act: str, state: str) -> None:
        """A breach."""
        self.found.setdefault(Breach(rule=rule, act=act, state=state))

    def volume(self, amount: float) -> str:
        """A volume [m3]."""
        return show(amount, "volume", self.units, digits=4)

    def mass(self, amount: float) -> str:
        """A mass [kg]."""
        return show(amount, "mass", self.units, digits=4)

    def strength(self, amount: float) -> str:
        """A strength [kg/m3] in percent of weight by volume, as the trade says it."""
        return f"{amount / 10.0:.3g} %"

    def flow(self, amount: float) -> str:
        """A flow [m3/s]."""
        return show(amount, "flow", self.units, digits=4)

    def time(self, seconds: float) -> str:
        """A time [s], to the tenth."""
        return f"{seconds:,.1f} s"
