"""Water hammer: what a gun that snaps shut puts on top of the pressure that stands in the hose.

dP = rho a dV (Joukowsky 1898), with the wave's speed a = c0 / sqrt(1 + K D / (E t)), c0 = sqrt(K / rho)
(Korteweg 1878).  It holds where the gun shuts before the wave is back from the pump, that is within 2 L / a; a slower
hand makes less of it.  The formula is that of a thin elastic wall and a hose's is neither: an order of magnitude.
"""

from __future__ import annotations

from math import sqrt
from typing import Final

BULK_MODULUS: Final = 2.19e9
"""Bulk modulus of water at 20 C [Pa]: density times the square of the speed of sound, both by IAPWS-IF97.
It runs from 1.97 to 2.33 GPa between 0 and 40 C; in a soft hose the wall decides, not the water."""


def wave_speed(wall_to_bore: float, modulus: float, density: float) -> float:
    """Speed of a pressure wave [m/s] in a hose full of liquid of `density` [kg/m3].

    `wall_to_bore` [-] is the wall's thickness over the bore, `modulus` [Pa] Young's modulus of the wall.
    Source: Korteweg's formula, a = c0 / sqrt(1 + K D / (E t)).
    """
    return sqrt(BULK_MODULUS / density / (1.0 + BULK_MODULUS / (modulus * wall_to_bore)))


def surge(density: float, speed: float, change: float) -> float:
    """Rise of pressure [Pa] where a flow loses `change` [m/s] at once; `density` [kg/m3], wave `speed` [m/s].

    Source: Joukowsky, dP = rho a dV.
    """
    return density * speed * change
