"""How warm acid gets when it is poured into water.

The heat of dilution is a difference of two tabulated heats per mole of HCl; what holds it back is the heat
capacity of the mix.  Heats: CRC Handbook, enthalpy of dilution of acids at 25 C, from Parker, NSRDS-NBS 2
(1965).  Heat capacities at 20 C: a published property table of hydrochloric acid (10 to 38 wt %).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from planner.chemistry.acids import density, water_density
from planner.chemistry.constants import HYDROGEN_CHLORIDE

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
