"""Lists that may be written as words with commas, as a box takes them, or stage by stage by their numbers.

Stages left out between others (`{4: 1 thick}`) are blank: nothing is known of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from planner.inputs.models.base import Slip, refuse
from planner.inputs.models.quantities import Reads, Words
from planner.units import Unreadable, read, read_head_or_pressure

NO_SPACER: Final = "none"
MOST_STAGES: Final = 99
"""No pump has a hundred stages; it bounds what a slip of the pen can make (our choice)."""

_NUMBERED = re.compile(r"([1-9][0-9]?) ?: ?(\S.*)")


class _NotSaid(str):
    """The place of a stage nothing is known of."""


def _commas(written: Any) -> Any:
    if not isinstance(written, str):
        return written
    return [part.strip() for part in written.split(",") if part.strip()]


def by_stage(text: str) -> list[str] | dict[str, str]:
    """Words of stages with commas, from the root of the shaft: one a place, or all with numbers, `4: thick`. Raises
    Unreadable where a place is blank, for what is after it would move by a stage, and where a number stands amiss."""
    parts = [part.strip() for part in text.split(",")]
    numbered = [_NUMBERED.fullmatch(part) for part in parts]
    for part, match in zip(parts, numbered, strict=True):
        second = re.search(r"\s([1-9][0-9]?) ?:", match[2] if match is not None else part)
        if second is not None:
            raise Unreadable(
                "list.stage", f"`{part[:60]}` has two stages in one place",
                f"write a comma before `{second[1]}:`",
            )  # fmt: skip
        if match is None and any(numbered):
            raise Unreadable(
                "list.stage", f"`{part[:60]}` has no stage number, and others have one",
                "write the number of its stage too, such as `4: thick`, or number none",
            )  # fmt: skip
    if all(numbered):
        found = {one[1]: one[2] for one in numbered if one is not None}
        if len(found) < len(parts):
            raise Unreadable("list.stage", "a stage appears twice", "write each stage's number once")
        return found
    if "" in parts:
        raise Unreadable(
            "text.blank", f"stage {parts.index('') + 1} has a blank place",
            f"write `{NO_SPACER}` for a stage without a spacer, or number them, such as `4: thick`",
        )  # fmt: skip
    return parts


def _stages(written: Any) -> Any:
    """A list with a place for each stage; what a mapping leaves out stays blank."""
    if isinstance(written, list) and any(isinstance(one, str) and _NUMBERED.match(one) for one in written):
        written = ", ".join(map(str, written))
    if isinstance(written, str):
        try:
            written = by_stage(written)
        except Unreadable as slip:
            raise Slip(code=slip.code, message=slip.message, remedy=slip.remedy).error() from None
    if not isinstance(written, Mapping):
        return written
    for name in written:
        if not re.fullmatch(r"[1-9][0-9]?", str(name)):
            raise Slip(
                code="name.unknown",
                message=f"`{str(name)[:60]}` is not a stage's number",
                remedy="count stages from the root of the shaft and write `1`, `2` and so on",
            ).error()
    last = max((int(name) for name in written), default=0)
    return [written.get(str(number), _NotSaid()) for number in range(1, min(last, MOST_STAGES) + 1)]


def _stage_words(text: str) -> str:
    reads: Any = Words.__metadata__[0]  # type: ignore[attr-defined]
    return "" if isinstance(text, _NotSaid) else str(reads(text))


@dataclass(frozen=True, slots=True)
class _Written(BeforeValidator):
    """A list's other spellings, told to editors too."""

    others: tuple[str, ...] = ()

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"anyOf": [handler(schema), *(_OTHERS[name] for name in self.others)]}


_OTHERS: Final[Mapping[str, dict[str, Any]]] = {
    "commas": {"type": "string", "description": "words with commas between them"},
    "stages": {
        "type": "object",
        "description": "stages by their number from the root of the shaft, such as `{4: 1 thick}`",
        "additionalProperties": {"type": ["string", "number"]},
    },
}


def _list(reader: Callable[[Any], Any], *others: str) -> _Written:
    return _Written(reader, others=others)


_StageWords = Annotated[str, Reads(_stage_words, (str,), "text", "`some words`", ("number",))]
Listed = Annotated[tuple[Words, ...], _list(_commas, "commas")]
"""Words: a list, or words with commas."""

Staged = Annotated[tuple[_StageWords, ...], _list(_stages, "commas", "stages")]
"""Words of stages from the root of the shaft: a list, words with commas, or by number. Blank where nothing is known."""


# ------------------------------------------------------------ curves
# Curves written as lists of pairs: a pump's rise by flow, a panel's share by dial.


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
                slips.append(Slip(code="curve.pair", message="this is not a pair", remedy=remedy, at=(place,)))
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
        drawn = f"{100.0 * point.share:g} %"
        if before and point.setting <= before.setting:
            slips.append(
                Slip(
                    code="curve.order",
                    message=f"mark {point.setting:g} comes after mark {before.setting:g}",
                    remedy="write each mark once, the lowest first",
                    at=(place,),
                )
            )
        elif before and point.share <= before.share:
            slips.append(
                Slip(
                    code="curve.order",
                    message=f"mark {point.setting:g} draws {drawn}, no more than mark {before.setting:g}",
                    remedy="a higher mark must draw more: test again, or count marks from shut to open",
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
