"""A descaling bath: how much lime it takes off before it is spent, and the gas it gives off on the way.

Scale is taken for calcium carbonate. An acid takes up what it keeps in the water of it: half a mole for each mole of
one that parts with one proton there, none where its calcium salt falls out at once and seals the lime. Stoichiometry;
which salt does what is data's, with its source.
"""

from __future__ import annotations

from typing import Final

from planner.chemistry.constants import CALCIUM_CARBONATE
from planner.chemistry.gases import gas_volume

SPENT: Final = 0.80
"""Share of its capacity [-] at which a bath is given up: from there it only creeps (common practice, no source)."""


def lime_dissolved(moles: float, share: float) -> float | None:
    """CaCO3 [kg] that `moles` [mol] of an acid take up, all of it spent, by its `share` [mol/mol]; None: it seals lime.

    Source: the module. 15 vol % of 31.45 wt % hydrochloric acid: 75.0 kg/m3.
    """
    return moles * share * CALCIUM_CARBONATE if share > 0.0 else None


def gas_from_lime(lime: float) -> float:
    """CO2 [m3, 25 C, 1 atm] that `lime` [kg CaCO3] gives off in acid: mole for mole. Source: CaCO3 + 2 H+."""
    return gas_volume(lime / CALCIUM_CARBONATE)


def gas_from_agent(protons: float, per_proton: float) -> float:
    """CO2 [m3, 25 C, 1 atm] of neutralising `protons` [mol] of fresh acid; `per_proton` [mol/mol] is the agent's.

    A bath that dissolved lime first gives no more: what is neutralised by then is not neutralised again, and lime gives
    half a mole for each proton as soda ash does. Source: stoichiometry.
    """
    return gas_volume(protons * per_proton)
