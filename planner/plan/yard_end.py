"""How a descaling bath is ended: what makes it harmless, and what its first rinse has in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from planner.inputs.joined import JobInput
from planner.plan.mix_model import Neutraliser
from planner.plan.neutralisers import neutralised

SPENT_BATH: Final = "the bath, as strong as it was made"
FIRST_RINSE: Final = "the first rinse"
"""What each neutraliser of a yard job is for."""


def ended(
    job: JobInput, chemical: str, fills: float, strength: float, rinse: float, taken: Mapping[str, float]
) -> tuple[Neutraliser, ...]:
    """For `fills` [m3] of a bath of `strength` [kg/m3] as it was made, and for its first `rinse` [m3] of water.

    No bath is so strong once it was used. `taken` [kg]: what the jobs before took of each lot.
    """
    found = neutralised(job, chemical, SPENT_BATH, fills, strength, taken, thin=False)
    if found is None:
        return ()
    agent, mass = rinse_agent(job, rinse, found.agent)
    first = Neutraliser(
        agent=agent, purpose=FIRST_RINSE, volume=rinse, strength=0.0, thin_to=None, mass=mass, carry=mass, of=chemical
    )
    return found, first


def rinse_agent(job: JobInput, volume: float, ends_it: str | None) -> tuple[str, float]:
    """What the first rinse has in it, and how much [kg]: what ends the bath, never lime, which bites what it rinses.

    Of soda ash so much that it takes as much acid as the bicarbonate would.
    """
    mass = float(job.tables["defaults"]["bath_rinse_strength"]) * volume
    there = {lot.chemical for lot in job.lots}
    ash = ends_it == "soda_ash" or (ends_it != "bicarbonate" and "soda_ash" in there and "bicarbonate" not in there)
    if not ash:
        return "bicarbonate", mass
    takes = {row["name"]: float(row["stoichiometric"]) for row in job.tables["neutralisers"]["hydrogen_chloride"]}
    return "soda_ash", mass * takes["soda_ash"] / takes["bicarbonate"]
