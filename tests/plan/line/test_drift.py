"""How far the wind carries the mix, what stands within, and who is exposed to it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.inputs.tables.defaults import default, default_list
from planner.physics.jets import drift
from planner.plan.line.drift import wind_stop
from planner.units import read
from tests import workspaces

MIX: dict[str, Any] = {
    "day": {"forecast": {"wind": "10 mph"}},
    "job": {
        "chemicals": [{"stock": "bleach", "strength": "1 %"}],
        "hose_runs": {0: {"dosing": "panel"}},
        "near": {"cars": "40 ft", "fish_pond": "200 ft", "well": "100 ft", "flower_beds": "100 ft2"},
    },
}


def _checked(folder: Path, *changes: Any) -> CheckedJob:
    files = workspaces.base()
    for change in (MIX, *changes):
        files = workspaces.merged(files, change)
    return workspaces.checked(folder, files)


def test_drops_fall_from_the_target_in_the_forecasts_wind(tmp_path: Path) -> None:
    found = _checked(tmp_path).plan.drift
    assert tuple(one.droplet for one in found) == default_list("droplets")
    assert default("spots") in default_list("droplets")
    for one in found:
        assert one.carried == pytest.approx(drift(one.droplet, read("20 ft", "length"), read("10 mph", "speed")))


def test_drift_has_the_size_the_trade_was_given(tmp_path: Path) -> None:
    """From 20 ft in 10 mph, with fluids' drag of a sphere: 1 mm 21 ft, .5 mm 45 ft, .2 mm 132 ft."""
    feet = {one.droplet: one.carried / 0.3048 for one in _checked(tmp_path).plan.drift}
    assert feet[0.001] == pytest.approx(21.0, abs=1.0)
    assert feet[0.0005] == pytest.approx(45.0, abs=1.5)
    assert feet[0.0002] == pytest.approx(132.0, abs=4.0)


def test_what_stands_within_is_named_by_its_distance_and_what_has_none_stands_at_the_wall(tmp_path: Path) -> None:
    within = {one.droplet: one.reaches for one in _checked(tmp_path).plan.drift}
    assert within[0.001] == ("flower_beds",)
    assert within[0.0005] == ("flower_beds", "cars")
    assert within[0.0002] == ("flower_beds", "cars", "well")


def test_in_a_calm_nothing_is_reached_and_without_a_forecast_nothing_is_said(tmp_path: Path) -> None:
    calm = _checked(tmp_path / "calm", {"day": {"forecast": {"wind": "0 mph"}}}).plan.drift
    assert {(one.carried, one.reaches) for one in calm} == {(0.0, ())}
    assert _checked(tmp_path / "none", {"day": {"forecast": None}}).plan.drift == ()


def test_plain_water_and_a_surface_cleaner_leave_nothing_in_the_air(tmp_path: Path) -> None:
    assert _checked(tmp_path / "water", {"job": {"hose_runs": {0: {"dosing": None}}, "chemicals": []}}).plan.drift == ()
    cleaner = {"rig": {"tips": {0: {"pattern": "surface_cleaner"}}}}
    assert _checked(tmp_path / "hood", cleaner).plan.drift == ()


def test_the_finding_names_only_what_a_few_drops_harm(tmp_path: Path) -> None:
    job = _checked(tmp_path, {"job": {"near": {"well": "5 ft", "storm_drain": "5 ft"}}})
    (finding,) = [finding for finding in job.findings if finding.code == "weather.wind"]
    assert finding.values["reaches"] == "cars"
    assert {"well", "storm_drain"} <= set(job.plan.drift[1].reaches)


def test_json_has_a_row_for_each_run_and_size_of_drop(tmp_path: Path) -> None:
    rows = job_json(_checked(tmp_path), "si")["drift"]
    assert [row["droplet_m"] for row in rows] == list(default_list("droplets"))
    assert {row["run"] for row in rows} == {"front"}
    assert rows[1]["reaches"] == ["flower_beds", "cars"]


@pytest.mark.parametrize(
    ("change", "limit"),
    [
        ({}, "wind_stop"),
        ({"job": {"chemicals": [{"stock": "bleach", "strength": "3 %"}],
                  "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}}, "wind_stop_strong"),
        ({"job": {"access": {"on_ladder": "true"}}}, "wind_stop_strong"),
        ({"job": {"access": {"ladder": "20 ft"}}}, "wind_stop_strong"),
        ({"job": {"surfaces": [{"name": "wall", "kind": "asphalt_shingle", "area": "500 ft2"}]}}, "wind_stop_strong"),
    ],
)  # fmt: skip
def test_paper_and_finding_take_the_same_stop_for_wind(change: dict[str, Any], limit: str, tmp_path: Path) -> None:
    job = _checked(tmp_path, change)
    assert wind_stop(job.plan) == limit
    (finding,) = [finding for finding in job.findings if finding.code == "weather.wind"]
    assert finding.values["stop"].amount == job.plan.input.limits[limit]
