"""Gas: how much a meeting could give and how much air that would spoil, and what a descaling bath gives off.

The most chemistry allows: the scarcer of the two is spent to the end on the one reaction.  With n moles of gas,

    m = n M        V = n R T / p        air = V / limit

the limit being a share of the air by volume (1 ppm = 1e-6).  Gas is taken at 25 C and one atmosphere, where the ppm of
exposure limits are defined (24.45 L/mol): a gram of aluminium then gives 1.36 L of hydrogen.  The air is still and
mixed evenly, so near the spot it is worse and in the wind sooner better.  Rows of data are handed in.

A descaling bath: how much lime it takes off before it is spent, and the gas it gives off on the way.

Scale is taken for calcium carbonate. An acid takes up what it keeps in the water of it: half a mole for each mole of
one that parts with one proton there, none where its calcium salt falls out at once and seals the lime. Stoichiometry;
which salt does what is data's, with its source.
"""

from __future__ import annotations

from math import inf
from typing import Final

from planner.chemistry.constants import CALCIUM_CARBONATE, GAS_CONSTANT
from planner.frozen import dataclass

ATMOSPHERE: Final = 101325.0
"""One standard atmosphere [Pa] (definition)."""

AIR_TEMPERATURE: Final = 298.15
"""Temperature [K] at which ppm of exposure limits are turned into mass: 25 C (NIOSH Pocket Guide, from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GasReaction:
    """Moles of `first` and `second` that give `gives` moles of gas; 0 taken: it only sets the other off.

    `gas_molar` [kg/mol] is the gas's molar mass; `equation` is balanced.
    """

    first: str
    second: str
    takes_first: float
    takes_second: float
    gas: str
    gives: float
    gas_molar: float
    equation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """A limit of a gas in air: `share` [-] of the volume, of a `kind` (ceiling, PEL, IDLH, LEL), `means` in words."""

    gas: str
    kind: str
    share: float
    level: str
    means: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Released:
    """What a meeting could give: `mass` [kg] and `volume` [m3, 25 C, 1 atm] of `gas`."""

    gas: str
    mass: float
    volume: float


def gas_volume(moles: float, temperature: float = AIR_TEMPERATURE, pressure: float = ATMOSPHERE) -> float:
    """Volume [m3] of `moles` [mol] of gas at a `temperature` [K] and `pressure` [Pa]. Source: ideal gas law."""
    return moles * GAS_CONSTANT * temperature / pressure


def released(
    reaction: GasReaction, first: float | None, second: float | None, molar_first: float, molar_second: float
) -> Released | None:
    """The most gas of a `reaction` from `first` [kg] and `second` [kg] of active, None where one is not short.

    `molar_first` [kg/mol] and `molar_second` [kg/mol] are of the actives as their strengths count them. None where
    both are without limit, or the limited one is not used up. Source: stoichiometry of the row's balanced equation.
    Raises ValueError for an amount below 0.
    """
    if (first or 0.0) < 0.0 or (second or 0.0) < 0.0:
        raise ValueError(f"{first} kg of {reaction.first} and {second} kg of {reaction.second}")
    turns = min(_turns(first, molar_first, reaction.takes_first), _turns(second, molar_second, reaction.takes_second))
    if turns == inf:
        return None
    moles = turns * reaction.gives
    return Released(
        gas=reaction.gas,
        mass=moles * reaction.gas_molar,
        volume=gas_volume(moles),
    )


def _turns(mass: float | None, molar: float, takes: float) -> float:
    """How many times the equation runs before this is gone; endless where it is not short or not used up."""
    return inf if mass is None or takes == 0.0 else mass / molar / takes


def air_spoiled(volume: float, share: float) -> float:
    """Air [m3] that `volume` [m3] of gas brings to a `share` [-] of it. Source: definition of a share by volume.

    Raises ValueError for a share that is not above 0.
    """
    if not share > 0.0:
        raise ValueError(f"a limit of {share}")
    return volume / share


# ------------------------------------------------------------ a descaling bath

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
