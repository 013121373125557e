"""Neutralising what is left: heels, gutter catch and spills, never stock and never a whole runoff.

Dechlorinating doses are field doses at pH 7, mass of agent per mass of available chlorine; a fifth is carried
on top (AWWA, Disinfection of Pipelines and Storage Facilities Field Guide, table 7-2 and its text).  They lie
above the stoichiometric ones, which are kept beside them.  Acids take their base by stoichiometry.
The doses are rows of data and come in as arguments.
"""

from __future__ import annotations

from typing import Final

from planner.chemistry.constants import CHLORINE, MARGIN, WATER_AT_ROOM
from planner.frozen import dataclass

SPARE: Final = 0.20
"""Share of agent carried beyond the dose (AWWA field guide)."""

STRONGEST_DECHLORINATED: Final = 20.0
"""Most available chlorine [kg/m3] that may be dechlorinated: 2 trade %. Above it the heat is dangerous."""

HOTTEST_HEAT: Final = 334e3
"""Heat [J per mol of available chlorine] with sulfite, the most of those known: taken for every agent's warmth.

OCl- + SO3-- -> SO4-- + Cl-, standard enthalpies of formation (from memory).
"""

WATER_HEAT: Final = 4184.0
"""Heat [J/(kg K)] that warms water (from memory); a thin mix is taken for water."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Agent:
    """One neutraliser for one active: kg of agent per kg of active.

    `dose` is the field dose, or None where only chemistry says; `stoichiometric` None where it depends on the
    pH. `source` names where they come from.
    """

    name: str
    dose: float | None
    stoichiometric: float | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Neutralised:
    """Agent for a volume: `active`, `agent`, `carry` (spare included) in kg; None where `refused` as too strong.

    `stoichiometric` [kg] is the least chemistry allows, None where not known.
    """

    name: str
    active: float
    agent: float | None
    carry: float | None
    stoichiometric: float | None
    refused: bool


def active_mass(volume: float, strength: float) -> float:
    """Mass of active [kg] in `volume` [m3] of `strength` [kg/m3]. Source: definition."""
    return volume * strength


def neutralise(
    *, volume: float, strength: float, agent: Agent, spare: float = SPARE, strongest: float | None = None
) -> Neutralised:
    """What of `agent` to take for `volume` [m3] of `strength` [kg/m3], and `spare` [-] on top to carry.

    The field dose where there is one, else the stoichiometric. Above `strongest` [kg/m3] it is refused, at the
    limit it passes; None: no limit (acid mixes).
    Source: the agent's row. Raises ValueError below 0, or for an agent with no figure at all.
    """
    if volume < 0.0 or strength < 0.0 or spare < 0.0:
        raise ValueError(f"{volume} m3 of {strength} kg/m3 with spare {spare}")
    per_active = agent.dose if agent.dose is not None else agent.stoichiometric
    if per_active is None:
        raise ValueError(f"nothing says how much {agent.name} to take")
    active = active_mass(volume, strength)
    refused = strongest is not None and strength > strongest * (1.0 + MARGIN)
    return Neutralised(
        name=agent.name,
        active=active,
        agent=None if refused else active * per_active,
        carry=None if refused else active * per_active * (1.0 + spare),
        stoichiometric=None if refused or agent.stoichiometric is None else active * agent.stoichiometric,
        refused=refused,
    )


def dechlorinating_rise(strength: float) -> float:
    """How much warmer [K] a bucket of `strength` [kg/m3 Cl2] gets that is dechlorinated at once and loses no heat.

    C dH / (M rho c), 334 kJ per mole. Source: HOTTEST_HEAT and an energy balance. Valid for thin mixes, to 20 kg/m3.
    """
    return strength / CHLORINE * HOTTEST_HEAT / (WATER_AT_ROOM * WATER_HEAT)
