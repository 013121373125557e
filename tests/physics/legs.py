"""A panel leg by leg, by a root of its own: what the closed forms of physics/metering.py are held against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

from fluids.numerics import brenth

_STILL: Final = 1e-9
"""Flows under this share of the pump's are none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One leg: `loss` [Pa s2/m6] at its setting, `laminar` [Pa s/m3] of a thin tube, `head` [Pa] of its tank's surface
    over the manifold (density, gravity and height), `opens` [Pa] what its check valve wants before it lets through."""

    loss: float
    head: float
    laminar: float = 0.0
    opens: float = 0.0

    def flow(self, vacuum: float) -> float:
        """What it gives [m3/s] at `vacuum` [Pa] in the manifold; none where its check valve is shut."""
        drive = vacuum + self.head - self.opens
        if drive <= 0.0:
            return 0.0
        return 2.0 * drive / (self.laminar + sqrt(self.laminar**2 + 4.0 * self.loss * drive))


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """`vacuum` [Pa] at the manifold, and the flow [m3/s] of every leg in order."""

    vacuum: float
    flows: tuple[float, ...]


def drawn(legs: Sequence[Leg], flow: float) -> Drawn:
    """What each of `legs` gives of the pump's `flow` [m3/s].

    sum Q_i(V) = Q, strictly rising in V.  Source: the module.  Raises ValueError for no leg, a leg without loss, or no
    flow.
    """
    if not legs or flow <= 0.0 or any(leg.loss <= 0.0 or leg.laminar < 0.0 for leg in legs):
        raise ValueError(f"no panel of {len(legs)} legs at {flow} m3/s")
    low = min(leg.opens - leg.head for leg in legs)
    high = min(leg.opens - leg.head + leg.loss * flow**2 + leg.laminar * flow for leg in legs)
    high += 1.0 + 1e-9 * abs(high)  # one leg alone may give all of it, to the last digit
    vacuum = brenth(lambda v: sum(leg.flow(v) for leg in legs) - flow, low, high, xtol=1e-9, rtol=1e-13)
    flows = tuple(leg.flow(vacuum) for leg in legs)
    return Drawn(vacuum=vacuum, flows=tuple(one if one > _STILL * flow else 0.0 for one in flows))
