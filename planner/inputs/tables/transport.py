"""The table of transport in SI: data/transport.yaml."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.rows import rows, table
from planner.units import read


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """What the road calls a chemical: its UN number, proper `wording`, hazard `kind` (the class).

    Weaker than `least` [kg/m3 of the active as sold] it is not counted.
    """

    chemical: str
    un: str
    wording: str
    kind: str
    least: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TransportTables:
    """`substances` by chemical; `tares` pairs (holds [m3], weighs empty [kg]) rising; `densities` [kg/m3]."""

    substances: Mapping[str, Substance]
    tares: tuple[tuple[float, float], ...]
    densities: Mapping[str, float]


def not_arranged(text: str) -> tuple[str, ...]:
    """What a company's words on transport leave unsaid of what the road asks for; all of it where they deny any."""
    said = set(re.findall(r"[^\W_]+", text.casefold()))
    denied = bool(said & set(table("transport")["denied"]))
    return tuple(row["what"] for row in rows("transport", "arranged") if denied or not said & set(row["words"]))


@lru_cache(maxsize=1)
def transport_tables() -> TransportTables:
    """The three tables."""
    substances = {
        row["chemical"]: Substance(
            chemical=row["chemical"],
            un=CHEMICALS[row["chemical"]].un or "",
            wording=row["wording"],
            kind=row["class"],
            least=read(row["from"], "concentration"),
            source=row["source"],
        )
        for row in rows("transport", "substances")
    }
    tares = tuple((read(row["up_to"], "volume"), read(row["tare"], "mass")) for row in rows("transport", "tares"))
    densities = {row["chemical"]: read(row["density"], "concentration") for row in rows("transport", "densities")}
    return TransportTables(substances=MappingProxyType(substances), tares=tares, densities=MappingProxyType(densities))
