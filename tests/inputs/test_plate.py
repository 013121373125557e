"""A pump written by what its plate says."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from planner.inputs.models import Pump
from planner.physics.liquids import GRAVITY, REFERENCE_DENSITY
from planner.plan.line.apparatus import curve_points, pump_alone

PSI, GPM = 6894.757293168, 3.785411784e-3 / 60.0
HEAD = PSI / (REFERENCE_DENSITY * GRAVITY)


def pump(**keys: Any) -> Pump:
    return Pump.model_validate({"name": "one", **keys})


def slips(**keys: Any) -> set[tuple[str, str]]:
    with pytest.raises(ValidationError) as told:
        pump(**keys)
    return {(error["type"], str(error["loc"][-1])) for error in told.value.errors()}


def test_a_diaphragm_pumps_plate_is_a_straight_line() -> None:
    by_plate = pump(kind="diaphragm", flow="5.5 gpm", shut_off="80 psi", cut_off="60 psi")
    by_curve = pump(kind="diaphragm", curve=[["0 gpm", "80 psi"], ["5.5 gpm", "0 psi"]], cut_off="60 psi")
    assert by_plate.by_plate
    assert not by_curve.by_plate
    assert pump_alone(by_plate) == pump_alone(by_curve)


def test_a_centrifugal_pumps_plate_is_a_parabola_through_both_its_points() -> None:
    points = curve_points(pump(kind="centrifugal", shut_off="70 psi", best="12 gpm at 46 psi"))
    for flow, head in points:
        # H = H0 - k Q^2, textbook form
        assert head / HEAD == pytest.approx(70.0 - 24.0 * (flow / GPM / 12.0) ** 2)
    assert points[0][0] == 0.0
    assert points[-1][0] == pytest.approx(1.3 * 12.0 * GPM)


def test_its_curve_ends_where_nothing_is_left_of_its_pressure() -> None:
    flow, head = curve_points(pump(kind="centrifugal", shut_off="50 psi", best="10 gpm at 10 psi"))[-1]
    assert head == pytest.approx(0.0, abs=1e-9)
    assert flow / GPM == pytest.approx(10.0 * (50.0 / 40.0) ** 0.5)


def test_a_best_point_may_be_a_head() -> None:
    as_head = curve_points(pump(kind="centrifugal", shut_off="70 psi", best="12 gpm at 106 ft"))
    assert as_head[-2] == pytest.approx((12.0 * GPM, 106.0 * 0.3048))


@pytest.mark.parametrize("word", ["yes", "true", True])
def test_an_unloader_that_is_there_opens_at_its_plates_pressure(word: object) -> None:
    known = pump(kind="piston", flow="5.5 gpm", pressure="3000 psi", unloader=word)
    assert known.unloader == pytest.approx(3000.0 * PSI)
    assert pump(kind="piston", flow="5.5 gpm", pressure="3000 psi").unloader is None


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"kind": "piston", "flow": "5 gpm", "unloader": "yes"}, ("key.missing", "pressure")),
        ({"kind": "diaphragm", "flow": "5 gpm"}, ("key.missing", "shut_off")),
        ({"kind": "diaphragm", "shut_off": "60 psi"}, ("key.missing", "flow")),
        ({"kind": "centrifugal", "shut_off": "60 psi"}, ("key.missing", "best")),
        ({"kind": "centrifugal"}, ("key.missing", "curve")),
        ({"kind": "centrifugal", "shut_off": "60 psi", "best": "10 gpm at 70 psi"}, ("key.clash", "best")),
        ({"kind": "centrifugal", "shut_off": "60 psi", "best": "10 gpm"}, ("quantity.range", "best")),
        ({"kind": "centrifugal", "shut_off": "60 psi", "best": "0 gpm at 5 psi"}, ("quantity.range", "best")),
        ({"kind": "piston", "flow": "5 gpm", "shut_off": "60 psi"}, ("key.clash", "shut_off")),
        (
            {"kind": "diaphragm", "flow": "5 gpm", "curve": [["0 gpm", "60 psi"], ["5 gpm", "0 psi"]]},
            ("key.clash", "flow"),
        ),
    ],
)
def test_half_a_plate_is_asked_about(keys: dict[str, Any], told: tuple[str, str]) -> None:
    assert told in slips(**keys)


@pytest.mark.parametrize(
    ("keys", "by"),
    [
        ({"kind": "diaphragm", "flow": "5 gpm", "shut_off": "60 psi"}, "battery"),
        ({"kind": "diaphragm", "flow": "5 gpm", "shut_off": "60 psi", "drive": "engine"}, "engine"),
        (
            {"kind": "diaphragm", "flow": "5 gpm", "shut_off": "60 psi", "motor": {"power": "0.5 hp", "volts": "115"}},
            "mains",
        ),
        ({"kind": "piston", "flow": "5 gpm"}, "engine"),
        ({"kind": "piston", "flow": "5 gpm", "motor": {"power": "2 hp"}}, "mains"),
        ({"kind": "centrifugal", "shut_off": "60 psi", "best": "10 gpm at 40 psi"}, None),
    ],
)
def test_what_turns_it_is_written_or_its_motors_or_its_kinds(keys: dict[str, Any], by: str | None) -> None:
    assert pump(**keys).driven_by == by


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"drive": "engine", "motor": {"power": "2 hp"}}, ("key.clash", "drive")),
        ({"drive": "battery", "motor": {"power": "2 hp", "volts": "115"}}, ("key.clash", "drive")),
        ({"drive": "mains", "motor": {"power": "0.1 hp", "volts": "12"}}, ("key.clash", "drive")),
        ({"drive": "mains"}, ("key.missing", "motor")),
        ({"drive": "wind"}, ("value.choice", "drive")),
    ],
)
def test_what_turns_it_must_go_with_its_motor(keys: dict[str, Any], told: tuple[str, str]) -> None:
    assert told in slips(kind="piston", flow="5 gpm", **keys)


def test_an_unloader_without_its_plates_pressure_is_one_fault() -> None:
    assert slips(kind="piston", flow="5 gpm", unloader="yes") == {("key.missing", "pressure")}
