"""Electricity of a pump: what its motor draws, what the cord to it loses, what a generator or battery must give.

Single phase and direct current.  Cord: drop = 2 L I R, out and back through one wire each.  Resistance alone: up to
10 AWG a cord's reactance is a few hundredths of it.  Source: Ohm's law.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from planner.physics.interpolation import straight

COPPER_COEFFICIENT: Final = 0.00393
"""Rise of copper's resistance for each K above 20 C, as a share of that at 20 C [1/K].

Source: NBS Handbook 100, copper wire tables, annealed copper (number from memory).
"""
COPPER_AT: Final = 293.15
"""Temperature [K] the coefficient and the wire table hold at."""

_NOISE: Final = 1e-9


def full_load_current(power: float, points: Sequence[tuple[float, float]]) -> float | None:
    """Current [A] of a motor of shaft `power` [W], on a straight line between two rows of a table.

    `points` are (power [W], current [A]), rising; None outside them.  Source of the table: NEC 430.248.
    """
    powers = [row[0] for row in points]
    if not powers[0] * (1 - _NOISE) <= power <= powers[-1] * (1 + _NOISE):
        return None
    return straight(powers, [row[1] for row in points])(power)


def direct_current(power: float, volts: float, efficiency: float) -> float:
    """Current [A] of a direct-current motor of shaft `power` [W] at `volts` [V]: P = efficiency V I.

    `efficiency` [-].  Source: the definition of efficiency.
    """
    return power / (volts * efficiency)


def resistance_at(resistance: float, temperature: float) -> float:
    """Resistance of a copper wire [ohm/m] at `temperature` [K] from that at 20 C [ohm/m].

    R = R20 (1 + 0.00393 (t - 20)).  Source: NBS Handbook 100 (coefficient from memory).
    """
    return resistance * (1.0 + COPPER_COEFFICIENT * (temperature - COPPER_AT))


def conductor_temperature(current: float, carries: float, air: float, rise: float) -> float:
    """Temperature [K] of a wire at `current` [A] in `air` [K]: air + rise (I / carries)^2.

    `rise` [K] is what it is warmer than the air at the current its cord `carries` [A]. Source: heat made goes with I^2,
    heat given off with the difference to the air.
    """
    return air + rise * (current / carries) ** 2


def cord_drop(length: float, current: float, resistance: float) -> float:
    """Volts [V] lost in a cord of `length` [m] one way: 2 L I R; `current` [A], `resistance` [ohm/m] of one wire."""
    return 2.0 * length * current * resistance


def longest_cord(drop: float, current: float, resistance: float) -> float:
    """Length [m] one way that loses `drop` [V] at `current` [A]: L = drop / (2 I R); `resistance` [ohm/m]."""
    return drop / (2.0 * current * resistance)


def running_power(loads: Iterable[tuple[float, float]]) -> float:
    """Apparent power [VA] of loads that run at once: sum of V I; each (volts [V], current [A]).

    No credit for the power factor, which no pump's plate tells: on the safe side against a generator's watts.
    """
    return sum(volts * current for volts, current in loads)


def starting_power(loads: Sequence[tuple[float, float, float]]) -> float:
    """Apparent power [VA] while the worst of the motors starts and the others run: sum V I + max V (Is - I).

    Each load is (volts [V], running current [A], starting current [A]).  Source: the balance of currents at full
    volts; a generator's volts sag, so it sees less for longer.
    """
    rise = max((volts * (start - current) for volts, current, start in loads), default=0.0)
    return running_power((volts, current) for volts, current, _ in loads) + max(rise, 0.0)


def battery_time(charge: float, current: float) -> float:
    """Seconds [s] a battery gives `current` [A] from a usable `charge` [C]: t = Q / I."""
    return charge / current
