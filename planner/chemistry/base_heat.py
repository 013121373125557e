"""How warm or cold acid gets when a base makes it harmless, and how warm alkali gets from a weak acid.

    bicarbonate  NaHCO3(s) + H+    -> Na+ + H2O + CO2       takes up heat
    soda ash     Na2CO3(s) + 2 H+  -> 2 Na+ + H2O + CO2     gives some
    lime         Ca(OH)2(s) + 2 H+ -> Ca++ + 2 H2O          gives much, and no gas

Heats are differences of standard enthalpies of formation, data's, with their sources. Of a weak acid the heat of its
own parting is left out, a kJ or two for a proton (from memory): citric takes up 7 kJ for each proton (4.1 + 2.2 - 3.6
kJ/mol, J. Solution Chem., abstract of its dissociation quotients in sodium chloride; crystals 18.2 kJ/mol, J. Chem.
Thermodyn. 18 (1986) 351, abstract) and oxalic dihydrate more (35.2 kJ/mol, the same): left out, the warm side, for
whoever dissolves them first.
"""

from __future__ import annotations

from typing import Final

from planner.chemistry.acid_heat import HEAT_CAPACITY_BY_FRACTION, between
from planner.chemistry.acids import STRONGEST, density, mass_fraction_of_strength
from planner.chemistry.acids import strength as strength_of
from planner.chemistry.constants import WATER_AT_ROOM

WATER_HEAT: Final = 4180.0
"""Heat [J/(kg K)] that warms water (from memory)."""


def neutralising_rise(protons: float, given: float, capacity: float) -> float:
    """How much warmer [K] fresh acid of `protons` [mol/m3] gets from all of an agent at once; below 0, colder.

    Heat over heat `capacity` [J/(m3 K)], `given` [J per mol of protons], no heat lost, nothing counted for the agent's
    own mass: the warm side. Source: the module.
    """
    return protons * given / capacity


def alkali_rise(moles: float, given: float) -> float:
    """How much warmer [K] alkali of `moles` [mol/m3] gets from all of a weak acid at once, whichever it is.

    `given` [J per mol of the alkali] over heat capacity of the water, no heat lost: the warm side. Source: the module.
    Valid for thin mixes, to 100 kg/m3; stronger it tells too little, and is thinned long before.
    """
    return moles * given / (WATER_AT_ROOM * WATER_HEAT)


def water_capacity(strength: float) -> float:
    """Heat [J/(m3 K)] that warms a mix of `strength` [kg/m3]: only its water counts, the warm side. Source: mass."""
    return WATER_AT_ROOM * WATER_HEAT - min(strength, 0.5 * WATER_AT_ROOM) * WATER_HEAT


def hydrochloric_capacity(strength: float) -> float:
    """Heat [J/(m3 K)] that warms hydrochloric acid of `strength` [kg/m3]. Source: acid_heat's table."""
    fraction = mass_fraction_of_strength(min(strength, strength_of(STRONGEST)))
    return density(fraction) * between(HEAT_CAPACITY_BY_FRACTION, fraction) * 1e3
