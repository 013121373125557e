"""What a liquid of the table weighs at a strength."""

from __future__ import annotations

from planner.chemistry import acids, hypochlorite, solutions
from planner.chemistry.hypochlorite import USUAL_CAUSTIC
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS


def density_of(chemical: str, strength: float, excess_caustic: float = USUAL_CAUSTIC) -> float | None:
    """Density [kg/m3] at 20 C of a liquid of `strength` [kg/m3]; None where nothing is known of it so strong.

    Aged bleach weighs what it weighed when made: give its strength then.
    """
    of = CHEMICALS.get(chemical)
    if chemical == BLEACH:
        return hypochlorite.density(strength, excess_caustic)
    if of is None or of.form == "dry":
        return None
    try:
        if of.solution.by == "hydrochloric":
            return acids.density(acids.mass_fraction_of_strength(strength))
        rows = of.solution.rows
        return solutions.density(rows, solutions.mass_fraction(rows, strength)) if rows else None
    except ValueError:
        return None
