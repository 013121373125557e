"""What the plan says of mixes, water and flushes: frozen figures in SI (kg/m3 is g/L)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from planner.faults import Where
from planner.inputs.joined import ChemicalInput, RunInput, Surface


@dataclass(frozen=True, slots=True, kw_only=True)
class TankHeel:
    """So much [m3] in a tank, of a chemical at a strength [kg/m3] with a share of soap [-]."""

    volume: float
    strength: float
    soap: float
    chemical: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """The rig as one job leaves it to the next: `tanks` by name, `parts` with the chemical that last went through."""

    tanks: Mapping[str, TankHeel] = field(default_factory=lambda: MappingProxyType({}))
    parts: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


EMPTY = Carried()
"""A rig that holds nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LotToday:
    """A lot on the day of the job: active [kg/m3], or None for a dry chemical or one whose strength is not written.

    `age` [s] since it was made or last tested, None where neither is known; `tested` says which. `on_hand` [m3] or
    `on_hand_mass` [kg]. `known`: its age is known, so its strength is more than what was written.
    """

    name: str
    chemical: str
    nominal: float | None
    low: float | None
    high: float | None
    age: float | None
    tested: bool
    hot: bool
    known: bool
    extrapolated: bool
    optimistic: bool
    on_hand: float | None
    on_hand_mass: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition:
    """One thing poured into a tank: `volume` [m3], or `mass` [kg] of a dry chemical.

    `contents` [m3] is what the tank holds after it, `dip` [m] where that stands on the stick; None where the tank
    has no shape or the rise is too small to read, so that it is measured out.
    """

    what: str
    volume: float
    mass: float | None
    contents: float
    dip: float | None
    by_stick: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchPlan:
    """One tankful. Volumes in m3: stock + water + soap + heel = mix."""

    tank: str
    heel: float
    mix: float
    water: float
    stock: float
    soap: float
    additions: tuple[Addition, ...]
    overflow: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceMix:
    """What one surface takes: `area` [m2] of it by this run, `coverage` [m2/m3], `mix` [m3] without spare."""

    surface: Surface
    area: float
    coverage: float
    mix: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MixPlan:
    """One mix of one run. Volumes in m3, strengths in kg/m3, None where nothing can be said.

    `need` is what goes on the wall, in a tank with the `spare` that is mixed with it; `mix` what is made, heel
    included; `heel_held` [m3] is what the tank really holds tonight, of `heel_chemical`. `share` is the stock's share
    of the flow on a panel, `dial` its setting; `jug_*` the shares in an injector's jug. `wall_low`, `wall_high` are
    what lands if the stock is at the ends of its band and everything is set for nominal. `fill` is what the hose
    holds; `covers` [m2] how much of the last wall it does when chased with water. `target` 0: not known.
    """

    name: str
    chemical: str
    use: ChemicalInput | None
    lot: LotToday | None
    run: RunInput
    parts: tuple[SurfaceMix, ...]
    kind: str
    target: float
    soap_share: float
    spare: float
    need: float
    mix: float | None
    stock: float | None
    stock_mass: float | None
    water: float | None
    soap: float | None
    heel: float
    heel_strength: float
    heel_chemical: str | None
    heel_held: float
    batches: tuple[BatchPlan, ...]
    reachable: bool
    reachable_low: bool
    highest: float | None
    wall: float | None
    wall_low: float | None
    wall_high: float | None
    share: float | None
    dial: float | None
    dial_low: float | None
    dial_high: float | None
    jug_stock: float | None
    jug_soap: float | None
    overflow: bool
    fill: float
    covers: float
    rows: tuple[StrengthRow, ...]
    where: Where

    @property
    def pull(self) -> float | None:
        """Stock to load [m3]: what is mixed, with the spare, if the lot is as weak as its band allows."""
        if self.stock is None or self.lot is None:
            return None
        weak = self.lot.nominal / self.lot.low if self.lot.nominal and self.lot.low else 1.0
        return self.stock * weak * (1.0 if self.kind == "premix" else 1.0 + self.spare)

    @property
    def surfaces(self) -> tuple[str, ...]:
        """Names of the surfaces it goes on."""
        return tuple(part.surface.name for part in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class StrengthRow:
    """If the stock tests at `strength` [kg/m3]: `stock` [m3] in each batch, or the `dial`; None: it can't be done."""

    strength: float
    stock: float | None
    dial: float | None
    wall: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterPlan:
    """Water of the job in m3 by use, and seconds each use takes at the solved flow."""

    pre_wet: float
    mix: float
    rinse: float
    clean: float
    flush: float
    beds: float
    seconds: Mapping[str, float]

    @property
    def need(self) -> float:
        """All of it [m3]."""
        return self.pre_wet + self.mix + self.rinse + self.clean + self.flush + self.beds


@dataclass(frozen=True, slots=True, kw_only=True)
class BedWater:
    """Water for the flower beds [m3], and how often [s] while the mix is out."""

    area: float
    before: float
    during: float
    after: float
    every: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FlushPlan:
    """One part to flush: `volume` [m3] and `seconds` at the run's flow, to `residual` [kg/m3]; None: can't be."""

    run: str
    leaves: str
    part: str
    strength: float
    target: float
    volume: float | None
    seconds: float | None
    residual: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Neutraliser:
    """So much `agent` [kg] to make `volume` [m3] of `strength` [kg/m3] harmless, a fifth over included in `carry`.

    `thin_to` [m3] is what it is filled up to with water first, where it is too strong to treat as it is.
    """

    agent: str
    purpose: str
    volume: float
    strength: float
    thin_to: float | None
    mass: float
    carry: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceWork:
    """The work on one surface: elapsed seconds to wet, apply, rinse, clean; trigger time, dwell, sections."""

    surface: Surface
    run: str
    wet: float
    apply: float
    trigger: float
    rinse: float
    dwell_least: float
    dwell_most: float
    clean: float
    clean_volume: float
    sections: int
    section: float
    wet_volume: float
    rinse_volume: float
