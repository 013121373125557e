"""Caustic soda: how strong lye is by its label, how heavy, and how much thicker than water.

Fifty percent lye runs eighty times as slowly as water, so a pump, its suction and its hoses feel it; a mix of a few
percent hardly differs.  Density and viscosity at 20 C: Laliberte, J. Chem. Eng. Data 54 (2009) 1725 and 52 (2007)
321, worked out once; straight between rows, the viscosity in its logarithm.  What viscosity does with temperature is
taken to be water's own, which is within a fifth up to 15 wt % and above 5 C.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp, log, sqrt
from typing import Final

from planner.chemistry.constants import CAUSTIC

ROWS: Final = (
    (0.0, 998.2, 1.0), (0.02, 1020.2, 1.022), (0.05, 1053.2, 1.205), (0.10, 1108.5, 1.774), (0.15, 1163.8, 2.815),
    (0.20, 1218.7, 4.661), (0.25, 1272.8, 7.869), (0.30, 1325.7, 13.242), (0.35, 1376.9, 21.811),
    (0.40, 1426.0, 34.835), (0.45, 1472.6, 53.946), (0.50, 1516.3, 81.374),
)  # fmt: skip
"""(kg NaOH per kg, kg/m3, viscosity over that of water), at 20 C."""


def strength(mass_fraction: float) -> float:
    """NaOH [kg/m3 at 20 C] in lye of `mass_fraction` [kg/kg]: w rho(w). Source: the module.

    Raises ValueError outside 0 to 0.50 kg/kg.
    """
    return mass_fraction * _between(mass_fraction)[0]


def mass_fraction(strength: float) -> float:
    """Mass fraction [kg/kg] of lye of `strength` [kg/m3 NaOH]; exact on the rows' straight lines. Source: the module.

    Raises ValueError outside 0 to 0.50 kg/kg.
    """
    for (low, light, _), (high, heavy, _) in pairwise(ROWS):
        if strength <= high * heavy * (1.0 + 1e-12):
            slope = (heavy - light) / (high - low)
            base = light - slope * low
            return 2.0 * strength / (base + sqrt(base * base + 4.0 * slope * strength))
    raise ValueError(f"{strength} kg/m3 is stronger than 50 wt % lye")


def from_label(amount: float, label: str) -> float | None:
    """NaOH [kg/m3 at 20 C] of a figure as the drum writes it: `amount` in the `label`'s unit [wt %, g/L, mol/L].

    None for a label that says nothing of it, or a strength no lye has. Source: definitions and strength.
    """
    try:
        match label:
            case "wt":
                return strength(amount / 100.0)
            case "g_l":
                return amount
            case "normal":
                return amount * 1000.0 * CAUSTIC
    except ValueError:
        return None
    return None


def density(mass_fraction: float) -> float:
    """Density [kg/m3] at 20 C of lye of `mass_fraction` [kg/kg]. Source: the module. Raises ValueError above 0.50."""
    return _between(mass_fraction)[0]


def relative_viscosity(mass_fraction: float) -> float:
    """Viscosity of lye of `mass_fraction` [kg/kg] over that of water [-] at 20 C. Source: the module.

    Raises ValueError outside 0 to 0.50 kg/kg.
    """
    return _between(mass_fraction)[1]


def _between(mass_fraction: float) -> tuple[float, float]:
    if not 0.0 <= mass_fraction <= ROWS[-1][0] * (1.0 + 1e-12):
        raise ValueError(f"{mass_fraction} kg/kg is not lye: 0 to {ROWS[-1][0]}")
    for (low, light, thin), (high, heavy, thick) in pairwise(ROWS):
        if mass_fraction <= high:
            along = (mass_fraction - low) / (high - low)
            return light + along * (heavy - light), exp(log(thin) + along * (log(thick) - log(thin)))
    return ROWS[-1][1], ROWS[-1][2]
