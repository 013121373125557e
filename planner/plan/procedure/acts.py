"""An act: one thing one of the crew does, where, when, and what it does to tanks, lines, walls and lots.

Volumes are m3, masses kg, times s; `start` counts from local midnight, from arrival where no time of day is known.
An act begins with its person's walk; what flows runs evenly over the rest, and what it sets holds from its end.
A place is a tank's or a lot's name, or tap, hydrant, pond, `jug RUN`, `pail N`, tub, bucket, section, bed, ground,
lawn, air, sanitary, carried_home; to drain, a hose's name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType
from typing import Literal

from planner.frozen import dataclass
from planner.inputs.joined import Role

Phase = Literal[
    "walk", "set_up", "flush_first", "test", "mix", "wash", "grounds", "flush", "leave", "take_down", "soak", "build_up"
]
Who = Literal["lead", "second", "both"]
At = Literal["desk", "rig", "drums", "wall", "grounds", "reel", "bench"]
Done = Literal["look", "ask", "write", "wear", "cover", "uncover", "lay_out", "coil", "strap"]
Before = Literal["power", "stock", "mix", "coil", "open", "acid"]
Use = Literal["wet", "mix", "rinse", "clean", "test", "line", "flush"]
Unit = Literal["m", "s", "pa", "m_per_s", "m3", "mg_per_l", "ph"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something that is done and ticked: `what` is a key of data/acts.yaml, some with a run, tank or hose behind it."""

    verb: Done
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StopPoint:
    """All that it `asks` is true before what it guards begins; `about` a run, None for all of them."""

    number: int
    before: Before
    about: str | None
    asks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """Hoses, dosing and tip become one line."""

    run: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Parting:
    """A line is taken apart; each hose keeps what it holds."""

    run: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """Water into a vessel."""

    into: str
    source: str
    volume: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pour:
    """A lot into a vessel: `volume`, or `mass` of what is dry; `order` from 1, water being the first of a mix."""

    lot: str
    into: str
    volume: float | None
    mass: float | None
    order: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Stir:
    """What a vessel holds becomes one mix."""

    tank: str
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """Out of a vessel or hose."""

    source: str
    to: str
    volume: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawFrom:
    """Where a run's suction is put: a tank, tap, pond or pail."""

    run: str
    feed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Prime:
    """Pump and suction fill from the feed."""

    run: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tap:
    """The tap of a line that it feeds, opened or shut; a pump's is opened to prime it. Of a line that falls out of its
    tank it is the tank's valve.
    """

    run: str
    on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """The share of what leaves the dosing that comes out of a lot, jug or pail."""

    source: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SetDosing:
    """A panel or injector set; no `draws`: the stock is shut. `mark` is the dial's."""

    run: str
    to: Literal["water", "mark", "jug"]
    draws: tuple[Draw, ...] = ()
    mark: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Power:
    """A pump switched."""

    pump: str
    on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spray:
    """The gun open for `seconds`: `volume` goes in at the dosing, and as much leaves the tip."""

    run: str
    seconds: float
    volume: float
    onto: str
    use: Use


@dataclass(frozen=True, slots=True, kw_only=True)
class Shut:
    """The gun closed."""

    run: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Relieve:
    """Power off, the pressure let out."""

    run: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeTip:
    """Another of a run's tips put on its gun, power off and the pressure let out: which, and what it is for.

    With another line behind it hoses come `off` the end, each with what it holds, and others go `on`, from the pump's
    side to the gun's.
    """

    run: str
    role: Role
    tip: str
    off: tuple[str, ...] = ()
    on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """A reading by itself; what is expected stands in the act."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """Nothing else is done meanwhile."""

    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterBed:
    """Water on a bed."""

    bed: str
    source: str
    volume: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Neutralise:
    """So much of a lot into a pail or tub."""

    what: str
    lot: str
    mass: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Soak:
    """A yard job's parts in tub or pail."""

    what: str
    into: str
    seconds: float


Detail = (
    Mark | StopPoint | Join | Parting | Fill | Pour | Stir | Drain | DrawFrom | Prime | Tap | SetDosing | Power | Spray
    | Shut | Relieve | ChangeTip | Read | Wait | WaterBed | Neutralise | Soak
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Expect:
    """What a reading should show, in SI: `what` a key of data/acts.yaml, `low` to `high` what is in order."""

    what: str
    unit: Unit
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One of `of` equal parts of a wall."""

    surface: str
    number: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One act. `hands` [s]: how long it holds `who`, None for all of it; `after`: acts of somebody else done first.

    `stop_point`: the number to be passed first; `why`: the code of the finding it answers.
    """

    id: str
    phase: Phase
    who: Who
    at: At
    detail: Detail
    start: float
    lasts: float
    hands: float | None = None
    after: tuple[str, ...] = ()
    section: Section | None = None
    expect: Expect | None = None
    stop_point: int | None = None
    why: str | None = None

    @property
    def end(self) -> float:
        """When it is done [s]."""
        return self.start + self.lasts


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What a tank or hose holds: `volume` [m3], None of a hose; `stock` water, air, a chemical or unknown; kg/m3."""

    stock: str
    strength: float = 0.0
    volume: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """The rig at one moment: tanks, hoses of every run, lots the job takes from (`left` m3, or kg), pails."""

    tanks: Mapping[str, Held] = field(default_factory=lambda: MappingProxyType({}))
    hoses: Mapping[str, Held] = field(default_factory=lambda: MappingProxyType({}))
    lots: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    pails: Mapping[str, Held] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """The acts by their start, and the rig before and after them."""

    acts: tuple[Act, ...]
    begin: State
    end: State

    @property
    def starts(self) -> float:
        """When the first act begins [s]; 0 without any."""
        return self.acts[0].start if self.acts else 0.0

    @property
    def ends(self) -> float:
        """When the last act is done [s]."""
        return max((act.end for act in self.acts), default=0.0)
