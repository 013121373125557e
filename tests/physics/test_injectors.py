"""An injector's limits: the one-dimensional jet pump they are taken from, solved here by hand."""

from __future__ import annotations

import pytest

from planner.inputs.tables.defaults import default
from planner.physics.metering import BackPressure, back_pressure

PSI, GPM = 6894.757293168, 6.30901964e-5
NOZZLE, THROAT = 0.05, 0.20
"""Loss coefficients of nozzle, and of throat with diffuser (from memory)."""


def _stops(area_ratio: float) -> float:
    """Pressure at which nothing is drawn, over the nozzle's dynamic pressure: T(0) = 2b - b^2 (1 + Kt + Kd)."""
    return 2.0 * area_ratio - area_ratio**2 * (1.0 + THROAT)


def _loss_over_limit(area_ratio: float) -> float:
    """What it costs when it no longer draws, over the pressure at which that is: (1 + Kn - T(0)) / T(0)."""
    return (1.0 + NOZZLE - _stops(area_ratio)) / _stops(area_ratio)


def test_no_injector_costs_less_than_a_quarter_of_what_it_stops_at() -> None:
    least = min(_loss_over_limit(n / 1000.0) for n in range(50, 1000))
    assert least == pytest.approx(default("injector_loss_least"), abs=0.005)


def test_a_throat_of_twice_the_nozzle_stops_at_twice_the_loss() -> None:
    assert 1.0 / _loss_over_limit(0.5) == pytest.approx(default("injector_limit_of_loss"), rel=1e-9)


def test_its_limit_goes_with_the_square_of_the_flow() -> None:
    """The whole equation solved with fluids' brenth, no lift: 131, 205, 249 and 296 psi at 4, 5, 5.5 and 6 gpm."""
    known = BackPressure(full=209.0 * PSI, limit=249.0 * PSI)
    for flow, limit in ((4.0, 131.0), (5.0, 205.0), (5.5, 249.0), (6.0, 296.0)):
        assert known.at(flow * GPM, 5.5 * GPM).limit == pytest.approx(limit * PSI, rel=0.01)


def test_nothing_is_made_up_where_neither_limit_nor_loss_is_known() -> None:
    assert back_pressure(limit=None, full=None, loss=None, limit_of_loss=2.0, below=40.0 * PSI) is None
    by_loss = back_pressure(limit=None, full=None, loss=100.0 * PSI, limit_of_loss=2.0, below=40.0 * PSI)
    assert by_loss == BackPressure(full=160.0 * PSI, limit=200.0 * PSI)
    assert by_loss.at(1.0, None) is by_loss
    by_full = back_pressure(limit=None, full=90.0 * PSI, loss=20.0 * PSI, limit_of_loss=2.0, below=40.0 * PSI)
    assert by_full is not None
    assert by_full.limit == pytest.approx(130.0 * PSI)
