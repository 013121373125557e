"""A panel by its tanks' levels and an injector by its flow, from the files to the mix."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.chemistry import hypochlorite
from planner.physics.liquids import water_density
from planner.plan.mix.model import MixPlan
from planner.plan.model import RunPlan
from planner.units import read
from tests import workspaces
from tests.physics.legs import Leg, drawn

FT, GRAVITY = 0.3048, 9.80665
LEVELS = {"water": "2 ft", "stock": "1 ft", "flow": "8 gpm"}
DEEP = {"kind": "upright_cylinder", "diameter": "30 in"}
"""100 gal in it stand 32.7 in deep."""


def made(tmp_path: Path, dosing: dict[str, Any], **run: Any) -> CheckedJob:
    change = {
        "rig": {"tanks": {0: {"shape": DEEP}}, "dosing": {0: dosing}},
        "job": {"chemicals": [{"stock": "bleach", "strength": "0.8 %"}], "hose_runs": {0: {"dosing": "panel", **run}}},
    }
    return workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change))


def only(checked: CheckedJob) -> tuple[MixPlan, RunPlan]:
    (mix,), (run,) = checked.plan.mixes, checked.plan.runs
    return mix, run


@pytest.mark.parametrize("loss", ["3 psi", "8 psi"])
def test_the_dial_is_set_for_what_the_legs_draw_from_full_tanks(tmp_path: Path, loss: str) -> None:
    mix, run = only(made(tmp_path, {"at": LEVELS, "loss": {"pressure": loss, "flow": "8 gpm"}}))
    assert mix.dial is not None
    assert mix.lot is not None
    assert mix.lot.nominal is not None
    # Solved here leg by leg: the water leg loses what the panel does, the stock leg what its test at 9 % makes it.
    water = water_density(run.liquid.temperature)
    stock = hypochlorite.density(mix.lot.nominal, water_density=water)
    leg = read(loss, "pressure") / read("8 gpm", "flow") ** 2
    flow = read("8 gpm", "flow")

    def leg_of(share: float) -> float:
        pull = leg * ((1 - share) * flow) ** 2 + GRAVITY * FT * (stock * 1.0 - water * 2.0)
        return pull / (share * flow) ** 2

    depth = 100 * 231 * 0.0254**3 / (3.141592653589793 / 4 * (30 * 0.0254) ** 2)
    shares = []
    for share in (0.04, 0.09, 0.16):
        legs = [Leg(loss=leg, head=water * GRAVITY * depth), Leg(loss=leg_of(share), head=stock * GRAVITY * FT)]
        shares.append(drawn(legs, run.pump_flow).flows[1] / run.pump_flow)
    wanted = mix.target / mix.lot.nominal
    low = max(n for n, share in enumerate(shares) if share <= wanted)
    expected = low + 1 + (wanted - shares[low]) / (shares[low + 1] - shares[low])
    assert mix.dial == pytest.approx(expected, rel=1e-6)


def test_a_wider_panel_moves_more_and_its_dial_is_told_by_level(tmp_path: Path) -> None:
    wide, _ = only(made(tmp_path / "wide", {"at": LEVELS, "loss": {"pressure": "2 psi", "flow": "8 gpm"}}))
    tight, _ = only(made(tmp_path / "tight", {"at": LEVELS, "loss": {"pressure": "8 psi", "flow": "8 gpm"}}))
    dials = [dial for _, dial in wide.by_level]
    assert all(dial is not None for dial in dials)
    assert dials == sorted(dials, key=lambda dial: -(dial or 0.0))
    assert wide.dial == dials[0]
    fell = [mix.by_level[0][1] - mix.by_level[-1][1] for mix in (wide, tight)]
    assert fell[0] > 2.0 * fell[1] > 0.0
    assert wide.wall_high is not None
    assert tight.wall_high is not None
    assert wide.wall_high > tight.wall_high


def test_without_levels_the_marks_stand_as_tested(tmp_path: Path) -> None:
    bare, _ = only(made(tmp_path / "bare", {}))
    assert bare.by_level == ()
    assert bare.panel is not None
    assert bare.panel.untold == "levels"
    again = {"dial": "2", "share": "11 %", "water": "0.5 ft", "stock": "1 ft", "flow": "8 gpm"}
    twice, _ = only(made(tmp_path / "twice", {"at": LEVELS | {"water": "3 ft"}, "again": again}))
    assert twice.panel is not None
    assert twice.panel.untold is None
    assert twice.dial is not None
    close = {"at": LEVELS, "again": again | {"water": "1.5 ft"}}
    near, _ = only(made(tmp_path / "close", close))
    assert near.panel is not None
    assert near.panel.untold == "tests"


@pytest.mark.parametrize(
    "dosing",
    [
        {"again": {"dial": "2", "share": "11 %", "water": "0.5 ft", "stock": "1 ft", "flow": "8 gpm"}},
        {"vacuum": "2 psi"},
    ],
)
def test_a_second_look_without_the_first_ones_levels_is_asked_about(tmp_path: Path, dosing: dict[str, Any]) -> None:
    with pytest.raises(AssertionError, match="at"):
        made(tmp_path, dosing)


def test_an_injectors_ratio_goes_with_the_flow(tmp_path: Path) -> None:
    def ratio(name: str, **keys: Any) -> tuple[float | None, float]:
        change = {
            "rig": {"dosing": {1: keys}},
            "job": {
                "chemicals": [{"stock": "bleach", "strength": "0.5 %"}],
                "hose_runs": {0: {"pump": "washer", "tip": "fan", "dosing": "venturi", "target": "2 m"}},
            },
        }
        checked = workspaces.checked(tmp_path / name, workspaces.merged(workspaces.base(), change))
        mix, run = only(checked)
        assert mix.run.dosing is not None
        return mix.run.dosing.water_to_stock, run.pump_flow

    assert ratio("as said")[0] == 10.0
    scaled, flow = ratio("tested", ratio_flow="4 gpm")
    # It draws as much stock at any flow, so 10 to 1 at 4 gpm is 12.5 to 1 at 5.
    assert scaled == pytest.approx(10.0 * flow / read("4 gpm", "flow"), rel=1e-6)
