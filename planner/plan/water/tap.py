"""What the customer's tap gives into a tank of the rig, alone or while flower beds are watered from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from fluids.numerics import brenth

from planner.inputs.joined import JobInput, RunInput
from planner.inputs.joining.runs import fittings_of, hose_piece
from planner.inputs.models import Tank
from planner.inputs.tables.chemicals import ACIDS, chemical_named
from planner.physics.hoses import Hose, crane_k
from planner.physics.liquids import GRAVITY, water_density, water_viscosity
from planner.physics.parts import HosePart, MinorPart, Part, total_head
from planner.physics.supply import Tap
from planner.physics.tanks import full_depth
from planner.plan.line.apparatus import tap_of
from planner.plan.mix.model import MixPlan
from planner.plan.mix.pouring import tank_volumes

_FLOW_TOLERANCE: Final = 1e-15


@dataclass(slots=True, kw_only=True)
class Filler:
    """A tap, the supply hose and the tank's rim that the hose ends at, `rise` [m] above the rig's ground.

    Free discharge: no pressure is left where the hose ends. `assumed`: nobody tested the tap, so an ordinary one
    is taken, whose `test_flow` is the default.
    """

    tap: Tap
    parts: tuple[Part, ...]
    rise: float
    density: float
    viscosity: float
    assumed: bool
    _known: dict[float, float] = field(default_factory=dict)

    def flow(self, taken: float = 0.0) -> float:
        """Flow into the tank [m3/s] while something else takes `taken` [m3/s] from the same tap.

        Tap curve = hose loss + rise of the hose's end, one bracketed root; 0 where the tap does not lift it there.
        """
        if taken not in self._known:
            self._known[taken] = self._solved(taken)
        return self._known[taken]

    def _solved(self, taken: float) -> float:
        weight = self.density * GRAVITY
        most = (self.tap.flow(0.0) or 0.0) - taken
        if most <= 0.0:
            return 0.0

        def left(flow: float) -> float:
            lost = total_head(self.parts, flow, self.viscosity / self.density)
            return self.tap.pressure(flow + taken) - weight * (self.rise + lost)

        if left(0.0) <= 0.0:
            return 0.0
        if left(most) >= 0.0:
            return most
        return float(brenth(left, 0.0, most, xtol=_FLOW_TOLERANCE))


def water_tank(job: JobInput) -> Tank | None:
    """The rig's tank for plain water: one that a run draws plain water from, else the first that holds water."""
    fed = [run.feed_tank for run in job.runs if run.feed_tank is not None and not run.premix]
    mixed = {run.feed_tank.name for run in job.runs if run.feed_tank is not None and run.premix}
    holding = [tank for tank in job.rig.tanks if tank.holds == "water"]
    unsaid = [tank for tank in job.rig.tanks if tank.holds is None and tank.name not in mixed]
    return next(iter([*fed, *holding, *unsaid]), None)


def tank_in_reach(job: JobInput, run: RunInput) -> Tank | None:
    """The tank of plain water that a run's suction gets to, the job's own first; None: it gets to none."""
    own, draws = water_tank(job), run.pump.draws if run.pump is not None else None
    tanks = [*([own] if own is not None else []), *(tank for tank in job.rig.tanks if tank.holds == "water")]
    return next((tank for tank in tanks if draws is None or tank.name in draws), None)


def sours(run: RunInput, mixes: Sequence[MixPlan]) -> bool:
    """Whether a run's suction stands in acid: its pump is kept for one, or its mixes are."""
    kept = chemical_named(run.pump.dedicated) if run.pump is not None and run.pump.dedicated else None
    mixed = any(mix.run.name == run.name and mix.chemical in ACIDS for mix in mixes)
    return mixed or (kept is not None and kept.name in ACIDS)


def by_pail(job: JobInput, run: RunInput, mixes: Sequence[MixPlan]) -> bool:
    """Whether a run's plain water comes out of a pail: it stood in acid, or gets to no tank of water."""
    return run.premix and (sours(run, mixes) or tank_in_reach(job, run) is None)


def has_tap(job: JobInput) -> bool:
    """Whether the job has a tap or hydrant to fill from."""
    return job.water.source in ("tap", "hydrant")


def open_flow(job: JobInput) -> float | None:
    """What the open tap gives into a bucket under it [m3/s]; None without a tap, or with one nobody tried."""
    return tap_of(job.water).flow(0.0) if has_tap(job) else None


def filler_of(job: JobInput, tank: Tank | None) -> Filler | None:
    """The job's tap filling `tank`; None without a tap. Without a tank the hose ends on the ground."""
    if not has_tap(job):
        return None
    water = job.water
    tap = tap_of(water)
    assumed = tap.test_flow is None or tap.residual is None or tap.static <= tap.residual
    if assumed:
        tap = Tap(static=max(tap.static, 1.0), residual=0.0, test_flow=usual_flow(job))
    rim = 0.0
    if tank is not None:
        rim = max((tank.floor or 0.0) + (full_depth(tank_volumes(tank)) or 0.0), 0.0)
    return Filler(
        tap=tap,
        parts=_supply_parts(job),
        rise=rim,
        density=water_density(water.temperature),
        viscosity=water_viscosity(water.temperature),
        assumed=assumed or "tap" in water.assumed,
    )


def usual_flow(job: JobInput) -> float:
    """An ordinary tap's flow [m3/s], also taken for pumping water over from tank to tank."""
    return float(job.tables["defaults"]["tap_flow"])


def pour_flow(job: JobInput) -> float:
    """How fast water runs into a mix tank [m3/s]: as the tap fills it, or pumped over where there is no tap."""
    tank = next((run.feed_tank for run in job.runs if run.premix), None)
    filler = filler_of(job, tank)
    return (filler.flow() if filler is not None else 0.0) or usual_flow(job)


def _supply_parts(job: JobInput) -> tuple[Part, ...]:
    supply = job.rig.supply_hose
    if supply is None:
        return ()
    piece = hose_piece("supply hose", supply)
    hose = Hose(bore=piece.bore, length=piece.length, roughness=piece.roughness)
    parts: list[Part] = [HosePart(name=piece.name, hose=hose)]
    for fitting in fittings_of(supply.fittings, supply.bore):
        each = fitting.k if fitting.k is not None else crane_k(fitting.k_times_ft or 0.0, piece.bore)
        parts.append(MinorPart(name=fitting.kind, k=fitting.count * each, bore=piece.bore))
    return tuple(parts)
