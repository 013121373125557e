"""How much head a jet needs at the tip, remembered for each tip and standoff, so that lines are only compared by head.

A jet goes higher with more head, so one throw that is enough settles every stronger one, and one that is not
settles every weaker one: most candidates need no flight of the jet at all.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from fluids.numerics import brenth

from planner.inputs.joined import JobInput, RunInput
from planner.physics import jets
from planner.plan.line.apparatus import tip_orifice
from planner.plan.line.throw import forecast_wind, low_factor

_HIGHEST_HEAD = 400.0
"""No pump of this trade's jets puts more head on a solid tip [m] (our choice: the search ends there)."""

_HEAD_TOLERANCE = 0.01


@dataclass(slots=True)
class _Known:
    """Head [m] known to be too little, and known to be enough."""

    short: float = 0.0
    enough: float = _HIGHEST_HEAD * 10.0


@dataclass(slots=True)
class Heads:
    """What is known of the heads that jets of one job need."""

    job: JobInput
    known: dict[tuple[float, ...], _Known] = field(default_factory=dict)

    def reaches(self, run: RunInput, head: float, *, surely: bool) -> bool:
        """Whether `head` [m] at the tip gets the jet to the run's target; `surely`: at the low end of its band too."""
        if run.tip.pattern != "solid" or head <= 0.0:
            return False
        known = self.known.setdefault(self._key(run, surely), _Known())
        if head <= known.short:
            return False
        if head >= known.enough:
            return True
        if self._over(run, head, surely) >= 0.0:
            known.enough = head
            return True
        known.short = head
        return False

    def needed(self, run: RunInput) -> float | None:
        """Head [m] the tip needs for the low end of the band to reach; None where no pressure carries it there."""
        if run.tip.pattern != "solid":
            return None
        known = self.known.setdefault(self._key(run, True), _Known())
        high = min(known.enough, _HIGHEST_HEAD)
        if self._over(run, high, True) < 0.0:
            return None
        low = max(known.short, 0.5)
        if self._over(run, low, True) >= 0.0:
            return low
        return float(brenth(lambda head: self._over(run, head, True), low, high, xtol=_HEAD_TOLERANCE))

    def _key(self, run: RunInput, surely: bool) -> tuple[float, ...]:
        factor = low_factor(self.job, run) if surely else 1.0
        wind = forecast_wind(self.job, run) if surely else 0.0
        return (tip_orifice(run), run.standoff, run.past_eave, run.target, run.tip_height, float(surely), factor, wind)

    def _over(self, run: RunInput, head: float, surely: bool) -> float:
        """How far [m] above the height wanted the jet gets; far below zero where it does not get to the wall."""
        wanted = run.target - run.tip_height
        wind = forecast_wind(self.job, run) if surely else 0.0
        factor = low_factor(self.job, run) if surely else 1.0
        orifice = tip_orifice(run)
        if factor * jets.still_height(head, orifice) < wanted:
            # Not even straight up: no flight needed to know.
            return factor * jets.still_height(head, orifice) - wanted
        obstacle = wanted if run.past_eave > 0.0 else None
        thrown = jets.highest_at(head, orifice, run.standoff, wind=wind, beyond=run.past_eave, obstacle=obstacle)
        return factor * thrown.height - wanted if thrown is not None else -1000.0
