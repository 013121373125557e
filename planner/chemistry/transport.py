"""What stock weighs on the road, and what the rules on small quantities and spills count of it.

Rules (label, safety data sheet and local code decide): 49 CFR 173.6 counts gross mass, container and all, and the
size of each package; 40 CFR 302.4 counts the pure substance, which for bleach is NaOCl and not its available chlorine.
Strengths are kg/m3 of the active as sold: available chlorine, HCl, NaOH.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from planner.chemistry.constants import MARGIN, WATER_AT_ROOM


def containers(volume: float, holds: float) -> int:
    """How many containers of `holds` [m3] carry `volume` [m3]; one for nothing. Source: arithmetic.

    Raises ValueError where a container holds nothing.
    """
    if not holds > 0.0:
        raise ValueError("a container holds something")
    return max(ceil(volume / holds * (1.0 - MARGIN)), 1)


def tare(holds: float, rows: Sequence[tuple[float, float]]) -> float:
    """Weight [kg] of an empty container that `holds` so much [m3], by `rows` (m3, kg) rising.

    Source: the rows'. One larger than all of them weighs what the largest does. Raises ValueError for no rows.
    """
    if not rows:
        raise ValueError("no container is known")
    return next((mass for most, mass in rows if holds <= most * (1.0 + MARGIN)), rows[-1][1])


def water_less(too_much: float, water_density: float = WATER_AT_ROOM) -> float:
    """Water [m3] to leave out to be lighter by `too_much` [kg]; `water_density` [kg/m3]. Source: m / rho."""
    return max(too_much, 0.0) / water_density
