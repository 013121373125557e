"""The most of a dry chemical tonight's water takes up, by the table of chemicals."""

from __future__ import annotations

from planner.chemistry.solubility import solubility
from planner.inputs.chemicals import CHEMICALS


def most_dissolved(chemical: str, temperature: float) -> float | None:
    """What dissolves in water of `temperature` [K], kg per m3; None where the table has no row."""
    row = CHEMICALS.get(chemical)
    return solubility(row.dissolves, temperature) if row is not None and row.dissolves else None
