"""Where the water comes from: a tank or pond stands still, a tap gives less pressure the more it gives.

Tap: Q = Qf ((Ps - P) / (Ps - Pr))^0.54, the form of NFPA 291 for flow tests; on a real main such
tests scatter by a quarter.
"""

from __future__ import annotations

from typing import Final

from planner.frozen import dataclass

FLOW_TEST_EXPONENT: Final = 0.54
"""Exponent of the flow-test relation (NFPA 291)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tap:
    """A tap or hydrant at the rig's ground: `static` and `residual` [Pa], `test_flow` [m3/s].

    Without a test (`test_flow` None) the static pressure is taken as constant.
    """

    static: float
    residual: float | None = None
    test_flow: float | None = None

    def pressure(self, flow: float) -> float:
        """Pressure left [Pa] while `flow` [m3/s] is drawn; negative where the tap cannot give it."""
        if self.test_flow is None or self.residual is None or flow <= 0.0:
            return self.static
        drop = (self.static - self.residual) * (flow / self.test_flow) ** (1.0 / FLOW_TEST_EXPONENT)
        return float(self.static - drop)

    def flow(self, pressure: float) -> float | None:
        """Flow [m3/s] at which `pressure` [Pa] is left; None where the tap was never tested."""
        if self.test_flow is None or self.residual is None:
            return None
        share = (self.static - pressure) / (self.static - self.residual)
        return float(self.test_flow * max(share, 0.0) ** FLOW_TEST_EXPONENT)
