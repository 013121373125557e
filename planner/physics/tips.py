"""Tips: what an orifice passes at a head, and how hard it pushes back.

A smooth bore passes Q = Cd A sqrt(2 g H).  A rated tip passes its stated flow at its stated head of water.
Published square-law constants: 29.7 (IFSTA), 29.84 (NFPA 291) gpm per in2 sqrt(psi) for Cd 1.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Final

from planner.physics.hoses import area
from planner.physics.liquids import GRAVITY, REFERENCE_DENSITY

_SIZE_FLOW: Final = 231 * 0.0254**3 / 60
_SIZE_PRESSURE: Final = 4000 * 6894.757293168
"""Trade sizes: one US gallon a minute for each number, at 4000 psi."""


def bore_coefficient(orifice: float, discharge_coefficient: float) -> float:
    """Flow per root of head [m3/s per m^0.5] of a smooth bore: `orifice` [m], `discharge_coefficient` [-]."""
    return discharge_coefficient * area(orifice) * sqrt(2.0 * GRAVITY)


def rated_coefficient(flow: float, pressure: float) -> float:
    """Flow per root of head [m3/s per m^0.5] of a tip rated at `flow` [m3/s] and `pressure` [Pa] on water."""
    return flow / sqrt(pressure / (REFERENCE_DENSITY * GRAVITY))


def sized_coefficient(size: float) -> float:
    """Flow per root of head [m3/s per m^0.5] of a tip by its trade size [-].

    Source: common practice, several printed tables: size N passes N gpm at 4000 psi.
    """
    return rated_coefficient(size * _SIZE_FLOW, _SIZE_PRESSURE)


def equivalent_orifice(coefficient: float, discharge_coefficient: float) -> float:
    """Diameter [m] of the smooth bore that passes what the tip passes; `coefficient` [m3/s per m^0.5]."""
    return sqrt(4.0 * coefficient / (pi * discharge_coefficient * sqrt(2.0 * GRAVITY)))


def flow(coefficient: float, head: float) -> float:
    """Flow [m3/s] at `head` [m] at the tip; none below zero head."""
    return coefficient * sqrt(head) if head > 0.0 else 0.0


def head(coefficient: float, flow: float) -> float:
    """Head at the tip [m] that passes `flow` [m3/s]."""
    return (flow / coefficient) ** 2


def jet_velocity(head: float) -> float:
    """Velocity [m/s] with which the jet leaves, sqrt(2 g H); `head` [m]. Source: Torricelli."""
    return sqrt(2.0 * GRAVITY * head) if head > 0.0 else 0.0


def reaction(density: float, flow: float, velocity: float) -> float:
    """Push [N] of the jet on the gun: rho Q v; `density` [kg/m3], `flow` [m3/s], `velocity` [m/s].

    Source: momentum; published as NR = 1.57 d^2 P in lbf, in and psi.
    """
    return density * flow * velocity
