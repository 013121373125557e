"""Suction: what is left to push liquid into the pump before it boils.

NPSH available = (Pa - Pv)/(rho g) + z - hf; with the gauge total head at the inlet known this is
(Pa + p - Pv)/(rho g).  Source: the definition in any pump standard (ISO 17769-1).
"""

from __future__ import annotations

from planner.physics.constants import GRAVITY


def npsh_available(atmosphere: float, inlet_pressure: float, vapour_pressure: float, density: float) -> float:
    """Net positive suction head available [m].

    `atmosphere`, `vapour_pressure` [Pa absolute]; `inlet_pressure` [Pa gauge, total, at the pump's own
    height, losses taken off]; `density` [kg/m3].
    """
    return (atmosphere + inlet_pressure - vapour_pressure) / (density * GRAVITY)
