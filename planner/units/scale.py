"""How large a unit is: a table of what pint says, and pint itself, loaded for the first unit that is not in it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from planner.light import without
from planner.locate import data_file

if TYPE_CHECKING:
    import pint


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    # pint imports numpy and scipy wherever they happen to be installed, which is slow and of no use here.
    with without("numpy", "scipy"):
        import pint
    return pint.UnitRegistry(str(data_file("units.txt")), cache_folder=None)


@lru_cache(maxsize=1)
def known() -> Mapping[tuple[str, str], tuple[float, float]]:
    """The rows of data/scales.txt."""
    lines = data_file("scales.txt").read_text(encoding="utf-8").splitlines()
    split = (line.split(" | ") for line in lines if not line.startswith("#"))
    return {(unit, si): (float(factor), float(offset)) for unit, si, factor, offset in split}


def scale(expression: str, si: str) -> tuple[float, float]:
    """Factor and offset that bring a unit to SI: SI value = factor x number + offset."""
    return known().get((expression, si)) or by_pint(expression, si)


@lru_cache(maxsize=2048)
def by_pint(expression: str, si: str) -> tuple[float, float]:
    """The same as pint works it out."""
    registry = _registry()
    if expression.startswith("degree_"):
        zero = float(registry.Quantity(0.0, expression).to(si).magnitude)
        return float(registry.Quantity(1.0, f"delta_{expression}").to(si).magnitude), zero
    return float((1.0 * registry.parse_expression(expression)).to(si).magnitude), 0.0
