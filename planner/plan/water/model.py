"""Water as figures: by use, over time in tap and tanks, and the pace of the work."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from planner.frozen import dataclass


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


# ------------------------------------------------------------ supply model
# What the plan says of supply over time: what is done when, what it draws from where, what stands in each tank.
#
# All times are seconds from the start of the work: the end of set-up, when the first water is drawn.


TAP = "tap"
POND = "pond"
NOWHERE = ""
"""Where water comes from that no tank of the rig gives; NOWHERE: the plan knows of no water."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """One step of the work, `seconds` long: `draws` [m3] by source that anybody takes meanwhile.

    `about` is the surface or, for a mix, its run. `mix_on`: mix stands on a wall, or is just being put there.
    """

    what: str
    about: str
    start: float
    seconds: float
    draws: Mapping[str, float]
    mix_on: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Dry:
    """A tank that does not last: `at` [s], in which phase, `short` [m3] by the job's end.

    `mix_on`: it is also short while mix stands on a wall. `wait` [s] for the tap to make up for it, None without a
    tap. `full_lasts`: it would last if it were full at the start, `room` [m3] fuller, `fills` [s] at the tap.
    """

    at: float
    what: str
    about: str
    short: float
    mix_on: bool
    wait: float | None
    full_lasts: bool
    room: float
    fills: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TankLevel:
    """One tank over the job. `points` are (s, m3), straight lines between them; `start` [m3] stood at arrival.

    `wanted` is what the job draws from it and `supplied` what the tap gives it [m3]; `fills` are the times (from, to)
    [s] in which water runs in. `alone` [s] is when it would be dry with no tap at all, None: never. `trips` with a
    full tank make up for `dry` where no tap fills it. `waited`: the acts wait for the tap, and it lasts.
    """

    name: str
    mix: bool
    volume: float
    dead_volume: float
    start: float
    end: float
    points: tuple[tuple[float, float], ...]
    lowest: float
    lowest_at: float
    wanted: float
    drawn: float
    supplied: float
    fills: tuple[tuple[float, float], ...]
    fill_flow: float | None
    alone: float | None
    dry: Dry | None
    trips: int | None
    waited: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TapShort:
    """A run that asks more of the tap than it gives, from `at` [s] on."""

    run: str
    at: float
    what: str
    about: str
    mix_on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TapOwed:
    """The tap is asked for more than it gives, beds and all: `wanted` and `gives` [m3] in the times where that is so.

    `at` [s] is the first of them, `what` is done in it; `mix_on`: mix stands on a wall in one of them. `wait` [s] is
    what the tap would need for the rest.
    """

    at: float
    what: str
    about: str
    wanted: float
    gives: float
    mix_on: bool
    wait: float

    @property
    def short(self) -> float:
        """What is wanted over what it gives [m3]."""
        return self.wanted - self.gives


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyPlan:
    """Will the water last? `tanks` that water is drawn from, the most drawn first, then `mix_tanks`.

    The work starts `begins` [s] after arrival. `pour` [m3/s] is how fast a mix tank is filled. `assumed`: the tap was
    never tested and an ordinary one is taken. `nowhere` [m3] is wanted with neither tap nor tank to give it.
    """

    begins: float
    phases: tuple[Phase, ...]
    tanks: tuple[TankLevel, ...]
    mix_tanks: tuple[TankLevel, ...]
    pour: float
    assumed: bool
    nowhere: float
    tap_short: tuple[TapShort, ...]
    tap_owed: TapOwed | None = None

    @property
    def main(self) -> TankLevel | None:
        """The water tank that is drawn on most."""
        return self.tanks[0] if self.tanks else None

    @property
    def dry_at(self) -> float | None:
        """When water first fails [s]: a tank dry, or a tap that cannot give what a run draws; None: never."""
        times = [tank.dry.at for tank in self.tanks if tank.dry is not None]
        return min([*times, *(tap_short.at for tap_short in self.tap_short)], default=None)

    @property
    def ends(self) -> float:
        """When the rig drives off [s]."""
        return self.phases[-1].start + self.phases[-1].seconds if self.phases else 0.0


# ------------------------------------------------------------ pace
# Minutes on a surface at a crew's pace: what moves with it, what waits for the mix, what the gun alone needs.
#
# A crew that takes a quarter longer than the table's crew of two takes it over everything its hands do: wetting,
# applying, rinsing, cleaning, a section's fixed time.  The mix dwells as long as it must whoever waits for it, and
# nobody sprays a volume in less than volume / flow.


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step in s: `table` elapsed at the table's pace, `least` with the gun open all the time."""

    table: float = 0.0
    least: float = 0.0

    def at(self, factor: float) -> float:
        """Elapsed time [s] at `factor` [-] of the table's."""
        return max(self.table * factor, self.least)

    def slope(self, factor: float) -> float:
        """How fast it grows with the factor [s]; 0 while the gun needs all of it."""
        return self.table if self.table * factor >= self.least else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """One surface by one run, in s: its steps, the `dwell` of a section as planned, the `soaks` of all its sections.

    `sections` is the fixed time of all its sections at the table's pace, None where none is fixed.
    """

    wet: Step = field(default_factory=Step)
    apply: Step = field(default_factory=Step)
    rinse: Step = field(default_factory=Step)
    clean: Step = field(default_factory=Step)
    dwell: float = 0.0
    soaks: float = 0.0
    sections: float | None = None

    @property
    def steps(self) -> tuple[Step, ...]:
        """What hands do, in order."""
        return (self.clean, self.wet, self.apply, self.rinse)

    def seconds(self, factor: float) -> float:
        """Elapsed time of the surface [s] at `factor` [-] of the table's pace.

        Section by section where a section takes a fixed time, else step by step. Sections dwell while the next is
        sprayed, so only the last one's dwell is waited for. A fixed time is not kept where the steps need longer.
        """
        worked = sum(step.at(factor) for step in self.steps)
        if self.sections is None:
            return worked + self.dwell
        return max(self.sections * factor, worked + self.soaks)

    def slope(self, factor: float) -> float:
        """How fast that grows with the factor [s]."""
        slope = sum(step.slope(factor) for step in self.steps)
        if self.sections is None or self.sections * factor < self.seconds(factor):
            return slope
        return max(slope, self.sections)

    @property
    def moving(self) -> float:
        """What moves with the pace [s], at the table's own."""
        return sum(step.at(1.0) for step in self.steps) if self.sections is None else self.seconds(1.0)
