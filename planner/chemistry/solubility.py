"""How much of a dry chemical water takes up, by its temperature.

Solubility is counted the way it is mixed: kg of what is sold, crystal water and all, in a cubic metre of plain water
(g in a litre).  Rows are read by straight lines; colder or warmer than the rows, the nearest one holds.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import Final

from planner.chemistry.constants import ZERO_CELSIUS

NEAR_SATURATION: Final = 0.9
"""Above this share of what dissolves, crystals are stirred for a long time (common practice, no source)."""


def solubility(rows: Sequence[tuple[float, float]], temperature: float) -> float:
    """The most that dissolves [kg per m3 of water] at `temperature` [K].

    `rows` are pairs (C, g in a litre of water) by rising temperature. Source: the rows' own; straight lines between,
    the end rows beyond. Raises ValueError for no row.
    """
    if not rows:
        raise ValueError("no solubility is known")
    celsius = temperature - ZERO_CELSIUS
    at = bisect_right(rows, celsius, key=lambda row: row[0])
    if at in (0, len(rows)):
        return rows[0 if at == 0 else -1][1]
    (cold, less), (warm, more) = rows[at - 1], rows[at]
    return less + (more - less) * (celsius - cold) / (warm - cold)


def hydrate(anhydrous: float, mass_fraction: float) -> float:
    """Solubility of a hydrate [kg per m3 of water] from that of its `anhydrous` substance [kg per m3 of water].

    A kg of crystals holds `mass_fraction` [kg/kg] of it and brings its own water: m = s / (x - s (1 - x) / rho), with
    rho 1000 kg/m3. Source: mass balance. Raises ValueError where the crystals dissolve in their own water.
    """
    room = mass_fraction - anhydrous / 1000.0 * (1.0 - mass_fraction)
    if not room > 0.0:
        raise ValueError(f"{anhydrous} kg/m3 of a hydrate of {mass_fraction}: it dissolves in its own water")
    return anhydrous / room
