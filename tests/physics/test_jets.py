"""The jet against scipy's integration and minimisation, closed forms, and its own step."""

from __future__ import annotations

from math import atan, cos, degrees, pi, sin, sqrt

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from planner.inputs.tables.whole import limit_rows
from planner.physics import jets
from planner.physics.liquids import GRAVITY, REFERENCE_DENSITY

pytestmark = pytest.mark.short

FOOT = 0.3048
INCH = 0.0254
PSI = 6894.757293168
TEN_FEET = 10.0 * FOOT
BOOSTERS = [(20.0, 0.25), (40.0, 0.25), (40.0, 0.375), (60.0, 0.1875), (90.0, 0.5)]
"""Pressure [psi] and orifice [in] of the jets a washing rig's booster throws."""


def _head(psi: float) -> float:
    return psi * PSI / (REFERENCE_DENSITY * GRAVITY)


NOT_THERE = -1000.0


def _height_by_scipy(head: float, orifice: float, angle: float, at: float, wind: float) -> float:
    """Height [m] where the jet first passes `at` [m], by an adaptive integration of the same equation.

    NOT_THERE where it is back 3 m below the tip, or blown back, before it gets there.
    """
    k, speed = jets.drag(head, orifice), sqrt(2.0 * GRAVITY * head)

    def pull(_: float, state: list[float]) -> list[float]:
        _, _, vx, vy = state
        through_air = sqrt((vx + wind) ** 2 + vy**2)
        return [vx, vy, -k * through_air * (vx + wind), -GRAVITY - k * through_air * vy]

    def arrives(_: float, state: list[float]) -> float:
        return state[0] - at

    def fallen(_: float, state: list[float]) -> float:
        return state[1] + 3.0

    arrives.terminal = fallen.terminal = True  # type: ignore[attr-defined]
    flown = solve_ivp(
        pull,
        (0.0, 20.0),
        [0.0, 0.0, speed * cos(angle), speed * sin(angle)],
        events=(arrives, fallen),
        rtol=1e-10,
        atol=1e-12,
        method="DOP853",
    )
    return float(flown.y_events[0][0][1]) if len(flown.t_events[0]) else NOT_THERE


@pytest.mark.parametrize(("psi", "inches"), BOOSTERS)
@pytest.mark.parametrize("wind", [0.0, 4.5])
@pytest.mark.parametrize("angle", [0.6, 1.0, 1.25])
def test_the_path_is_scipys(psi: float, inches: float, wind: float, angle: float) -> None:
    head, orifice = _head(psi), inches * INCH
    x, y = jets.path(head, orifice, angle, wind=wind, until=TEN_FEET)[-1]
    scipys = _height_by_scipy(head, orifice, angle, TEN_FEET, wind)
    assert (x == TEN_FEET) == (scipys != NOT_THERE)
    if x == TEN_FEET:
        assert y == pytest.approx(scipys, rel=1e-4)


@pytest.mark.parametrize(("psi", "inches"), BOOSTERS)
@pytest.mark.parametrize(("wind", "standoff"), [(0.0, TEN_FEET), (0.0, 20.0 * FOOT), (3.0, TEN_FEET)])
def test_the_aim_is_the_one_scipy_finds(psi: float, inches: float, wind: float, standoff: float) -> None:
    head, orifice = _head(psi), inches * INCH
    thrown = jets.highest_at(head, orifice, standoff, wind=wind)
    assert thrown is not None
    best = minimize_scalar(
        lambda angle: -_height_by_scipy(head, orifice, angle, standoff, wind),
        bounds=(thrown.angle - 0.1, thrown.angle + 0.02),
        method="bounded",
        options={"xatol": 1e-7},
    )
    assert thrown.height == pytest.approx(-best.fun, rel=1e-4)
    assert thrown.angle == pytest.approx(best.x, abs=2e-3)


@pytest.mark.parametrize(("psi", "inches"), BOOSTERS)
def test_a_jet_thrown_straight_up_stops_at_the_closed_form(psi: float, inches: float) -> None:
    head, orifice = _head(psi), inches * INCH
    top = max(y for _, y in jets.path(head, orifice, pi / 2.0, until=1.0))
    # The path is a list of points 40 ms apart: the top is missed by at most g (20 ms)^2 / 2.
    assert jets.still_height(head, orifice) - 0.0021 < top < jets.still_height(head, orifice) + 1e-4


@pytest.mark.parametrize(("psi", "inches"), [*BOOSTERS, (150.0, 0.125)])
def test_halving_the_step_moves_heights_by_less_than_a_millimetre(
    psi: float, inches: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    head, orifice = _head(psi), inches * INCH

    def heights() -> list[float]:
        # The best aim in still air; in wind a given aim, as the best one there grazes the wall and is steep to find.
        still = jets.highest_at(head, orifice, TEN_FEET)
        assert still is not None
        in_wind = [jets.path(head, orifice, angle, wind=3.0, until=TEN_FEET)[-1] for angle in (0.7, 1.0)]
        assert all(x == TEN_FEET for x, _ in in_wind)
        return [still.height, *(y for _, y in in_wind)]

    usual = heights()
    monkeypatch.setattr(jets, "_STEP", jets._STEP / 2.0)
    assert heights() == pytest.approx(usual, abs=0.001)


@pytest.mark.parametrize(
    ("psi", "inches", "vertical", "at_ten_feet"),
    [(40.0, 0.25, 44.7, 44.0), (20.0, 0.25, 30.1, 29.1), (40.0, 0.375, 55.1, 54.5)],
)
def test_heights_stay_what_they_were_first_worked_out_to_be(
    psi: float, inches: float, vertical: float, at_ten_feet: float
) -> None:
    # Regression: a prototype's figures in feet, no source.
    head, orifice = _head(psi), inches * INCH
    thrown = jets.highest_at(head, orifice, TEN_FEET)
    assert thrown is not None
    assert jets.still_height(head, orifice) / FOOT == pytest.approx(vertical, abs=0.05)
    assert thrown.height / FOOT == pytest.approx(at_ten_feet, abs=0.05)


def test_a_jet_goes_farthest_at_35_to_40_degrees() -> None:
    head, orifice = _head(40.0), 0.25 * INCH

    def landing(angle: float) -> float:
        (x0, y0), (x1, y1) = jets.path(head, orifice, angle, until=1e9, floor=0.0)[-2:]
        return x0 + (x1 - x0) * y0 / (y0 - y1)

    best = minimize_scalar(lambda angle: -landing(angle), bounds=(0.3, 1.2), method="bounded")
    assert 35.0 < degrees(best.x) < 40.0


def test_wind_from_the_wall_lowers_the_jet() -> None:
    heights = [jets.highest_at(_head(40.0), 0.25 * INCH, TEN_FEET, wind=wind) for wind in (0.0, 2.0, 4.0, 8.0)]
    metres = [thrown.height for thrown in heights if thrown is not None]
    assert len(metres) == 4
    assert metres == sorted(metres, reverse=True)
    assert metres[0] - metres[-1] > 0.5


def test_a_wall_too_far_off_is_never_reached() -> None:
    assert jets.highest_at(_head(10.0), 0.25 * INCH, 60.0) is None
    assert jets.highest_at(0.0, 0.25 * INCH, TEN_FEET) is None


def test_over_an_eave_the_jet_just_clears_it_and_comes_down_beyond() -> None:
    head, orifice = _head(40.0), 0.25 * INCH
    eave, beyond = 10.5, 6.0
    free = jets.highest_at(head, orifice, TEN_FEET, beyond=beyond)
    over = jets.highest_at(head, orifice, TEN_FEET, beyond=beyond, obstacle=eave)
    assert free is not None
    assert over is not None
    at_wall = _height_by_scipy(head, orifice, free.angle, TEN_FEET, 0.0)
    assert at_wall < eave, "the aim that is best beyond would hit the wall below the eave"
    assert _height_by_scipy(head, orifice, over.angle, TEN_FEET, 0.0) == pytest.approx(eave, abs=0.002)
    landed = _height_by_scipy(head, orifice, over.angle, TEN_FEET + beyond, 0.0)
    assert over.height == pytest.approx(landed, rel=1e-4)
    assert over.height < free.height


def test_an_eave_above_the_jet_is_not_cleared() -> None:
    highest = jets.highest_at(_head(40.0), 0.25 * INCH, TEN_FEET)
    thrown = jets.highest_at(_head(40.0), 0.25 * INCH, TEN_FEET, beyond=2.0, obstacle=20.0)
    assert highest is not None
    assert thrown is not None
    at_wall = _height_by_scipy(_head(40.0), 0.25 * INCH, thrown.angle, TEN_FEET, 0.0)
    beyond = _height_by_scipy(_head(40.0), 0.25 * INCH, thrown.angle, TEN_FEET + 2.0, 0.0)
    assert thrown.height == pytest.approx(min(at_wall, beyond), rel=1e-4)
    assert thrown.height <= highest.height + 1e-3


@pytest.mark.ci
@pytest.mark.parametrize(("psi", "millimetres"), [(300.0, 2.5), (1000.0, 1.8), (2000.0, 1.5), (3000.0, 1.4)])
def test_a_solid_tip_at_washer_pressure_is_thrown_as_scipy_throws_it(psi: float, millimetres: float) -> None:
    head, orifice = _head(psi), millimetres / 1000.0
    thrown = jets.highest_at(head, orifice, TEN_FEET)
    assert thrown is not None
    best = minimize_scalar(
        lambda angle: -_height_by_scipy(head, orifice, angle, TEN_FEET, 0.0), bounds=(0.5, 1.5), method="bounded"
    )
    assert thrown.height == pytest.approx(-best.fun, abs=0.002)


@pytest.mark.parametrize(
    ("psi", "inches", "wind"), [(40.0, 0.25, 6.2), (40.0, 0.25, 7.2), (100.0, 0.25, 4.1), (150.0, 0.375, 3.4)]
)
def test_a_jet_in_wind_is_never_given_up_where_some_aim_arrives(psi: float, inches: float, wind: float) -> None:
    # rho 998.2 to the digit: whether the aim falls on the wrong side is a matter of the last digits.
    head, orifice = psi * PSI / (998.2 * GRAVITY), round(inches * INCH, 7)
    some = max(_height_by_scipy(head, orifice, degree * pi / 180.0, TEN_FEET, wind) for degree in range(45, 86, 2))
    assert some > 3.0
    thrown = jets.highest_at(head, orifice, TEN_FEET, wind=wind)
    assert thrown is not None
    assert thrown.height >= some - 0.05


def _landing_by_scipy(head: float, orifice: float, angle: float, above: float, wind: float) -> float:
    """Where the jet comes down on level ground [m from the tip], by an adaptive integration of the same equation."""
    k, speed = jets.drag(head, orifice), sqrt(2.0 * GRAVITY * head)

    def pull(_: float, state: list[float]) -> list[float]:
        _, _, vx, vy = state
        through_air = sqrt((vx + wind) ** 2 + vy**2)
        return [vx, vy, -k * through_air * (vx + wind), -GRAVITY - k * through_air * vy]

    def down(_: float, state: list[float]) -> float:
        return state[1] + above

    down.terminal, down.direction = True, -1.0  # type: ignore[attr-defined]
    start = [0.0, 0.0, speed * cos(angle), speed * sin(angle)]
    flown = solve_ivp(pull, (0.0, 40.0), start, events=down, rtol=1e-10, atol=1e-12, method="DOP853")
    return float(flown.y_events[0][0][0])


@pytest.mark.parametrize(("psi", "inches"), BOOSTERS)
@pytest.mark.parametrize(("above", "wind"), [(1.2, 0.0), (4.0, 0.0), (1.2, 4.5), (1.2, -4.5)])
def test_no_aim_throws_further_along_the_ground(psi: float, inches: float, above: float, wind: float) -> None:
    head, orifice = _head(psi), inches * INCH
    thrown = jets.furthest(head, orifice, above=above, wind=wind)
    assert thrown is not None
    best = minimize_scalar(
        lambda angle: -_landing_by_scipy(head, orifice, angle, above, wind), bounds=(0.02, 1.5), method="bounded"
    )
    assert thrown.distance == pytest.approx(-best.fun, rel=1e-4)
    assert thrown.angle == pytest.approx(best.x, abs=0.01)
    assert thrown.distance == pytest.approx(_landing_by_scipy(head, orifice, thrown.angle, above, wind), rel=1e-4)


@pytest.mark.parametrize("above", [0.0, 1.2, 6.0])
@pytest.mark.parametrize("head", [3.0, 25.0])
def test_a_jet_the_air_hardly_holds_is_thrown_as_far_as_school_ballistics_has_it(head: float, above: float) -> None:
    # As thick as a man is tall, so that the drag of the fire-stream formula is all but gone.
    thrown = jets.furthest(head, 2.0, above=above)
    assert thrown is not None
    # v^2 = 2 g H: v^2/g sqrt(1 + 2 g h/v^2) = 2 H sqrt(1 + h/H), aimed at atan(1 / sqrt(1 + h/H)).
    assert thrown.distance == pytest.approx(2.0 * head * sqrt(1.0 + above / head), rel=1e-4)
    assert thrown.angle == pytest.approx(atan(1.0 / sqrt(1.0 + above / head)), abs=0.003)


def test_more_head_more_height_and_less_wind_throw_further() -> None:
    def far(head: float = 20.0, above: float = 1.0, wind: float = 0.0) -> float:
        thrown = jets.furthest(head, 0.25 * INCH, above=above, wind=wind)
        assert thrown is not None
        return thrown.distance

    assert far(21.0) > far()
    assert far(above=1.5) > far()
    assert far(wind=-2.0) > far() > far(wind=2.0)


def test_a_thin_jet_into_a_strong_wind_is_thrown_flat_and_not_back() -> None:
    # Every rise gives the wind more time: the best aim is level.
    head, orifice = _head(1500.0), 0.06 * INCH
    thrown = jets.furthest(head, orifice, above=1.2, wind=4.5)
    assert thrown is not None
    assert thrown.distance == pytest.approx(_landing_by_scipy(head, orifice, 0.0, 1.2, 4.5), rel=1e-4)
    assert thrown.angle == 0.0
    assert jets.path(head, orifice, 0.0, until=1e9, floor=0.0)[-1] == (0.0, 0.0), "level from the ground: nowhere"


def test_what_has_no_head_or_is_blown_back_is_not_thrown() -> None:
    assert jets.furthest(_head(300.0), 0.06 * INCH, above=4.0, wind=15.0) is None
    assert jets.furthest(0.0, 0.25 * INCH, above=1.0) is None


def test_a_path_that_falls_to_its_floor_ends_on_it() -> None:
    points = jets.path(20.0, 0.25 * INCH, 0.5, until=1e9, floor=-1.2)
    assert points[-1][1] == -1.2
    assert min(height for _, height in points[:-1]) > -1.2


def test_only_an_exponent_of_three_gives_the_printed_figure_for_19_mm() -> None:
    """A hydrant example prints phi = .0097 for 19 mm; phi = (H / Hv - 1) / H."""
    head = 30.0
    assert (head / jets.still_height(head, 0.019) - 1.0) / head == pytest.approx(0.0097, abs=0.00005)
    assert round(0.25 / (19.0 + 1.9**2), 5) == 0.01106


@pytest.mark.parametrize("solid", [1.0, 5.0, 8.0, 10.0, 12.0])
def test_the_low_figure_of_a_reach_is_the_end_of_the_solid_jet(solid: float) -> None:
    """A lecture text on building water supply, chapter 4: jet height = (1.19 + 80 (.01 Hm)^4) Hm, in m."""
    assert limit_rows()["reach_low_factor"].value == pytest.approx(1.0 / (1.19 + 80.0 * (0.01 * solid) ** 4), abs=0.012)
