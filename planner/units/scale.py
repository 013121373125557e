"""How large a unit is: pint, asked once for each unit and loaded only when the first is asked for."""

from __future__ import annotations

import sys
from functools import lru_cache
from typing import TYPE_CHECKING

from planner.locate import data_file

if TYPE_CHECKING:
    import pint


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    # pint imports scipy at its top wherever scipy happens to be installed, which doubles start-up and is of
    # no use here.  A None entry makes that import fail as if scipy were absent; it is taken away at once.
    hidden = "scipy" not in sys.modules
    if hidden:
        sys.modules["scipy"] = None  # type: ignore[assignment]
    try:
        import pint
    finally:
        if hidden:
            sys.modules.pop("scipy", None)
    return pint.UnitRegistry(str(data_file("units.txt")), cache_folder=None)


@lru_cache(maxsize=2048)
def scale(expression: str, si: str) -> tuple[float, float]:
    """Factor and offset that bring a unit to SI: SI value = factor x number + offset."""
    registry = _registry()
    if expression.startswith("degree_"):
        zero = float(registry.Quantity(0.0, expression).to(si).magnitude)
        return float(registry.Quantity(1.0, f"delta_{expression}").to(si).magnitude), zero
    return float((1.0 * registry.parse_expression(expression)).to(si).magnitude), 0.0
