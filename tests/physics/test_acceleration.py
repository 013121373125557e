"""What a plunger pump's own strokes take off its inlet, against figures worked by hand in feet and in metres."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from planner.checks.model import CheckedJob
from planner.physics.hoses import wave_speed
from planner.physics.pumps import acceleration_head, quarter_wave
from tests import workspaces

FOOT = 0.3048


def test_the_head_is_what_a_hand_gets_in_feet() -> None:
    # 3 ft of 1 in pipe, 5.5 gpm: 2.2466 ft/s; 1,450 rpm, three plungers, water: 3 x 2.2466 x 1450 x .066/(1.4 x 32.174).
    by_hand = 3.0 * 2.24662 * 1450.0 * 0.066 / (1.4 * 32.17405)
    assert by_hand == pytest.approx(14.32, abs=0.005)
    head = acceleration_head(3.0 * FOOT, 2.24662 * FOOT, 1450.0, pump=0.066, liquid=1.4)
    assert head / FOOT == pytest.approx(by_hand, rel=1e-6)


def test_a_stroke_feels_a_quarter_wave_of_hose() -> None:
    """Three plungers at 1,500 rpm are 75 strokes a second: at 120 m/s a wave is 1.6 m long."""
    assert quarter_wave(120.0, 1500.0, 3.0) == pytest.approx(0.4)


def plan(folder: Path, suction: str | None, pump: str = "washer") -> CheckedJob:
    tips = [*workspaces.base()["rig"]["tips"], {"name": "wide", "pattern": "fan", "size": "60"}]
    written = yaml.safe_load(suction) if suction else None
    pumps = {n: {"suction": written} for n in range(3)}
    run = {"pump": pump, "tip": "wide", "hoses": [{"bore": "3/8 in", "length": "50 ft", "rated": "4000 psi"}]}
    change = {"rig": {"tips": tips, "pumps": pumps}, "job": {"hose_runs": {0: run}}}
    return workspaces.checked(folder, workspaces.merged(workspaces.base(), change))


def test_strokes_come_off_the_suction_head_and_have_a_line_of_their_own(tmp_path: Path) -> None:
    (run,) = plan(tmp_path / "soft", "{bore: 1 in, length: 6 ft}").plan.runs
    wave = wave_speed(0.167, 100e6, 999.0)
    speed = 5.0 * 231.0 * 0.0254**3 / 60.0 / (3.14159265 * 0.0127**2)
    by_hand = wave * 60.0 / (4 * 3450 * 3) * speed * 3450 * 0.066 / (1.4 * 9.80665)
    assert run.acceleration_head == pytest.approx(by_hand, rel=2e-3)
    assert by_hand == pytest.approx(1.93, abs=0.05)
    (none,) = plan(tmp_path / "none", None).plan.runs
    assert none.acceleration_head is None
    assert run.npsh_available is not None
    assert none.npsh_available is not None
    lost = run.suction_loss / (999.0 * 9.80665)
    assert none.npsh_available - run.npsh_available == pytest.approx(by_hand + lost, rel=0.02)
    assert run.basis["acceleration_head"].equation == "acceleration_head"


@pytest.mark.ci
def test_a_stiff_or_narrow_suction_costs_more_and_a_wheel_has_no_strokes(tmp_path: Path) -> None:
    def strokes(name: str, suction: str, pump: str = "washer") -> float | None:
        return plan(tmp_path / name, suction, pump).plan.runs[0].acceleration_head

    soft = strokes("soft", "{bore: 1 in, length: 6 ft}")
    stiff = strokes("stiff", "{bore: 1 in, length: 6 ft, material: plastic}")
    narrow = strokes("narrow", "{bore: 3/4 in, length: 6 ft}")
    assert soft is not None
    assert stiff is not None
    assert narrow is not None
    assert soft < stiff
    assert narrow == pytest.approx(soft * 16 / 9, rel=0.01)
    assert strokes("short", "{bore: 1 in, length: 3 in}") == pytest.approx(soft * 0.0762 / 0.187, rel=0.01)
    assert strokes("wheel", "{bore: 1 in, length: 6 ft}", "booster") is None


def test_a_washer_that_sucks_too_hard_is_told_of_its_strokes(tmp_path: Path) -> None:
    found = plan(tmp_path, "{bore: 1/2 in, length: 12 ft, material: plastic}").findings
    (one,) = [finding for finding in found if finding.code == "pump.suction"]
    assert (one.level, one.case) == ("stop", "starved_strokes")
