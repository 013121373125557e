"""The electricity of whole jobs: what is taken from the rig's file, and what adds up."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.plan.model import Value
from planner.plan.procedure.acts import Power
from planner.plan.road.model import PowerPlan
from planner.units import read
from tests import workspaces

BOOSTER = "{power: 0.75 hp, volts: 115, cord: {gauge: 12 AWG, length: 50 ft}}"
ROOF = (
    "{job: {chemicals: [{stock: bleach, strength: 1 %}], hose_runs: {0: {pump: transfer, feed: mix, dosing: premix}}}}"
)


def planned(folder: Path, *changes: str) -> CheckedJob:
    files: Any = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, workspaces.as_written(change))
    return workspaces.checked(folder, files)


def power_of(folder: Path, *changes: str) -> PowerPlan:
    power = planned(folder, *changes).plan.power
    assert power is not None
    return power


WARM = 1 + 0.00393 * (30 + 45 * (13.8 / 25) ** 2 - 20)
"""Copper of 12 AWG, whose cord carries 25 A, at 13.8 A in air of 30 C, over copper of 20 C."""


def test_a_job_without_a_motor_has_no_power(tmp_path: Path) -> None:
    job = planned(tmp_path)
    assert job.plan.power is None
    assert job_json(job, "us")["power"] is None


def test_the_job_draws_what_its_one_motor_draws(tmp_path: Path) -> None:
    json = job_json(
        planned(
            tmp_path,
            f"rig: {{power: {{generator: 3500 W, gfci: true, volts: 120}}, pumps: {{0: {{motor: {BOOSTER}}}}}}}",
        ),
        "us",
    )["power"]
    assert json["amps"] == pytest.approx(13.8)
    assert json["drop_fraction"] == pytest.approx(2 * 50 * 13.8 * 1.588 / 1000 / 120 * WARM)
    assert json["watts"] == pytest.approx(1656.0)
    assert json["start_watts"] == pytest.approx(6 * 1656.0)
    assert json["generator_watts"] == pytest.approx(3500.0)
    assert json["battery_coulombs"] is None
    (motor,) = json["motors"]
    assert motor["arriving_volts"] == pytest.approx(120 - 2.19144 * WARM)
    assert motor["drop_cool_volts"] == pytest.approx(2.19144)


def test_the_plates_own_current_comes_before_the_table(tmp_path: Path) -> None:
    (motor,) = power_of(
        tmp_path, "rig: {pumps: {0: {motor: {power: 0.75 hp, volts: 115, amps: 11.2 A, start_amps: 45 A}}}}"
    ).motors
    assert motor.from_plate
    assert (motor.amps, motor.start_amps) == (11.2, 45.0)


@pytest.mark.parametrize(
    ("plate", "rig", "supply"),
    [
        ("115", "", 120.0),
        ("115", "volts: 125", 125.0),
        ("230", "", 240.0),
        ("230", "volts: 120", 240.0),
        ("208", "volts: 120", 208.0),
        ("208", "volts: 240", 240.0),
        ("12", "volts: 120", 12.0),
        ("13.6", "", 12.0),
        ("24", "battery: 100 Ah", 24.0),
    ],
)
def test_a_motor_hangs_on_the_system_its_plate_fits(tmp_path: Path, plate: str, rig: str, supply: float) -> None:
    (motor,) = power_of(
        tmp_path, f"rig: {{power: {{gfci: true, {rig}}}, pumps: {{0: {{motor: {{amps: 5 A, volts: {plate}}}}}}}}}"
    ).motors
    assert motor.supply == pytest.approx(supply)


@pytest.mark.parametrize(
    ("power", "volts"), [("", 120.0), ("power: {battery: 80 Ah}, ", 12.0), ("power: {volts: 240}, ", 240.0)]
)
def test_volts_nobody_wrote_are_the_rigs_and_said(tmp_path: Path, power: str, volts: float) -> None:
    job = planned(tmp_path, f"rig: {{{power}pumps: {{0: {{motor: {{amps: 5 A}}}}}}}}")
    assert job.plan.power is not None
    assert job.plan.power.motors[0].volts == pytest.approx(volts)
    assert f"booster: {volts:g} V" in job.plan.notes


def test_a_pump_beside_the_other_adds_to_what_runs_and_starts(tmp_path: Path) -> None:
    power = power_of(
        tmp_path,
        "rig: {power: {generator: 3500 W, gfci: true, volts: 120, beside: [transfer], others: 240 W}, "
        f"pumps: {{0: {{motor: {BOOSTER}}}, 2: {{motor: {{power: 0.5 hp, volts: 115}}}}}}}}",
    )
    (load,) = power.loads
    assert load.pumps == ("booster", "transfer")
    assert load.amps == pytest.approx(13.8 + 9.8 + 2.0)
    assert load.watts == pytest.approx(120 * 25.6)
    assert load.start_watts == pytest.approx(120 * (6 * 13.8 + 9.8 + 2.0))
    assert load.starts == "booster"


@pytest.mark.parametrize("motor", ["power: 2 hp", "amps: 12 A, start_amps: 20 A"])
def test_the_generator_that_is_asked_for_runs_and_starts_what_hangs_on_it(tmp_path: Path, motor: str) -> None:
    rig = "rig: {{power: {{generator: {watts} W, gfci: true, volts: 120}}, pumps: {{0: {{motor: {{{motor}, volts: 115}}}}}}}}"
    found = {one.code: one for one in planned(tmp_path / "small", rig.format(watts=1000, motor=motor)).findings}
    assert (found["power.current"].level, found["power.current"].case) == ("stop", "generator")
    least = found["power.current"].values["least"]
    assert isinstance(least, Value)
    found = {one.code: one for one in planned(tmp_path / "asked", rig.format(watts=least.amount, motor=motor)).findings}
    assert found["power.current"].level == "ok"


def test_two_voltages_share_the_generator_but_not_the_breaker(tmp_path: Path) -> None:
    (load,) = power_of(
        tmp_path,
        "rig: {power: {generator: 9 kW, gfci: true, volts: 120, beside: [transfer]}, "
        "pumps: {0: {motor: {power: 2 hp, volts: 230}}, 2: {motor: {power: 0.5 hp, volts: 115}}}}",
    ).loads
    assert load.amps == pytest.approx(12.0)
    assert load.watts == pytest.approx(240 * 12.0 + 120 * 9.8)


def test_the_battery_gives_what_each_pump_draws_while_it_runs(tmp_path: Path) -> None:
    job = planned(tmp_path, ROOF, "rig: {power: {battery: 50 Ah}, pumps: {2: {motor: {amps: 10 A, volts: 12}}}}")
    power, plan = job.plan.power, job.plan
    assert power is not None
    (motor,) = power.motors
    # A diaphragm pump stops with the gun: it runs as long as the gun is open, and through the flush.
    assert motor.seconds == pytest.approx(sum(plan.water.seconds.values()))
    assert power.needed == pytest.approx(10 * motor.seconds)
    assert power.usable == pytest.approx(25 * 3600)
    assert power.lasts == pytest.approx(2.5 * 3600)


def test_any_other_pump_runs_while_it_has_power(tmp_path: Path) -> None:
    job = planned(tmp_path, f"rig: {{pumps: {{0: {{motor: {BOOSTER}}}}}}}")
    assert job.plan.power is not None
    (motor,) = job.plan.power.motors
    switched = [act for act in job.plan.procedure.acts if isinstance(act.detail, Power)]
    assert [act.detail.on for act in switched if isinstance(act.detail, Power)] == [True, False] * (len(switched) // 2)
    assert motor.seconds == pytest.approx(
        sum(off.end - on.end for on, off in zip(switched[::2], switched[1::2], strict=True))
    )
    assert motor.seconds > sum(job.plan.water.seconds.values())


def test_a_direct_current_motors_power_is_its_shafts(tmp_path: Path) -> None:
    (motor,) = power_of(tmp_path, "rig: {pumps: {0: {motor: {power: 72 W, volts: 12}}}}").motors
    assert motor.amps == pytest.approx(72 / 12 / 0.6)
    assert motor.start_amps is None


@pytest.mark.parametrize(
    ("motor", "code"),
    [
        ("{volts: 115}", "key.missing"),
        ("{amps: 10 A, start_amps: 8 A}", "motor.start"),
        ("{amps: 10 A, volts: 0}", "quantity.range"),
    ],
)
def test_a_slip_in_a_motor_is_told(tmp_path: Path, motor: str, code: str) -> None:
    files = workspaces.merged(workspaces.base(), workspaces.as_written(f"rig: {{pumps: {{0: {{motor: {motor}}}}}}}"))
    assert [fault.code for fault in workspaces.loaded(tmp_path, files).faults] == [code]


def test_a_pump_beside_that_the_rig_has_not_is_told(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), workspaces.as_written("rig: {power: {beside: [tranfer]}}"))
    (fault,) = workspaces.loaded(tmp_path, files).faults
    assert fault.code == "name.unknown"
    assert "transfer" in fault.remedy


def test_amp_hours_are_read_as_a_charge() -> None:
    assert read("100 Ah", "charge") == pytest.approx(360_000.0)
    assert read("100 amp hours", "charge") == pytest.approx(read("100000 mAh", "charge"))


@pytest.mark.parametrize(
    ("motor", "start"),
    [
        ("power: 0.5 hp, volts: 115", 58.8),
        ("power: 0.5 hp, volts: 208", 32.5),
        ("power: 2 hp, volts: 230", 72.0),
        ("power: 3 hp, volts: 230", 6 * 17.0),
        ("power: 1 hp, volts: 115, amps: 20 A", 120.0),
        ("power: 1 hp, volts: 115, amps: 12 A", 96.0),
    ],
)
def test_a_motor_starts_on_its_tables_current_or_more_where_its_plate_draws_more(
    tmp_path: Path, motor: str, start: float
) -> None:
    """NEC table 430.251(A), as reprinted; beyond its rows six times the running current."""
    (planned_motor,) = power_of(tmp_path, f"rig: {{pumps: {{0: {{motor: {{{motor}}}}}}}}}").motors
    assert planned_motor.start_amps == pytest.approx(start)


def test_a_cords_copper_is_as_warm_as_its_load_and_the_day_make_it(tmp_path: Path) -> None:
    """75 C at the 18 A that 14 AWG carries in air of 30 C; a wire past the table of cords goes by the thickest there."""
    cord = "cord: {gauge: 14 AWG, length: 50 ft}"
    for amps, high, copper in (("18 A", "70 F", 75.0), ("9 A", "70 F", 41.25), ("9 A", "104 F", 51.25)):
        change = f"{{day: {{forecast: {{high: {high}}}}}, rig: {{pumps: {{0: {{motor: {{amps: {amps}, volts: 115, {cord}}}}}}}}}}}"
        (motor,) = power_of(tmp_path / f"{amps} {high}", change).motors
        assert motor.cord is not None
        assert motor.cord.copper == pytest.approx(copper + 273.15)
    thick = "rig: {pumps: {0: {motor: {amps: 15 A, volts: 12, cord: {gauge: 6 AWG, length: 20 ft}}}}}"
    (motor,) = power_of(tmp_path / "thick", thick).motors
    assert motor.cord is not None
    assert motor.cord.copper == pytest.approx(30.0 + 45.0 / 4.0 + 273.15)
