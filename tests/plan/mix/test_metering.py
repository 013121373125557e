"""A panel by its tanks' levels and an injector by its flow, from the files to the mix."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.chemistry import acids, dosing, hypochlorite
from planner.physics.liquids import water_density
from planner.plan.mix.model import MixPlan
from planner.plan.model import RunPlan, Value
from planner.units import read
from tests import workspaces
from tests.physics.legs import Leg, drawn

FT, GRAVITY = 0.3048, 9.80665
LEVELS = {"water": "2 ft", "stock": "1 ft", "flow": "8 gpm"}
DEEP = {"kind": "upright_cylinder", "diameter": "30 in"}
"""100 gal in it stand 32.7 in deep."""


def made(tmp_path: Path, panel: dict[str, Any], **run: Any) -> CheckedJob:
    change = {
        "rig": {"tanks": {0: {"shape": DEEP}}, "dosing": {0: panel}},
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
    stock = hypochlorite.density(125.0, water_density=water)  # as it was made: what it loses is no weight
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


@pytest.mark.ci
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


def from_drum(tmp_path: Path, lot: dict[str, Any], **dosing: Any) -> tuple[MixPlan, RunPlan]:
    panel = {"at": LEVELS, "loss": {"pressure": "3 psi", "flow": "8 gpm"}, "drum_floor": "0 ft", **dosing}
    change = {
        "rig": {"tanks": {0: {"shape": DEEP}}, "dosing": {0: panel}},
        "job": {"chemicals": [{"stock": "bleach", "strength": "0.8 %"}], "hose_runs": {0: {"dosing": "panel"}}},
        "stock": {"lots": {0: lot}},
    }
    return only(workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change)))


TALL = {"container": "5 gal", "shape": {"kind": "upright_cylinder", "diameter": "8 in"}}
"""5 gal in it stand 23 in deep."""


def test_a_drum_as_full_as_at_the_test_draws_as_tested_and_a_fuller_one_draws_more(tmp_path: Path) -> None:
    across = 3.141592653589793 / 4 * (8 * 0.0254) ** 2
    tested = FT * across / (231 * 0.0254**3)  # gallons that stand a foot deep, as at the test
    same, _ = from_drum(tmp_path / "same", TALL | {"on_hand": f"{tested:.9f} gal"})
    full, _ = from_drum(tmp_path / "full", TALL | {"on_hand": "5 gal"})
    # The same rig before its drum's floor was known, set for the level of the test.
    unknown, _ = from_drum(tmp_path / "unknown", {}, drum_floor=None)
    assert same.dial == pytest.approx(unknown.dial, rel=1e-6)
    assert full.dial is not None
    assert same.dial is not None
    assert full.dial < same.dial


def test_a_drum_that_falls_while_the_mix_is_drawn_leaves_less_on_the_wall(tmp_path: Path) -> None:
    broad, _ = from_drum(tmp_path / "broad", {"container": "55 gal", "on_hand": "5 gal"})
    tall, run = from_drum(tmp_path / "tall", TALL | {"on_hand": "5 gal"})
    assert broad.wall_low is not None
    assert tall.wall_low is not None
    assert tall.wall_low < broad.wall_low
    # By the legs: as set full, and with what the mix takes gone from the drum, the water tank full all the while.
    panel, lot = tall.panel, tall.lot
    assert panel is not None
    assert lot is not None
    assert lot.nominal is not None
    wanted = tall.target / lot.nominal
    water, stock = water_density(run.liquid.temperature), hypochlorite.density(125.0)
    stock *= water / water_density(293.15)
    depth = 100 * 231 * 0.0254**3 / (3.141592653589793 / 4 * (30 * 0.0254) ** 2)
    across = 3.141592653589793 / 4 * (8 * 0.0254) ** 2
    full = 5 * 231 * 0.0254**3 / across
    flow = read("8 gpm", "flow")
    leg = read("3 psi", "pressure") / flow**2

    def at(mark: float, level: float) -> float:
        shares = []
        for share in (0.04, 0.09, 0.16):
            pull = leg * ((1 - share) * flow) ** 2 + GRAVITY * FT * (stock * 1.0 - water * 2.0)
            own = Leg(loss=pull / (share * flow) ** 2, head=stock * GRAVITY * level)
            both = [Leg(loss=leg, head=water * GRAVITY * depth), own]
            shares.append(drawn(both, run.pump_flow).flows[1] / run.pump_flow)
        place = min(int(mark) - 1, 1)
        return shares[place] + (mark - 1 - place) * (shares[place + 1] - shares[place])

    assert tall.dial is not None
    assert at(tall.dial, full) == pytest.approx(wanted, rel=1e-5)
    fallen = full - (tall.stock or 0.0) / across
    assert panel.by_drum(wanted)[0] == pytest.approx(at(tall.dial, fallen) / wanted, rel=1e-4)
    assert panel.by_drum(wanted)[1] == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize(
    ("lot", "dosing", "missing"),
    [
        (TALL | {"on_hand": "2.5 gal"}, {"drum_floor": None}, "drum_floor"),
        ({"on_hand": "5 gal"}, {}, "container"),
        (TALL | {"on_hand": None}, {}, "on_hand"),
    ],
)
def test_what_nobody_wrote_of_a_drum_is_named_and_taken_at_both_ends(
    lot: dict[str, Any], dosing: dict[str, Any], missing: str, tmp_path: Path
) -> None:
    known, _ = from_drum(tmp_path / "known", TALL | {"on_hand": "4 gal"})
    vague, _ = from_drum(tmp_path / "vague", lot, **dosing)
    for mix in (known, vague):
        assert mix.panel is not None
        assert mix.lot is not None
        assert mix.lot.nominal
    assert vague.panel.drum == missing
    wanted = vague.target / vague.lot.nominal
    low, high = vague.panel.by_drum(wanted)
    assert low < 0.95
    assert high > 1.02
    assert vague.wall_low < known.wall_low


def test_the_next_drum_has_its_own_level_and_its_own_mark(tmp_path: Path) -> None:
    files = workspaces.merged(
        workspaces.base(),
        {
            "rig": {
                "tanks": {0: {"shape": DEEP}},
                "dosing": {0: {"at": LEVELS, "loss": {"pressure": "3 psi", "flow": "8 gpm"}, "drum_floor": "0 ft"}},
            },
            "job": {"chemicals": [{"stock": "bleach", "strength": "0.8 %"}], "hose_runs": {0: {"dosing": "panel"}}},
        },
    )
    first = files["stock"]["lots"][0] | TALL | {"on_hand": "0.6 gal"}
    files["stock"]["lots"][:1] = [first, copy.deepcopy(first) | {"name": "next", "on_hand": "5 gal"}]
    checked = workspaces.checked(tmp_path, files)
    (mix,) = checked.plan.mixes
    used = [share for share in mix.pours if share.stock > 0.0]
    assert [share.lot.name for share in used] == ["drum", "next"]
    assert used[0].dial is not None
    assert used[1].dial is not None
    assert used[1].dial < used[0].dial, "it stands higher over the panel"


def test_a_stock_of_another_chemical_weighs_what_it_weighs(tmp_path: Path) -> None:
    def muriatic(name: str, strength: str) -> tuple[MixPlan, RunPlan]:
        change = {
            "rig": {
                "tanks": {0: {"shape": DEEP}},
                "dosing": {0: {"at": LEVELS, "loss": {"pressure": "3 psi", "flow": "8 gpm"}}},
            },
            "stock": {"lots": {1: {"strength": strength, "on_hand": "5 gal"}}},
            "job": {
                "surfaces": {0: {"kind": "concrete"}},
                "chemicals": [{"stock": "muriatic", "strength": "2 wt %"}],
                "hose_runs": {0: {"dosing": "panel"}},
            },
        }
        return only(workspaces.checked(tmp_path / name, workspaces.merged(workspaces.base(), change)))

    found = []
    # Held to the root leg by leg: bleach of the test against acid of its own weight, in its leg and over the panel.
    for name, strength, share in (("light", "20 wt %", 0.20), ("heavy", "31.45 wt %", 0.3145)):
        mix, run = muriatic(name, strength)
        assert mix.panel is not None
        assert mix.panel.marks
        water, flow = water_density(run.liquid.temperature), read("8 gpm", "flow")
        weight = acids.density(share) * water / water_density(293.15)
        leg = read("3 psi", "pressure") / flow**2
        pull = leg * (0.91 * flow) ** 2 + GRAVITY * FT * (1.16 * water * 1.0 - water * 2.0)
        own = Leg(loss=pull / (0.09 * flow) ** 2 * weight / (1.16 * water), head=weight * GRAVITY * FT)
        depth = 100 * 231 * 0.0254**3 / (3.141592653589793 / 4 * (30 * 0.0254) ** 2)
        by_legs = drawn([Leg(loss=leg, head=water * GRAVITY * depth), own], run.pump_flow).flows[1] / run.pump_flow
        found.append(mix.panel.marks[0][1].share)
        assert found[-1] == pytest.approx(by_legs, rel=1e-4)
    assert found[0] != pytest.approx(found[1], rel=1e-3)


def test_the_tank_is_refilled_where_the_share_has_drifted_by_a_tenth(tmp_path: Path) -> None:
    checked = made(tmp_path, {"at": LEVELS, "loss": {"pressure": "2 psi", "flow": "8 gpm"}})
    mix, _ = only(checked)
    panel, lot = mix.panel, mix.lot
    assert panel is not None
    assert lot is not None
    assert lot.nominal is not None
    wanted = mix.target / lot.nominal
    full = panel.refill(wanted, 0.1)
    assert full is not None
    assert mix.dial is not None
    columns = [1.0, 0.75, 0.5, 0.25, 0.0]
    shares = [dosing.share_at(mix.dial, points) for points in panel.marks]
    below = max(n for n, level in enumerate(columns) if level >= full)
    assert shares[below] is not None
    assert shares[below + 1] is not None
    assert shares[below] <= 1.1 * wanted <= shares[below + 1]
    assert panel.refill(wanted, 10.0) is None
    told = next(one for one in checked.findings if one.code == "metered.level" and one.case == "drifts")
    refill = told.values["refill"]
    assert isinstance(refill, Value)
    assert refill.amount == pytest.approx(full * 100 * 231 * 0.0254**3)
