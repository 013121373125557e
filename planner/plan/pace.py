"""Minutes on a surface at a crew's pace: what moves with it, what waits for the mix, what the gun alone needs.

A crew that takes a quarter longer than the table's crew of two takes it over everything its hands do: wetting,
applying, rinsing, cleaning, a section's fixed time.  The mix dwells as long as it must whoever waits for it, and
nobody sprays a volume in less than volume / flow.
"""

from __future__ import annotations

from dataclasses import dataclass, field


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
