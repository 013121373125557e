"""Oxalic and citric acid, and every other chemical that is sold as crystals: weighed into water.

Their strength is the mass of crystals as sold per volume of mix.  Densities at 20 C: of the acids CRC Handbook,
concentrative properties of aqueous solutions, as quoted by an engineering reference page; of the salts Laliberte,
J. Chem. Eng. Data 54 (2009) 1725, worked out once, percarbonate as the soda ash and hydrogen peroxide it falls into.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final

from planner.chemistry.constants import CITRIC, OXALIC, OXALIC_DIHYDRATE, WATER_AT_ROOM

_CITRIC: Final = (
    (0.0, WATER_AT_ROOM), (0.01, 1002.2), (0.05, 1018.9), (0.10, 1040.2), (0.20, 1085.8), (0.30, 1134.6),
)  # fmt: skip

DENSITY_BY_FRACTION: Final[dict[str, tuple[tuple[float, float], ...]]] = {
    "oxalic": ((0.0, WATER_AT_ROOM), (0.01, 1003.0), (0.05, 1022.0)),
    "citric": _CITRIC,
    "percarbonate": ((0.0, WATER_AT_ROOM), (0.01, 1006.5), (0.05, 1039.4), (0.10, 1080.4), (0.15, 1122.1)),
    "bicarbonate": ((0.0, WATER_AT_ROOM), (0.01, 1005.5), (0.05, 1034.3), (0.09, 1062.8)),
    "soda_ash": ((0.0, WATER_AT_ROOM), (0.01, 1008.7), (0.05, 1050.7), (0.10, 1103.6), (0.15, 1158.1), (0.20, 1215.0)),
    "lime": ((0.0, WATER_AT_ROOM), (0.05, 1026.7), (0.10, 1056.8), (0.20, 1122.7), (0.30, 1197.3)),
    "thiosulfate": (
        (0.0, WATER_AT_ROOM), (0.01, 1006.2), (0.05, 1039.0), (0.10, 1081.7), (0.20, 1173.2), (0.30, 1273.2),
        (0.40, 1381.8),
    ),
    "sulfite": ((0.0, WATER_AT_ROOM), (0.01, 1005.6), (0.05, 1040.1), (0.10, 1088.8), (0.15, 1142.9), (0.20, 1202.9)),
    "bisulfite": ((0.0, WATER_AT_ROOM), (0.01, 1005.6), (0.05, 1036.0), (0.10, 1075.8), (0.20, 1161.3), (0.30, 1254.1)),
    "ascorbic": _CITRIC,
}  # fmt: skip
"""Rows (kg of what is water-free per kg, kg/m3 at 20 C), up to near what cold water dissolves. Lime hardly dissolves:
its milk is weighed as grains of 2,240 kg/m3 in water (from memory). Ascorbic acid is taken to weigh as citric does
(from memory: a kg of either takes up 0.59 L in water)."""

WATER_FREE: Final[dict[str, float]] = {"oxalic": OXALIC / OXALIC_DIHYDRATE, "thiosulfate": 0.637058}
"""kg of what is water-free in a kg of crystals as sold: oxalic is the dihydrate, thiosulfate the pentahydrate
(158.107 / 248.184); all others are sold water-free."""

PER_EQUIVALENT: Final[dict[str, float]] = {"oxalic": OXALIC_DIHYDRATE / 2.0, "citric": CITRIC / 3.0}
"""kg of crystals as sold in a mole of acid hydrogen: oxalic gives two, citric three. Source: definition."""


def weak_density(acid: str, mass_fraction: float) -> float:
    """Density [kg/m3] at 20 C of `acid`, or a salt, of `mass_fraction` [kg water-free per kg]; straight between rows.

    Source: the module's tables. Raises ValueError outside them (oxalic 5 %, citric 30 %).
    """
    rows = DENSITY_BY_FRACTION[acid]
    if not 0.0 <= mass_fraction <= rows[-1][0]:
        raise ValueError(f"{mass_fraction} kg/kg of {acid} is outside 0 to {rows[-1][0]}")
    for (low, light), (high, heavy) in pairwise(rows):
        if mass_fraction <= high:
            return light + (heavy - light) * (mass_fraction - low) / (high - low)
    return rows[-1][1]


def weak_strength(acid: str, crystals: float) -> float:
    """Crystals as sold [kg/m3 of mix at 20 C] in a mix of `acid`, or a salt, with `crystals` [kg per kg of mix].

    C = x rho(x times the water-free share); beyond its table what is dissolved is taken to keep the room it has there.
    Source: weak_density. Raises ValueError for a share outside 0 to 1.
    """
    if not 0.0 <= crystals <= 1.0:
        raise ValueError(f"{crystals} kg/kg is not a share")
    fraction = crystals * WATER_FREE.get(acid, 1.0)
    last, heavy = DENSITY_BY_FRACTION[acid][-1]
    if fraction <= last:
        return crystals * weak_density(acid, fraction)
    room = (1.0 / heavy - (1.0 - last) / WATER_AT_ROOM) / last
    return crystals / ((1.0 - fraction) / WATER_AT_ROOM + fraction * room)


def from_label(acid: str, amount: float, label: str) -> float | None:
    """Crystals of `acid`, or a salt [kg/m3 at 20 C], of a figure as written.

    `amount` is in the `label`'s own unit [wt %, g/L, mol/L].
    None for a label that says nothing of it. Source: definitions and weak_strength.
    """
    if label == "wt" and amount <= 100.0:
        return weak_strength(acid, amount / 100.0)
    if label == "normal" and acid in PER_EQUIVALENT:
        return amount * 1000.0 * PER_EQUIVALENT[acid]
    return amount if label == "g_l" else None
