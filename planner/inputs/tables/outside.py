"""What people outside the trade advise for a surface, as rows of data/surfaces.yaml: to hold the table against."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, cast

from planner.frozen import dataclass
from planner.inputs.reading.strengths import Strength, read_strength
from planner.inputs.tables.rows import rows
from planner.units import read


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """Advice for some `kinds` of surface and one chemical: `strength` weak to strong, as its source puts it.

    `above`: what is said of a stronger mix, `told` or `never`. `cover` [m2/m3] most to least, `dwell` [s]; None
    where the source is silent. `says` is its recipe in words, `advice` what it says besides, or nothing.
    """

    kinds: tuple[str, ...]
    chemical: str
    strength: tuple[Strength, Strength]
    cover: tuple[float, float] | None
    dwell: tuple[float, float] | None
    above: Literal["told", "never"]
    says: str
    advice: str
    source: str


@lru_cache(maxsize=1)
def outside_rows() -> tuple[Outside, ...]:
    """Every row, in the order of the file."""
    return tuple(
        Outside(
            kinds=tuple(row["kinds"]),
            chemical=row["chemical"],
            strength=(read_strength(row["strength"][0]), read_strength(row["strength"][1])),
            cover=_pair(row.get("cover"), "coverage"),
            dwell=_pair(row.get("dwell"), "time"),
            above=cast(Literal["told", "never"], row["above"]),
            says=row["says"],
            advice=row.get("advice", ""),
            source=row["source"],
        )
        for row in rows("surfaces", "outside")
    )


def _pair(written: list[str] | None, dimension: str) -> tuple[float, float] | None:
    return None if written is None else (read(written[0], dimension), read(written[1], dimension))
