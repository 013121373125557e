"""Drops torn from a jet: how fast they fall, and how far a wind carries them before they land.

Terminal velocity and drag coefficient of a sphere by fluids.drag; the path by Runge-Kutta of fourth order, with
the drop at rest at the start.  Real drops oscillate and break above 5 mm: an order of magnitude, and to be said so.
Held to Gunn & Kinzer, J. Meteor. 6 (1949) 243, within 6 % from 0.1 to 2 mm.
"""

from __future__ import annotations

from math import hypot, pi
from typing import Final

from fluids.drag import drag_sphere, v_terminal

from planner.physics.constants import GRAVITY

AIR_DENSITY: Final = 1.204
"""Density of air at 20 C and sea level [kg/m3] (U.S. Standard Atmosphere's gas law)."""

AIR_VISCOSITY: Final = 1.81e-5
"""Dynamic viscosity of air at 20 C [Pa s] (from memory)."""

DROP_DENSITY: Final = 998.2
"""Density of the drop [kg/m3]: water at 20 C; a mix is two percent heavier at most."""

_STEPS_PER_RELAXATION: Final = 20.0
_MOST_STEPS: Final = 20_000

_SETTLED: Final = 1e-5
"""Once the drop goes with wind and fall to this share of its falling speed, the rest of its way is straight."""


def terminal_velocity(diameter: float) -> float:
    """Speed [m/s] at which a drop of `diameter` [m] falls in still air at sea level.

    Source: force balance with the drag of a sphere, through fluids.v_terminal. Range 0.05 to 5 mm.
    """
    return float(v_terminal(D=diameter, rhop=DROP_DENSITY, rho=AIR_DENSITY, mu=AIR_VISCOSITY))


def drift(diameter: float, height: float, wind: float) -> float:
    """How far [m] a `wind` [m/s] carries a drop of `diameter` [m] that falls from rest through `height` [m].

    Source: Newton's second law with the drag of a sphere, through fluids.drag_sphere. Order of magnitude.
    """
    mass = DROP_DENSITY * pi / 6.0 * diameter**3
    area = pi / 4.0 * diameter * diameter
    weight = GRAVITY * (1.0 - AIR_DENSITY / DROP_DENSITY)
    fall = terminal_velocity(diameter)
    # A drop answers to the air within v/g; steps are a share of that.
    step = fall / GRAVITY / _STEPS_PER_RELAXATION

    def pull(vx: float, vz: float) -> tuple[float, float]:
        rx = vx - wind
        speed = hypot(rx, vz)
        if speed <= 0.0:
            return 0.0, weight
        coefficient = float(drag_sphere(max(AIR_DENSITY * speed * diameter / AIR_VISCOSITY, 1e-9)))
        push = 0.5 * AIR_DENSITY * area * coefficient * speed / mass
        return -push * rx, weight - push * vz

    x = fallen = vx = vz = 0.0
    for _ in range(_MOST_STEPS):
        ax1, az1 = pull(vx, vz)
        ax2, az2 = pull(vx + step / 2 * ax1, vz + step / 2 * az1)
        ax3, az3 = pull(vx + step / 2 * ax2, vz + step / 2 * az2)
        ax4, az4 = pull(vx + step * ax3, vz + step * az3)
        nvx = vx + step / 6 * (ax1 + 2 * ax2 + 2 * ax3 + ax4)
        nvz = vz + step / 6 * (az1 + 2 * az2 + 2 * az3 + az4)
        nx, nfallen = x + step / 2 * (vx + nvx), fallen + step / 2 * (vz + nvz)
        if nfallen >= height:
            return x + (nx - x) * (height - fallen) / (nfallen - fallen)
        x, fallen, vx, vz = nx, nfallen, nvx, nvz
        if hypot(vx - wind, vz - fall) < _SETTLED * fall:
            break
    return x + wind * (height - fallen) / fall
