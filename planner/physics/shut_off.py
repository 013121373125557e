"""A pump that runs with its gun closed: what it takes from the shaft warms the liquid that stands in it.

m cp dT/dt = P, nothing given off to the case or the air (adiabatic balance): the shortest time there is.
"""

from __future__ import annotations

from typing import Final

from planner.physics.constants import GRAVITY
from planner.physics.pumps import HeadPump

HEAT_CAPACITY: Final = 4185.0
"""Specific heat capacity of water at 20 C [J/(kg K)] (IAPWS-IF97); 4179 to 4218 between 0 and 60 C."""

_STEPS: Final = 60


def heating_time(power: float, volume: float, density: float, start: float, end: float) -> float:
    """Time [s] in which `power` [W] warms `volume` [m3] of a liquid of `density` [kg/m3] from `start` to `end` [K].

    0 where it is as warm already. Raises ValueError where no power goes in.
    Source: adiabatic balance, t = rho V cp (T2 - T1) / P.
    """
    if power <= 0.0:
        raise ValueError("without power nothing is warmed")
    return max(density * volume * HEAT_CAPACITY * (end - start) / power, 0.0)


def best_power(pump: HeadPump, density: float) -> float:
    """The most power [W] a pump gives to a liquid of `density` [kg/m3] anywhere on its measured curve.

    Source: definition of hydraulic power, rho g Q H.
    """
    flows = [pump.last_flow * n / _STEPS for n in range(_STEPS + 1)]
    return density * GRAVITY * max(flow * max(pump.curve(flow), 0.0) for flow in flows)
