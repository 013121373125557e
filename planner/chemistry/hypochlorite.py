"""Hypochlorite: what the figure on the drum means, how heavy it is, and how much is left after its days.

Trade % is grams of available chlorine per 100 mL.  Weight percents need the density, and the density
depends on the strength; both being straight lines the conversion has a closed form, with no iteration.
Definitions: Handbook of Chlorination (1972) as quoted by a supplier's technical profile:
wt % Cl2 = (g/L) / (10 rho), wt % NaOCl = wt % Cl2 x M(NaOCl) / M(Cl2), trade % = (g/L) / 10.
Density: straight line through a published maker-independent table at 20 C (120 g/L with 0, .2 and .73 wt %
excess caustic: 1.157, 1.160, 1.168), error +-0.006, for 0 to 160 g/L and 0 to 1 wt % of caustic.

Hypochlorite in its drum: how much is left after its days in the shed or the van.

-d[OCl]/dt = k2 [OCl]^2, no factor 3 (with it every published half-life would be missed), and
log10 k2 = 0.149 mu + log10(2.083e10 T exp(-1.018e5 / (R T)) exp(-56.5 / R)), k2 in L/(mol s):
Adam & Gordon, Inorg. Chem. 38 (1999) 1299; mu 1 to 6 mol/L, 15 to 55 C, no metals, no sunlight.
3 OCl -> ClO3 + 2 Cl keeps the ionic strength mu, so aged stock keeps the mu it was born with, k2 changes
with the temperature only, and C = C0 / (1 + C0 sum k2(T_i) dt_i) exactly over any history.
Published rates scatter; the band is the rate times and over 1.5.  What it starts from has a band too: a test its
error, a label what makers fill over and what has been lost before the drum came.
Less caustic than usual leaves less salt, and the equation alone would call that slower. Below pH 11 bleach fades
faster, by how much no source that was read says: the rate is then never under that with the usual caustic, its fast
side is wider, and the answer is marked as outside the model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import exp, isfinite, log10
from typing import Final, Literal

from planner.chemistry.constants import (
    CAUSTIC,
    CHLORINE,
    GAS_CONSTANT,
    HYPOCHLORITE,
    MARGIN,
    WATER_AT_ROOM,
    ZERO_CELSIUS,
)
from planner.frozen import dataclass

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


# ------------------------------------------------------------ ageing

RATE_BAND: Final = 1.5
"""The rate may be so many times faster or slower: metals, caustic and drum differ."""

LOW_CAUSTIC_BAND: Final = 3.0
"""The same on the fast side where there is too little caustic: twice the usual band, our choice, no source."""

STABLE_PH: Final = 11.0
"""Below it bleach is unstable: named so by a supplier; rapid at pH 5 to 6 and stabler the higher (hazard data bank of a
national library of medicine). A strip maker measured 11.5 in a 1 percent dilution and 10.3 in one of 0.1 percent."""

FITTED_TEMPERATURES: Final = (ZERO_CELSIUS + 15.0, ZERO_CELSIUS + 55.0)
"""Temperatures [K] the rate was measured between."""

FITTED_IONIC_STRENGTHS: Final = (1.0, 6.0)
"""Ionic strengths [mol/L] the rate was measured between."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """One stretch of a lot's storage: `seconds` [s] at `temperature` [K]."""

    temperature: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Aged:
    """What is left in a lot: available chlorine [kg/m3], `low` and `high` by the band of the rate.

    `extrapolated`: outside 15 to 55 C or 1 to 6 mol/L, or so little lye that it may stand below pH 11.
    `optimistic`: tested, but its birth strength is not known, so salt it gained while ageing is not counted
    and the true rate is faster. `known`: False where nothing says how old it is and it stands as written.
    """

    nominal: float
    low: float
    high: float
    extrapolated: bool
    optimistic: bool
    known: bool


def ionic_strength(birth_strength: float, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """Ionic strength [mol/L] of fresh stock of `birth_strength` [kg/m3 Cl2]: [OCl] + [Cl] + [OH].

    Making it puts one chloride beside each hypochlorite; [OH] from `excess_caustic` [kg/kg]; carbonate and
    chlorate of fresh stock are left out. Source: definition of mu, stoichiometry. Any strength >= 0.
    """
    hydroxide = excess_caustic * density(birth_strength, excess_caustic) / (1000.0 * CAUSTIC)
    return 2.0 * molarity(birth_strength) + hydroxide


def ph_of_lye(strength: float, excess_caustic: float = USUAL_CAUSTIC) -> float:
    """pH of stock of `strength` [kg/m3 Cl2] by its `excess_caustic` [kg/kg] alone, at 25 C; 7 without any.

    14 + log10 [OH], no activities. Hypochlorite's own hydrolysis is left out: it keeps 12.5 trade percent without any
    lye near pH 10.9. Source: definition of pH; no carbonate, no acid. Any strength >= 0.
    """
    return ph_of(excess_caustic * density(strength, excess_caustic) / (1000.0 * CAUSTIC))


def ph_of(hydroxide: float) -> float:
    """pH of `hydroxide` [mol/L] at 25 C, no activities; 7 where none is left. Source: definition."""
    return max(14.0 + log10(hydroxide), 7.0) if hydroxide > 0.0 else 7.0


def ph_of_dilution(stock_ph: float, parts: float, alkalinity: float) -> float:
    """pH of `parts` [m3 per m3] of stock of `stock_ph` [pH by its lye] in water of `alkalinity` [mol/L].

    The water's bicarbonate takes up its own amount of lye: OH + HCO3 -> CO3. Source: stoichiometry; no activities, no
    hydrolysis. Parts from 0 to 1.
    """
    return ph_of(10.0 ** (stock_ph - 14.0) * parts - alkalinity)


def rate_constant(ionic_strength: float, temperature: float) -> float:
    """Second-order rate constant [L/(mol s)] at `ionic_strength` [mol/L] and `temperature` [K].

    Source: Adam & Gordon (1999), see the module. Valid 1 to 6 mol/L, 288.15 to 328.15 K.
    Raises ValueError for a temperature not above 0 K or an ionic strength below 0.
    """
    if not (isfinite(temperature) and temperature > 0.0 and ionic_strength >= 0.0):
        raise ValueError(f"no rate at {ionic_strength} mol/L and {temperature} K")
    arrhenius = exp(-1.018e5 / (GAS_CONSTANT * temperature)) * exp(-56.5 / GAS_CONSTANT)
    return float(10.0 ** (0.149 * ionic_strength) * 2.083e10 * temperature * arrhenius)


def exposure(history: Sequence[Stored], ionic_strength: float) -> float:
    """Sum of k2 dt [L/mol] over `history` at `ionic_strength` [mol/L]: what storage has done to the lot.

    Source: the closed form of the module. Raises ValueError for a stretch of negative seconds.
    """
    total = 0.0
    for stretch in history:
        if not stretch.seconds >= 0.0:
            raise ValueError(f"storage of {stretch.seconds} s")
        total += rate_constant(ionic_strength, stretch.temperature) * stretch.seconds
    return total


def left_after(strength: float, exposed: float) -> float:
    """Available chlorine [kg/m3] left of `strength` [kg/m3] after `exposed` [L/mol]: C0 / (1 + C0 sum k2 dt).

    Source: the closed form of the module. Any strength and exposure >= 0.
    """
    start = molarity(strength)
    return from_molarity(start / (1.0 + start * exposed))


def strength_since_made(
    birth_strength: float,
    history: Sequence[Stored] | None,
    excess_caustic: float = USUAL_CAUSTIC,
    *,
    error: tuple[float, float] = (0.0, 0.0),
) -> Aged:
    """What is left today of an untested lot made at `birth_strength` [kg/m3 Cl2].

    `history` runs from the day it was made; None where that day is not known: the lot then stands as
    written, `known` False. `excess_caustic` [kg/kg]; `error` [-]: how far the label may be above and below what was
    in the drum. Source, range: the module. Raises ValueError below 0.
    """
    aged = _aged(birth_strength, history or (), birth_strength, excess_caustic, error)
    return aged if history is not None else replace(aged, known=False)


def strength_since_test(
    tested_strength: float,
    history: Sequence[Stored],
    birth_strength: float | None,
    excess_caustic: float = USUAL_CAUSTIC,
    *,
    error: tuple[float, float] = (0.0, 0.0),
) -> Aged:
    """What is left today of a lot that measured `tested_strength` [kg/m3 Cl2] at the start of `history`.

    The test is the new start; the rate keeps the ionic strength of `birth_strength` [kg/m3 Cl2], for the
    salt stays. Without it (None) mu is taken from the test and the answer is marked optimistic. A test above
    the birth strength corrects the birth. `excess_caustic` [kg/kg]; `error` [-]: the share of its reading that the test
    may be off by, above what is there and below. Source, range: the module.
    """
    born = tested_strength if birth_strength is None else max(birth_strength, tested_strength)
    aged = _aged(tested_strength, history, born, excess_caustic, error)
    return replace(aged, optimistic=birth_strength is None)


def _aged(
    start: float, history: Sequence[Stored], born: float, excess_caustic: float, error: tuple[float, float]
) -> Aged:
    mu = ionic_strength(born, excess_caustic)
    short = ph_of_lye(start, excess_caustic) < STABLE_PH
    # Less lye is less salt, and by the equation slower; nothing that was read bears that out.
    exposed = exposure(history, max(mu, ionic_strength(born, USUAL_CAUSTIC)))
    return Aged(
        nominal=left_after(start, exposed),
        low=left_after(start * (1.0 - error[0]), exposed * (LOW_CAUSTIC_BAND if short else RATE_BAND)),
        high=left_after(start * (1.0 + error[1]), exposed / RATE_BAND),
        extrapolated=short or any(_outside(stretch, mu) for stretch in history if stretch.seconds > 0.0),
        optimistic=False,
        known=True,
    )


def _outside(stretch: Stored, mu: float) -> bool:
    def beyond(value: float, limits: tuple[float, float]) -> bool:
        return value < limits[0] * (1.0 - MARGIN) or value > limits[1] * (1.0 + MARGIN)

    return beyond(stretch.temperature, FITTED_TEMPERATURES) or beyond(mu, FITTED_IONIC_STRENGTHS)
