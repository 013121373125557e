"""What the crew is told in words and totals that two pages share: water in all, hose laid out, what is waited for."""

from __future__ import annotations

import pytest

from planner.plan.procedure.acts import Fill, WaterBed
from tests.packet.figures_jobs import DEMO, job_of

WASHED = tuple(name for name in DEMO if not name.endswith(("09/30-kiln", "90-booster")))


@pytest.mark.parametrize("name", WASHED)
def test_water_in_all_covers_what_the_acts_take_of_the_tap(name: str) -> None:
    plan = job_of(name).plan
    assert plan.procedure is not None
    taken = [
        act.detail.volume
        for act in plan.procedure.acts
        if isinstance(act.detail, (Fill, WaterBed)) and act.detail.source == "tap"
    ]
    assert plan.water.most >= sum(taken) - 1e-9
    assert plan.water.most >= plan.water.need
