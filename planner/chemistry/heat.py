"""How warm acid and alkali get: poured into water, and made harmless.

The heat of dilution is a difference of two tabulated heats per mole of HCl; what holds it back is the heat
capacity of the mix.  Heats: CRC Handbook, enthalpy of dilution of acids at 25 C, from Parker, NSRDS-NBS 2
(1965).  Heat capacities at 20 C: a published property table of hydrochloric acid (10 to 38 wt %).

How warm or cold acid gets when a base makes it harmless, and how warm alkali gets from a weak acid.

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

from bisect import bisect_right
from collections.abc import Sequence
from typing import Final

from planner.chemistry.acids import STRONGEST, density, mass_fraction_of_strength, water_density
from planner.chemistry.acids import strength as strength_of
from planner.chemistry.constants import HYDROGEN_CHLORIDE, WATER_AT_ROOM
from planner.frozen import dataclass

HEAT_BY_MOLALITY: Final = (
    (0.0, 0.0), (0.1, 0.556), (0.2, 0.761), (0.5, 1.172), (1.0, 1.695), (1.5, 2.167), (2.0, 2.623),
    (2.5, 3.063), (3.0, 3.506), (3.5, 3.958), (4.0, 4.402), (4.5, 4.899), (5.0, 5.318), (6.0, 6.268),
    (7.0, 7.217), (8.0, 8.201), (9.0, 9.213), (10.0, 10.24), (15.0, 15.40), (20.0, 19.87),
)  # fmt: skip
"""(mol HCl per kg water, kJ per mol HCl given off on diluting without end)."""

HEAT_CAPACITY_BY_FRACTION: Final = (
    (0.0, 4.18), (0.10, 3.47), (0.20, 2.99), (0.30, 2.60), (0.32, 2.55), (0.34, 2.50), (0.36, 2.46), (0.38, 2.43),
)  # fmt: skip
"""(kg HCl per kg, kJ/(kg K)) at 20 C; the first row is water."""

RISE_BAND: Final = 0.17
"""Share by which the rise may be out: +-0.7 K of the 4.1 K of a descaling bath (tables, 25 against 20 C)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """Temperature rise [K] with no heat lost: `nominal`, and the band `low` to `high`."""

    nominal: float
    low: float
    high: float


def temperature_rise(stock_fraction: float, by_volume: float) -> Rise:
    """Rise [K] on pouring stock of `stock_fraction` [kg/kg] into water, `by_volume` [m3 stock per m3 poured].

    dT = n (L(m_stock) - L(m_mix)) / (mass x cp(w_mix)), n mol of HCl, m molalities; both parts start alike.
    Source: the module's tables, straight lines between. Valid to 0.38 kg/kg, near 20 C, +-17 %.
    Raises ValueError outside 0 to 0.40 kg/kg or a share outside 0 to 1.
    """
    if not 0.0 <= by_volume <= 1.0:
        raise ValueError(f"{by_volume} is not a share")
    stock_mass = by_volume * density(stock_fraction)
    mass = stock_mass + (1.0 - by_volume) * water_density()
    fraction = stock_mass * stock_fraction / mass
    moles = stock_mass * stock_fraction / HYDROGEN_CHLORIDE
    before, after = (between(HEAT_BY_MOLALITY, _molality(part)) for part in (stock_fraction, fraction))
    heat = moles * (before - after)
    rise = heat / (mass * between(HEAT_CAPACITY_BY_FRACTION, fraction))
    return Rise(nominal=rise, low=rise * (1.0 - RISE_BAND), high=rise * (1.0 + RISE_BAND))


def _molality(mass_fraction: float) -> float:
    return mass_fraction / (HYDROGEN_CHLORIDE * (1.0 - mass_fraction))


def between(rows: Sequence[tuple[float, float]], at: float) -> float:
    """The straight line between two of `rows` at `at` [the rows' own unit]; beyond them the last one goes on.

    Source: the rows' own, straight lines between.
    """
    i = min(max(bisect_right(rows, at, key=lambda row: row[0]), 1), len(rows) - 1)
    (x0, y0), (x1, y1) = rows[i - 1], rows[i]
    return y0 + (y1 - y0) * (at - x0) / (x1 - x0)


# ------------------------------------------------------------ of a base

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
