"""A metered panel as its legs: water, stock and soap through their valves into the inlet of one pump.

Every leg falls from its tank's surface to the manifold and loses with its flow squared, a thin tube of thick soap also
with its flow; what the pump pulls is one vacuum at the manifold.  So as the water tank falls, stock comes in more
strongly, the more the less the panel loses.  Source: the energy equation along each leg, derived here; a leg's loss is
constant in turbulent flow (from a Reynolds number of about 1e4 up, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

from fluids.numerics import brenth

_STILL: Final = 1e-9
"""Flows under this share of the pump's are none."""


class NoPanel(ValueError):
    """Two bucket tests that no panel can have given, or that lie too close together to tell."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelTest:
    """A bucket test at one dial: `water` and `stock` [m3/s] drawn, and the `heads` [Pa] of water and stock then."""

    water: float
    stock: float
    heads: tuple[float, float]

    @property
    def lead(self) -> float:
        """Head of the stock over that of the water [Pa]."""
        return self.heads[1] - self.heads[0]


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


def share(*, beta: float, delta: float) -> float:
    """Share of stock [-] in the flow of two turbulent legs: beta = sqrt(Rw/Rs), delta = D/(Rw Q2).

    1 - x = (1 - beta sqrt(1 + (1 - beta2) delta)) / (1 - beta2).  Source: the module.  0 where the stock's surface
    stands too low to draw, 1 where it alone is drawn.  Raises ValueError for a beta below 0.
    """
    if beta < 0.0:
        raise ValueError(f"a panel's leg of {beta}")
    if delta <= -1.0 or beta == 0.0:
        return 0.0
    if beta**2 * delta >= 1.0:
        return 1.0
    if abs(1.0 - beta) < 1e-7:
        return min(max((1.0 + delta) / 2.0, 0.0), 1.0)
    other = 1.0 - beta**2
    return min(max(1.0 - (1.0 - beta * sqrt(1.0 + other * delta)) / other, 0.0), 1.0)


def beta_for(wanted: float, delta: float) -> float:
    """The leg's beta [-] that draws the share `wanted` [-] at `delta` [-], the other way round of `share`.

    Q_s2 Rs = Rw Q_w2 + D, so beta = x / sqrt((1 - x)2 + delta).  Source: the module.  Raises ValueError where no
    setting draws so much: the water alone pulls less than the stock's surface stands below.
    """
    pull = (1.0 - wanted) ** 2 + delta
    if not 0.0 <= wanted <= 1.0 or pull <= 0.0:
        raise ValueError(f"no setting draws {wanted} at {delta}")
    return wanted / sqrt(pull)


def water_leg(first: PanelTest, second: PanelTest, *, least: float) -> float:
    """Loss of the water leg [Pa s2/m6] from two tests of one dial, whose leads differ by at least `least` [Pa].

    Rw = (D2 Qs1^2 - D1 Qs2^2) / (Qw1^2 Qs2^2 - Qw2^2 Qs1^2).  Source: the module, exact.  Raises NoPanel where the
    levels lie too close together, or the tests want a leg that gains.
    """
    if abs(second.lead - first.lead) < least:
        raise NoPanel("levels too close together")
    below = (first.water * second.stock) ** 2 - (second.water * first.stock) ** 2
    above = second.lead * first.stock**2 - first.lead * second.stock**2
    if below == 0.0 or above / below <= 0.0:
        raise NoPanel("no panel draws so")
    loss = above / below
    stock_leg(first, loss)
    return loss


def water_leg_by_gauge(test: PanelTest, vacuum: float) -> float:
    """Loss of the water leg [Pa s2/m6] from one test and the `vacuum` [Pa] on a gauge at the manifold.

    Rw = (V + head) / Qw^2.  Source: the module.  Raises NoPanel for a vacuum that draws no water.
    """
    pull = vacuum + test.heads[0]
    if pull <= 0.0 or test.water <= 0.0:
        raise NoPanel("no panel draws so")
    return pull / test.water**2


def stock_leg(test: PanelTest, water: float) -> float:
    """Loss of the stock leg [Pa s2/m6] at the dial of `test`, from that of the `water` leg [Pa s2/m6].

    Rs = (Rw Qw^2 + D) / Qs^2, with the same vacuum on both.  Source: the module.  Raises NoPanel for a test
    without stock, or one that wants a leg that gains.
    """
    pull = water * test.water**2 + test.lead
    if pull <= 0.0 or test.stock <= 0.0:
        raise NoPanel("no panel draws so")
    return pull / test.stock**2


def of_density(loss: float, tested: float, drawn_now: float) -> float:
    """A leg's `loss` [Pa s2/m6] found with a liquid of density `tested` [kg/m3], for one of `drawn_now` [kg/m3].

    R ~ rho.  Source: the module.
    """
    return loss * drawn_now / tested
