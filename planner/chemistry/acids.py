"""Acids: how strong muriatic acid is by any label, how it dilutes, and how warm that gets.

Acid is sold by weight and poured by volume, and a mix is a little smaller than its parts, so everything
here goes by mass.  Density of HCl(aq): Laliberte's model, J. Chem. Eng. Data 54 (2009) 1725, with its water
and its HCl coefficients; valid 5 to 99 C and 0 to 0.376 kg/kg, and still within 0.1 % at 0.38.
1/rho = (1-w)/rho_w + w (w + A) / ((c0 w + c1) E), A = c2 + c3 t, E = exp(1e-6 (t + c4)^2), t in C, so density
and strength both turn round into a quadratic in w.  Strengths are kg HCl per m3 at 20 C unless said.
"""

from __future__ import annotations

from math import exp, sqrt
from typing import Final, Literal

from planner.chemistry.constants import HYDROGEN_CHLORIDE, MARGIN, ROOM, ZERO_CELSIUS
from planner.frozen import dataclass

Label = Literal["wt", "degbe", "normal", "g_l"]

HCL_COEFFICIENTS: Final = (
    0.000283872260482906, 0.00394946957169882, 2.85020047681807, -0.0157747012568046, -3766.20868665006,
)  # fmt: skip
"""c0 to c4 of HCl in Laliberte (2009)."""

STRONGEST: Final = 0.40
"""The most HCl [kg/kg] taken for a liquid here; stronger acid does not stay in solution."""

BAUME_TEMPERATURE: Final = 288.70555555555555
"""Temperature [K] of the Baume scale: 60 F."""

BAUME_MODULUS: Final = 145.0
"""Heavier than water: SG 60/60 F = 145 / (145 - degBe) (a US handbook's scale, as a university page quotes)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Diluted:
    """Acid in water: `mass_fraction` [kg/kg], `density` [kg/m3], `strength` [kg/m3], `normality` [mol/L].

    `volume` [m3 per m3 of parts poured] is under 1: mixed, they take less room.
    """

    mass_fraction: float
    density: float
    strength: float
    normality: float
    volume: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What to pour for a mix of a given volume: `stock` and `water` in m3. They are more than the mix."""

    stock: float
    water: float


def water_density(temperature: float = ROOM) -> float:
    """Density [kg/m3] of water at `temperature` [K], the acid model's own. Source: Laliberte (2009).

    Valid 0 to 100 C.
    """
    t = temperature - ZERO_CELSIUS
    rising = ((((-2.8054253e-10 * t + 1.0556302e-7) * t - 4.6170461e-5) * t - 0.0079870401) * t + 16.945176) * t
    return (rising + 999.83952) / (1.0 + 0.01687985 * t)


def density(mass_fraction: float, temperature: float = ROOM) -> float:
    """Density [kg/m3] of hydrochloric acid of `mass_fraction` [kg/kg] at `temperature` [K].

    Source: Laliberte (2009), see the module. Valid 5 to 99 C, 0 to 0.376 kg/kg.
    Raises ValueError outside 0 to 0.40 kg/kg.
    """
    _within(mass_fraction)
    c0, c1, shift, stretch = _coefficients(temperature)
    apparent = (mass_fraction + shift) / ((c0 * mass_fraction + c1) * stretch)
    return 1.0 / ((1.0 - mass_fraction) / water_density(temperature) + mass_fraction * apparent)


def strength(mass_fraction: float, temperature: float = ROOM) -> float:
    """HCl [kg/m3] in acid of `mass_fraction` [kg/kg] at `temperature` [K]: w rho(w). Source: density."""
    return mass_fraction * density(mass_fraction, temperature)


def mass_fraction_of_strength(strength: float, temperature: float = ROOM) -> float:
    """Mass fraction [kg/kg] of acid of `strength` [kg/m3 HCl] at `temperature` [K]; a quadratic, exact.

    Source: density. Raises ValueError where that would be outside 0 to 0.40 kg/kg.
    """
    if not strength >= 0.0:
        raise ValueError(f"{strength} is not a strength")
    c0, c1, shift, stretch = _coefficients(temperature)
    per_water = strength / water_density(temperature)
    return _root(
        strength - (per_water + 1.0) * c0 * stretch,
        per_water * c0 * stretch + strength * shift - (per_water + 1.0) * c1 * stretch,
        per_water * c1 * stretch,
    )


def mass_fraction_of_density(density: float, temperature: float = ROOM) -> float:
    """Mass fraction [kg/kg] of acid of `density` [kg/m3] at `temperature` [K]; a quadratic, exact.

    Source: density. Raises ValueError where that would be outside 0 to 0.40 kg/kg.
    """
    c0, c1, shift, stretch = _coefficients(temperature)
    of_water, of_acid = 1.0 / water_density(temperature), 1.0 / density
    return _root(
        1.0 - of_water * c0 * stretch,
        (of_water - of_acid) * c0 * stretch - of_water * c1 * stretch + shift,
        (of_water - of_acid) * c1 * stretch,
    )


def mass_fraction_of_baume(degrees: float) -> float:
    """Mass fraction [kg/kg] of acid of `degrees` [degBe], heavier than water, by its density at 60 F.

    Source: the scale's definition and density. Valid 0 to 23 degBe. Raises ValueError beyond 0.40 kg/kg.
    """
    if not 0.0 <= degrees < BAUME_MODULUS:
        raise ValueError(f"{degrees} degBe is not on the scale")
    gravity = BAUME_MODULUS / (BAUME_MODULUS - degrees)
    return mass_fraction_of_density(gravity * water_density(BAUME_TEMPERATURE), BAUME_TEMPERATURE)


def normality(strength: float) -> float:
    """Equivalents of acid [mol/L] in `strength` [kg/m3 HCl]: C / 36.461. Source: definition."""
    return strength / (1000.0 * HYDROGEN_CHLORIDE)


def from_label(amount: float, label: Label) -> float:
    """HCl [kg/m3 at 20 C] of a figure as the jug writes it.

    `amount` is in the `label`'s own unit [wt %, degBe, mol/L, g/L]. A volume percent says nothing without
    its stock: see diluted. Source: the module. Raises ValueError for what no muriatic acid can be.
    """
    match label:
        case "wt":
            return strength(amount / 100.0)
        case "degbe":
            return strength(mass_fraction_of_baume(amount))
        case "normal":
            return strength(mass_fraction_of_strength(amount * 1000.0 * HYDROGEN_CHLORIDE))
        case "g_l":
            return strength(mass_fraction_of_strength(amount))


def diluted(stock_fraction: float, by_volume: float, temperature: float = ROOM) -> Diluted:
    """The mix of stock of `stock_fraction` [kg/kg], `by_volume` [m3 stock per m3 poured], with water.

    Masses add: w = x rho_s w_s / (x rho_s + (1 - x) rho_w), volume = mass / rho(w); `temperature` [K].
    Source: mass balance on density. Raises ValueError for a share outside 0 to 1.
    """
    if not 0.0 <= by_volume <= 1.0:
        raise ValueError(f"{by_volume} is not a share")
    stock_mass = by_volume * density(stock_fraction, temperature)
    mass = stock_mass + (1.0 - by_volume) * water_density(temperature)
    fraction = stock_mass * stock_fraction / mass
    mixed = density(fraction, temperature)
    return Diluted(
        mass_fraction=fraction,
        density=mixed,
        strength=fraction * mixed,
        normality=normality(fraction * mixed),
        volume=mass / mixed,
    )


def parts_for(volume: float, target: float, stock: float, temperature: float = ROOM) -> Parts:
    """Stock and water [m3] that make `volume` [m3] of `target` [kg/m3] from `stock` [kg/m3], by mass.

    HCl and mass are both conserved, so the parts exceed the mix by its contraction (0.23 % at 15 vol %).
    `temperature` [K]. Source: mass balance on density. Raises ValueError for a target above the stock.
    """
    if target > stock:
        raise ValueError(f"{target} kg/m3 cannot be made from {stock}")
    of_mix = mass_fraction_of_strength(target, temperature)
    of_stock = mass_fraction_of_strength(stock, temperature)
    poured = volume * target / stock if stock > 0.0 else 0.0
    water_mass = volume * density(of_mix, temperature) - poured * density(of_stock, temperature)
    return Parts(stock=poured, water=water_mass / water_density(temperature))


def _coefficients(temperature: float) -> tuple[float, float, float, float]:
    c0, c1, c2, c3, c4 = HCL_COEFFICIENTS
    t = temperature - ZERO_CELSIUS
    return c0, c1, c2 + c3 * t, exp(1e-6 * (t + c4) ** 2)


def _root(square: float, linear: float, constant: float) -> float:
    """The physical root: `linear` is negative here, and this form keeps its digits as the others vanish."""
    under = linear * linear - 4.0 * square * constant
    if under < 0.0:
        raise ValueError("no hydrochloric acid is so heavy")
    root = 2.0 * constant / (-linear + sqrt(under))
    if -1e-6 < root < 0.0:
        return 0.0  # water itself, a float's breadth light
    _within(root)
    return root


def _within(mass_fraction: float) -> None:
    if not 0.0 <= mass_fraction <= STRONGEST * (1.0 + MARGIN):
        raise ValueError(f"{mass_fraction} kg/kg is not hydrochloric acid: 0 to {STRONGEST}")
