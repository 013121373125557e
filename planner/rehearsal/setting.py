"""What a rehearsal is played on: the rig, the lots, the runs, what was asked. All frozen, SI (m3, kg, kg/m3, s, m)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType
from typing import Final, Literal

from planner.chemistry.dosing import DialPoint, share_at
from planner.chemistry.reactions import Matrix
from planner.frozen import dataclass
from planner.inputs.tables.chemicals import lawn_of
from planner.units.table import System

Dosing = Literal["water", "premix", "metered", "injector"]

PAIL: Final = 5 * 231 * 0.0254**3
"""What a pail or test bucket holds [m3]: five gallons (the contract)."""

UNKNOWN_SHUT: Final = 120.0
"""How long a pump may run with its gun shut where nobody says better [s] (the contract); a company may say it."""

WETTED: Final = 600.0
"""How long a wetted wall may wait for its mix where nobody says better [s] (common practice, no source)."""

SWITCH: Final = 5.0
"""How long a switch takes [s] (common practice, no source)."""

PACE: Final = 50 * 0.3048 / 60.0
"""How fast people walk [m/s]: 50 ft/min (common practice, no source)."""

_DIAL: Final = 1e-3
"""A dial is read no finer than to such a share (our choice)."""

_CONTRACT: Final = {
    "look": "walk_round vents_shut people_clear eyewash lot_read company locked no_aluminium spacers",
    "ask": "customer office_knows",
    "write": "photographs spacers_written",
    "wear": "gloves_goggles acid_gloves face_shield",
    "cover": "drains_covered downspouts_bagged beds_sheeted fittings_taped",
    "uncover": "drains_covered downspouts_bagged beds_sheeted fittings_taped",
    "lay_out": "hoses stages",
    "strap": "drums gear",
    "soak": "stages housing",
    "read": "dip bucket gauge_open gauge_closed wind jug_down strip_chlorine strip_ph throw",
}
KEYS: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        **{verb: frozenset(keys.split()) for verb, keys in _CONTRACT.items()},
        "look": frozenset([*_CONTRACT["look"].split(), "breaker RUN", "gun RUN", "dry TANK", "heel TANK", "kept TANK"]),
        "coil": frozenset(["HOSE"]),
    }
)
"""Keys by the verb that takes them, as the contract lists them; RUN, TANK and HOSE stand for a name of the rig.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tank:
    """A tank of the rig: `dead` stays below its outlet, `holds` what it is kept for."""

    volume: float
    dead: float = 0.0
    holds: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hose:
    """What a hose holds, and how long it is."""

    volume: float
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pump:
    """A pump. `switched`: it stops itself when the gun shuts; `draws` are the tanks its suction gets to, None: any.

    `told` [s]: how long paper lets it run with its gun shut.
    """

    dedicated: str | None = None
    switched: bool = False
    bypass: bool = False
    draws: tuple[str, ...] | None = None
    told: float = UNKNOWN_SHUT


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A hose run, its hoses in order from the pump. `pump_flow` passes the tip with an injector's stock shut.

    `ratio`: water to stock of an injector, `dials` a panel's marks as each drum leaves them. `shut_off` [s]: how long
    its pump bears a shut gun, None: not known. `stirred`: what is in its pump and dosing [m3], of those that mix
    goes through. `tips`: each by what it is for, the mix's and all there are to change to; `other_tips` [m3/s] what the
    latter pass, `other_hoses` what lies behind those whose line is another.
    """

    name: str
    hoses: tuple[str, ...]
    pump: str | None
    dosing: Dosing
    device: str | None
    flow: float
    pump_flow: float
    ratio: float | None = None
    dials: tuple[tuple[DialPoint, ...], ...] = ()
    shut_off: float | None = None
    same_time: tuple[str, ...] = ()
    stirred: Mapping[str, float] = field(default_factory=dict)
    tips: Mapping[str, str] = field(default_factory=dict)
    other_tips: Mapping[str, float] = field(default_factory=dict)
    other_hoses: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def misdialled(self, mark: float | None, share: float) -> str:
        """What a panel's dial, where it was tested, gives instead of the share of stock that is drawn; else empty."""
        if not self.dials or not share > 0.0:
            return ""
        found = [share_at(mark, points) if mark is not None else None for points in self.dials]
        if any(gives is not None and abs(gives - share) <= _DIAL * share for gives in found):
            return ""
        gives = found[0]
        told = "no mark" if mark is None else f"mark {mark:.4g}"
        return f"{told}, which gives {'nobody knows what' if gives is None else f'{gives:.4g} of what leaves it'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """A container: `strength` as it is poured today, None of what is weighed; `on_hand` None: nobody counted it."""

    chemical: str
    strength: float | None
    on_hand: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What a run does on a surface: its water, and between what bounds a mix of this run may stand there [s]."""

    surface: str
    run: str
    wet: float
    rinse: float
    clean: float = 0.0
    dwell_least: float = 0.0
    dwell_most: float = float("inf")
    again: float = float("inf")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A mix that was asked for: its strength, how much of it on which surface, and all the stock it takes [m3, or kg].

    `strength` None: it is not counted by its strength. `soap` [m3] beside the stock, None where nobody says.
    """

    chemical: str
    run: str
    strength: float | None
    parts: Mapping[str, float]
    stock: float | None
    soap: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Beds:
    """Water for the beds: before, while mix is out, after; at most `every` s apart, `each` so much in that time.

    `alone`: so many times as long while the gun of a crew of one is shut (our choice, where nobody says better).
    """

    before: float
    during: float
    after: float
    every: float
    each: float
    alone: float = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """What a tank holds by somebody else's word: the day's page, the job before, the plan's `heels_after`."""

    volume: float | None
    chemical: str | None
    strength: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """All of it. Times in s from where the acts count; `tap` m3/s, None without one; `rests`: what may stay unrinsed.

    `agents`: kg that make a kg of a chemical harmless, by chemical and agent. `thin` and `warm`: how strong bleach
    [kg/m3] and how warm [K] anything else may be when it is. `flushes` m3 by run; `given` kg of each agent, None:
    nobody says. `parts`: pumps with the chemical that is left in them. `residual` [kg/m3]: no more than this of a
    chemical is none of it, once a strip says so, and a flush leaves no more, but of the runs in `endless`, whose water
    brings as much: it is caught, and an agent put in. `lawn` [kg/m3]: how strong what is let go may be. `found` and
    `heels_after`: tanks as others have them before and after; of those in `told` somebody says they hold water, of the
    hoses in `strange` and pumps on the bench in `doubted` nobody knows what they hold. `soak` [s]: how long parts lie
    in acid in the yard, `rinse` [m3] the water they are rinsed in. `shut_unknown` [s]: what a pump of which nobody
    knows bears shut; `wetted` [s]: how long a wetted wall may wait; `switch` [s]: how long a pump's takes.
    """

    kind: Literal["wash", "yard"]
    tanks: Mapping[str, Tank]
    hoses: Mapping[str, Hose]
    pumps: Mapping[str, Pump]
    runs: Mapping[str, Run]
    lots: Mapping[str, Lot]
    matrix: Matrix
    agents: Mapping[str, Mapping[str, float]]
    thin: float
    warm: float
    crew: int
    work: tuple[Work, ...] = ()
    mixes: tuple[Mix, ...] = ()
    rests: frozenset[str] = frozenset()
    beds: Beds | None = None
    water_need: float | None = None
    tap: float | None = None
    flushes: Mapping[str, float] = field(default_factory=dict)
    given: Mapping[str, float] | None = None
    begins: float | None = None
    ends: float | None = None
    found: Mapping[str, Stands] = field(default_factory=dict)
    heels_after: Mapping[str, Stands] = field(default_factory=dict)
    parts: Mapping[str, str] = field(default_factory=dict)
    residual: Mapping[str, float] = field(default_factory=dict)
    soak: float | None = None
    rinse: float = 0.0
    endless: frozenset[str] = frozenset()
    told: frozenset[str] = frozenset()
    strange: frozenset[str] = frozenset()
    doubted: frozenset[str] = frozenset()
    lawn: float = 0.0
    shut_unknown: float = UNKNOWN_SHUT
    wetted: float = WETTED
    keys: Mapping[str, frozenset[str]] = field(default_factory=lambda: KEYS)
    pace: float = PACE
    switch: float = SWITCH
    units: System = "us"

    def volume_of(self, run: str) -> float:
        """What a run's line holds: its hoses."""
        return sum(self.hoses[name].volume for name in self.runs[run].hoses)

    def too_strong(self, mixture: Mapping[str, float]) -> list[str]:
        """What of a mixture [kg/m3] has an agent and is stronger than may be let go as it is; lye never is."""
        most = {name: 0.0 if lawn_of(name) == "never" else self.lawn for name in mixture}
        return [
            name
            for name, strength in mixture.items()
            if self.agents.get(name) and strength > most[name] * (1.0 + 1e-9) + 1e-9
        ]

    def length_of(self, run: str) -> float:
        """How far its gun is from the rig, on the longest line it has."""
        lines = (self.runs[run].hoses, *self.runs[run].other_hoses.values())
        return max(sum(self.hoses[name].length for name in line) for line in lines)
