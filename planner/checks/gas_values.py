"""How much gas a meeting could give, as values a finding's words are filled with."""

from __future__ import annotations

from planner.plan.matrix import Gas
from planner.plan.model import Value


def gas_values(gas: Gas | None) -> dict[str, Value | str]:
    """Mass, volume and name of the gas, and the air it spoils where a limit is known of it; nothing where none comes.

    `air_level` and `air_means` are the limit's own words.
    """
    if gas is None:
        return {}
    values: dict[str, Value | str] = {
        "gas": gas.released.gas,
        "gas_mass": Value(gas.released.mass, "mass"),
        "gas_volume": Value(gas.released.volume, "air"),
    }
    if gas.air is not None and gas.limit is not None:
        values |= {"air": Value(gas.air, "air"), "air_level": gas.limit.level, "air_means": gas.limit.means}
    return values
