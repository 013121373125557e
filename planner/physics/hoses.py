"""Hose and fittings: what they cost in head, and what a gun that snaps shut puts on top.

Darcy-Weisbach; friction factor 64/Re below Re 2000 and Colebrook's by Clamond (Ind. Eng. Chem. Res. 48
(2009) 3665) above 4000, blended smoothly between, so that more hose or more flow never costs less.
Coiled hose: Schmidt's correlations through fluids; methods differ by 40 %.

Fittings: resistance coefficients on the bore they sit in.

Sources: Crane TP 410 friction factors through fluids.ft_Crane; sharp entrance and contraction by Rennels &
Hudson, Pipe Flow (2012), through fluids.  Hydraulic Institute: couplings scatter by 50 %.

Water hammer: what a gun that snaps shut puts on top of the pressure that stands in the hose.

dP = rho a dV (Joukowsky 1898), with the wave's speed a = c0 / sqrt(1 + K D / (E t)), c0 = sqrt(K / rho)
(Korteweg 1878).  It holds where the gun shuts before the wave is back from the pump, that is within 2 L / a; a slower
hand makes less of it.  The formula is that of a thin elastic wall and a hose's is neither: an order of magnitude.
"""

from __future__ import annotations

from math import exp, log, pi, sqrt
from typing import Final

from fluids.fittings import contraction_sharp, entrance_sharp, ft_Crane
from fluids.friction import Clamond, friction_factor_curved, helical_Re_crit

from planner.frozen import dataclass
from planner.physics.liquids import GRAVITY

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


# ------------------------------------------------------------ fittings


def crane_k(multiple: float, bore: float) -> float:
    """Resistance coefficient [-] of a fitting given as a `multiple` of Crane's friction factor in `bore` [m]."""
    return multiple * float(ft_Crane(bore))


def reducer_k(wide: float, narrow: float) -> float:
    """Resistance coefficient [-], on the narrow bore, of a sharp reducer from `wide` to `narrow` [m].

    No change of bore costs nothing. Source: Rennels & Hudson through fluids.contraction_sharp.
    """
    if narrow >= wide:
        return 0.0
    return float(contraction_sharp(wide, narrow))


def entrance_k() -> float:
    """Resistance coefficient [-] of the sharp entrance by which a suction leaves its tank. Source: fluids."""
    return float(entrance_sharp())


def minor_head(k: float, bore: float, flow: float) -> float:
    """Head lost [m] by a resistance `k` [-] on `bore` [m] at `flow` [m3/s]."""
    speed = velocity(flow, bore)
    return k * speed * speed / (2.0 * GRAVITY)


# ------------------------------------------------------------ water hammer

BULK_MODULUS: Final = 2.19e9
"""Bulk modulus of water at 20 C [Pa]: density times the square of the speed of sound, both by IAPWS-IF97.
It runs from 1.97 to 2.33 GPa between 0 and 40 C; in a soft hose the wall decides, not the water."""


def wave_speed(wall_to_bore: float, modulus: float, density: float) -> float:
    """Speed of a pressure wave [m/s] in a hose full of liquid of `density` [kg/m3].

    `wall_to_bore` [-] is the wall's thickness over the bore, `modulus` [Pa] Young's modulus of the wall.
    Source: Korteweg's formula, a = c0 / sqrt(1 + K D / (E t)).
    """
    return sqrt(BULK_MODULUS / density / (1.0 + BULK_MODULUS / (modulus * wall_to_bore)))


def surge(density: float, speed: float, change: float) -> float:
    """Rise of pressure [Pa] where a flow loses `change` [m/s] at once; `density` [kg/m3], wave `speed` [m/s].

    Source: Joukowsky, dP = rho a dV.
    """
    return density * speed * change
