"""A descaling bath: how much lime it takes off before it is spent, and the gas it gives off on the way.

Scale is taken for calcium carbonate.  Each acid counts what keeps dissolved lime in the water:

    muriatic   CaCO3 + 2 HCl          -> CaCl2 + H2O + CO2       calcium chloride dissolves freely
    citric     CaCO3 + 2 C6H8O7       -> Ca(C6H7O7)2 + H2O + CO2 past this first proton, about pH 4, citrate falls out
    oxalic     CaCO3 + H2C2O4         -> CaC2O4 (solid)           seals the lime at once: dissolves none

Stoichiometry; which salts stay in the water is from memory.  Strengths are kg of what is sold per m3.
"""

from __future__ import annotations

from typing import Final

from planner.chemistry.constants import CALCIUM_CARBONATE, CITRIC, HYDROGEN_CHLORIDE, OXALIC_DIHYDRATE
from planner.chemistry.gases import gas_volume

SPENT: Final = 0.80
"""Share of its capacity [-] at which a bath is given up: from there it only creeps (common practice, no source)."""

SPENT_PH: Final = {"muriatic": 2.0, "citric": 4.0, "oxalic": 2.0}
"""pH above which a bath is spent: muriatic common practice, no source; citric, where its salt begins to fall out, and
oxalic, from memory."""

CARBONATE_PER_MOLE: Final = {"muriatic": 0.5, "citric": 0.5, "oxalic": 0.0}
"""Moles of CaCO3 a mole of the acid takes up and keeps in the water (the module's equations)."""

PROTONS: Final = {"muriatic": 1.0, "citric": 3.0, "oxalic": 2.0}
"""Protons of a mole of the acid that a base takes when it is neutralised to the end."""

CARBON_DIOXIDE_PER_PROTON: Final = {"bicarbonate": 1.0, "soda_ash": 0.5, "lime": 0.0}
"""Moles of CO2 an agent gives off for each mole of protons: NaHCO3 + H+, Na2CO3 + 2 H+, Ca(OH)2 + 2 H+."""

_MOLAR: Final = {"muriatic": HYDROGEN_CHLORIDE, "citric": CITRIC, "oxalic": OXALIC_DIHYDRATE}


def moles(acid: str, volume: float, strength: float) -> float:
    """Moles [mol] of `acid` in `volume` [m3] at `strength` [kg/m3]. Source: definition. Raises KeyError for no acid."""
    return volume * strength / _MOLAR[acid]


def lime_dissolved(acid: str, volume: float, strength: float) -> float | None:
    """CaCO3 [kg] that `volume` [m3] of `acid` at `strength` [kg/m3] takes up, all of it spent; None: it seals lime.

    Source: the module's equations. 15 vol % of 31.45 wt % muriatic: 75.0 kg/m3. Raises KeyError for no acid.
    """
    share = CARBONATE_PER_MOLE[acid]
    return moles(acid, volume, strength) * share * CALCIUM_CARBONATE if share > 0.0 else None


def gas_from_lime(lime: float) -> float:
    """CO2 [m3, 25 C, 1 atm] that `lime` [kg CaCO3] gives off in acid: mole for mole. Source: the module's equations."""
    return gas_volume(lime / CALCIUM_CARBONATE)


def gas_from_agent(acid: str, volume: float, strength: float, agent: str) -> float:
    """CO2 [m3, 25 C, 1 atm] of neutralising `volume` [m3] of fresh `acid` at `strength` [kg/m3] with an `agent`.

    A bath that dissolved lime first gives no more: what is neutralised by then is not neutralised again, and lime gives
    half a mole for each proton as soda ash does. Source: stoichiometry. Raises KeyError for another acid or agent.
    """
    return gas_volume(moles(acid, volume, strength) * PROTONS[acid] * CARBON_DIOXIDE_PER_PROTON[agent])
