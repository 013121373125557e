"""Type, rules and greys of the page, in points. Nothing regular is set under 11, no colour carries meaning."""

from __future__ import annotations

from planner.frozen import dataclass
from planner.packet.pages.fonts import BLACK, BOLD, REGULAR, SEMIBOLD

MEASURE = 516.0
COLUMN = 32.0
GUTTER = 12.0

FRAME_HELD = 3.0
FRAME = 1.8
RULE_TITLE = 1.8
RULE_HEAD = 1.2
RULE_FIELD = 1.0
RULE_ROW = 0.7
RULE_GRID = 0.35
GREY_ROW = 0.35  # a grey of 65 % black
GREY_GRID = 0.55  # 45 % black

GAP_STEP = 6.0
STRONG = 1.25  # a number to act on, against the text it stands in


def columns(count: int) -> float:
    """Width in pt of so many of the page's twelve columns."""
    return count * COLUMN + (count - 1) * GUTTER


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """One use of type: size and leading in pt, its weight, and the weight and scale of what is strong in it."""

    size: float
    leading: float
    face: str
    strong: str = BOLD
    scale: float = 1.0


BODY = Face(size=11, leading=14, face=REGULAR)
FACES: dict[str, Face] = {
    "head": Face(size=13, leading=16, face=BOLD),
    "step": Face(size=12, leading=16, face=REGULAR, scale=STRONG),
    "should": Face(size=11, leading=14, face=REGULAR, scale=15 / 11),
    "differs": Face(size=11, leading=14, face=SEMIBOLD),
    "hold_head": Face(size=13, leading=16, face=BOLD),
    "hold": Face(size=12, leading=16, face=REGULAR, scale=STRONG),
    "caution": Face(size=11, leading=14, face=SEMIBOLD, scale=1.0),
    "body": BODY,
    "reading": Face(size=12, leading=16, face=REGULAR, scale=STRONG),
    "cell": BODY,
    "act": Face(size=11, leading=14, face=BOLD),
    "field": BODY,
    "field_label": Face(size=11, leading=14, face=BOLD),
    "table_head": Face(size=10, leading=12.5, face=SEMIBOLD),
    "small": Face(size=10, leading=12.5, face=SEMIBOLD),
    "tile": BODY,
    "tile_label": Face(size=10, leading=12.5, face=SEMIBOLD),
    "tile_last": Face(size=11, leading=14, face=BOLD),
    "verdict": Face(size=24, leading=28, face=BOLD),
    "reason": Face(size=20, leading=24, face=BOLD),
}
TITLE = (BOLD, 24.0)
PLACE = (REGULAR, 16.0)
JOINED, PLACE_JOINED = (BOLD, 16.0), (REGULAR, 13.0)  # the title of what stands below another on its page
RUNNING_JOB = (BOLD, 13.0)
RUNNING_LINE = (SEMIBOLD, 11.0)
PAGE_NUMBER = (BLACK, 22.0)
FOOT = (SEMIBOLD, 11.0)
DO_NOT_START = (BOLD, 28.0)
KEY_NUMBER = (BOLD, 30.0)
KEY_UNIT = (BOLD, 15.0)
LABEL = (SEMIBOLD, 10.0)
VALUE = (BOLD, 11.0)
