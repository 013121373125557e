"""How warm or cold acid gets when a base makes it harmless, and how warm alkali gets from a weak acid.

    bicarbonate  NaHCO3(s) + H+    -> Na+ + H2O + CO2       takes up heat
    soda ash     Na2CO3(s) + 2 H+  -> 2 Na+ + H2O + CO2     gives some
    lime         Ca(OH)2(s) + 2 H+ -> Ca++ + 2 H2O          gives much, and no gas

Heats are differences of standard enthalpies of formation at 25 C, from memory [kJ/mol]: NaHCO3 -950.8, Na2CO3 -1130.7,
Ca(OH)2 -986.1, Na+ -240.1, Ca++ -542.8, CO2 gas -393.5, water -285.8, H+ 0.  Tests hold solids, gas and water to a
library's tables, which have -985.2 for Ca(OH)2; the ions stay from memory.  Of a weak acid the heat
of its own parting is left out, a kJ or two for a proton (from memory); oxalate of lime falls out of the water, and its
heat is counted.

    caustic, lime       OH- + H+ -> H2O                          55.8 kJ for each OH-
    soda ash            CO3-- + 2 H+ -> H2O + CO2                2 kJ
    percarbonate        the same, and 3 H2O2 -> 3 H2O + 1.5 O2   94.6 kJ for each H2O2, all of it at once

Parting from its protons and going into water, citric acid takes up 7 kJ for each proton (4.1 + 2.2 - 3.6 kJ/mol,
J. Solution Chem., abstract of its dissociation quotients in sodium chloride; crystals 18.2 kJ/mol, J. Chem. Thermodyn.
18 (1986) 351, abstract) and oxalic dihydrate more (35.2 kJ/mol, the same): left out, the warm side, for whoever
dissolves them first.
"""

from __future__ import annotations

from typing import Final

from planner.chemistry.acid_heat import HEAT_CAPACITY_BY_FRACTION, between
from planner.chemistry.acids import STRONGEST, density, mass_fraction_of_strength
from planner.chemistry.acids import strength as strength_of
from planner.chemistry.bath import PROTONS, moles
from planner.chemistry.constants import CAUSTIC, LIME, PERCARBONATE, SODA_ASH, WATER_AT_ROOM

HEAT_PER_PROTON: Final = {"bicarbonate": -31.3e3, "soda_ash": 14.5e3, "lime": 64.2e3}
"""Heat given off [J per mol of protons]; less than 0 is taken up. Lime: 128.4 kJ for each Ca(OH)2 (the module)."""

OXALATE_FALLS_OUT: Final = 10.6e3
"""Heat [J per mol of protons] of calcium oxalate falling out: 21 kJ for each, by its monohydrate -1674.9, oxalate ion
-825.1, calcium ion and water (standard enthalpies of formation, from memory)."""

ALKALI_HEAT: Final = {"caustic": 55.8e3, "lime": 128.4e3, "soda_ash": 2.2e3, "percarbonate": 288.2e3}
"""Heat given off [J per mol of the alkali] to a weak acid (the module; OH- -230.0, CO3-- -677.1, H2O2 in water -191.2
kJ/mol, standard enthalpies of formation from memory). Lime dissolves as it goes: the same as in acid."""

ALKALI_MOLAR: Final = {"caustic": CAUSTIC, "lime": LIME, "soda_ash": SODA_ASH, "percarbonate": PERCARBONATE}
"""Molar mass [kg/mol] of each."""

WATER_HEAT: Final = 4180.0
"""Heat [J/(kg K)] that warms water (from memory)."""


def neutralising_rise(acid: str, strength: float, agent: str) -> float:
    """How much warmer [K] fresh `acid` of `strength` [kg/m3] gets from all of an `agent` at once; below 0, colder.

    Heat over heat capacity, no heat lost, nothing counted for the agent's own mass: the warm side. Muriatic has the
    heat capacity of acid of its strength; of crystals only the water counts. Source: the module.
    Raises KeyError for another acid or agent.
    """
    given = HEAT_PER_PROTON[agent] + (OXALATE_FALLS_OUT if (acid, agent) == ("oxalic", "lime") else 0.0)
    return moles(acid, 1.0, strength) * PROTONS[acid] * given / _capacity(acid, strength)


def alkali_rise(alkali: str, strength: float) -> float:
    """How much warmer [K] `alkali` of `strength` [kg/m3] gets from all of a weak acid at once, whichever it is.

    Heat over heat capacity of the water, no heat lost: the warm side. Source: the module. Valid for thin mixes, to
    100 kg/m3; stronger it tells too little, and is thinned long before. Raises KeyError for another alkali.
    """
    return strength / ALKALI_MOLAR[alkali] * ALKALI_HEAT[alkali] / (WATER_AT_ROOM * WATER_HEAT)


def _capacity(acid: str, strength: float) -> float:
    """Heat [J/K] that warms a m3 of acid by a degree."""
    if acid != "muriatic":
        return WATER_AT_ROOM * WATER_HEAT - min(strength, 0.5 * WATER_AT_ROOM) * WATER_HEAT
    fraction = mass_fraction_of_strength(min(strength, strength_of(STRONGEST)))
    return density(fraction) * between(HEAT_CAPACITY_BY_FRACTION, fraction) * 1e3
