"""A panel as its tanks' levels leave it: what each mark of its dial draws tonight, and how that moves as they fall.

The dial was tested at written levels and a flow (`at`). With what the water leg loses, from a second test near empty
(`again`), a vacuum gauge or the panel's own `loss`, each mark is one resistance, and every other level follows: the
water's by the tank's shape, the stock's by its drum (planner/plan/mix/drum.py). The tests are taken to be of bleach; a
heavier or lighter stock loses the more or the less in its leg, and its own surface counts by its own weight. Where the
levels of the test or the tank's are not known, the marks are taken as tested, and metered.level says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf
from typing import Final

from planner.chemistry import dosing
from planner.chemistry.constants import WATER_AT_ROOM
from planner.chemistry.hypochlorite import USUAL_CAUSTIC
from planner.inputs.joined import JobInput
from planner.inputs.models import Dosing, Lot, Tank
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS
from planner.physics.liquids import GRAVITY, water_density
from planner.physics.metering import NoPanel, PanelTest, share, stock_leg, water_leg, water_leg_by_gauge
from planner.physics.tanks import depth_of
from planner.plan.mix.density import density_of
from planner.plan.mix.drum import DrumLevels, deepest, levels
from planner.plan.mix.lots import active
from planner.plan.mix.model import QUARTERS, LotToday, PanelPlan
from planner.plan.mix.pouring import tank_volumes
from planner.plan.model import RunPlan

Heads = Callable[[float, float], tuple[float, float]]
Marks = tuple[dosing.DialPoint, ...]
_APART: Final = 5900.0
"""Levels of two tests differ by at least this much [Pa], two feet of water: closer ones tell nothing (our choice)."""

TESTED_WITH: Final = 1.16
"""So many times as heavy as water is what a panel's stock leg was tested with: a drum of hypochlorite (our choice)."""

_NEAR: Final = 0.15
"""A level is read no closer than so [m] (our choice)."""


def plan_panel(
    job: JobInput, run: RunPlan, chemical: str, lot: LotToday | None, left: float | None, wanted: tuple[float, float]
) -> PanelPlan | None:
    """The panel of a run that draws from a lot with `left` [m3] in it; `wanted` are the mix [m3] and its share [-].

    None where the run has none, or sprays nothing.
    """
    device, tank, pump = run.input.dosing, run.input.feed_tank, run.input.pump
    if device is None or device.kind != "metered" or pump is None or run.pump_flow <= 0.0:
        return None
    if run.input.feed == "tap":
        return PanelPlan(untold="feed")
    if device.at is None:
        return PanelPlan(untold="levels")
    over = device.height if device.height is not None else pump.height
    floor = run.input.feed_head - over
    known = [0.0] * (len(QUARTERS) + 1)  # a pond's surface stays where it is
    tests = [one for one in (device.at, device.again) if one is not None]
    if tank is not None:
        volumes = tank_volumes(tank)
        depths = [depth_of(volumes, left_in * tank.volume) for left_in in QUARTERS]
        depths.append(depth_of(volumes, tank.dead_volume or 0.0))
        known = [depth for depth in depths if depth is not None]
        if len(known) < len(depths):
            return PanelPlan(untold="shape")
        if not all(within(one.water, floor, known[0]) for one in tests):
            return PanelPlan(untold="height")
    written = next((one for one in job.lots if lot is not None and one.name == lot.name), None)
    if device.drum_floor is not None and not all(
        within(one.stock, device.drum_floor - over, max(deepest(None), deepest(written))) for one in tests
    ):
        return PanelPlan(untold="drum_height")
    water = water_density(job.water.temperature)
    taken = wanted[0] * wanted[1]
    drum = levels(device, over, written, left, taken)
    light, heavy = _weights(chemical, lot, written, water)
    tested = heavy if chemical == BLEACH else TESTED_WITH * water
    try:
        found = legs_of(device, water, tested)
    except NoPanel:
        told_twice = device.again is not None or device.vacuum is not None
        return PanelPlan(untold="tests" if told_twice else "small")
    if found is None:
        return PanelPlan(untold="loss")
    leg, legs = found
    shut = [dosing.DialPoint(setting=point.setting, share=0.0) for point in device.dial or () if point.share <= 0.0]

    def drawn(depth: float, stock: float, weight: float) -> Marks:
        """What the marks draw with so much water and stock over the panel, of stock so heavy."""
        first, second = _heads(water, weight)(floor + depth, stock)
        delta = (second - first) / (leg * run.pump_flow**2)
        points = [
            dosing.DialPoint(setting=mark, share=share(beta=(leg / own * tested / weight) ** 0.5, delta=delta))
            for mark, own in legs
        ]
        return (*shut, *points)

    sinks = _sinks(drum, tank, taken, wanted[1])
    marks = tuple(
        tuple(one for one in drawn(depth, stock, heavy) if one in shut or 0.0 < one.share < 1.0)
        for depth, stock in zip(known, sinks, strict=True)
    )
    if any(len(points) < 2 for points in marks):
        return PanelPlan(untold="dry")
    return PanelPlan(
        marks=marks,
        least=tuple(drawn(depth, drum.low, light) for depth in known),
        most=tuple(drawn(depth, drum.high, heavy) for depth in known),
        drum=drum.unknown,
    )


def within(level: float, floor: float, deep: float) -> bool:
    """Whether a surface can stand so high over a panel, in a vessel whose inside floor and depth are so [m]."""
    return floor - _NEAR <= level <= floor + deep + _NEAR


def legs_of(device: Dosing, water: float, stock: float) -> tuple[float, list[tuple[float, float]]] | None:
    """Losses of the water leg and of the stock leg at each mark [Pa s2/m6], by tests with liquids so dense [kg/m3].

    None where nobody says what the water leg loses. Raises NoPanel for tests that no panel gives.
    """
    at, heads = device.at, _heads(water, stock)
    leg = _water_leg(device, heads) if at is not None else None
    if at is None or leg is None:
        return None
    first = heads(at.water, at.stock)
    marks = [point for point in device.dial or () if point.share > 0.0]
    return leg, [(one.setting, stock_leg(_test(one.share, at.flow, first), leg)) for one in marks]


def _heads(water: float, stock: float) -> Heads:
    return lambda over, stock_over: (water * GRAVITY * over, stock * GRAVITY * stock_over)


def _weights(chemical: str, lot: LotToday | None, written: Lot | None, water: float) -> tuple[float, float]:
    """Density of the stock [kg/m3], at least and at most; water's and the heaviest's where nobody knows.

    What it lost in strength it did not lose in weight: the strength it was made with counts.
    """
    strength, caustic = lot.nominal if lot is not None else None, USUAL_CAUSTIC
    if written is not None and written.strength is not None:
        caustic = written.excess_caustic
        strength = max(active(written.strength, chemical, caustic) or 0.0, strength or 0.0) or None
    known = density_of(chemical, strength, caustic) if strength is not None else None
    if known is not None:
        known *= water / WATER_AT_ROOM  # as cold as the water
        return known, known
    of = CHEMICALS.get(chemical)
    heaviest = of.solution.heaviest if of is not None else None
    return water, max(water, heaviest or TESTED_WITH * water)


def _sinks(drum: DrumLevels, tank: Tank | None, taken: float, drawn: float) -> Sequence[float]:
    """How high the stock stands with the water tank at each of QUARTERS and empty, by what goes through with it.

    A tank that is filled meanwhile lets the drum fall further: its lowest counts in the band.
    """
    beside = drawn / (1.0 - drawn) * tank.volume if tank is not None and 0.0 < drawn < 1.0 else inf
    fallen = [
        min((1.0 - full) * beside / taken, 1.0) if taken > 0.0 and full < 1.0 else 0.0 for full in (*QUARTERS, 0.0)
    ]
    return [drum.first + (drum.last - drum.first) * part for part in fallen]


def inlet_loss(device: Dosing, water: float, stock: float) -> float | None:
    """What a panel's tests say that its water leg loses [Pa s2/m6], of liquids so dense [kg/m3]; None where none do."""
    if device.at is None or (device.again is None and device.vacuum is None):
        return None
    try:
        return _water_leg(device, lambda over, stock_over: (water * GRAVITY * over, stock * GRAVITY * stock_over))
    except NoPanel:
        return None


def _water_leg(device: Dosing, heads: Heads) -> float | None:
    """Loss of the water leg [Pa s2/m6]: by two tests, by a gauge, or by the panel's own loss; None: nobody says."""
    at = device.at
    assert at is not None
    again = device.again
    points = [dosing.DialPoint(setting=point.setting, share=point.share) for point in device.dial or ()]
    if again is not None:
        first = dosing.share_at(again.dial, points)
        if first is None:
            raise NoPanel("the second test is of no mark between those tested")
        tests = (
            _test(first, at.flow, heads(at.water, at.stock)),
            _test(again.share, again.flow, heads(again.water, again.stock)),
        )
        return water_leg(*tests, least=_APART)
    if device.vacuum is not None:
        mid = points[len(points) // 2].share
        return water_leg_by_gauge(_test(mid, at.flow, heads(at.water, at.stock)), device.vacuum)
    return device.loss.pressure / device.loss.flow**2 if device.loss is not None else None


def _test(drawn: float, flow: float, heads: tuple[float, float]) -> PanelTest:
    return PanelTest(water=(1.0 - drawn) * flow, stock=drawn * flow, heads=heads)
