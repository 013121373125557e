"""Hose: what a length of it costs in head, laid straight or coiled on a reel.

Darcy-Weisbach; friction factor 64/Re below Re 2000 and Colebrook's by Clamond (Ind. Eng. Chem. Res. 48
(2009) 3665) above 4000, blended smoothly between, so that more hose or more flow never costs less.
Coiled hose: Schmidt's correlations through fluids; methods differ by 40 %.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, pi
from typing import Final

from fluids.friction import Clamond, friction_factor_curved, helical_Re_crit

from planner.physics.constants import GRAVITY

LAMINAR_END: Final = 2000.0
TURBULENT_START: Final = 4000.0
"""Between these Reynolds numbers flow is neither; the blend keeps the loss rising (our choice)."""

COIL_BLEND: Final = (0.8, 1.6)
"""Shares of the coil's critical Reynolds number between which the correlations do not join: there the
logarithm of the loss is taken straight in the logarithm of Re (our choice)."""

_LEAST_REYNOLDS: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Hose:
    """One length of hose: `bore`, `length`, `roughness` in m; the first `coiled` m lie on a drum.

    `coil_diameter` [m] is measured between centres of the hose across the drum.
    """

    bore: float
    length: float
    roughness: float
    coiled: float = 0.0
    coil_diameter: float = 0.0


def area(bore: float) -> float:
    """Cross section [m2] of a round bore [m]."""
    return pi / 4.0 * bore * bore


def velocity(flow: float, bore: float) -> float:
    """Mean velocity [m/s] of `flow` [m3/s] in `bore` [m]."""
    return flow / area(bore)


def reynolds(flow: float, bore: float, kinematic_viscosity: float) -> float:
    """Reynolds number [-] of `flow` [m3/s] in `bore` [m]; `kinematic_viscosity` [m2/s]."""
    return 4.0 * flow / (pi * bore * kinematic_viscosity)


def friction_factor(reynolds_number: float, relative_roughness: float) -> float:
    """Darcy friction factor [-] of straight hose, rising smoothly from laminar to turbulent.

    Source: Hagen-Poiseuille below 2000, Clamond's solution of Colebrook above 4000, between them
    f = (1-s) 64/Re + s f_turbulent with s = t^2 (3-2t), t = (Re-2000)/2000.
    """
    if reynolds_number <= LAMINAR_END:
        return 64.0 / max(reynolds_number, _LEAST_REYNOLDS)
    turbulent = float(Clamond(reynolds_number, relative_roughness))
    if reynolds_number >= TURBULENT_START:
        return turbulent
    t = (reynolds_number - LAMINAR_END) / (TURBULENT_START - LAMINAR_END)
    share = t * t * (3.0 - 2.0 * t)
    return (1.0 - share) * 64.0 / reynolds_number + share * turbulent


def coiled_friction_factor(reynolds_number: float, bore: float, coil_diameter: float, roughness: float) -> float:
    """Darcy friction factor [-] of hose coiled on `coil_diameter` [m]; `bore`, `roughness` [m].

    Source: fluids.friction_factor_curved (Schmidt), bridged about its own critical Reynolds number.
    """
    critical = helical_Re_crit(bore, coil_diameter)
    low, high = COIL_BLEND[0] * critical, COIL_BLEND[1] * critical
    if not low < reynolds_number < high:
        at = max(reynolds_number, _LEAST_REYNOLDS)
        return float(friction_factor_curved(at, bore, coil_diameter, roughness))
    at_low = log(friction_factor_curved(low, bore, coil_diameter, roughness) * low * low)
    at_high = log(friction_factor_curved(high, bore, coil_diameter, roughness) * high * high)
    share = log(reynolds_number / low) / log(high / low)
    return exp(at_low + share * (at_high - at_low)) / (reynolds_number * reynolds_number)


def straight_head(hose: Hose, flow: float, kinematic_viscosity: float) -> float:
    """Head lost [m] in all of the hose as if it lay straight; `flow` [m3/s]. Source: Darcy-Weisbach."""
    if flow <= 0.0:
        return 0.0
    number = reynolds(flow, hose.bore, kinematic_viscosity)
    factor = friction_factor(number, hose.roughness / hose.bore)
    speed = velocity(flow, hose.bore)
    return factor * hose.length / hose.bore * speed * speed / (2.0 * GRAVITY)


def coil_extra_head(hose: Hose, flow: float, kinematic_viscosity: float) -> float:
    """Head lost [m] over and above the straight hose by the part that stays coiled; `flow` [m3/s]."""
    if flow <= 0.0 or hose.coiled <= 0.0:
        return 0.0
    number = reynolds(flow, hose.bore, kinematic_viscosity)
    coiled = coiled_friction_factor(number, hose.bore, hose.coil_diameter, hose.roughness)
    extra = coiled - friction_factor(number, hose.roughness / hose.bore)
    speed = velocity(flow, hose.bore)
    return extra * hose.coiled / hose.bore * speed * speed / (2.0 * GRAVITY)


def volume(hose: Hose) -> float:
    """What the hose holds when full [m3]."""
    return area(hose.bore) * hose.length
