"""How stock gets into the water: a panel before the pump, an injector after it.

A panel. Both its legs, water and stock through their valves into one pump's inlet, fall from their tank's surface to
the manifold and lose with their flow squared; what the pump pulls is one vacuum at the manifold.  So as the water
tank falls, stock comes in more strongly, the more the less the panel loses.  Source: the energy equation along each
leg, derived here; a leg's loss is constant in turbulent flow (from a Reynolds number of about 1e4 up, from memory).

An injector, up to where it draws all it can and from where nothing. One-dimensional jet pump: nozzle, throat and
diffuser, momentum and energy.  Both pressures, and what the injector costs, go with the square of the flow through
its nozzle.  Source: derived from the balances of momentum and energy, the form of Cunningham's theory of the liquid
jet pump (from memory).
"""

from __future__ import annotations

from math import sqrt

from planner.frozen import dataclass


class NoPanel(ValueError):
    """Two bucket tests that no panel can have given, or that lie too close together to tell."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class BackPressure:
    """What stands behind an injector [Pa gauge]: it draws fully up to `full`, from `limit` on nothing."""

    full: float
    limit: float

    def at(self, flow: float, tested_flow: float | None) -> BackPressure:
        """The same at `flow` [m3/s], known at `tested_flow` [m3/s]; as it is where that is not known.

        P ~ Q^2 where it stops; where it is full also no closer to that than as tested: a choked draw takes more of
        a smaller flow.  Source: the module.
        """
        if tested_flow is None:
            return self
        share = (flow / tested_flow) ** 2
        limit = self.limit * share
        full = min(self.full * share, limit - (self.limit - self.full))
        return BackPressure(full=max(full, 0.0), limit=limit)


def back_pressure(
    *, limit: float | None, full: float | None, loss: float | None, limit_of_loss: float, below: float
) -> BackPressure | None:
    """Back pressure at one flow from what is known of it: `limit`, `full` and the injector's `loss` [Pa] there.

    Full draw ends `below` [Pa] under the limit, where only one of the two was measured.  Where neither was, the limit
    is `limit_of_loss` [-] times the loss: a throat twice the nozzle's area.  None where nothing is known.
    """
    if limit is None and full is not None:
        limit = full + below
    if limit is None and loss is not None:
        limit = limit_of_loss * loss
    if limit is None:
        return None
    return BackPressure(full=max(full if full is not None else limit - below, 0.0), limit=limit)


def ratio_at(*, tested: float, tested_flow: float, flow: float) -> float:
    """Parts of water to one of stock [m3/m3] at `flow` [m3/s], `tested` at `tested_flow` [m3/s].

    A choked injector draws the same stock whatever the flow through it, so the ratio goes with the flow.
    Source: the module.  Raises ValueError for what is no ratio or no flow.
    """
    if min(tested, tested_flow, flow) <= 0.0:
        raise ValueError(f"no ratio of {tested} at {tested_flow} m3/s for {flow}")
    return tested * flow / tested_flow
