"""Curves written as lists of pairs: a pump's rise by flow, a panel's share by dial."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from planner.inputs.models.base import Slip, refuse
from planner.units import Unreadable, read, read_head_or_pressure


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """One point of a pump's curve: `flow` m3/s and the rise, `pressure` Pa on water at 68 F or `head` m."""

    flow: float
    pressure: float | None
    head: float | None

    @property
    def rise(self) -> float:
        """The rise in whichever of the two it was written."""
        return self.pressure if self.pressure is not None else self.head or 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DialPoint:
    """One bucket-tested setting of a metered panel: `share` of stock in the flow as a fraction."""

    setting: float
    share: float


@dataclass(frozen=True, slots=True)
class Pairs:
    """Reads a list of pairs; `judge` looks at points that could all be read."""

    make: Callable[[str, str, list[Slip], int], Any]
    judge: Callable[[Sequence[Any]], list[Slip]]
    kind: type
    example: str

    def __call__(self, written: Any) -> Any:
        """The points as a tuple, or every slip in them at once."""
        if isinstance(written, tuple) and all(isinstance(point, self.kind) for point in written):
            return written
        remedy = f"write pairs like `{self.example}`"
        if not isinstance(written, list):
            raise Slip(code="key.shape", message="a list of pairs is needed here", remedy=remedy).error()
        slips: list[Slip] = []
        points = []
        for place, pair in enumerate(written):
            if not (isinstance(pair, list) and len(pair) == 2 and all(isinstance(half, str) for half in pair)):
                slips.append(Slip(code="curve.pair", message="this is no pair", remedy=remedy, at=(place,)))
                continue
            points.append(self.make(pair[0], pair[1], slips, place))
        if not slips:
            slips = self.judge(points)
        if slips:
            raise refuse("pairs", slips)
        return tuple(points)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Reading stands for pydantic's own handling of the type."""
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """In a file it is a list of pairs of text."""
        half = {"anyOf": [{"type": "string"}, {"type": "number"}]}
        pair = {"type": "array", "items": half, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 2, "description": f"pairs such as {self.example}"}


def _half(reader: Callable[[], Any], slips: list[Slip], at: tuple[int, int]) -> Any:
    try:
        return reader()
    except Unreadable as fault:
        slips.append(Slip(code=fault.code, message=fault.message, remedy=fault.remedy, at=at))
        return None


def _curve_point(flow: str, rise: str, slips: list[Slip], place: int) -> CurvePoint | None:
    gpm = _half(lambda: read(flow, "flow"), slips, (place, 0))
    lift = _half(lambda: read_head_or_pressure(rise), slips, (place, 1))
    if gpm is None or lift is None:
        return None
    return CurvePoint(flow=gpm, pressure=lift.pressure, head=lift.head)


def _judge_curve(points: Sequence[CurvePoint]) -> list[Slip]:
    if len(points) < 2:
        return [
            Slip(code="curve.few", message="a curve needs at least two points", remedy="add points up to full flow")
        ]
    if len({point.pressure is None for point in points}) == 2:
        return [
            Slip(
                code="curve.mixed",
                message="the curve mixes pressures and heads",
                remedy="write all of it in psi or all of it in ft",
            )
        ]
    slips = []
    if points[0].flow > 0:
        slips.append(
            Slip(
                code="curve.shut_off",
                message="the curve does not start at no flow",
                remedy="put the closed-gauge point first, such as `[0 gpm, 70 psi]`",
                at=(0, 0),
            )
        )
    for place in range(1, len(points)):
        if points[place].flow <= points[place - 1].flow:
            slips.append(
                Slip(
                    code="curve.order",
                    message="the flow does not rise from the point before",
                    remedy="put the points in order of flow, each flow once",
                    at=(place, 0),
                )
            )
        if points[place].rise > points[place - 1].rise:
            slips.append(
                Slip(
                    code="curve.rising",
                    message="the pressure rises with the flow, which no pump here does",
                    remedy="check this point and the one before it",
                    at=(place, 1),
                )
            )
    if not slips and points[0].rise <= 0:
        slips.append(
            Slip(
                code="curve.flat",
                message="the pump gives no pressure at no flow",
                remedy="write the closed-gauge reading, such as `[0 gpm, 70 psi]`",
                at=(0, 1),
            )
        )
    return slips


def _dial_point(setting: str, share: str, slips: list[Slip], place: int) -> DialPoint | None:
    mark = _half(lambda: read(setting, "number"), slips, (place, 0))
    part = _half(lambda: read(share, "fraction"), slips, (place, 1))
    return None if mark is None or part is None else DialPoint(setting=mark, share=part)


def _judge_dial(points: Sequence[DialPoint]) -> list[Slip]:
    if len(points) < 2:
        return [
            Slip(
                code="curve.few",
                message="a dial needs at least two tested settings",
                remedy="bucket-test another setting",
            )
        ]
    slips = []
    for place, point in enumerate(points):
        before = points[place - 1] if place else None
        if before and (point.setting <= before.setting or point.share <= before.share):
            slips.append(
                Slip(
                    code="curve.order",
                    message="setting and share do not both rise from the point before",
                    remedy="put the settings in order, each with its tested share",
                    at=(place,),
                )
            )
        if not 0 <= point.share <= 1:
            slips.append(
                Slip(
                    code="quantity.range",
                    message="a share is at most 100 %",
                    remedy="write it like `9 %`",
                    at=(place, 1),
                )
            )
    return slips


Curve = Annotated[
    tuple[CurvePoint, ...], Pairs(_curve_point, _judge_curve, CurvePoint, "[[0 gpm, 70 psi], [8 gpm, 58 psi]]")
]
Dial = Annotated[tuple[DialPoint, ...], Pairs(_dial_point, _judge_dial, DialPoint, "[[1, 4 %], [2, 9 %]]")]
