"""What a mix is drawn for beside the walls: the dosing's own test, and a hose filled for less than it holds."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """What is sprayed of a mix without water between: on `walls` in their order, `times` over for so many sections.

    `mix` [m3] is what one takes. `area` [m2]: how much of the first of `last` is left when the line goes on water, so
    that what the hose holds does it and the rest of `last`; 0 where the hose holds more than the stretch takes.
    `lead` [m3] is the water that goes into a bucket before each, the line on mix already: what the hose holds more than
    the wetting takes, which brings the mix to the tip too.
    """

    walls: tuple[str, ...]
    times: int
    mix: float
    area: float
    last: tuple[str, ...]
    lead: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LineUse:
    """How a mix goes through its hose. Volumes in m3.

    `test` is drawn to see what the dosing gives, 0 out of a tank; `push` is the water that brings it out of the hose
    into the bucket. `primes` fills the hose for stretches that take less than it holds: water pushes it into a bucket,
    and no wall gets it.
    `beside` is what is drawn of the mix at each part beside its own, the test with the first, `water` the plain water
    that goes into a bucket there. Both in the order of the mix's parts.
    """

    test: float
    primes: float
    beside: tuple[float, ...]
    stretches: tuple[Stretch, ...]
    push: float = 0.0
    water: tuple[float, ...] = ()

    @property
    def extra(self) -> float:
        """What is drawn beside the walls' own mix [m3]."""
        return self.test + self.primes

    @property
    def covers(self) -> float:
        """The least that the hose's hold does of a wall when chased with water [m2]; 0 where nothing is chased."""
        return min((one.area for one in self.stretches if one.area > 0.0), default=0.0)

    @property
    def small(self) -> tuple[str, ...]:
        """Walls that take less mix than the hose holds."""
        return tuple(dict.fromkeys(name for one in self.stretches if one.area <= 0.0 for name in one.walls))


UNUSED = LineUse(test=0.0, primes=0.0, beside=(), stretches=())
"""A line nothing is known of."""
