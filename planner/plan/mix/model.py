"""What the plan says of mixes, water and flushes: frozen figures in SI (kg/m3 is g/L).

Mixes that chemical and run do not tell apart bear number and walls on paper; `name` has no number, for `accept` and the
archive go by it.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import field
from itertools import pairwise
from types import MappingProxyType
from typing import Final, Literal

from planner.chemistry import dosing
from planner.faults import Where
from planner.frozen import dataclass
from planner.inputs.joined import ChemicalInput, RunInput, Surface
from planner.plan.days.pending import Benched, Pending
from planner.plan.sky.model import Dries, Mists
from planner.plan.water.model import Pace


@dataclass(frozen=True, slots=True, kw_only=True)
class TankHeel:
    """So much [m3] in a tank, of a chemical at a strength [kg/m3] with a share of soap [-].

    `of`: the job of today whose mix was left there for the next one; "" of anything else.
    """

    volume: float
    strength: float
    soap: float
    chemical: str
    of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextMix:
    """What the day's next job, called `job`, mixes in a tank, and whether `soap` goes into it."""

    job: str
    chemical: str
    soap: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteTrace:
    """What an earlier job left on a site: `mass` [kg] of active of a `chemical`, None where not known.

    `walls` are those it went on whose pores keep it. `today`: on the same day, else on the `date` before.
    """

    address: str
    job: str
    chemical: str
    mass: float | None
    walls: tuple[str, ...]
    today: bool
    date: datetime.date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """The rig as one job leaves it to the next: `tanks` by name, `parts` with the chemical that last went through.

    `water` [m3] is what stands in the tanks for plain water; one that is not named is full. `ends` [s from midnight]
    is when the job before is done, None where there was none or nobody knows; `lost` names what the clock waits for:
    a job that cannot be read, or a drive that is missing. `sites`: what the jobs before left where they were;
    `bleach_pumps`: pumps bleach went through in the days looked back upon, whatever was flushed through them since;
    `unflushed`: parts no planned flush has gone through since they carried a mix. `taken` [m3, or kg of what is dry]:
    what the jobs before pulled of each lot, days before too; `used` what their acts take of it. `overnight`: what the
    days before left in tanks of which the day's file says nothing; `gainsaid`: what they left in tanks that it says
    hold something else; `pending`: jobs that come first and are not counted as done. `bathed`: pumps that lay in an
    acid bath today; `benched`: what yard jobs of the day found of worn pumps. `next_in`: what the day's next job mixes
    in which tank, so that what is left over of the same may stay there for it.
    """

    tanks: Mapping[str, TankHeel] = field(default_factory=lambda: MappingProxyType({}))
    parts: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    water: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    ends: float | None = None
    lost: str = ""
    sites: tuple[SiteTrace, ...] = ()
    bleach_pumps: frozenset[str] = frozenset()
    unflushed: frozenset[str] = frozenset()
    taken: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    used: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    overnight: Mapping[str, TankHeel] = field(default_factory=lambda: MappingProxyType({}))
    gainsaid: Mapping[str, TankHeel] = field(default_factory=lambda: MappingProxyType({}))
    pending: tuple[Pending, ...] = ()
    bathed: frozenset[str] = frozenset()
    benched: tuple[Benched, ...] = ()
    next_in: Mapping[str, NextMix] = field(default_factory=lambda: MappingProxyType({}))


EMPTY = Carried()
"""A rig that holds nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One thing to find out. gainsaid: whether the tank `place` was rinsed of the `chemical` an earlier day left in it.

    chlorine: whether bleach is left in the line of the run `place`, of which nothing is known. undated: all of it, as
    the job has no day. dry: whether it is empty and rinsed, as nothing else is known of it.

    stick: how much stands in it; by an earlier day's plan or record `volume` [m3] of `chemical`. strip: what `place`,
    a job that is not counted as done or cannot be read, left in the tanks and lines.
    """

    what: Literal["dry", "stick", "strip", "gainsaid", "chlorine", "undated"]
    place: str
    chemical: str = ""
    volume: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LotToday:
    """A lot on the day of the job: active [kg/m3], or None for a dry chemical or one whose strength is not written.

    `age` [s] since it was made or last tested, None where neither is known; `tested` says which. `on_hand` [m3] or
    `on_hand_mass` [kg] is what the jobs before left of it. `known`: its age is known, so its strength is more than
    what was written. `hot`: the warmest it stood at in that time is at or above what counts as hot.
    `not_yet`: it is written as made or tested later than that day. `lye_ph`: the pH of bleach by its excess lye, None
    of anything else.
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
    not_yet: bool = False
    lye_ph: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LotShare:
    """What one lot gives to a mix: `stock` [m3], or `mass` [kg] of a dry chemical; `pull` [m3] or `pull_mass` to load.

    `mix` [m3] is what is sprayed with it on a panel or injector, `share` [-] its part of that, `dial` or `jug_stock`
    how it is set or thinned; None for a tank. A lot with a pull and no stock rides along in case another is weak.
    """

    lot: LotToday
    stock: float = 0.0
    mass: float = 0.0
    pull: float = 0.0
    pull_mass: float = 0.0
    mix: float | None = None
    share: float | None = None
    dial: float | None = None
    jug_stock: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AcidMix:
    """What diluted acid comes to: `mass_fraction` [kg/kg], `density` [kg/m3], `normality` [mol/L], its warming [K]."""

    mass_fraction: float
    density: float
    normality: float
    rise: float
    rise_high: float


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
    """What one surface takes: `area` [m2] of it by this run, `coverage` [m2/m3], `mix` [m3] without spare.

    `mist` [m3] of the mix keeps it wet, each of so many `mists`; they are in `mix`.
    """

    surface: Surface
    area: float
    coverage: float
    mix: float
    mists: int = 0
    mist: float = 0.0

    @property
    def applied(self) -> float:
        """What goes on before any mist [m3]."""
        return self.mix - self.mists * self.mist


QUARTERS: Final = (1.0, 0.75, 0.5, 0.25)
"""How full the water tank is in the columns of the card; each holds until the next."""

Untold = Literal["feed", "levels", "height", "drum_height", "shape", "loss", "small", "tests", "dry"]
"""What is not known or cannot be: a tap's pressure before the panel, levels of the test not written or none its tank
or its drum has, the tank's shape, the water leg's loss not written or too small for them, tests no panel gives, and a
stock leg that draws nothing from where it stands."""

DrumUnknown = Literal["drum_floor", "container", "on_hand"]
"""The key without which nobody knows how high a drum stands over a panel tonight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelPlan:
    """One panel on one run. `untold` says why its levels cannot be reckoned with; then nothing else is told.

    `marks` are, for each of QUARTERS and then for an empty tank, what every mark of the dial draws there, the drum
    falling with the tank. `least` and `most` are the same with the drum as low and as high as it may be; `drum` is what
    nobody wrote of it.
    """

    untold: Untold | None = None
    marks: tuple[tuple[dosing.DialPoint, ...], ...] = ()
    least: tuple[tuple[dosing.DialPoint, ...], ...] = ()
    most: tuple[tuple[dosing.DialPoint, ...], ...] = ()
    drum: DrumUnknown | None = None

    def dials(self, wanted: float) -> tuple[float | None, ...]:
        """Where the dial goes for the share `wanted` [-] at each of QUARTERS; None where no tested mark draws it."""
        return tuple(dosing.dial_for(wanted, points).setting for points in self.marks[:-1])

    def kept(self, wanted: float) -> float:
        """What the share comes to [-], as part of what is `wanted`, with the tank empty and the dial never moved."""
        first = dosing.dial_for(wanted, self.marks[0]).setting
        return 1.0 if first is None else (dosing.share_at(first, self.marks[-1]) or 0.0) / wanted

    def refill(self, wanted: float, most: float) -> float | None:
        """How full the water tank is [-] where the share leaves what is `wanted` by `most` [-], the dial never moved.

        By straight lines between those levels; None where it never does.
        """
        first = dosing.dial_for(wanted, self.marks[0]).setting
        if first is None:
            return None
        parts = [_drawn(first, points) / wanted for points in self.marks]
        for (full, part), (lower, after) in pairwise(zip((*QUARTERS, 0.0), parts, strict=True)):
            if abs(after - 1.0) > most:
                end = 1.0 + most if after > 1.0 else 1.0 - most
                return full - (full - lower) * min(max((end - part) / (after - part), 0.0), 1.0)
        return None

    def by_drum(self, wanted: float) -> tuple[float, float]:
        """The same for the drum alone, the tank full: as low and as high as it may be."""
        first = dosing.dial_for(wanted, self.marks[0]).setting
        ends = (self.least[0], self.most[0])
        low, high = (1.0 if first is None else _drawn(first, points) / wanted for points in ends)
        return low, high

    def moved(self, wanted: float) -> tuple[float, float]:
        """The least and most of the share [-], as parts of what is `wanted`, where the dial is moved at each quarter.

        A mark that no test reaches stays where it was.
        """
        least = most = 1.0
        standing = self.dials(wanted)[0]
        for place, here in enumerate(self.marks[:-1]):
            standing = dosing.dial_for(wanted, here).setting or standing
            if standing is None:
                continue
            for points in (*self.least[place : place + 2], *self.most[place : place + 2]):
                part = _drawn(standing, points) / wanted
                least, most = min(least, part), max(most, part)
        return least, most


def _drawn(setting: float, points: Sequence[dosing.DialPoint]) -> float:
    """What a mark draws [-], by straight lines between those tested."""
    rows = sorted(points, key=lambda point: point.setting)
    for low, high in pairwise(rows):
        if low.setting <= setting <= high.setting:
            along = (setting - low.setting) / (high.setting - low.setting)
            return low.share + along * (high.share - low.share)
    return rows[0].share if setting < rows[0].setting else rows[-1].share


@dataclass(frozen=True, slots=True, kw_only=True)
class MixPlan:
    """One mix of one run. Volumes in m3, strengths in kg/m3, None where nothing can be said.

    `need` is what goes on the wall, in a tank with the `spare` and the hose's own; `mix` what is made, heel
    included; `heel_held` [m3] is what the tank really holds tonight, of `heel_chemical`. `share` is the stock's share
    of the flow on a panel, `dial` its setting; `jug_*` the shares in an injector's jug. `wall_low`, `wall_high` are
    what lands if the stock is at the ends of its band and everything is set for nominal. `fill` is what the hose
    holds. `target` 0: not known.
    `pours` are the lots it takes in order, `lot` the first of them, `soaps` the same of its soap; `able` the lots that
    could make it. `short`, `short_pull` [m3, or kg of a dry chemical]: what they lack, as poured and as loaded.
    `ratio_band` [-]: between these shares of the ratio written an injector's may be; `ratio_tested` by a dated test.
    `dissolves` [kg/m3] is the most of a dry chemical tonight's water takes up. `acid`: what diluted acid comes to.
    `draws_over` [-] is how much more than its share a panel or injector may draw. `stick_least` [m]: what lifts the
    stick by less is not read off it. `panels`: its panel as it draws from each lot, by name, "" where there is none.
    `heel_of`: the job of today that left its mix in the tank for this one. `stays_for`: the next job, which what is
    left over of this mix stays in the tank for: `stays` [m3] above the outlet; "" and 0: acts drain it.
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
    stick_least: float
    rows: tuple[StrengthRow, ...]
    where: Where
    pours: tuple[LotShare, ...] = ()
    soaps: tuple[LotShare, ...] = ()
    able: tuple[LotToday, ...] = ()
    short: float = 0.0
    short_pull: float = 0.0
    dissolves: float | None = None
    acid: AcidMix | None = None
    ratio_band: tuple[float, float] = (1.0, 1.0)
    ratio_tested: bool = True
    draws_over: float = 0.0
    panels: Mapping[str, PanelPlan] = field(default_factory=lambda: MappingProxyType({}))
    heel_of: str = ""
    stays: float = 0.0
    stays_for: str = ""

    @property
    def panel(self) -> PanelPlan | None:
        """The panel as it draws from the first lot; None where it has none."""
        return self.panels.get(self.lot.name if self.lot is not None else "")

    @property
    def by_level(self) -> tuple[tuple[float, float | None], ...]:
        """The first lot's dial with the water tank so full [-]; empty where its level changes nothing that is known."""
        strength = self.lot.nominal if self.lot is not None else None
        if self.panel is None or self.panel.untold is not None or not strength or self.dial is None:
            return ()
        return tuple(zip(QUARTERS, self.panel.dials(self.target / strength), strict=True))

    @property
    def spare_loaded(self) -> float:
        """What a panel or injector loads beyond the walls' own [-]: the spare, or what it may draw too much of."""
        return max(self.spare, self.draws_over)

    @property
    def pull(self) -> float | None:
        """Stock to load [m3]: what is mixed, with the spare, if every lot is as weak as its band allows."""
        if self.stock is None or self.lot is None:
            return None
        return sum(share.pull for share in self.pours)

    @property
    def strongest_stock(self) -> float | None:
        """The strongest any lot poured may be [kg/m3], None where nothing is known."""
        highs = [share.lot.high for share in self.pours if share.lot.high is not None]
        own = self.lot.high if self.lot is not None else None
        return max(highs, default=own)

    @property
    def strongest_active(self) -> float | None:
        """All the active its stock may bring [kg], every lot at its strongest; None where that is not known."""
        if self.stock_mass is not None:
            return self.stock_mass
        if self.stock is None or not self.pours or any(share.lot.high is None for share in self.pours):
            return None
        return sum(share.stock * (share.lot.high or 0.0) for share in self.pours)

    @property
    def fill_covers(self) -> float:
        """The least that what the hose holds does of a wall [m2]."""
        return self.fill * min((part.coverage for part in self.parts), default=0.0)

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

    `thin_to` [m3] is what it is filled up to with water first, where it is too strong to treat as it is. `rise` [K]:
    how much warmer the pail, thinned, gets from all of it at once, below 0 colder; None where not known. `of` is the
    chemical that is neutralized. `given`: the acts do it, and `mass` is theirs; else it is carried for what may be.
    """

    agent: str
    purpose: str
    volume: float
    strength: float
    thin_to: float | None
    mass: float
    carry: float
    rise: float | None = None
    of: str = ""
    given: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceWork:
    """The work on one surface: elapsed seconds to wet, apply, rinse, clean; trigger time, dwell, sections.

    `trigger` is the gun open for all of the mix. They are at the pace records know of this kind; `pace` has them at
    the table's. From `dwell_least` to `dwell_most` is aimed at, up to `dwell_bound` is borne. `bare`
    [s] is the longest that what is wetted first of a section waits for its next water or mix, by the acts.
    """

    surface: Surface
    run: str
    wet: float
    apply: float
    trigger: float
    rinse: float
    dwell_least: float
    dwell_most: float
    dwell_bound: float
    clean: float
    clean_volume: float
    sections: int
    wet_volume: float
    rinse_volume: float
    pace: Pace
    dries: Dries | None = None
    mists: Mists | None = None
    bare: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DwellMisfit:
    """A wall no size of section fits: the `shortest` time [s] the mix could stand on it.

    From `least` on is aimed at, `bound` is the most it bears [s].
    """

    surface: str
    shortest: float
    bound: float
    least: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GunsMisfit:
    """Runs to be sprayed at once that two people cannot spray so.

    `why`: many, walls, mix, hose, draws, first, far, beds; `about` a surface, hose or pump.
    """

    runs: tuple[str, ...]
    why: str
    about: str = ""
