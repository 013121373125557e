"""An injector's back pressure: up to where it draws all it can, and from where it draws nothing.

One-dimensional jet pump: nozzle, throat and diffuser, momentum and energy.  Both pressures, and what the injector
costs, go with the square of the flow through its nozzle.  Source: derived from the balances of momentum and energy,
the form of Cunningham's theory of the liquid jet pump (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass


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


def drawn_share(back: BackPressure, pressure: float) -> float:
    """Share [-] of its full draw that an injector still takes with `pressure` [Pa gauge] behind it.

    1 up to `full`, none from `limit` on, a straight line between, which lies under the theory by at most 0.07.
    Source: the module.
    """
    if pressure <= back.full:
        return 1.0
    return max((back.limit - pressure) / (back.limit - back.full), 0.0)


def ratio_at(*, tested: float, tested_flow: float, flow: float, suction: float = 1.0, drawn: float = 1.0) -> float:
    """Parts of water to one of stock [m3/m3] at `flow` [m3/s], `tested` at `tested_flow` [m3/s].

    A choked injector draws the same stock whatever the flow through it, so the ratio goes with the flow; `suction` [-]
    is what lift and air leave of its draw (suction_draw), `drawn` [-] what the back pressure does (drawn_share).
    Source: the module.  Raises ValueError for one that draws nothing.
    """
    if drawn * suction <= 0.0 or min(tested, tested_flow, flow) <= 0.0:
        raise ValueError("an injector that draws nothing has no ratio")
    return tested * flow / tested_flow / (suction * drawn)


def suction_draw(*, air: float, vapour: float, lift: float, tested_air: float, tested_lift: float) -> float:
    """What another lift or air leaves of a choked injector's draw [-]: sqrt of what pushes the stock, now and then.

    `air` and `vapour` [Pa absolute], `lift` [Pa] the stock's weight from its surface up with the check valve's spring.
    Source: the module.  0 where nothing is left to push.  Raises ValueError for a test that could not have drawn.
    """
    then = tested_air - vapour - tested_lift
    if then <= 0.0:
        raise ValueError(f"nothing was drawn at a lift of {tested_lift} Pa")
    return float((max(air - vapour - lift, 0.0) / then) ** 0.5)
