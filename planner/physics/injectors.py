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

        P ~ Q^2.  Source: the module.
        """
        if tested_flow is None:
            return self
        share = (flow / tested_flow) ** 2
        return BackPressure(full=self.full * share, limit=self.limit * share)


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
