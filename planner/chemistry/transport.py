"""What stock weighs on the road, and what the rules on small quantities and spills count of it.

Rules (label, safety data sheet and local code decide): 49 CFR 173.6 counts gross mass, container and all, and the
size of each package; 40 CFR 302.4 counts the pure substance, which for bleach is NaOCl and not its available chlorine.
Strengths are kg/m3 of the active as sold: available chlorine, HCl, NaOH.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import ceil
from typing import Final

from planner.chemistry.acids import density as acid_density
from planner.chemistry.acids import mass_fraction_of_strength
from planner.chemistry.constants import MARGIN, WATER_AT_ROOM
from planner.chemistry.hypochlorite import NAOCL_PER_CL2, USUAL_CAUSTIC
from planner.chemistry.hypochlorite import density as bleach_density

CAUSTIC_DENSITY: Final = (
    (0.0, 998.2), (52.7, 1053.2), (110.9, 1108.5), (243.7, 1218.7), (397.7, 1325.7), (570.4, 1426.0), (758.2, 1516.3),
)  # fmt: skip
"""NaOH [kg/m3] and density [kg/m3] of its solutions at 20 C, 0 to 50 wt % (Laliberte, J. Chem. Eng. Data 54 (2009)
1725, worked out once); straight between them, within 0.5 %."""


def density(chemical: str, strength: float, excess_caustic: float = USUAL_CAUSTIC) -> float | None:
    """Density [kg/m3] at 20 C of liquid `chemical` of `strength` [kg/m3]; None where nothing is known of it.

    `excess_caustic` [kg/kg] is bleach's own. Aged bleach weighs what it weighed when made: give its strength then.
    Source: hypochlorite.density, acids.density, CAUSTIC_DENSITY. Valid to 160 g/L Cl2, 0.40 kg/kg HCl, 758 g/L NaOH.
    Raises ValueError below 0.
    """
    if not strength >= 0.0:
        raise ValueError(f"{strength} is not a strength: it must be 0 or more")
    if chemical == "hypochlorite":
        return bleach_density(strength, excess_caustic)
    if chemical == "muriatic":
        try:
            return acid_density(mass_fraction_of_strength(strength))
        except ValueError:
            return None
    if chemical == "caustic":
        return _between(CAUSTIC_DENSITY, strength)
    return None


def _between(points: Sequence[tuple[float, float]], at: float) -> float | None:
    for (left, low), (right, high) in pairwise(points):
        if left <= at <= right:
            return low + (high - low) * (at - left) / (right - left)
    return None


def counted(chemical: str, active: float) -> float:
    """Mass [kg] that a reportable quantity counts in `active` [kg] of `chemical` as sold.

    NaOCl for available chlorine (x 1.04987, molar masses), anything else as it is. Source: 40 CFR 302.4, from memory.
    """
    return NAOCL_PER_CL2 * active if chemical == "hypochlorite" else active


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
