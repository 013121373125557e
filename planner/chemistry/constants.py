"""Constants the chemistry shares, and the molar masses its own equations take; those of what is sold are data's.

Molar masses are from IUPAC's standard atomic weights; a test computes each from its formula.
"""

from __future__ import annotations

from typing import Final

GAS_CONSTANT: Final = 8.314462618
"""Molar gas constant [J/(mol K)] (CODATA 2018)."""

ZERO_CELSIUS: Final = 273.15
"""0 C [K]."""

ROOM: Final = 293.15
"""Temperature [K] strengths and densities are stated at: 20 C."""

WATER_AT_ROOM: Final = 998.2071
"""Density [kg/m3] of water at 20 C (IAPWS-95)."""

CHLORINE: Final = 0.0709058
"""Molar mass [kg/mol] of Cl2: one mole of hypochlorite is one mole of available chlorine."""

HYPOCHLORITE: Final = 0.07444207
"""Molar mass [kg/mol] of NaOCl."""

CAUSTIC: Final = 0.03999712
"""Molar mass [kg/mol] of NaOH."""

HYDROGEN_CHLORIDE: Final = 0.03646084
"""Molar mass [kg/mol] of HCl."""

CALCIUM_CARBONATE: Final = 0.10008696
"""Molar mass [kg/mol] of CaCO3."""

MARGIN: Final = 1e-9
"""A value within this share of its limit is at its limit: float noise never fails a check."""
