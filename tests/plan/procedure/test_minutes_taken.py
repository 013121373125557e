"""A company's own minutes are what its jobs are planned with."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.plan.model import JobPlan
from tests import workspaces

ROOF: dict[str, Any] = {
    "job": {
        "surfaces": {"0": {"kind": "asphalt_shingle", "rinse": "now"}},
        "chemicals": [{"stock": "drum", "strength": "3 %"}],
        "hose_runs": {"0": {"pump": "transfer", "feed": "mix", "dosing": "premix"}},
        "near": {"flower_beds": "100 ft2"},
    }
}


def _plan(folder: Path, **minutes: str) -> JobPlan:
    change = workspaces.merged(ROOF, {"company": {"minutes": minutes}} if minutes else {})
    return workspaces.checked(folder, workspaces.merged(workspaces.base(), change)).plan


@pytest.mark.parametrize(
    ("key", "step", "before", "after"),
    [
        ("walk", "walk-round", 15.0, 25.0),
        ("set_up", "set up", 40.0, 45.0),
        ("set_up_roof", "set up", 40.0, 45.0),
        ("pack", "pack", 20.0, 25.0),
    ],
)
def test_each_moves_its_step_of_the_clock(tmp_path: Path, key: str, step: str, before: float, after: float) -> None:
    old, new = (
        {span.what: span.seconds / 60.0 for span in plan.time}
        for plan in (_plan(tmp_path / "old"), _plan(tmp_path / "new", **{key: "25 min"}))
    )
    assert (old[step], new[step]) == pytest.approx((before, after))
    others = {name: new[name] for name in new if name != step}
    assert {name: old[name] for name in old if name != step} == pytest.approx(others)


def test_a_gun_open_for_less_of_the_time_takes_longer_and_sprays_the_same(tmp_path: Path) -> None:
    (old,), (new,) = _plan(tmp_path / "old").work, _plan(tmp_path / "new", rinse_trigger="35 %").work
    assert new.rinse == pytest.approx(2.0 * old.rinse)
    assert new.rinse_volume == old.rinse_volume
    assert (new.apply, new.wet) == (old.apply, old.wet)


def test_beds_are_watered_as_often_as_the_company_says(tmp_path: Path) -> None:
    old, new = _plan(tmp_path / "old").beds, _plan(tmp_path / "new", beds_every_roof="5 min").beds
    assert old is not None
    assert new is not None
    assert (old.every, new.every) == (600.0, 300.0)
    assert new.during == pytest.approx(2.0 * old.during)
    assert (new.before, new.each, new.after) == (old.before, old.each, old.after)
