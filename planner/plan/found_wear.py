"""What a reading at the bench says of a pump: its share, with the band that the reading itself has.

A gauge with the gun closed sees the pump alone and a bucket the pump and its line, both finely.  A throw hardly changes
with wear, and jets differ from the model by a seventh: inside that band it tells nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

By = Literal["gauge", "bucket", "throw"]
Side = Literal["short", "low", "inside", "high", "flat"]
"""Where a reading lies against a sound pump's: less than any pump gives, below its band, within it, above it; or the
same whatever the pump is like, as a switch or an unloader holds it."""


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


def told_by(found: tuple[Found, ...]) -> Found | None:
    """The first reading that says how worn the pump is: the gauge, then the bucket, then the throw."""
    return next((one for one in found if one.tells), None)
