"""Fittings: resistance coefficients on the bore they sit in.

Sources: Crane TP 410 friction factors through fluids.ft_Crane; sharp entrance and contraction by Rennels &
Hudson, Pipe Flow (2012), through fluids.  Hydraulic Institute: couplings scatter by 50 %.
"""

from __future__ import annotations

from fluids.fittings import contraction_sharp, entrance_sharp, ft_Crane

from planner.physics.constants import GRAVITY
from planner.physics.hoses import velocity


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
