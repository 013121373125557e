"""What a reading at the bench says of a pump: its share, with the band that the reading itself has.

A gauge with the gun closed sees the pump alone and a bucket the pump and its line, both finely.  A throw hardly changes
with wear, and jets differ from the model by a seventh: inside that band it tells nothing.
"""

from __future__ import annotations

from typing import Literal

from planner.frozen import dataclass

By = Literal["gauge", "bucket", "throw"]
Side = Literal["short", "low", "inside", "high", "flat"]
"""Where a reading lies against a sound pump's: less than any pump gives, below its band, within it, above it; or the
same whatever the pump is like, as a switch or an unloader holds it."""

Beside = Literal["with", "under", "over"]
"""How a reading lies beside a finer one of the same morning: both fit one pump, it is less than that pump gives
through this line, or more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One reading: `value` and what a `sound` pump shows [Pa, m3/s or m], by what it is read (`by`).

    `share` [-] is the pump's, `low` and `high` what it may be within the reading's own band; none is above 1. None:
    less than any pump that still works.
    """

    by: By
    value: float
    sound: float
    share: float | None
    low: float | None
    high: float | None
    side: Side

    @property
    def tells(self) -> bool:
        """Whether it says how worn the pump is; a throw near a sound pump's does not."""
        return self.share is not None and (self.side == "low" or (self.by != "throw" and self.side == "inside"))

    @property
    def worn(self) -> bool:
        """Whether it shows wear beyond its own band."""
        return self.side in ("low", "short")


def finer_than(one: Found, found: tuple[Found, ...], of: Literal["head", "flow"]) -> Found | None:
    """The reading that is believed before `one`; None where there is none.

    The closed gauge sees a pump of a head alone, so a bucket goes by it, and a throw by either. Of a constant flow it
    shows the unloader, and what a tip throws there says as much of the tip.
    """
    before = {"gauge": (), "bucket": ("gauge",), "throw": ("gauge", "bucket")}[one.by] if of == "head" else ()
    return next((other for other in found if other.by in before and other.side != "flat"), None)


def beside(one: Found, finer: Found | None) -> Beside | None:
    """How `one` lies beside the reading believed before it; None where either tells nothing or there is none."""
    if finer is None or one.side == "flat":
        return None
    if finer.share is None:
        return "over" if one.share is not None else "with"
    if finer.low is not None and (one.high is None or one.high < finer.low):
        return "under"
    if finer.high is not None and one.low is not None and one.low > finer.high:
        return "over"
    return "with"


def told_by(found: tuple[Found, ...], of: Literal["head", "flow"]) -> Found | None:
    """The first reading that says how worn the pump is: the gauge, then the bucket, then the throw.

    None that a finer one speaks against: what a bucket lacks beside a sound gauge is lost between tank and tip.
    """
    return next(
        (
            reading
            for reading in found
            if reading.tells and beside(reading, finer_than(reading, found, of)) not in ("under", "over")
        ),
        None,
    )


def lost_in_line(found: tuple[Found, ...], of: Literal["head", "flow"]) -> Found | None:
    """The first reading at the tip that is less than the pump, as a finer one has it, gives through this line."""
    return next((reading for reading in found if beside(reading, finer_than(reading, found, of)) == "under"), None)
