"""A pump tried on its line in the yard: how far it throws, sound and today, and what a reading says of its wear."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from planner.physics import jets
from planner.plan.yard.model import ThrowTest
from tests.plan.yard.benches import GAL, checked, shown_of, told


def test_the_line_is_the_first_with_this_pump_and_a_solid_tip(tmp_path: Path) -> None:
    test = shown_of(checked(tmp_path))
    assert (test.run.name, test.of) == ("house", "head")
    assert (test.run.uphill, test.run.tip_height) == (0.0, pytest.approx(4 * 0.3048))
    assert shown_of(checked(tmp_path / "rinse", {"setup": "rinse"})).after.ground is None, "nobody paces out a fan"
    piston = shown_of(checked(tmp_path / "piston", {"pump": "washer"}))
    assert (piston.of, piston.after.ground) == ("flow", None)
    assert piston.after.closed == pytest.approx(3000 * 6894.757, rel=1e-6), "its unloader"
    none = checked(tmp_path / "none", {"pump": "transfer"}).plan.yard
    assert none is not None
    assert none.test is None


def test_before_is_the_pumps_condition_and_after_its_whole_curve(tmp_path: Path) -> None:
    test = shown_of(checked(tmp_path, change={"rig": {"pumps": {"0": {"condition": "0.8"}}}}))
    assert (test.before.share, test.after.share) == (0.8, 1.0)
    assert test.before.closed is not None
    assert test.after.closed is not None
    # Head alone, fed from a tank on the ground: the closed gauge is just the share of it.
    assert test.before.closed == pytest.approx(0.8 * test.after.closed)
    assert test.after.ground is not None
    assert test.before.ground is not None
    assert test.before.ground < test.after.ground
    assert test.before.flow < test.after.flow
    assert test.after.bucket(test.bucket) == pytest.approx(5 * GAL / test.after.flow)


def test_the_way_the_jet_goes_ends_where_it_lands(tmp_path: Path) -> None:
    test = shown_of(checked(tmp_path))
    along, high = test.after.path[-1]
    assert (along, high) == (test.after.ground, 0.0)
    assert test.after.path[0] == (0.0, pytest.approx(test.run.tip_height))
    assert [point[0] for point in test.after.path] == sorted(point[0] for point in test.after.path)
    # No other aim lands farther: a twentieth of a radian to either side falls short.
    assert test.after.angle is not None
    assert test.after.ground is not None
    for off in (-0.05, 0.05):
        (*_, (reached, below)) = jets.path(
            _head(test), 0.25 * 0.0254, test.after.angle + off, until=test.after.ground, floor=-test.run.tip_height
        )
        assert reached < test.after.ground or below < -test.run.tip_height + 1e-6


def _head(test: ThrowTest) -> float:
    """Head at the tip [m] by its flow: q = Cd A sqrt(2 g h)."""
    area = pi / 4.0 * (0.25 * 0.0254) ** 2
    return float((test.after.flow / (0.95 * area)) ** 2 / (2.0 * 9.80665))


def ground_at(folder: Path, share: float) -> float:
    """How far the jet lands with the pump at a share [m]."""
    test = shown_of(checked(folder, change={"rig": {"pumps": {"0": {"condition": str(share)}}}}))
    assert test.before.ground is not None
    return test.before.ground


@pytest.mark.ci
def test_a_throw_somebody_paced_out_says_wear_only_outside_what_jets_differ_by(tmp_path: Path) -> None:
    sound = ground_at(tmp_path / "sound", 1.0)
    far, near = ground_at(tmp_path / "far", 0.9), ground_at(tmp_path / "near", 0.4)
    levels = {
        f"{near!r} m": ("caution", "throw_worn"),
        f"{far!r} m": ("ok", "throw_inside"),
        f"{0.851 * sound!r} m": ("ok", "throw_inside"),
        f"{0.849 * sound!r} m": ("caution", "throw_worn"),
        f"{1.149 * sound!r} m": ("ok", "throw_inside"),
        "15 ft": ("caution", "throw_short"),
        "120 ft": ("caution", "throw_far"),
    }
    for number, (throw, expected) in enumerate(levels.items()):
        assert told(checked(tmp_path / f"{number}", {"throw": throw}), "pump.wear")["booster"] == expected, throw


@pytest.mark.ci
def test_a_throw_is_a_range_of_shares_as_wide_as_the_jets_band_and_no_pump_is_better_than_sound(tmp_path: Path) -> None:
    near = ground_at(tmp_path / "near", 0.5)
    paced = shown_of(checked(tmp_path / "paced", {"throw": f"{near!r} m"})).paced
    assert paced is not None
    assert paced.share == pytest.approx(0.5, abs=1e-6)
    assert paced.low is not None
    assert paced.high is not None
    assert ground_at(tmp_path / "low", paced.low) == pytest.approx(near / 1.15, rel=1e-6)
    assert ground_at(tmp_path / "high", paced.high) == pytest.approx(near / 0.85, rel=1e-6)
    over = shown_of(checked(tmp_path / "over", {"throw": "72 ft"}))
    assert over.written_share == 1.0
    assert (over.before.ground, over.before.closed) == (over.after.ground, over.after.closed)


@pytest.mark.ci
def test_a_gauge_or_a_bucket_of_before_the_work_keeps_its_fine_share(tmp_path: Path) -> None:
    worn = shown_of(checked(tmp_path / "worn", change={"rig": {"pumps": {"0": {"condition": "0.8"}}}})).before
    assert worn.closed is not None
    seconds = 5 * GAL / worn.flow
    for number, yard in enumerate(({"gauge": f"{worn.closed!r} Pa"}, {"bucket": f"5 gal in {seconds!r} s"})):
        job = checked(tmp_path / f"{number}", {**yard, "throw": "61 ft"})
        assert shown_of(job).before.share == pytest.approx(0.8, abs=1e-6)
        (finding,) = [one for one in job.findings if one.code == "pump.wear" and one.about == "booster"]
        assert (finding.level, finding.case) == ("caution", f"{next(iter(yard))}_worn")
        assert told(job, "pump.wear")["throw"] == ("ok", "throw_inside")
    switched = checked(tmp_path / "switch", {"pump": "transfer", "work": "test", "bath": None, "gauge": "60 psi"},
                       {"rig": {"setups": [{"name": "t", "pump": "transfer", "feed": "water", "hoses": ["red"],
                                            "tip": "fan"}]}})  # fmt: skip
    assert told(switched, "pump.wear")["transfer"] == ("ok", "gauge_flat")


@pytest.mark.ci
def test_a_throw_that_was_paced_out_is_how_the_pump_stands_now_where_it_tells(tmp_path: Path) -> None:
    plain = shown_of(checked(tmp_path / "plain"))
    paced = shown_of(checked(tmp_path / "paced", {"throw": "50 ft"}))
    assert paced.before.share == paced.written_share
    assert paced.before.ground == pytest.approx(50 * 0.3048, rel=5e-3)
    assert paced.before.closed is not None
    assert plain.before.closed is not None
    assert paced.before.closed < plain.before.closed
    assert paced.before.flow < plain.before.flow
    near = shown_of(checked(tmp_path / "near", {"throw": "62 ft"}, {"rig": {"pumps": {"0": {"condition": "0.8"}}}}))
    assert near.before.share == 0.8, "a throw within the band says nothing, and the rig's file goes on counting"
    beyond = shown_of(checked(tmp_path / "beyond", {"throw": "15 ft"}, {"rig": {"pumps": {"0": {"condition": "0.8"}}}}))
    assert (beyond.written_share, beyond.before.share) == (None, 0.8)
