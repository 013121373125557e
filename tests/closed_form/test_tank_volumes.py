"""Tank volumes against the geometry of their shapes, and the stick turned round."""

from __future__ import annotations

import subprocess
import sys
from math import acos, pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.physics.tanks import (
    Shape,
    TankVolumes,
    depth_of,
    dips,
    full_depth,
    shape_volume,
    usable,
)
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(100), deadline=None, derandomize=True, database=None)

INCH = 0.0254
GALLON = 3.785411784e-3
WATER = TankVolumes(
    volume=275 * GALLON,
    dead_volume=6 * GALLON,
    shape=Shape(kind="horizontal_cylinder", diameter=38 * INCH, length=56 * INCH),
)
MIX = TankVolumes(volume=100 * GALLON, dead_volume=GALLON, shape=Shape(kind="upright_cylinder", diameter=31 * INCH))
BOX = TankVolumes(volume=0.3, shape=Shape(kind="box", length=1.0, width=0.6, height=0.5))
TANKS = {"lying": WATER, "standing": MIX, "box": BOX}


def segment(diameter: float, length: float, depth: float) -> float:
    """Volume in a lying cylinder: the circular segment times its length (any geometry text)."""
    r = diameter / 2
    return length * (r * r * acos((r - depth) / r) - (r - depth) * sqrt(max(2 * r * depth - depth * depth, 0)))


@given(st.floats(0, 1))
@PROPERTY
def test_a_lying_cylinder_holds_its_circular_segment(share: float) -> None:
    diameter, length = 38 * INCH, 56 * INCH
    depth = depth_of(WATER, share * WATER.volume)
    assert depth is not None
    whole = pi / 4 * diameter**2 * length
    assert segment(diameter, length, depth) == pytest.approx(share * whole, rel=1e-6, abs=1e-6 * whole)


def test_the_water_tanks_shape_is_its_275_gallons() -> None:
    assert WATER.shape is not None
    assert (shape_volume(WATER.shape) or 0) / GALLON == pytest.approx(274.9, abs=0.05)
    assert depth_of(WATER, 137.5 * GALLON) == pytest.approx(19 * INCH, rel=1e-6)
    assert full_depth(WATER) == 38 * INCH


def test_fifty_six_gallons_stand_17_and_an_eighth_inches_in_the_mix_tank() -> None:
    depth = depth_of(MIX, 56 * GALLON)
    assert depth is not None
    assert depth / INCH == pytest.approx(17 + 1 / 8, abs=1 / 16)
    assert depth == pytest.approx(56 * GALLON / (pi / 4 * (31 * INCH) ** 2), rel=1e-9)


def test_a_box_is_its_length_times_width_times_depth() -> None:
    assert depth_of(BOX, 0.12) == pytest.approx(0.2)
    open_box = TankVolumes(volume=0.3, shape=Shape(kind="box", length=1.0, width=0.6))
    assert full_depth(open_box) == pytest.approx(0.5)
    assert shape_volume(Shape(kind="box", length=1.0, width=0.6)) is None


@pytest.mark.parametrize("name", TANKS)
@given(shares=st.tuples(st.floats(0, 1), st.floats(0, 1)))
@PROPERTY
def test_more_liquid_stands_higher(name: str, shares: tuple[float, float]) -> None:
    tank = TANKS[name]
    low, high = (depth_of(tank, share * tank.volume) for share in sorted(shares))
    assert low is not None
    assert high is not None
    assert low <= high


@pytest.mark.parametrize("name", TANKS)
def test_empty_is_zero_and_full_is_the_top(name: str) -> None:
    tank = TANKS[name]
    assert depth_of(tank, 0) == 0
    assert depth_of(tank, tank.volume) == pytest.approx(full_depth(tank))
    assert depth_of(tank, tank.volume * (1 + 1e-12)) == pytest.approx(full_depth(tank))


def test_the_stick_is_scaled_where_shape_and_stated_volume_differ() -> None:
    shape = Shape(kind="horizontal_cylinder", diameter=1.0, length=2.0)
    nominal = pi / 4 * 2.0
    smaller = TankVolumes(volume=nominal * 0.98, shape=shape)
    assert depth_of(smaller, nominal * 0.98) == pytest.approx(1.0)
    assert depth_of(smaller, nominal * 0.49) == pytest.approx(0.5)
    tall = TankVolumes(volume=0.294, shape=Shape(kind="box", length=1.0, width=0.6, height=0.5))
    assert depth_of(tall, 0.147) == pytest.approx(0.25)


def test_no_shape_means_no_stick_and_too_much_has_no_mark() -> None:
    plain = TankVolumes(volume=1.0, dead_volume=0.1)
    assert depth_of(plain, 0.5) is None
    assert full_depth(plain) is None
    assert depth_of(WATER, 276 * GALLON) is None


def test_usable_is_what_lies_above_the_pumps_reach() -> None:
    assert usable(WATER, 100 * GALLON) == pytest.approx(94 * GALLON)
    assert usable(WATER, 5 * GALLON) == 0
    assert usable(TankVolumes(volume=1.0), 0.5) == 0.5


def test_additions_under_two_inches_are_not_read_off_the_stick() -> None:
    per_inch = 100 * GALLON / (full_depth(MIX) or 1) * INCH
    water, stock, soap = dips(MIX, 2 * GALLON, [10 * per_inch, 2 * per_inch, 1.99 * per_inch], 2 * INCH)
    assert (water.by_stick, stock.by_stick, soap.by_stick) == (True, True, False)
    assert stock.rise == pytest.approx(2 * INCH)
    assert soap.depth == pytest.approx(depth_of(MIX, soap.contents))
    assert soap.contents == pytest.approx(2 * GALLON + 13.99 * per_inch)


def test_dips_without_a_shape_or_above_the_rim_are_blank() -> None:
    (mark,) = dips(TankVolumes(volume=1.0), 0.0, [0.5], 2 * INCH)
    assert (mark.contents, mark.depth, mark.rise, mark.by_stick) == (0.5, None, None, False)
    fits, spills = dips(MIX, 0.0, [90 * GALLON, 20 * GALLON], 2 * INCH)
    assert fits.by_stick
    assert (spills.depth, spills.by_stick) == (None, False)


@pytest.mark.parametrize(
    "shape",
    [
        Shape(kind="horizontal_cylinder", diameter=1.0),
        Shape(kind="upright_cylinder"),
        Shape(kind="box", length=1.0),
        Shape(kind="box", length=1.0, width=1.0, height=-1.0),
    ],
)
def test_a_shape_without_its_sizes_is_refused(shape: Shape) -> None:
    with pytest.raises(ValueError, match="without its sizes"):
        depth_of(TankVolumes(volume=1.0, shape=shape), 0.5)


def test_less_than_nothing_in_a_tank_is_refused() -> None:
    with pytest.raises(ValueError, match="in a tank"):
        depth_of(MIX, -1.0)


def test_dips_and_chemistry_never_load_scipy() -> None:
    code = (
        "import sys; from planner.physics.tanks import *;"
        "import planner.chemistry.washout as w, planner.chemistry.heat, planner.chemistry.solutions,"
        "planner.chemistry.hypochlorite, planner.chemistry.dilution, planner.chemistry.dosing,"
        "planner.chemistry.neutralising;"
        "t = TankVolumes(volume=1.0, shape=Shape(kind='horizontal_cylinder', diameter=1.0, length=1.2));"
        "depth_of(t, 0.4); w.series_turnovers(1e-4);"
        "sys.exit('scipy' in sys.modules or 'pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
