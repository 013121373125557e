"""Hypochlorite: what the figure on the drum means, and how heavy the liquid is.

Trade % is grams of available chlorine per 100 mL.  Weight percents need the density, and the density
depends on the strength; both being straight lines the conversion has a closed form, with no iteration.
Definitions: Handbook of Chlorination (1972) as quoted by a supplier's technical profile:
wt % Cl2 = (g/L) / (10 rho), wt % NaOCl = wt % Cl2 x M(NaOCl) / M(Cl2), trade % = (g/L) / 10.
Density: straight line through a published maker-independent table at 20 C (120 g/L with 0, .2 and .73 wt %
excess caustic: 1.157, 1.160, 1.168), error +-0.006, for 0 to 160 g/L and 0 to 1 wt % of caustic.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from planner.chemistry.constants import CHLORINE, HYPOCHLORITE, WATER_AT_ROOM

Label = Literal["trade", "g_l_cl2", "wt_cl2", "wt_naocl", "molar"]

PER_STRENGTH: Final = 0.0013083
"""Rise of specific gravity per kg/m3 of available chlorine, salt of its making included (fit to the table)."""

PER_CAUSTIC: Final = 1.5
"""Rise of specific gravity per kg of free caustic in a kg of liquid (0.015 per wt %; fit to the table)."""

USUAL_CAUSTIC: Final = 0.002
"""Free caustic [kg/kg] of today's stock: 0.2 wt % (the table's source says so of continuous makers)."""

NAOCL_PER_CL2: Final = HYPOCHLORITE / CHLORINE
"""kg NaOCl for each kg of available chlorine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """What a bare percentage on a drum may mean, each as available chlorine [kg/m3].

    `spread` [-] is how far the strongest reading lies above the weakest.
    """

    trade: float
    wt_cl2: float
    wt_naocl: float

    @property
    def lowest(self) -> float:
        """The weakest reading [kg/m3]."""
        return min(self.trade, self.wt_cl2, self.wt_naocl)

    @property
    def highest(self) -> float:
        """The strongest reading [kg/m3]."""
        return max(self.trade, self.wt_cl2, self.wt_naocl)

    @property
    def spread(self) -> float:
        """(strongest - weakest) / weakest [-]; 0 for a drum of water."""
        return self.highest / self.lowest - 1.0 if self.lowest > 0.0 else 0.0


def specific_gravity(strength: float, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """Specific gravity [-] at 20 C of stock or mix of `strength` [kg/m3 Cl2].

    SG = 1 + 0.0013083 C + 1.5 x, with x the `excess_caustic` [kg/kg] (0.002 is 0.2 wt %).
    Source: fit, see the module. Valid 0 to 160 kg/m3, +-0.006. Lost strength does not show: chloride and
    chlorate weigh as much as the hypochlorite they came from. Raises ValueError below 0.
    """
    _not_negative(strength, excess_caustic)
    return 1.0 + PER_STRENGTH * strength + PER_CAUSTIC * excess_caustic


def density(strength: float, excess_caustic: float = USUAL_CAUSTIC, water_density: float = WATER_AT_ROOM) -> float:
    """Density [kg/m3] of stock or mix of `strength` [kg/m3 Cl2] with `excess_caustic` [kg/kg].

    `water_density` [kg/m3] is water's at the liquid's temperature: rho = rho_water x SG.
    Source and range: specific_gravity. Give no caustic for a mix on the wall.
    """
    return water_density * specific_gravity(strength, excess_caustic)


def from_trade_percent(percent: float) -> float:
    """Available chlorine [kg/m3] of `percent` [g per 100 mL]: C = 10 p. Source: definition. Any p >= 0."""
    _not_negative(percent)
    return 10.0 * percent


def to_trade_percent(strength: float) -> float:
    """Trade % [g per 100 mL] of `strength` [kg/m3 Cl2]: p = C / 10. Source: definition."""
    _not_negative(strength)
    return strength / 10.0


def from_wt_cl2(percent: float, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """Available chlorine [kg/m3] of `percent` [kg Cl2 per 100 kg] with `excess_caustic` [kg/kg].

    C = w rho(C) and rho = rho_w (1 + a C + b x), so C = w rho_w (1 + b x) / (1 - a w rho_w), w = p / 100.
    Source: definition and the module's density. Valid to about 14 wt %. Raises ValueError below 0 or above 30.
    """
    _not_negative(percent, excess_caustic)
    if percent > 30.0:
        raise ValueError(f"{percent} wt % Cl2 is beyond any stock")
    per_volume = percent / 100.0 * WATER_AT_ROOM
    return per_volume * (1.0 + PER_CAUSTIC * excess_caustic) / (1.0 - PER_STRENGTH * per_volume)


def to_wt_cl2(strength: float, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """Weight percent [kg Cl2 per 100 kg] of `strength` [kg/m3 Cl2] with `excess_caustic` [kg/kg].

    p = 100 C / rho(C). Source: definition and the module's density. Valid 0 to 160 kg/m3.
    """
    return 100.0 * strength / density(strength, excess_caustic)


def from_wt_naocl(percent: float, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """Available chlorine [kg/m3] of `percent` [kg NaOCl per 100 kg] with `excess_caustic` [kg/kg].

    By from_wt_cl2 of p M(Cl2) / M(NaOCl). Source: definition. Valid to about 15 wt %.
    Raises ValueError below 0 or above 31.
    """
    return from_wt_cl2(percent / NAOCL_PER_CL2, excess_caustic)


def to_wt_naocl(strength: float, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """Weight percent [kg NaOCl per 100 kg] of `strength` [kg/m3 Cl2] with `excess_caustic` [kg/kg].

    p = wt % Cl2 x M(NaOCl) / M(Cl2). Source: definition. Valid 0 to 160 kg/m3.
    """
    return NAOCL_PER_CL2 * to_wt_cl2(strength, excess_caustic)


def molarity(strength: float) -> float:
    """Hypochlorite [mol/L] in `strength` [kg/m3 Cl2]: C / 70.906. Source: definition. Any strength >= 0."""
    _not_negative(strength)
    return strength / (1000.0 * CHLORINE)


def from_molarity(amount: float) -> float:
    """Available chlorine [kg/m3] of `amount` [mol/L] hypochlorite: 70.906 M. Source: definition."""
    _not_negative(amount)
    return 1000.0 * CHLORINE * amount


def from_label(amount: float, label: Label, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """Available chlorine [kg/m3] of a figure as the drum writes it.

    `amount` is in the `label`'s own unit [trade %, g/L, wt %, mol/L]; `excess_caustic` [kg/kg] matters only
    to the weight percents. Source: the module's definitions. Raises ValueError for an amount below 0.
    """
    match label:
        case "trade":
            return from_trade_percent(amount)
        case "g_l_cl2":
            _not_negative(amount)
            return amount
        case "wt_cl2":
            return from_wt_cl2(amount, excess_caustic)
        case "wt_naocl":
            return from_wt_naocl(amount, excess_caustic)
        case "molar":
            return from_molarity(amount)


def to_label(strength: float, label: Label, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """`strength` [kg/m3 Cl2] in a `label`'s own unit [trade %, g/L, wt %, mol/L]: from_label turned round.

    `excess_caustic` [kg/kg] matters only to the weight percents. Source: the module's definitions.
    """
    match label:
        case "trade":
            return to_trade_percent(strength)
        case "g_l_cl2":
            _not_negative(strength)
            return strength
        case "wt_cl2":
            return to_wt_cl2(strength, excess_caustic)
        case "wt_naocl":
            return to_wt_naocl(strength, excess_caustic)
        case "molar":
            return molarity(strength)


def readings(percent: float, excess_caustic: float = USUAL_CAUSTIC) -> Readings:
    """The strengths a bare `percent` [%] on a drum may stand for, with `excess_caustic` [kg/kg].

    Source: the module's definitions; practice does not settle which one is meant. Valid to 15 %.
    """
    return Readings(
        trade=from_trade_percent(percent),
        wt_cl2=from_wt_cl2(percent, excess_caustic),
        wt_naocl=from_wt_naocl(percent, excess_caustic),
    )


def _not_negative(*amounts: float) -> None:
    for amount in amounts:
        if not amount >= 0.0:
            raise ValueError(f"{amount} is not a strength: it must be 0 or more")
