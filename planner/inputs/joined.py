"""A job with everything it names put in its place: what the plan is made from.

The models hold what was written; these hold it joined: a run with its real
hoses, tip and pump in place of their names, every default filled in, every
filled-in default named in `assumed`.  All numbers are SI.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, Literal

from planner.faults import Where
from planner.frozen import dataclass

if TYPE_CHECKING:
    from planner.inputs.models import Accept, Company, Day, Dosing, Job, LearnedJet, Lot, Pump, Rig, Tank, Tip, YardJob
    from planner.inputs.models.bounds import Unusual
    from planner.inputs.reading.strengths import Strength

Role = Literal["tip", "rinse_tip", "cleaner"]
"""What a tip of a run is for, by its key in the file."""

ROLES: Final[tuple[Role, ...]] = ("tip", "rinse_tip", "cleaner")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """So many of one kind of fitting: its resistance is `k`, or `k_times_ft` friction factors, or a reducer.

    `bore` [m] is the bore it sits on: the smallest of its run, or its own piece's on the suction side.
    """

    kind: str
    count: float
    k: float | None
    k_times_ft: float | None
    source: str
    bore: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HosePiece:
    """One length of hose in a run, in order from the pump. `roughness`, `bore`, `length` in m; `rated` Pa or None.

    `material` is the row its wall is assumed by; `couplings` what its couplings are made of, empty where not written;
    `hot` [K] the hottest water printed on it.
    `named`: it is the rig's or has a name of its own, so that another run with that name has the very same hose.
    """

    name: str
    bore: float
    length: float
    roughness: float
    coil: float
    rated: float | None
    material: str = "rubber"
    named: bool = True
    couplings: tuple[str, ...] = ()
    hot: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """One surface of the job with its table row: `area` m2, `strength` what is wanted on it or None for water only.

    `chemical` is the table name of what goes on it and `stock` the name it was asked for by, None for water only;
    `rinse` is `now` or `leave`; `trim` names what else the mix will meet there. `cover_factor` [-] is what records say
    of its coverage: so much of what the table has; `pace_factor` [-] the same of its minutes, resting on
    `pace_records`, or on `pace_remembered` jobs of somebody's memory. `side` is what paper calls it where the job says
    on which side it is, empty where it does not; it `faces` [rad from north through east] and is `light` or `dark` of
    tone where that is written.
    """

    name: str
    kind: str
    soil: str
    area: float
    strength: Strength | None
    row: Mapping[str, Any]
    where: Where
    chemical: str | None = None
    stock: str | None = None
    rinse: str = "now"
    trim: tuple[str, ...] = ()
    cover_factor: float = 1.0
    pace_factor: float = 1.0
    pace_records: int = 0
    pace_remembered: int = 0
    side: str = ""
    faces: float | None = None
    tone: str | None = None

    @property
    def called(self) -> str:
        """What crew pages call it: its side as one says it from the street, else its name. One job's are all apart."""
        return self.side or self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class ChemicalInput:
    """One chemical of the job: its lots on hand, oldest first, and where it goes.

    `strength` is what was written for all its surfaces, None where each surface has its own; `dose` is its volume
    in each volume of finished mix, None where a strength counts.
    """

    stock: str
    chemical: str
    lots: tuple[Lot, ...]
    strength: Strength | None
    dose: float | None
    surfaces: tuple[str, ...]
    reason: str | None
    where: Where


@dataclass(frozen=True, slots=True, kw_only=True)
class RunInput:
    """One hose run, joined. Heights are in m above the ground the rig stands on unless they say otherwise.

    `feed` is `tap`, `tank` or `pond`; `feed_head` is the height of the liquid the pump draws from (a tank's floor, a
    pond's level, 0 for a tap). Without a pump a tank's water falls to the tip (`falls`). `target` and `tip_height` are
    above the ground at the tip.
    `share` is its part of the area of all its surfaces, `shares` its part of each.
    `tip` is what the mix goes through, and whatever has no tip of its own; `cleaner` cleans flat work with plain water.
    `hot` [K]: its water is heated behind the pump; None: it is not.
    `role_hoses` are those of a role whose line is another from some hose on, of the roles that have work.
    """

    name: str
    pump: Pump | None
    feed: str
    feed_tank: Tank | None
    feed_head: float
    dosing: Dosing | None
    premix: bool
    hoses: tuple[HosePiece, ...]
    fittings: tuple[Fitting, ...]
    suction: tuple[HosePiece, ...]
    suction_fittings: tuple[Fitting, ...]
    on_reel: float
    uphill: float
    tip: Tip
    tip_height: float
    standoff: float
    past_eave: float
    target: float
    same_time: tuple[str, ...]
    surfaces: tuple[str, ...]
    share: float
    where: Where
    shares: tuple[tuple[str, float], ...] = ()
    rinse_tip: Tip | None = None
    cleaner: Tip | None = None
    hot: float | None = None
    role_hoses: Mapping[Role, tuple[HosePiece, ...]] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def tips(self) -> Mapping[Role, Tip]:
        """Its tips by what each is for; a role without a tip of its own is not there."""
        own = (self.tip, self.rinse_tip, self.cleaner)
        return {role: tip for role, tip in zip(ROLES, own, strict=True) if tip is not None}

    def role_with(self, tip: str) -> Role:
        """What a tip of this name is for here; `tip` where that is the run's own, or none it changes to."""
        return next((role for role, one in self.tips.items() if role != "tip" and one.name == tip), "tip")

    def role_of(self, use: str) -> Role:
        """Which of its tips is on for a use. A line that sprays mix wets with the mix's: the last of that water brings
        the mix, and nobody changes a tip for the little before it."""
        if use == "clean" and self.cleaner is not None:
            return "cleaner"
        plain = use == "rinse" or (use == "wet" and not self.premix and self.dosing is None)
        return "rinse_tip" if plain and self.rinse_tip is not None else "tip"

    def hoses_on(self, role: Role) -> tuple[HosePiece, ...]:
        """The hoses its water goes through with that role's tip on, in order from the pump."""
        return self.role_hoses.get(role, self.hoses)

    @property
    def put_on(self) -> tuple[HosePiece, ...]:
        """The hoses that are only put on for a role, each once: no mix goes through them."""
        own = {hose.name for hose in self.hoses}
        found = {hose.name: hose for hoses in self.role_hoses.values() for hose in hoses if hose.name not in own}
        return tuple(found.values())

    @property
    def falls(self) -> bool:
        """Whether its water runs out of a tank that stands higher, without a pump."""
        return self.pump is None and self.feed == "tank"

    @property
    def length(self) -> float:
        """How far its gun is from the rig [m]: all of its hose, of the longest line it has."""
        return max(sum(hose.length for hose in hoses) for hoses in (self.hoses, *self.role_hoses.values()))

    def with_role(self, role: Role) -> RunInput:
        """The same line with that role's hoses and its tip at their end, and no other to change to."""
        hoses = self.hoses_on(role)
        bore = min(hose.bore for hose in hoses)
        return replace(
            self, tip=self.tips[role], rinse_tip=None, cleaner=None, hoses=hoses, role_hoses=MappingProxyType({}),
            fittings=tuple(replace(fitting, bore=bore) for fitting in self.fittings),
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterInput:
    """Where the water comes from. `static`, `residual` Pa and `test_flow` m3/s describe the tap; None: no tap.

    `tested` is False where no flow test or bucket was written, nor one is on record: the static pressure is
    then taken as constant.
    `assumed` names what was filled in ("static", "temperature", "tap"). `backflow_on_hose`: the job says nothing of it,
    and it is what the rig's supply hose has.
    """

    source: str
    static: float | None
    residual: float | None
    test_flow: float | None
    tested: bool
    temperature: float
    level: float | None
    backflow: str | None
    chlorine: float | None
    assumed: tuple[str, ...]
    where: Where
    backflow_on_hose: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """Hours of the day, 0 from midnight on and 24 that of the next: in which each run sprays, in which mix is on each
    wall, and those of the whole visit."""

    runs: Mapping[str, frozenset[int]]
    walls: Mapping[str, frozenset[int]]
    visit: frozenset[int]

    def holds(self, other: Worked) -> bool:
        """Whether all the other's hours are among these."""
        return self.joined(other) == self

    def joined(self, other: Worked) -> Worked:
        """The hours of both."""
        return Worked(
            runs=_both(self.runs, other.runs), walls=_both(self.walls, other.walls), visit=self.visit | other.visit
        )


def _both(one: Mapping[str, frozenset[int]], more: Mapping[str, frozenset[int]]) -> dict[str, frozenset[int]]:
    return {name: one.get(name, frozenset()) | more.get(name, frozenset()) for name in {**one, **more}}


@dataclass(frozen=True, slots=True, kw_only=True)
class JobInput:
    """One job and all that it is joined to. `jets` are those of the rig's tips whose reach records tell of, by name.

    `yard_run`: the line a pump is tested on in the yard, level and as its setup has it; None where it has none.
    `unusual` are figures of all its files that can be meant and seldom are. `worked`: at what hours its plan has it,
    by which weather and sun are judged; None where nobody knows, or it makes no difference. `sides`: the order its plan
    has its walls in, empty as they are written; None where that is not settled yet.
    """

    id: str
    title: str
    kind: str
    job: Job
    rig: Rig
    company: Company
    lots: tuple[Lot, ...]
    day: Day | None
    date: datetime.date | None
    place_in_day: tuple[int, int] | None
    runs: tuple[RunInput, ...]
    surfaces: tuple[Surface, ...]
    water: WaterInput
    accept: tuple[Accept, ...]
    limits: Mapping[str, float]
    tables: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    assumed: tuple[str, ...] = ()
    where: Where
    places: Mapping[str, Where] = field(default_factory=lambda: MappingProxyType({}))
    source_text: str = ""
    chemicals: tuple[ChemicalInput, ...] = ()
    yard: YardJob | None = None
    yard_run: RunInput | None = None
    jets: Mapping[str, LearnedJet] = field(default_factory=lambda: MappingProxyType({}))
    unusual: tuple[Unusual, ...] = ()
    worked: Worked | None = None
    sides: tuple[str, ...] | None = None

    @property
    def day_name(self) -> str:
        """The name of its day's folder: a date, or a date and a rig where several are out. Empty without a day."""
        return self.id.rpartition("/")[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayInput:
    """One day's folder: its page, its rig and the ids of its jobs in order, faulty ones too."""

    name: str
    date: datetime.date | None
    day: Day
    rig: Rig
    jobs: tuple[str, ...]
    where: Where
    places: Mapping[str, Where] = field(default_factory=lambda: MappingProxyType({}))
