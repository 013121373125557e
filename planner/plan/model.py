"""The plan: frozen figures in SI, each with the basis it came from.

`JobPlan.flushes` are those at the job's end, `changes` those before a mix of another chemistry; the JSON has both under
`flushes`, told apart by `when`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType

from planner.faults import Where
from planner.frozen import dataclass
from planner.inputs.joined import JobInput, Role, RunInput
from planner.plan.between.model import AgentNeed, ChangeFlush, RunoffPlan
from planner.plan.line.model import Drift, HoseSpeed, ShutOff, Surge
from planner.plan.mix.model import (
    EMPTY,
    Carried,
    DwellMisfit,
    FlushPlan,
    GunsMisfit,
    Look,
    LotToday,
    MixPlan,
    Neutraliser,
    SurfaceWork,
)
from planner.plan.procedure.acts import Procedure
from planner.plan.road.model import LoadPlan, PowerPlan
from planner.plan.sky.model import MovedSides
from planner.plan.water.model import BedWater, SupplyPlan, WaterPlan
from planner.plan.water.timing import Span
from planner.plan.yard.model import YardPlan


@dataclass(frozen=True, slots=True)
class Value:
    """An SI number with the dimension it is printed in (`length`, `pressure`, `flow`, ...)."""

    amount: float
    dimension: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """Where a figure comes from: `equation` is a key of data/sources.yaml, `inputs` what went in."""

    equation: str
    inputs: tuple[tuple[str, Value | str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LossPart:
    """The pressure one part of the line costs: `pressure` Pa, `velocity` m/s in it, `reynolds` number."""

    part: str
    pressure: float
    velocity: float | None
    reynolds: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """A place on the line where a gauge could sit.

    `distance` m of hose from the pump's outlet, `height` m above the rig's ground;
    `open` and `closed` Pa with the gun open and closed, `closed` None where nothing limits it.
    """

    name: str
    kind: str
    distance: float
    height: float
    open: float
    closed: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """What flows in the run: kg/m3, Pa s, Pa, g/L of available chlorine, K."""

    density: float
    viscosity: float
    vapour_pressure: float
    strength: float
    temperature: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How high the jet gets at the wall, in m above the ground at the tip, and the path it takes in still air.

    `angle` is the launch angle in rad that gets there, `path` points (m from the tip, m above the ground at
    the tip); `wind` m/s is what `low` was taken with, `factor` [-] the share of the jet's height over the tip that its
    low end is, by so many `records` of this tip's jets.
    """

    nominal: float
    low: float
    high: float
    angle: float
    path: tuple[tuple[float, float], ...]
    wind: float
    factor: float
    records: int


@dataclass(frozen=True, slots=True, kw_only=True)
class InjectorPlan:
    """An injector in its line: `behind` it stand so many Pa, it draws fully up to `full` and from `limit` on nothing.

    None: neither its limit nor its loss is known, and it is planned as if it drew.
    """

    behind: float
    full: float | None
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPlan:
    """One hose run at its operating point. Pressures are gauge total heads at each point's own height, Pa.

    `roles` are the same line on plain water with each other tip that this job changes to.
    """

    name: str
    input: RunInput
    liquid: Liquid
    flow: float
    pump_flow: float
    pump_head: float
    pump_pressure: float
    inlet_pressure: float
    tip_pressure: float
    tip_velocity: float
    tip_z: float
    pump_z: float
    shut_off_pressure: float | None
    rating: float | None
    weakest: str | None
    losses: tuple[LossPart, ...]
    suction_loss: float
    joints: tuple[Joint, ...]
    reach: Reach | None
    needed: float | None
    npsh_available: float | None
    npsh_required: float | None
    reaction: float
    beyond_curve: bool
    cycling: bool
    bypassing: bool
    injector_draws: bool | None
    tap_pressure: float | None
    pump_curve: tuple[tuple[float, float], ...]
    system_curve: tuple[tuple[float, float], ...]
    basis: Mapping[str, Basis]
    speeds: tuple[HoseSpeed, ...] = ()
    surge: Surge | None = None
    shut_off: ShutOff | None = None
    acceleration_head: float | None = None
    injector: InjectorPlan | None = None
    curve_end: float | None = None
    roles: Mapping[Role, RunPlan] = field(default_factory=lambda: MappingProxyType({}))

    def role_of(self, use: str) -> Role:
        """Which of its tips is on for a use, of those that this job changes to."""
        role = self.input.role_of(use)
        return role if role in self.roles else "tip"

    def on(self, role: Role) -> RunPlan:
        """The line with that role's tip on."""
        return self.roles.get(role, self)

    @property
    def every(self) -> tuple[RunPlan, ...]:
        """The line with each of its tips."""
        return (self, *self.roles.values())

    @property
    def hydraulic_power(self) -> float:
        """What the pump puts into the water [W]: rise in pressure times flow."""
        return (self.pump_pressure - self.inlet_pressure) * self.pump_flow


@dataclass(frozen=True, slots=True, kw_only=True)
class WornSigns:
    """What a pump worn to `condition` gives on a run: `throw` m above the ground at the tip, at the standoff,
    `flow` m3/s at the tip, `closed` Pa at its gauge with the gun closed; None does not show wear. `throw_planned` m is
    the same throw of the pump as it is planned.
    """

    condition: float
    throw: float | None
    throw_planned: float | None
    flow: float
    closed: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReachTable:
    """Reach [m] of one run by more or less hose [m] and by standoff [m]; None where the jet does not get there.

    `heights[i][j]` is with `hose[i]` more metres of the run's last hose, at `standoffs[j]`.
    `dry` pairs seconds to fill 5 gal or 20 L (`bucket` [m3]) with seconds until a full tank runs dry, None: never.
    """

    run: str
    hose: tuple[float, ...]
    standoffs: tuple[float, ...]
    heights: tuple[tuple[float | None, ...], ...]
    bucket: float
    dry: tuple[tuple[float, float | None], ...]
    worn: WornSigns | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What one change does to a run: `flow` m3/s and `tip_pressure` Pa, None where the line has no answer then.

    `kind` is wider, narrower (`step` is the bore in m), longer, shorter (m), tap (Pa less) or wear (share lost);
    `reach` m is nominal, in still air, None where the jet does not get to the wall.
    """

    kind: str
    step: float
    flow: float | None
    tip_pressure: float | None
    reach: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """The changes worked out for one run, one at a time."""

    run: str
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPlan:
    """What tomorrow's job comes to. `hash` is short: inputs and program version, the plan's number on paper.

    `sides`: walls as they follow each other that could as well in another order; `moved` where that is not as written.
    """

    id: str
    title: str
    kind: str
    input: JobInput
    runs: tuple[RunPlan, ...]
    shelf: tuple[LotToday, ...]
    mixes: tuple[MixPlan, ...]
    work: tuple[SurfaceWork, ...]
    water: WaterPlan
    beds: BedWater | None
    flushes: tuple[FlushPlan, ...]
    neutralisers: tuple[Neutraliser, ...]
    differs: tuple[ReachTable, ...]
    notes: tuple[str, ...]
    hash: str
    where: Where
    time: tuple[Span, ...] = ()
    looks: tuple[Look, ...] = ()
    found: Carried = EMPTY
    left: Carried = EMPTY
    supply: SupplyPlan | None = None
    drift: tuple[Drift, ...] = ()
    power: PowerPlan | None = None
    load: LoadPlan | None = None
    sensitivity: tuple[Sensitivity, ...] = ()
    changes: tuple[ChangeFlush, ...] = ()
    runoff: RunoffPlan | None = None
    agents: tuple[AgentNeed, ...] = ()
    yard: YardPlan | None = None
    procedure_misfits: tuple[DwellMisfit, ...] = ()
    guns_misfits: tuple[GunsMisfit, ...] = ()
    procedure: Procedure | None = None
    sides: tuple[tuple[str, ...], ...] = ()
    moved: MovedSides | None = None

    @property
    def lines(self) -> tuple[RunPlan, ...]:
        """Its runs; of work in the yard the line its pump is tested on."""
        return self.runs or (self.yard.runs if self.yard is not None else ())
