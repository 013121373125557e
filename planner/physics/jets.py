"""The jet: how high and how far a solid stream gets against gravity, air and wind; and the drops torn from it.

dv/dt = -g - k |v - w| (v - w), v0 = sqrt(2 g H).  The drag k per metre is the one with which a jet thrown
straight up stops at the classical fire-stream height Hv = H / (1 + phi H),
phi = 0.25 / (d + (0.1 d)^3), d in mm, H in m (a lecture text on building water supply; its exponent is hard to read,
and only 3 gives the .0097 for 19 mm that a hydrant example prints: .00967, where 2 gives .01106).  Below 13 mm the
formula is carried on; Trettel's 2020 pipe-jet data support it there.  A parabola without drag is out by a factor of
two.

Drops torn from a jet: how fast they fall, and how far a wind carries them before they land.

Terminal velocity and drag coefficient of a sphere by fluids.drag; the path by Runge-Kutta of fourth order, with
the drop at rest at the start.  Real drops oscillate and break above 5 mm: an order of magnitude, and to be said so.
Held to Gunn & Kinzer, J. Meteor. 6 (1949) 243, within 6 % from 0.1 to 2 mm.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import cos, hypot, inf, log1p, pi, sin, sqrt
from typing import Final

from fluids.drag import drag_sphere, v_terminal
from fluids.numerics import brenth

from planner.frozen import dataclass
from planner.physics.liquids import GRAVITY

_STEP: Final = 0.04
"""Time step of the integration [s]; halving it moves heights by less than a millimetre (tested)."""

_STEP_IN_DRAG: Final = 0.04
"""The step is also at most this share of the time in which drag would stop the jet."""

_LEAST_HEAD: Final = 1e-6
"""Below this head [m] nothing is thrown; the drag's root needs something to work on."""

_ANGLE_TOLERANCE: Final = 1e-5
_FLAT_TOLERANCE: Final = 2e-3
"""A throw along the ground hardly changes near its best angle: so far off it is short by less than 1e-5 of itself."""

_STEEPEST: Final = pi / 2 - 1e-3
_GOLDEN: Final = (sqrt(5.0) - 1.0) / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Thrown:
    """A jet aimed as high as it gets: `height` [m above the tip] at the place asked, at launch `angle` [rad].

    Where no aim passes over the obstacle on the way, `height` is the lower of what it gets to there and beyond, which
    is below the obstacle.
    """

    height: float
    angle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Landed:
    """A jet aimed as far as it gets along level ground: `distance` [m] from the tip, at launch `angle` [rad]."""

    distance: float
    angle: float


def still_height(head: float, orifice: float) -> float:
    """Height [m] a jet thrown straight up reaches in still air; `head` [m] at the tip, `orifice` [m].

    Source: the fire-stream formula in the head of this module.
    """
    d = orifice * 1000.0
    phi = 0.25 / (d + (0.1 * d) ** 3)
    return head / (1.0 + phi * head)


def drag(head: float, orifice: float) -> float:
    """Drag k [1/m] with which a jet thrown straight up stops at `still_height`.

    `head` [m] at the tip, `orifice` [m].  With x = 2 k H the closed solution is ln(1 + x)/x = Hv/H.
    """
    share = still_height(head, orifice) / head
    upper = 1.0
    while log1p(upper) / upper > share:
        upper *= 2.0
    x = brenth(lambda x: log1p(x) / x - share, 1e-12, upper)
    return float(x) / (2.0 * head)


def path(
    head: float, orifice: float, angle: float, *, wind: float = 0.0, until: float, floor: float = -3.0
) -> list[tuple[float, float]]:
    """Points (m along, m above the tip) of the jet, ending at `until` [m] along or `floor` [m] below the tip.

    `wind` [m/s] blows from the wall against the jet.
    """
    return _fly(head, drag(head, orifice), angle, wind, until, floor)


@lru_cache(maxsize=4096)  # the same jet is asked for by a plan, its checks, its wear points and each remedy tried
def highest_at(
    head: float,
    orifice: float,
    standoff: float,
    *,
    wind: float = 0.0,
    beyond: float = 0.0,
    obstacle: float | None = None,
) -> Thrown | None:
    """The greatest height the jet gets to at `standoff` + `beyond` [m], over all launch angles.

    `head` [m] at the tip, `orifice` [m], `wind` [m/s] from the wall.  With `obstacle` [m above the tip] the jet
    must also pass over that height at `standoff`.  None where no aim carries so far above a fall of 3 m.
    """
    if head < _LEAST_HEAD:
        return None
    k = drag(head, orifice)
    place = standoff + beyond

    def height(angle: float, at: float) -> float:
        return _height(_fly(head, k, angle, wind, at, -3.0), at)

    best = _best_angle(lambda angle: height(angle, place))
    top = height(best, place)
    if top <= -3.0:
        return None
    if obstacle is None or beyond <= 0.0 or height(best, standoff) >= obstacle:
        return Thrown(height=top, angle=best)
    # Aim until the jet just clears: between the aim that is best beyond and the one highest at the wall.
    over = _best_angle(lambda angle: height(angle, standoff))
    low_jet = Thrown(height=min(height(best, standoff), top), angle=best)
    if height(over, standoff) < obstacle:
        return low_jet
    low, high = best, over
    for _ in range(40):
        middle = 0.5 * (low + high)
        if height(middle, standoff) >= obstacle:
            high = middle
        else:
            low = middle
    landed = height(high, place)
    if landed <= -3.0:
        # Steep enough to pass over the wall and it no longer carries: the aim that carries hits below the top.
        return low_jet
    return Thrown(height=landed, angle=high)


@lru_cache(maxsize=4096)
def furthest(head: float, orifice: float, *, above: float, wind: float = 0.0) -> Landed | None:
    """The greatest distance along level ground a jet is thrown, over all launch angles from level up.

    `head` [m] at the tip, `orifice` [m], the tip `above` [m] the ground, zero or more; `wind` [m/s] against the jet.
    It is where the middle of the stream lands; drops fly on.  None where nothing leaves the tip, or the wind blows it
    back.  Source: the flight in the head of this module; without drag it is v^2/g sqrt(1 + 2 g above/v^2), school
    ballistics.  Measured throws of 4.85 and 8.81 mm jets lie within 15 % (Trettel 2020).
    """
    if head < _LEAST_HEAD:
        return None
    k = drag(head, orifice)

    def landing(angle: float) -> float:
        return _fly(head, k, angle, wind, inf, -above)[-1][0]

    # Into a strong wind the best aim is level, which a search between two angles only nears.
    angle = max((0.0, _best_angle(landing, within=_FLAT_TOLERANCE)), key=landing)
    distance = landing(angle)
    return Landed(distance=distance, angle=angle) if distance > 0.0 else None


def _best_angle(height: Callable[[float], float], *, within: float = _ANGLE_TOLERANCE) -> float:
    """Golden-section search for the angle of the greatest height, or throw [rad]."""
    low, high = 0.0, _STEEPEST
    a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_a, at_b = height(a), height(b)
    while high - low > within:
        if at_a >= at_b:
            high, b, at_b = b, a, at_a
            a = high - _GOLDEN * (high - low)
            at_a = height(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + _GOLDEN * (high - low)
            at_b = height(b)
    # In wind the best aim is the last one that still arrives: of the two left, the one that does.
    return a if at_a >= at_b else b


def _height(points: list[tuple[float, float]], at: float) -> float:
    """Height at `at`, or less than any real height, the worse the shorter the throw, where it never gets there."""
    along, height = points[-1]
    if along < at - 1e-9:
        return -1000.0 - (at - along)
    return height


def _fly(head: float, k: float, angle: float, wind: float, until: float, floor: float) -> list[tuple[float, float]]:
    """Runge-Kutta of fourth order in time; the last point is on `until`, or on `floor`, by interpolation."""
    speed = sqrt(2.0 * GRAVITY * head)
    x = y = 0.0
    vx, vy = speed * cos(angle), speed * sin(angle)
    points = [(x, y)]

    for _ in range(2000):
        # Shorter where the air is strong: a thin jet at washer pressure loses its speed within centimetres.
        # The four pulls are written out: a plan flies thousands of jets, and calls would take half of that time.
        rx = vx + wind
        push = k * sqrt(rx * rx + vy * vy)
        step = min(_STEP, _STEP_IN_DRAG / (1e-9 + push))
        half = 0.5 * step
        ax1, ay1 = -push * rx, -GRAVITY - push * vy
        vx2, vy2 = vx + half * ax1, vy + half * ay1
        rx = vx2 + wind
        push = k * sqrt(rx * rx + vy2 * vy2)
        ax2, ay2 = -push * rx, -GRAVITY - push * vy2
        vx3, vy3 = vx + half * ax2, vy + half * ay2
        rx = vx3 + wind
        push = k * sqrt(rx * rx + vy3 * vy3)
        ax3, ay3 = -push * rx, -GRAVITY - push * vy3
        vx4, vy4 = vx + step * ax3, vy + step * ay3
        rx = vx4 + wind
        push = k * sqrt(rx * rx + vy4 * vy4)
        ax4, ay4 = -push * rx, -GRAVITY - push * vy4
        nx = x + step / 6.0 * (vx + 2.0 * vx2 + 2.0 * vx3 + vx4)
        ny = y + step / 6.0 * (vy + 2.0 * vy2 + 2.0 * vy3 + vy4)
        nvx = vx + step / 6.0 * (ax1 + 2.0 * ax2 + 2.0 * ax3 + ax4)
        nvy = vy + step / 6.0 * (ay1 + 2.0 * ay2 + 2.0 * ay3 + ay4)
        if nx >= until:
            t = _crossing(x, vx, nx, nvx, until, step)
            points.append((until, _hermite(y, vy, ny, nvy, t, step)))
            return points
        if ny < floor and nvy < 0.0:
            t = _fallen(y - floor, vy, (nvy - vy) / step) / step
            points.append((_hermite(x, vx, nx, nvx, t, step), floor))
            return points
        x, y, vx, vy = nx, ny, nvx, nvy
        points.append((x, y))
    return points


def _fallen(height: float, speed: float, change: float) -> float:
    """Time [s] until what goes up at `speed` [m/s] has fallen `height` [m]; `change` [m/s2] of its speed."""
    root = sqrt(speed * speed - 2.0 * change * height)
    if speed > 0.0:
        return -(speed + root) / change
    return 2.0 * height / (root - speed) if height > 0.0 else 0.0


def _hermite(a: float, slope_a: float, b: float, slope_b: float, t: float, step: float) -> float:
    rest = 1.0 - t
    return (
        (1.0 + 2.0 * t) * rest * rest * a
        + t * rest * rest * step * slope_a
        + t * t * (3.0 - 2.0 * t) * b
        - t * t * rest * step * slope_b
    )


def _crossing(x: float, vx: float, nx: float, nvx: float, until: float, step: float) -> float:
    """Share of the step at which the jet is `until` [m] along; it is before that at 0 and not before it at 1."""
    return float(brenth(lambda t: _hermite(x, vx, nx, nvx, t, step) - until, 0.0, 1.0, xtol=1e-14))


# ------------------------------------------------------------ drops

AIR_DENSITY: Final = 1.204
"""Density of air at 20 C and sea level [kg/m3] (U.S. Standard Atmosphere's gas law)."""

AIR_VISCOSITY: Final = 1.81e-5
"""Dynamic viscosity of air at 20 C [Pa s] (from memory)."""

DROP_DENSITY: Final = 998.2
"""Density of the drop [kg/m3]: water at 20 C; a mix is two percent heavier at most."""

_STEPS_PER_RELAXATION: Final = 20.0
_MOST_STEPS: Final = 20_000

_SETTLED: Final = 1e-5
"""Once the drop goes with wind and fall to this share of its falling speed, the rest of its way is straight."""


def terminal_velocity(diameter: float) -> float:
    """Speed [m/s] at which a drop of `diameter` [m] falls in still air at sea level.

    Source: force balance with the drag of a sphere, through fluids.v_terminal. Range 0.05 to 5 mm.
    """
    return float(v_terminal(D=diameter, rhop=DROP_DENSITY, rho=AIR_DENSITY, mu=AIR_VISCOSITY))


def drift(diameter: float, height: float, wind: float) -> float:
    """How far [m] a `wind` [m/s] carries a drop of `diameter` [m] that falls from rest through `height` [m].

    Source: Newton's second law with the drag of a sphere, through fluids.drag_sphere. Order of magnitude.
    """
    mass = DROP_DENSITY * pi / 6.0 * diameter**3
    area = pi / 4.0 * diameter * diameter
    weight = GRAVITY * (1.0 - AIR_DENSITY / DROP_DENSITY)
    fall = terminal_velocity(diameter)
    # A drop answers to the air within v/g; steps are a share of that.
    step = fall / GRAVITY / _STEPS_PER_RELAXATION

    def pull(vx: float, vz: float) -> tuple[float, float]:
        rx = vx - wind
        speed = hypot(rx, vz)
        if speed <= 0.0:
            return 0.0, weight
        coefficient = float(drag_sphere(max(AIR_DENSITY * speed * diameter / AIR_VISCOSITY, 1e-9)))
        push = 0.5 * AIR_DENSITY * area * coefficient * speed / mass
        return -push * rx, weight - push * vz

    x = fallen = vx = vz = 0.0
    for _ in range(_MOST_STEPS):
        ax1, az1 = pull(vx, vz)
        ax2, az2 = pull(vx + step / 2 * ax1, vz + step / 2 * az1)
        ax3, az3 = pull(vx + step / 2 * ax2, vz + step / 2 * az2)
        ax4, az4 = pull(vx + step * ax3, vz + step * az3)
        nvx = vx + step / 6 * (ax1 + 2 * ax2 + 2 * ax3 + ax4)
        nvz = vz + step / 6 * (az1 + 2 * az2 + 2 * az3 + az4)
        nx, nfallen = x + step / 2 * (vx + nvx), fallen + step / 2 * (vz + nvz)
        if nfallen >= height:
            return x + (nx - x) * (height - fallen) / (nfallen - fallen)
        x, fallen, vx, vz = nx, nfallen, nvx, nvz
        if hypot(vx - wind, vz - fall) < _SETTLED * fall:
            break
    return x + wind * (height - fallen) / fall
