"""What an injector draws, held against the one-dimensional theory of the liquid jet pump, solved here for itself.

Theory: momentum and energy through nozzle, throat and diffuser, the form of Cunningham's theory (from memory); loss
figures 0.05 of the nozzle and 0.20 of throat and diffuser, from memory.  Cavitating venturis keep their flow up to an
outlet pressure of about 0.8 of the inlet's (published abstract on small cavitating venturis, read there only).
"""

from __future__ import annotations

from math import inf

import pytest
from scipy.optimize import brentq

from planner.physics.metering import BackPressure, ratio_at

PSI = 6894.757
GPM = 3.785411784e-3 / 60.0
FT = 0.3048
AIR, VAPOUR, GRAVITY = 101325.0, 2339.0, 9.80665
WATER, STOCK = 998.2, 1167.0
THROAT_AREA, NOZZLE_LOSS, THROAT_LOSS = 0.55, 0.05, 0.20
NOZZLE = 3.141592653589793 / 4.0 * 2.541e-3**2
SPRING = 0.25 * PSI


def rise(m: float) -> float:
    """Pressure from throat entry to outlet as part of the nozzle's dynamic pressure, at flow ratio `m`."""
    b, s = THROAT_AREA, STOCK / WATER
    return 2 * b + 2 * s * m * m * b * b / (1 - b) - b * b * (1 + m) * (1 + s * m) * (1 + THROAT_LOSS)


def theory(outlet: float, flow: float, tube: float, lift: float = 2 * FT) -> float:
    """Water to stock [-] at `outlet` [Pa gauge] and `flow` [m3/s] with a suction tip of `tube` [Pa s2/m6]."""
    b, s = THROAT_AREA, STOCK / WATER
    head = WATER * (flow / NOZZLE) ** 2 / 2.0

    def short(drawn: float) -> float:
        m = drawn / flow
        entry = max(outlet + AIR - head * rise(m), VAPOUR)
        pushes = AIR - STOCK * GRAVITY * lift - SPRING - tube * drawn**2 - s * head * m * m * b * b / (1 - b) ** 2
        return pushes - entry

    if short(1e-12) <= 0.0:
        return inf
    return flow / float(brentq(short, 1e-12, flow))


def tube_for(ratio: float, flow: float) -> float:
    """The suction tip that gives `ratio` where the injector is choked."""
    return float(brentq(lambda tube: theory(50 * PSI, flow, tube) - ratio, 1e9, 1e16))


FLOW = 5.5 * GPM
TUBE = tube_for(10.0, FLOW)


@pytest.mark.parametrize(("outlet", "told"), [(150, 10.0), (220, 12.0), (230, 17.1)])
def test_the_theory_is_solved_right(outlet: float, told: float) -> None:
    assert theory(outlet * PSI, FLOW, TUBE) == pytest.approx(told, rel=0.02)


def ends(flow: float) -> BackPressure:
    """Where the theory's injector is full and where it stops at `flow` [m3/s]."""
    stops = brentq(lambda p: (0.0 if theory(p, flow, TUBE) == inf else 1.0) - 0.5, 10 * PSI, 500 * PSI, xtol=50.0)
    choked = theory(10 * PSI, flow, TUBE)
    full = brentq(lambda p: theory(p, flow, TUBE) - choked * 1.0001, 10 * PSI, stops - 200.0, xtol=50.0)
    return BackPressure(full=float(full), limit=float(stops))


@pytest.mark.parametrize("gpm", [4.0, 4.5, 5.0, 6.0])
def test_both_pressures_go_with_the_flow_squared_and_the_ratio_with_the_flow(gpm: float) -> None:
    known, flow = ends(FLOW).at(gpm * GPM, FLOW), gpm * GPM
    assert known.limit == pytest.approx(ends(flow).limit, rel=0.02)
    full = ends(flow).full
    assert 0.9 * full <= known.full <= 1.01 * full
    told = ratio_at(tested=10.0, tested_flow=FLOW, flow=flow)
    assert told == pytest.approx(theory(20 * PSI, flow, TUBE), rel=0.005)


def test_what_has_no_flow_has_no_ratio() -> None:
    with pytest.raises(ValueError, match="no ratio"):
        ratio_at(tested=10.0, tested_flow=FLOW, flow=0.0)
