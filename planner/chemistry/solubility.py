"""How much of a dry chemical water takes up, by its temperature.

Solubility is counted the way it is mixed: kg of what is sold, crystal water and all, in a cubic metre of plain water
(g in a litre).  Rows are read by straight lines; colder or warmer than the rows, the nearest one holds.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import Final

from planner.chemistry.constants import ZERO_CELSIUS

NEAR_SATURATION: Final = 0.9
"""Above this share of what dissolves, crystals are stirred for a long time (common practice, no source)."""


def solubility(rows: Sequence[tuple[float, float]], temperature: float) -> float:
    """The most that dissolves [kg per m3 of water] at `temperature` [K].

    `rows` are pairs (C, g in a litre of water) by rising temperature. Source: the rows' own; straight lines between,
    the end rows beyond. Raises ValueError for no row.
    """
    if not rows:
        raise ValueError("no solubility is known")
    celsius = temperature - ZERO_CELSIUS
    at = bisect_right(rows, celsius, key=lambda row: row[0])
    if at in (0, len(rows)):
        return rows[0 if at == 0 else -1][1]
    (cold, less), (warm, more) = rows[at - 1], rows[at]
    return less + (more - less) * (celsius - cold) / (warm - cold)
