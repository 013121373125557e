"""Pumps: the head they add, what they need at the inlet, how they warm with the gun closed.

A centrifugal pump gives the same head in any liquid, so its pressure scales with density; a piston pump
gives the same flow.  Affinity: Q ~ n, H ~ n^2.  `condition` scales head: scale and worn plates show there.

Suction: what is left to push liquid into the pump before it boils.

NPSH available = (Pa - Pv)/(rho g) + z - hf; with the gauge total head at the inlet known this is
(Pa + p - Pv)/(rho g).  Source: the definition in any pump standard (ISO 17769-1).

A pump that runs with its gun closed: what it takes from the shaft warms the liquid that stands in it.

m cp dT/dt = P, nothing given off to the case or the air (adiabatic balance): the shortest time there is.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from planner.frozen import dataclass
from planner.physics.interpolation import MonotoneCurve, monotone_cubic, straight
from planner.physics.liquids import GRAVITY


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadPump:
    """A centrifugal or diaphragm pump: `curve` gives head [m] at flow [m3/s] as it runs today.

    `cut_off` [Pa gauge at its outlet] is where its switch opens; None: it has none.
    """

    curve: MonotoneCurve
    cut_off: float | None = None

    @property
    def last_flow(self) -> float:
        """Flow [m3/s] of the curve's last measured point; beyond it the curve is a guess."""
        return self.curve.x[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class PistonPump:
    """A piston pump: `flow` [m3/s] whatever the pressure, until `unloader` [Pa gauge at its outlet]."""

    flow: float
    unloader: float | None


def centrifugal(
    points: Sequence[tuple[float, float]],
    *,
    cut_off: float | None = None,
    speed_ratio: float = 1.0,
    condition: float = 1.0,
) -> HeadPump:
    """A centrifugal pump from (flow [m3/s], head [m]) points, first at zero flow, heads never rising.

    `speed_ratio` is its speed over the curve's, `condition` [-] scales head, `cut_off` [Pa gauge] is its switch's.
    Source: affinity laws; monotone cubic through the points, its end slope carried on beyond the last.
    """
    flows = [q * speed_ratio for q, _ in points]
    heads = [h * speed_ratio**2 * condition for _, h in points]
    return HeadPump(curve=monotone_cubic(flows, heads), cut_off=cut_off)


def diaphragm(
    points: Sequence[tuple[float, float]],
    *,
    cut_off: float | None = None,
    speed_ratio: float = 1.0,
    condition: float = 1.0,
) -> HeadPump:
    """A diaphragm pump from (flow [m3/s], head [m]) points, straight between them; `cut_off` [Pa gauge]."""
    flows = [q * speed_ratio for q, _ in points]
    heads = [h * condition for _, h in points]
    return HeadPump(curve=straight(flows, heads), cut_off=cut_off)


# ------------------------------------------------------------ suction


def npsh_available(atmosphere: float, inlet_pressure: float, vapour_pressure: float, density: float) -> float:
    """Net positive suction head available [m].

    `atmosphere`, `vapour_pressure` [Pa absolute]; `inlet_pressure` [Pa gauge, total, at the pump's own
    height, losses taken off]; `density` [kg/m3].
    """
    return (atmosphere + inlet_pressure - vapour_pressure) / (density * GRAVITY)


def acceleration_head(length: float, velocity: float, speed: float, *, pump: float, liquid: float) -> float:
    """Head [m] that plungers take off their inlet as they hurry the water before them, L V N C / (K g).

    `length` [m] of suction in which it goes at `velocity` [m/s]; `speed` [1/min] of the crank; `pump` is C, of plungers
    and how they act, `liquid` K. Source: Hydraulic Institute, reciprocating pumps; C and K hold for feet as for metres.
    """
    return length * velocity * speed * pump / (liquid * GRAVITY)


def quarter_wave(wave: float, speed: float, plungers: float) -> float:
    """Length of hose [m] that a stroke feels, where a `wave` goes at so many m/s: what lies behind yields instead."""
    return wave * 60.0 / (4.0 * speed * plungers)


# ------------------------------------------------------------ the gun closed

HEAT_CAPACITY: Final = 4185.0
"""Specific heat capacity of water at 20 C [J/(kg K)] (IAPWS-IF97); 4179 to 4218 between 0 and 60 C."""

_STEPS: Final = 60


def heating_time(power: float, volume: float, density: float, start: float, end: float) -> float:
    """Time [s] in which `power` [W] warms `volume` [m3] of a liquid of `density` [kg/m3] from `start` to `end` [K].

    0 where it is as warm already. Raises ValueError where no power goes in.
    Source: adiabatic balance, t = rho V cp (T2 - T1) / P.
    """
    if power <= 0.0:
        raise ValueError("without power nothing is warmed")
    return max(density * volume * HEAT_CAPACITY * (end - start) / power, 0.0)


def best_power(pump: HeadPump, density: float) -> float:
    """The most power [W] a pump gives to a liquid of `density` [kg/m3] anywhere on its measured curve.

    Source: definition of hydraulic power, rho g Q H.
    """
    flows = [pump.last_flow * n / _STEPS for n in range(_STEPS + 1)]
    return density * GRAVITY * max(flow * max(pump.curve(flow), 0.0) for flow in flows)
