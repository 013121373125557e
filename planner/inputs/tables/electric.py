"""The tables of motors and wire in SI: data/motors.yaml and data/conductors.yaml."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from planner.frozen import dataclass
from planner.inputs.tables.rows import rows
from planner.units import read

_THOUSAND_FEET = 304.8


@dataclass(frozen=True, slots=True, kw_only=True)
class MotorColumn:
    """Motors whose plate says from `least` to `most` [V]: they hang on a system of `supply` [V].

    `points` are shaft power [W] and full-load current [A], rising; `starts` the same of the locked rotor.
    """

    least: float
    most: float
    supply: float
    points: tuple[tuple[float, float], ...]
    starts: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """Copper wire of a `gauge` [AWG]: `resistance` [ohm/m] of one at 20 C, `carries` [A] two in a cord or None."""

    gauge: float
    resistance: float
    carries: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectricTables:
    """All a plan of the electricity is made with: `efficiency` [-] of direct-current motors, `start` [-] times
    full-load current, `battery` [V], `direct_below` [V] the plate of a motor on a battery, `hot` [K] of a cord at what
    it carries in air of `air` [K]. `wires` thickest first.
    """

    columns: tuple[MotorColumn, ...]
    wires: tuple[Wire, ...]
    efficiency: float
    start: float
    battery: float
    direct_below: float
    hot: float
    air: float


def _points(table: Sequence[Mapping[str, Any]], column: str) -> tuple[tuple[float, float], ...]:
    """Power [W] and current [A] of the rows that have this column."""
    return tuple((read(row["power"], "power"), read(row[column], "current")) for row in table if column in row)


@lru_cache(maxsize=1)
def electric_tables() -> ElectricTables:
    """Both tables, read once."""
    figures = {row["name"]: read(row["value"], row["dimension"]) for row in rows("motors", "figures")}
    copper = {row["name"]: read(row["value"], row["dimension"]) for row in rows("conductors", "copper")}
    motors = rows("motors", "single_phase")
    return ElectricTables(
        columns=tuple(
            MotorColumn(
                least=read(column["from"], "voltage"),
                most=read(column["to"], "voltage"),
                supply=read(column["supply"], "voltage"),
                points=_points(motors, column["name"]),
                starts=_points(rows("motors", "locked_rotor"), column["name"]),
            )
            for column in rows("motors", "columns")
        ),
        wires=tuple(
            Wire(
                gauge=read(row["gauge"], "gauge"),
                resistance=read(row["ohm"], "number") / _THOUSAND_FEET,
                carries=read(row["carries"], "current") if "carries" in row else None,
            )
            for row in rows("conductors")
        ),
        efficiency=figures["efficiency"],
        start=figures["start"],
        battery=figures["battery"],
        direct_below=figures["direct_below"],
        hot=copper["hot"],
        air=copper["air_of_table"],
    )
