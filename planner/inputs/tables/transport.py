"""What the road asks for, and what a container weighs empty: data/transport.yaml, and the records of chemicals."""

from __future__ import annotations

import re
from functools import lru_cache

from planner.inputs.tables.chemicals import CHEMICALS, Listed
from planner.inputs.tables.rows import rows, table
from planner.units import read


def listed(chemical: str) -> Listed:
    """What the road calls a chemical that it lists. Raises KeyError for another."""
    row = CHEMICALS[chemical].listed
    if row is None:
        raise KeyError(chemical)
    return row


def not_arranged(text: str) -> tuple[str, ...]:
    """What a company's words on transport leave unsaid of what the road asks for; all of it where they deny any."""
    said = set(re.findall(r"[^\W_]+", text.casefold()))
    denied = bool(said & set(table("transport")["denied"]))
    return tuple(row["what"] for row in rows("transport", "arranged") if denied or not said & set(row["words"]))


@lru_cache(maxsize=1)
def tares() -> tuple[tuple[float, float], ...]:
    """Pairs (holds [m3], weighs empty [kg]) rising."""
    return tuple((read(row["up_to"], "volume"), read(row["tare"], "mass")) for row in rows("transport", "tares"))
