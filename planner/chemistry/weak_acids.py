"""Oxalic and citric acid: crystals weighed into water.

Their strength is the mass of crystals as sold per volume of mix.  Densities at 20 C: CRC Handbook,
concentrative properties of aqueous solutions, as quoted by an engineering reference page.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from planner.chemistry.constants import OXALIC, OXALIC_DIHYDRATE, WATER_AT_ROOM

WeakAcid = Literal["oxalic", "citric"]

DENSITY_BY_FRACTION: Final[dict[WeakAcid, tuple[tuple[float, float], ...]]] = {
    "oxalic": ((0.0, WATER_AT_ROOM), (0.01, 1003.0), (0.05, 1022.0)),
    "citric": ((0.0, WATER_AT_ROOM), (0.01, 1002.2), (0.05, 1018.9), (0.10, 1040.2), (0.20, 1085.8), (0.30, 1134.6)),
}  # fmt: skip
"""Rows (kg of water-free acid per kg, kg/m3 at 20 C); oxalic ends near what cold water dissolves."""

WATER_FREE: Final[dict[WeakAcid, float]] = {"oxalic": OXALIC / OXALIC_DIHYDRATE, "citric": 1.0}
"""kg of water-free acid in a kg of crystals as sold: oxalic is the dihydrate, citric is sold water-free."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """What makes a mix: `crystals` [kg] as sold, `water` [m3] at 20 C."""

    crystals: float
    water: float


def weak_density(acid: WeakAcid, mass_fraction: float) -> float:
    """Density [kg/m3] at 20 C of `acid` of `mass_fraction` [kg water-free acid per kg]; straight between rows.

    Source: CRC table, see the module. Raises ValueError outside the table (oxalic 5 %, citric 30 %).
    """
    rows = DENSITY_BY_FRACTION[acid]
    if not 0.0 <= mass_fraction <= rows[-1][0]:
        raise ValueError(f"{mass_fraction} kg/kg of {acid} is outside 0 to {rows[-1][0]}")
    for (low, light), (high, heavy) in pairwise(rows):
        if mass_fraction <= high:
            return light + (heavy - light) * (mass_fraction - low) / (high - low)
    return rows[-1][1]


def weak_strength(acid: WeakAcid, crystals: float) -> float:
    """Crystals as sold [kg/m3 of mix at 20 C] in a mix of `acid` with `crystals` [kg crystals per kg of mix].

    C = x rho(x times the water-free share). Source: weak_density. Raises ValueError outside its table.
    """
    return crystals * weak_density(acid, crystals * WATER_FREE[acid])


def crystals_for(acid: WeakAcid, volume: float, strength: float) -> Weighed:
    """Crystals and water for `volume` [m3] of `acid` mix of `strength` [kg crystals per m3].

    Crystals are C V; the water is what the mix weighs less the crystals. Source: mass balance on
    weak_density, solved row by row in closed form. Raises ValueError for more than dissolves.
    """
    rows, pure = DENSITY_BY_FRACTION[acid], WATER_FREE[acid]
    wanted = strength * pure
    for (low, light), (high, heavy) in pairwise(rows):
        if wanted <= high * heavy * (1.0 + 1e-12):
            slope = (heavy - light) / (high - low)
            # wanted = w (base + slope w) is a quadratic in the mass fraction w.
            base = light - slope * low
            fraction = 2.0 * wanted / (base + (base * base + 4.0 * slope * wanted) ** 0.5)
            mass = volume * (base + slope * fraction)
            return Weighed(crystals=strength * volume, water=(mass - strength * volume) / WATER_AT_ROOM)
    raise ValueError(f"{strength} kg/m3 of {acid} is outside its table")
