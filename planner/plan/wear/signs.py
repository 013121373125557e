"""What throw, bucket and closed gauge say when they are read together: one table, the first row that fits.

Each sign is `low`, `sound` or `high` against a sound pump, `maybe` where it is under the wear limit but a sound pump
lies within its own error, `-` where it was not taken.  The reasons are the trade's (common practice, no source):

- The closed gauge sees the pump alone: no water flows, so hose and tip cost nothing.
- The bucket sees pump, line and tip: less of it with a sound gauge is lost between pump and tip, or before the pump.
- The throw sees what is left at the tip. A worn tip passes more water and throws it lower; a clogged or smaller one
  passes less and throws it as high. A throw low by itself, bucket and gauge sound, is the tip's edge or the aim.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal, TypeAlias

Sign: TypeAlias = Literal["low", "maybe", "sound", "high", "-"]
Row: TypeAlias = tuple[str, str, str, str]

_ANY: Final = "low maybe sound high -"

HEAD_PUMP: Final[tuple[Row, ...]] = (
    # gauge closed, bucket, throw: what they say
    ("high", _ANY, _ANY, "gauge_high"),
    ("low", "high", _ANY, "worn_and_tip"),
    (_ANY, "high", "high", "line_better"),
    (_ANY, "high", _ANY, "tip_worn"),
    ("low", "sound", _ANY, "gauge_doubted"),
    ("low", "-", "sound high", "gauge_doubted"),
    ("low", _ANY, _ANY, "worn"),
    (_ANY, "low", "sound high", "tip_small"),
    ("sound", "low", _ANY, "blocked"),
    (_ANY, "low", _ANY, "worn_or_blocked"),
    (_ANY, _ANY, "high", "throw_high"),
    (_ANY, "sound", "low", "tip_or_aim"),
    ("sound", "-", "low", "line_or_tip"),
    (_ANY, _ANY, "low", "worn_or_blocked"),
    ("maybe", _ANY, _ANY, "doubtful"),
    (_ANY, "maybe", _ANY, "doubtful"),
    (_ANY, _ANY, "maybe", "doubtful"),
    ("sound", "-", "-", "sound_shut"),
    ("-", "-", "sound", "sound_in_band"),
    (_ANY, _ANY, _ANY, "sound"),
)

FLOW_PUMP: Final[tuple[Row, ...]] = (
    # Gun closed, its gauge shows where the unloader opens, not the pump.
    ("low", _ANY, _ANY, "unloader_low"),
    ("high", _ANY, _ANY, "unloader_high"),
    (_ANY, "high", _ANY, "piston_fast"),
    (_ANY, "low", _ANY, "piston_worn"),
    # The flow is what it should be, so only the tip can have changed what it is thrown with.
    (_ANY, "sound", "low", "piston_tip_worn"),
    (_ANY, _ANY, "high", "piston_tip_small"),
    (_ANY, _ANY, "low", "piston_worn_or_tip"),
    (_ANY, "maybe", _ANY, "doubtful"),
    (_ANY, _ANY, "maybe", "doubtful"),
    ("sound", "-", "-", "unloader_sound"),
    ("-", "-", "sound", "sound_in_band"),
    (_ANY, _ANY, _ANY, "sound"),
)

TAP_ALONE: Final[tuple[Row, ...]] = (
    # The closed gauge at the tap shows its static pressure.
    ("low", _ANY, _ANY, "tap_static_low"),
    ("high", _ANY, _ANY, "tap_static_high"),
    (_ANY, "high", _ANY, "tap_high"),
    (_ANY, "low", _ANY, "tap_low"),
    (_ANY, "sound", "low", "tip_or_aim"),
    (_ANY, _ANY, "low", "tap_low"),
    (_ANY, _ANY, "high", "tap_high"),
    (_ANY, _ANY, _ANY, "tap_sound"),
)


def read_together(table: Sequence[Row], gauge: Sign, bucket: Sign, throw: Sign) -> str:
    """The key of what the three signs say.

    A doubtful sign goes with a clear one: with another that is low it is low, with any other it is sound.
    """
    signs = [gauge, bucket, throw]
    clear: Sign | None = "low" if "low" in signs else "sound" if {"sound", "high"} & set(signs) else None
    if clear is not None:
        signs = [clear if sign == "maybe" else sign for sign in signs]
    for *wanted, says in table:
        if all(sign in allowed.split() for sign, allowed in zip(signs, wanted, strict=True)):
            return says
    raise AssertionError("the last row of a table of signs fits everything")
