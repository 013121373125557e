"""What the plan says of work on a pump in the yard: its bath, its minutes, the throw before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from planner.frozen import dataclass
from planner.inputs.joined import RunInput
from planner.inputs.models import Pump
from planner.plan.mix.model import AcidMix, FlushPlan, LotShare, LotToday, Neutraliser
from planner.plan.wear.model import Found
from planner.plan.yard.parts import BathParts

if TYPE_CHECKING:
    from planner.plan.model import RunPlan

Bleached = Literal["today", "unflushed", "pending", "maybe", "never"]
"""Whether bleach went through the pump: today and flushed since, today and not flushed, in a job of today that is not
counted as done, on other days as far as the rig's setups go, or never."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """What the tub holds once `what` ("water", or the chemical) is in: `volume` [m3], `dip` [m] on a stick.

    `added` [m3] was poured last, or `mass` [kg] of crystals, which are taken to add no volume. `dip` None: nobody wrote
    how wide the tub is. `by_stick`: the rise is enough to measure by; else the jug measures and the stick checks.
    """

    what: str
    added: float
    mass: float | None
    volume: float
    dip: float | None
    by_stick: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BathPlan:
    """A descaling bath. Volumes in m3, strengths in kg/m3 of the active as sold, times in s, at 20 C.

    `volume` is what is poured, stock and water; `fills` what it is once mixed, a little less. `basis` is how its
    strength was written (vol, wt, g_l, normal), `amount` its figure there; `ratio`: written as one part to so many of
    water; `default`: nobody wrote it. `share` [-] of
    what is poured is stock, None of crystals, of which there are `stock_mass` [kg]. `lot` is the first it is poured
    from, None where the shelf has none; `pours` all of them; `able` those that could make it. `short` [m3, or kg] is
    what the shelf lacks. `stock_known` False: no strength is on the lot, so the usual one is taken.
    `capacity` [kg CaCO3] is what it dissolves, `spent` at how much it is changed, None where it dissolves no scale;
    `spent_ph`: above it, it is spent. `carbon_dioxide` [m3 at 25 C] is the most it gives off, spent with the first of
    `neutralise`; `carbon_dioxide_lime` what the scale alone gives. `dissolves` [kg/m3]: the most of crystals the water
    takes up. `mass` [kg] is what the full bath weighs.
    `wipe` is the least and most of one pass of wiping the shaft, `passes` how many, 0 where there is none to wipe;
    `rinse` [m3] is one filling of rinse water, of which there are `rinses`; the first has `rinse_agent` [kg] of
    `rinse_with` in it.
    `tub_least` [m3] is what the tub holds at least: the bath, the parts in it and the foam.
    `across`, `height` [m] are the tub's, `top` [m] where the bath stands with the parts in it, `displaced` [m3] by
    them; `free` [m] is what is left to the rim, less than 0 where it runs over, `freeboard` the least there may be.
    """

    chemical: str
    basis: str
    amount: float
    ratio: bool
    default: bool
    tub_default: bool
    volume: float
    fills: float
    strength: float
    share: float | None
    stock: float
    stock_mass: float | None
    water: float
    lot: LotToday | None
    pours: tuple[LotShare, ...]
    able: tuple[LotToday, ...]
    short: float
    stock_known: bool
    acid: AcidMix | None
    levels: tuple[Level, ...]
    soak: float
    wipe: tuple[float, float] | None
    passes: int
    rinse: float
    rinses: int
    rinse_agent: float
    rinse_with: str
    tub_least: float
    capacity: float | None
    spent: float | None
    spent_ph: float
    carbon_dioxide: float | None
    carbon_dioxide_lime: float | None
    neutralise: tuple[Neutraliser, ...]
    dissolves: float | None
    mass: float
    across: float | None
    height: float | None
    displaced: float
    top: float | None
    free: float | None
    freeboard: float
    bleached: Bleached

    @property
    def reachable(self) -> bool:
        """Whether it can be made at all: no bath is stronger than its stock, or than what dissolves."""
        return self.strength > 0.0 and (self.stock > 0.0 or bool(self.stock_mass))

    @property
    def active(self) -> float:
        """Active in the whole bath [kg]."""
        return self.fills * self.strength


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchPoint:
    """What the test shows with the pump at a `share` [-] of its sound self, of head or of flow.

    `ground` [m] is how far the jet lands along level ground, at the best `angle` [rad]; `flow` [m3/s] at the tip;
    `closed` [Pa] the gauge with the gun closed; None: none to show. `path`: points of the jet (m along, m above the
    ground), empty where nobody asked for it.
    """

    share: float
    ground: float | None
    angle: float | None
    flow: float
    closed: float | None
    path: tuple[tuple[float, float], ...] = ()

    def bucket(self, volume: float) -> float | None:
        """Seconds to fill `volume` [m3]; None where nothing flows."""
        return volume / self.flow if self.flow > 0.0 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrowTest:
    """The line the pump is tested on, on level ground, with plain water; what it shows today and sound.

    `before` stands at what was `found` before the work where that tells, else at what the rig's file or records say.
    `of` is what wear takes: head or flow. `written` [m] is the throw somebody paced out before, None
    where nobody did; `found` has it and gauge and bucket with what each says of the pump.
    `limit` [-] is the share below which a pump is worn. `bucket` [m3] is the size timed.
    """

    run: RunInput
    of: Literal["head", "flow"]
    before: BenchPoint
    after: BenchPoint
    written: float | None
    limit: float
    bucket: float
    found: tuple[Found, ...] = ()

    @property
    def paced(self) -> Found | None:
        """The throw that was paced out, with what it says."""
        return next((reading for reading in self.found if reading.by == "throw"), None)

    @property
    def written_share(self) -> float | None:
        """The share [-] whose throw that is, 1 at most, whether it tells or not; None beyond anything a pump gives."""
        paced = self.paced
        return paced.share if paced is not None and paced.side != "high" else None


HeldWhy = Literal["unflushed", "dedicated", "pending", "today", "setup"]
"""Why a pump may hold a chemical: it carried it and no flush followed, it is kept for it, a job that is
not counted as done sends it through, one of today or of the days before did, or a setup of the rig does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpHeld:
    """A chemical the pump may still hold when it is opened; `most` [kg/m3] is the strongest, None: nobody knows."""

    chemical: str
    why: HeldWhy
    most: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FoulTank:
    """The tank a test draws from that does not give plain water: what it `holds`, and how that is known.

    `why`: it stands in it, the tank is kept for it, or mix is made in it; `water`: it stands in a tank for water, where
    it may not go back to once it is drained for the test.
    """

    tank: str
    holds: str
    why: Literal["stands", "water", "kept", "mixed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """What nobody wrote of a bath: the `amount` taken for it, in vol % of a bath, m3 of a tub, wt % of a stock."""

    what: Literal["bath", "tub", "stock"]
    of: str
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class YardPlan:
    """Work on one pump: `works` in order (descale, rebuild, test), what is known of its parts, bath and test.

    `stages` None: not written on the rig. `bath` None: nothing is descaled, or nothing of the pump may lie in a bath
    (`no_bath`); `test` None: no setup of the rig sprays with this pump, or its line has no operating point. `acid` is
    what the bath is asked to be of, None where none is; `parts` what it does to the pump;
    `filled` what was filled in where nobody wrote it. `held` is what the pump may still hold, the gravest reason first;
    `feed` is what it is tested from, a tank or the tap; `tank` that tank where it does not give plain water, else None.
    `runs` are the line of the test, before and, where the pump is opened, after it; none without a test. `flushes`: the
    water run through it on that line, none where there is nothing to flush.
    """

    pump: Pump
    works: tuple[str, ...]
    stages: int | None
    replace: tuple[str, ...]
    spacers: tuple[str, ...]
    notes: str | None
    acid: str | None
    parts: BathParts
    no_bath: bool
    bath: BathPlan | None
    test: ThrowTest | None
    filled: tuple[Filled, ...] = ()
    held: tuple[PumpHeld, ...] = ()
    feed: str = ""
    tank: FoulTank | None = None
    runs: tuple[RunPlan, ...] = ()
    flushes: tuple[FlushPlan, ...] = ()

    @property
    def opened(self) -> bool:
        """Whether the pump is taken apart: to rebuild it, or to get at its lime."""
        return "rebuild" in self.works or "descale" in self.works

    @property
    def handled(self) -> tuple[str, ...]:
        """What may come over a hand of what pump and tank hold."""
        texts = [pump_held.chemical for pump_held in self.held]
        texts += [self.tank.holds] if self.tank is not None else []
        return tuple(dict.fromkeys(texts))
