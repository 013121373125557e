"""What leaves a wall: the mix that was sprayed, thinned by the water that wets and rinses it.

At the foot of the wall C = m / (V_mix + V_water), a mean over the whole of the wash: the first of it is the mix
itself. Nothing is taken as used up by soil, by stone or by the sun, nor as dried on (`KEPT`), so these are the
most there can be. The water's own chlorine is left out of the mass: it is told apart, as what the tap carries.
Masses and volumes are conserved: what a mix is made from is on its walls, left as spare, in the hose, or the heel.
pH is the balance of charge with concentrations for activities, about 0.1 too low at 0.1 mol/L, and in pure water:
the tap's own alkalinity is left out. Source: mass balance and charge balance, as every textbook has them.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log10
from typing import Final

from fluids.numerics import brenth

from planner.frozen import dataclass

KEPT: Final = 0.0
"""Share [-] of the active that stays on a wall or is used up there: none, the safe side (our choice)."""

WATER_IONS: Final = 1.0e-14
"""Ion product [mol2/L2] of water at 25 C (from memory)."""

CARBONIC: Final = (6.35, 10.33)
"""pK [-] of each step of carbonic acid in water at 25 C (CRC Handbook, from memory)."""

HYDROGEN_PEROXIDE: Final = (11.65,)
"""pK [-] of hydrogen peroxide in water at 25 C (CRC Handbook, from memory)."""

_LOWEST, _HIGHEST = -2.0, 16.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaving:
    """What runs off: `active` [kg] in `volume` [m3], mix and water together; `strength` [kg/m3] is its mean."""

    active: float
    volume: float
    strength: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Remains:
    """What is left of a mix when its walls are done, in m3: `heel` the pump leaves, `spare`.

    `walls` [m3] is what was sprayed: the three together are what was made.
    """

    walls: float
    heel: float
    spare: float


def leaving(*, mix: float, strength: float, water: float, kept: float = KEPT) -> Leaving:
    """What leaves a wall that took `mix` [m3] of `strength` [kg/m3] and `water` [m3] before and after it.

    `kept` [-] of the active stays there or is used up. Source: mass balance. Raises ValueError below 0, for a share
    outside 0 to 1, or where nothing was sprayed.
    """
    if not mix > 0.0 or strength < 0.0 or water < 0.0 or not 0.0 <= kept <= 1.0:
        raise ValueError(f"nothing leaves {mix} m3 of {strength} kg/m3 with {water} m3 of water, {kept} kept")
    active = mix * strength * (1.0 - kept)
    return Leaving(active=active, volume=mix + water, strength=active / (mix + water))


def remains(*, made: float, walls: float, heel: float) -> Remains:
    """What is left of `made` [m3] once `walls` [m3] are sprayed, from a tank that keeps `heel` [m3].

    The heel is kept first. Source: mass balance. Raises ValueError below 0.
    """
    if min(made, walls, heel) < 0.0:
        raise ValueError(f"{made} m3 made, {walls} sprayed, {heel} left")
    sprayed = min(walls, made)
    in_tank = min(heel, made - sprayed)
    return Remains(walls=sprayed, heel=in_tank, spare=made - sprayed - in_tank)


def times_over(strength: float, criterion: float) -> float:
    """How many times `strength` [kg/m3] is a `criterion` [kg/m3]; as much clean water would thin it to that.

    Source: definition. Raises ValueError for a criterion not above 0.
    """
    if not criterion > 0.0:
        raise ValueError(f"{criterion} kg/m3 is not a criterion")
    return strength / criterion


def strong_ph(acid: float) -> float:
    """pH [-] of a strong acid of `acid` [equivalents/L], or of a strong base where that is negative.

    h - Kw / h = a. Source: charge balance, see the module. Valid to about 0.5 mol/L.
    """
    return _ph(acid)


def weak_ph(concentration: float, constants: Sequence[float]) -> float:
    """pH [-] of a weak acid of `concentration` [mol/L] with the pK of its steps, `constants` [-].

    h - Kw / h = c sum(i a_i), a_i the share that has lost i protons. Source: charge balance, see the module.
    Valid to about 0.5 mol/L.
    """
    return _ph(0.0, (concentration, constants))


def carbonate_ph(carbonate: float, peroxide: float = 0.0) -> float:
    """pH [-] of soda ash of `carbonate` [mol/L], with `peroxide` [mol/L] of H2O2 as percarbonate brings it.

    h + 2 c - Kw / h = c sum(i a_i) + p b, what is lost of carbonic acid and of peroxide. Source: charge balance, see
    the module; no carbon dioxide of the air. Valid to about 0.5 mol/L.
    """
    return _ph(-2.0 * carbonate, (carbonate, CARBONIC), (peroxide, HYDROGEN_PEROXIDE))


def _ph(strong: float, *weak: tuple[float, Sequence[float]]) -> float:
    """pH of a strong acid [equivalents/L], below 0 of a strong base, with weak acids [mol/L, their pK]."""
    present = [(amount, constants) for amount, constants in weak if amount > 0.0 and constants]

    def charge(ph: float) -> float:
        hydrogen = float(10.0**-ph)
        total = hydrogen - WATER_IONS / hydrogen - strong
        for amount, constants in present:
            terms = [1.0]
            for constant in constants:
                terms.append(terms[-1] * float(10.0**-constant) / hydrogen)
            total -= amount * sum(steps * term for steps, term in enumerate(terms)) / sum(terms)
        return total

    if not present:
        # A quadratic, without the loss of digits where acid or base is strong.
        root = (abs(strong) + (strong * strong + 4.0 * WATER_IONS) ** 0.5) / 2.0
        return float(-log10(root if strong >= 0.0 else WATER_IONS / root))
    return float(brenth(charge, _LOWEST, _HIGHEST))
