"""What the plan says of the job's water by use, and of the beds' share of it: frozen figures in SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterPlan:
    """Water of the job in m3 by use, and seconds each use takes at the solved flow.

    `line` fills hoses and is run out of them; `test` is drawn to see what a line or its dosing gives. `piped` is what
    the acts take out of tap or hydrant: a tank that came half empty is filled up beside, for no use of this job.
    """

    pre_wet: float
    mix: float
    rinse: float
    clean: float
    flush: float
    beds: float
    seconds: Mapping[str, float]
    line: float = 0.0
    test: float = 0.0
    piped: float = 0.0

    @property
    def need(self) -> float:
        """All of it [m3]."""
        return self.pre_wet + self.line + self.test + self.mix + self.rinse + self.clean + self.flush + self.beds

    @property
    def most(self) -> float:
        """What the site is told it gives at most [m3]: all that is used, and never less than the acts take of it."""
        return max(self.need, self.piped)


@dataclass(frozen=True, slots=True, kw_only=True)
class BedWater:
    """Water for the flower beds [m3]: `each` time, `every` so many s of the `seconds` mix goes on and last dwells."""

    area: float
    before: float
    during: float
    after: float
    every: float
    each: float
    seconds: float
