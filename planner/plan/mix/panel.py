"""A panel as its tanks' levels leave it: what each mark of its dial draws tonight, and how that moves as water falls.

The dial was tested at written levels and a flow (`at`). With what the water leg loses, from a second test near empty
(`again`), a vacuum gauge or the panel's own `loss`, each mark is one resistance, and every other level follows. The
stock is taken to stand as high as at the test: nobody writes how full a drum is (common practice, no source). Where it
is not known, the marks are taken as tested, and metered.level says so.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from planner.chemistry import dosing, hypochlorite
from planner.inputs.joined import JobInput
from planner.inputs.models import Dosing
from planner.inputs.tables.chemicals import BLEACH
from planner.physics.liquids import GRAVITY, water_density
from planner.physics.metering import NoPanel, PanelTest, share, stock_leg, water_leg, water_leg_by_gauge
from planner.physics.tanks import depth_of
from planner.plan.mix.model import QUARTERS, PanelPlan
from planner.plan.mix.pouring import tank_volumes
from planner.plan.model import RunPlan

Heads = Callable[[float, float], tuple[float, float]]
_APART: Final = 5900.0
"""Levels of two tests differ by at least this much [Pa], two feet of water: closer ones tell nothing (our choice)."""


_NEAR: Final = 0.15
"""A level is read no closer than so [m] (our choice)."""


def plan_panel(job: JobInput, run: RunPlan, stock: float | None, chemical: str) -> PanelPlan | None:
    """The panel of a run that draws stock of strength `stock` [kg/m3]; None where it has none, or sprays nothing."""
    device, tank, pump = run.input.dosing, run.input.feed_tank, run.input.pump
    if device is None or device.kind != "metered" or pump is None or run.pump_flow <= 0.0:
        return None
    if run.input.feed == "tap":
        return PanelPlan(untold="feed")
    if device.at is None:
        return PanelPlan(untold="levels")
    floor = run.input.feed_head - (device.height if device.height is not None else pump.height)
    known = [0.0] * (len(QUARTERS) + 1)  # a pond's surface stays where it is
    if tank is not None:
        volumes = tank_volumes(tank)
        depths = [depth_of(volumes, left * tank.volume) for left in QUARTERS]
        depths.append(depth_of(volumes, tank.dead_volume or 0.0))
        known = [depth for depth in depths if depth is not None]
        if len(known) < len(depths):
            return PanelPlan(untold="shape")
        seen = [one.water for one in (device.at, device.again) if one is not None]
        if not all(floor - _NEAR <= level <= floor + known[0] + _NEAR for level in seen):
            return PanelPlan(untold="height")
    water = water_density(job.water.temperature)
    heavy = hypochlorite.density(stock or 0.0, water_density=water) if chemical == BLEACH else water

    def heads(over: float, stock_over: float) -> tuple[float, float]:
        return water * GRAVITY * over, heavy * GRAVITY * stock_over

    try:
        leg = _water_leg(device, heads)
        if leg is None:
            return PanelPlan(untold="loss")
        at = device.at
        legs = [
            (point.setting, stock_leg(_test(point.share, at.flow, heads(at.water, at.stock)), leg))
            for point in device.dial or ()
            if point.share > 0.0
        ]
    except NoPanel:
        told_twice = device.again is not None or device.vacuum is not None
        return PanelPlan(untold="tests" if told_twice else "small")
    shut = [dosing.DialPoint(setting=point.setting, share=0.0) for point in device.dial or () if point.share <= 0.0]
    marks = []
    for depth in known:
        first, second = heads(floor + depth, device.at.stock)
        delta = (second - first) / (leg * run.pump_flow**2)
        points = [
            dosing.DialPoint(setting=mark, share=share(beta=(leg / own) ** 0.5, delta=delta)) for mark, own in legs
        ]
        marks.append((*shut, *(point for point in points if 0.0 < point.share < 1.0)))
    if any(len(points) < 2 for points in marks):
        return PanelPlan(untold="dry")
    return PanelPlan(marks=tuple(marks))


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
