"""Dissolved in water: what it weighs, how strong it is by its label, how much water takes up.

A strength is the mass of what is sold per volume of mix; rows are pairs (kg of what is water-free per kg of mix, kg/m3
at 20 C), straight lines between them, from plain water up.  Crystals bring water of their own: `water_free` [kg/kg] is
what is left of them without it.  Rows and their sources are data's.

How much of a dry chemical water takes up, by its temperature.

Solubility is counted the way it is mixed: kg of what is sold, crystal water and all, in a cubic metre of plain water
(g in a litre).  Rows are read by straight lines; colder or warmer than the rows, the nearest one holds.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import exp, log, sqrt
from typing import Final

from planner.chemistry.constants import WATER_AT_ROOM, ZERO_CELSIUS

Rows = Sequence[tuple[float, float]]


def density(rows: Rows, mass_fraction: float) -> float:
    """Density [kg/m3] at 20 C of a solution of `mass_fraction` [kg water-free per kg], by its `rows` [kg/kg, kg/m3].

    Source: the rows'. Raises ValueError outside them.
    """
    if not 0.0 <= mass_fraction <= rows[-1][0] * (1.0 + 1e-12):
        raise ValueError(f"{mass_fraction} kg/kg is outside 0 to {rows[-1][0]}")
    for (low, light), (high, heavy) in pairwise(rows):
        if mass_fraction <= high:
            return light + (heavy - light) * (mass_fraction - low) / (high - low)
    return rows[-1][1]


def strength(rows: Rows, sold: float, water_free: float = 1.0) -> float:
    """What is sold [kg/m3 of mix at 20 C] in a mix with `sold` [kg per kg of mix] of it, `water_free` [kg/kg].

    C = x rho(x times the water-free share); beyond its `rows` [kg/kg, kg/m3] what is dissolved is taken to keep the
    room it has there. Source: density. Raises ValueError for a share outside 0 to 1.
    """
    if not 0.0 <= sold <= 1.0:
        raise ValueError(f"{sold} kg/kg is not a share")
    fraction = sold * water_free
    last, heavy = rows[-1]
    if fraction <= last:
        return sold * density(rows, fraction)
    room = (1.0 / heavy - (1.0 - last) / WATER_AT_ROOM) / last
    return sold / ((1.0 - fraction) / WATER_AT_ROOM + fraction * room)


def mass_fraction(rows: Rows, strength: float, water_free: float = 1.0) -> float:
    """Mass fraction [kg water-free per kg] of a mix of `strength` [kg/m3 as sold], `water_free` [kg/kg].

    Exact on the straight lines of the `rows` [kg/kg, kg/m3]. Source: density. Raises ValueError beyond them.
    """
    wanted = strength * water_free
    for (low, light), (high, heavy) in pairwise(rows):
        if wanted <= high * heavy * (1.0 + 1e-12):
            slope = (heavy - light) / (high - low)
            # wanted = w (base + slope w) is a quadratic in the mass fraction w.
            base = light - slope * low
            return 2.0 * wanted / (base + sqrt(base * base + 4.0 * slope * wanted))
    raise ValueError(f"{strength} kg/m3 is more than its rows tell of")


def from_label(rows: Rows, water_free: float, equivalent: float | None, amount: float, label: str) -> float | None:
    """What is sold [kg/m3 at 20 C] of a figure as written: `amount` in the `label`'s own unit [wt %, g/L, mol/L].

    By the `rows` [kg/kg, kg/m3] and `water_free` [kg/kg]; `equivalent` [kg] is in a mole of acid hydrogen or of
    hydroxide. None for a label that says nothing of it. Source: definitions and strength.
    """
    if label == "wt" and amount <= 100.0 and rows:
        return strength(rows, amount / 100.0, water_free)
    if label == "normal" and equivalent is not None:
        return amount * 1000.0 * equivalent
    return amount if label == "g_l" else None


def thickness(rows: Rows, thicker: Sequence[float], mass_fraction: float) -> float:
    """Viscosity over that of water [-] at 20 C of `mass_fraction` [kg/kg]; `thicker` [-] stands beside `rows` [kg/kg].

    Straight in its logarithm between the rows; 1 where nothing stands beside them. What it does with temperature is
    taken to be water's own. Source: the rows'. Raises ValueError outside them.
    """
    if not thicker:
        return 1.0
    if not 0.0 <= mass_fraction <= rows[-1][0] * (1.0 + 1e-12):
        raise ValueError(f"{mass_fraction} kg/kg is outside 0 to {rows[-1][0]}")
    for ((low, _), thin), ((high, _), thick) in pairwise(zip(rows, thicker, strict=True)):
        if mass_fraction <= high:
            along = (mass_fraction - low) / (high - low)
            return exp(log(thin) + along * (log(thick) - log(thin)))
    return thicker[-1]


# ------------------------------------------------------------ solubility

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
