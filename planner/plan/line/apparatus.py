"""What was written about pumps, hoses and tips, turned into the apparatus that physics knows.

A panel's loss stands on the suction side, where it takes from what the pump's inlet has; an injector's at the outlet.
Fed by a tap, a pump's water goes through the supply hose and then its own suction; the sharp entrance belongs to tanks
and ponds only. Lye alone changes a run's viscosity.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from planner.chemistry import hypochlorite, solutions
from planner.inputs.joined import Fitting, HosePiece, JobInput, RunInput, WaterInput
from planner.inputs.models.gear import Pump
from planner.inputs.reading.strengths import Strength
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS
from planner.inputs.tables.defaults import default
from planner.physics import pumps, tips
from planner.physics.hoses import Hose, crane_k, entrance_k, reducer_k
from planner.physics.lines import Branch, Fluid, Fork, Line, Operating, SolveError, Source, taken
from planner.physics.liquids import (
    GRAVITY,
    REFERENCE_DENSITY,
    mix_density,
    water_density,
    water_vapour_pressure,
    water_viscosity,
)
from planner.physics.parts import CoilPart, DevicePart, HosePart, MinorPart, Part, total_head
from planner.physics.pumps import HeadPump, PistonPump
from planner.physics.supply import Tap
from planner.plan.mix.lots import active
from planner.plan.mix.panel import TESTED_WITH, inlet_loss
from planner.plan.model import Liquid

_WEIGHT = REFERENCE_DENSITY * GRAVITY
"""Pressures of pump curves, rated tips and devices are stated on water at 68 F."""


def liquid(temperature: float, strength: float, thick: tuple[float, float] = (1.0, 1.0)) -> Liquid:
    """Water at `temperature` [K] carrying `strength` [g/L] of available chlorine, or so much denser and thicker [-].

    Viscosity stays water's for all but what has rows of it, such as lye; both factors are taken at 20 C.
    """
    denser, thicker = thick
    return Liquid(
        density=mix_density(water_density(temperature), strength) * denser,
        viscosity=water_viscosity(temperature) * thicker,
        vapour_pressure=water_vapour_pressure(temperature),
        strength=strength,
        temperature=temperature,
    )


def fluid(of: Liquid) -> Fluid:
    """The part of a liquid that the line solve needs."""
    return Fluid(density=of.density, viscosity=of.viscosity)


def strongest(job: JobInput, run: RunInput) -> float:
    """The densest mix of the run, as g/L of available chlorine; 0 where it sprays plain water."""
    if not run.premix and run.dosing is None:
        return 0.0
    strengths = [
        _share_of_stock(job, BLEACH, surface.strength)
        if surface.strength.basis == "vol"
        else available_chlorine(surface.strength)
        for surface in job.surfaces
        if surface.name in run.surfaces and surface.strength is not None and surface.chemical == BLEACH
    ]
    return max(strengths, default=0.0)


def thickest(job: JobInput, run: RunInput) -> tuple[float, float]:
    """How much denser and thicker than water [-] the run's thickest mix is; 1 where none is or tells how strong."""
    found = [(1.0, 1.0)]
    if not run.premix and run.dosing is None:
        return found[0]
    for surface in job.surfaces:
        row, wanted = CHEMICALS.get(surface.chemical or ""), surface.strength
        if surface.name not in run.surfaces or row is None or not row.solution.thickness or wanted is None:
            continue
        amount = _share_of_stock(job, row.name, wanted) if wanted.basis == "vol" else active(wanted, row.name)
        rows = row.solution.rows
        if amount is not None and amount <= solutions.strength(rows, rows[-1][0]):
            fraction = solutions.mass_fraction(rows, amount)
            denser = solutions.density(rows, fraction) / solutions.density(rows, 0.0)
            found.append((denser, solutions.thickness(rows, row.solution.thickness, fraction)))
    return max(found, key=lambda one: one[1])


def _share_of_stock(job: JobInput, chemical: str, wanted: Strength) -> float:
    """A share by volume of the strongest lot there is [kg/m3], as its label has it; 0 where none says: no mix then."""
    stocks = [active(lot.strength, chemical) for lot in job.lots if lot.chemical == chemical and lot.strength]
    return wanted.amount / 100.0 * max((stock for stock in stocks if stock is not None), default=0.0)


def available_chlorine(strength: Strength) -> float:
    """What a strength of hypochlorite on the wall comes to, g/L of available chlorine; a mix has no excess caustic."""
    if strength.basis in ("trade", "g_l_cl2", "wt_cl2", "wt_naocl"):
        return hypochlorite.from_label(strength.amount, strength.basis, excess_caustic=0.0)
    return 0.0


def curve_points(pump: Pump) -> tuple[tuple[float, float], ...]:
    """Flow [m3/s] and head [m] of water at 68 F along a pump's curve: as written, or from its plate.

    A plate's curve is straight from shut-off to open flow; of a centrifugal pump a parabola through shut-off and best
    point, H = H0 - k Q^2 (textbook form, from memory), to `plate_runs_to` times its best flow.
    """
    if pump.curve is not None:
        return tuple(
            (point.flow, point.head if point.head is not None else (point.pressure or 0.0) / _WEIGHT)
            for point in pump.curve
        )
    shut, best = (pump.shut_off or 0.0) / _WEIGHT, pump.best
    if best is None:
        return ((0.0, shut), (pump.flow or 0.0, 0.0))
    head = best.head if best.head is not None else (best.pressure or 0.0) / _WEIGHT
    runs_dry = (shut / (shut - head)) ** 0.5
    shares = (0.0, 0.25, 0.5, 0.75, 1.0, min(default("plate_runs_to"), runs_dry))
    return tuple((share * best.flow, shut - (shut - head) * share**2) for share in shares)


def pump_of(run: RunInput) -> HeadPump | PistonPump | None:
    """The run's pump as it runs today: its speed and condition are in the curve."""
    return pump_alone(run.pump) if run.pump is not None else None


def pump_alone(pump: Pump) -> HeadPump | PistonPump:
    """The same of a pump in no run."""
    ratio = pump.speed / pump.curve_speed if pump.speed and pump.curve_speed else 1.0
    if pump.of_kind.curve == "constant":
        assert pump.flow is not None
        return PistonPump(flow=pump.flow * ratio, unloader=pump.unloader)
    shape = pumps.centrifugal if pump.of_kind.curve == "bent" else pumps.diaphragm
    return shape(curve_points(pump), cut_off=pump.cut_off, speed_ratio=ratio, condition=pump.condition)


def source_of(run: RunInput, water: WaterInput, carried: Fluid) -> Source:
    """Where the run's pump draws from, and what lies between."""
    parts: list[Part] = [HosePart(name=h.name, hose=_hose(h)) for h in run.suction]
    first = run.suction or (run.hoses if run.falls else ())
    if run.feed != "tap" and first:
        parts.append(MinorPart(name="entrance", k=entrance_k(), bore=first[0].bore))
    bores = [h.bore for h in run.suction]
    for fitting in run.suction_fittings:
        bore = fitting.bore or min(bores, default=0.0)
        if bore > 0.0:
            parts.append(MinorPart(name=fitting.kind, k=_k(fitting, bore, bores), bore=bore))
    parts += _device(run, "metered")
    if run.feed == "tap":
        return Source(fluid=carried, tap=tap_of(water), parts=tuple(parts))
    return Source(fluid=carried, level=run.feed_head, parts=tuple(parts))


def tap_of(water: WaterInput) -> Tap:
    """The tap as tested, or at constant static pressure where it was not."""
    return Tap(static=water.static or 0.0, residual=water.residual, test_flow=water.test_flow)


def trunk_of(run: RunInput) -> tuple[Part, ...]:
    """The injector at the pump's outlet, which every run sprayed at once shares."""
    return _device(run, "injector")


def _device(run: RunInput, kind: str) -> tuple[Part, ...]:
    """What a dosing of this kind costs, where it says so: a panel by its tests before its `loss`."""
    dosing = run.dosing
    if dosing is None or dosing.kind != kind:
        return ()
    leg = inlet_loss(dosing, REFERENCE_DENSITY, TESTED_WITH * REFERENCE_DENSITY) if kind == "metered" else None
    if leg is not None and dosing.at is not None:
        return (DevicePart(name=dosing.name, rated_head=leg * dosing.at.flow**2 / _WEIGHT, rated_flow=dosing.at.flow),)
    if dosing.loss is None:
        return ()
    loss = dosing.loss
    return (DevicePart(name=dosing.name, rated_head=loss.pressure / _WEIGHT, rated_flow=loss.flow),)


def branch_of(run: RunInput) -> Branch:
    """Hoses, fittings and reel between the pump and the run's tip."""
    return _leaf(run, 0)


def branches_of(runs: Sequence[RunInput], depth: int = 0) -> tuple[Branch | Fork, ...]:
    """Runs sprayed at once: those that go on with the same named hose after `depth` of them share it.

    The order is that of the runs, each drawn up to the first that shares with it. Raises SolveError for gear changed on
    trial so that one hose would lie in two places.
    """
    if not depth:
        _laid_once(runs)
    branches: list[Branch | Fork] = []
    left = list(runs)
    while left:
        together = [run for run in left if run is left[0] or _goes_on_with(run, left[0], depth)]
        left = [run for run in left if run not in together]
        if len(together) == 1:
            branches.append(_leaf(together[0], depth))
            continue
        end = depth + 1
        while all(_goes_on_with(run, together[0], end) for run in together):
            end += 1
        branches.append(Fork(parts=_shared(together, depth, end), branches=branches_of(together, end)))
    return tuple(branches)


def _laid_once(runs: Sequence[RunInput]) -> None:
    for run, other in combinations(runs, 2):
        depth = 0
        while _goes_on_with(run, other, depth):
            depth += 1
        shared = sum(hose.length for hose in run.hoses[:depth])
        reels = {round(min(one.on_reel, shared), 6) for one in (run, other)}
        beyond = [{hose.name for hose in one.hoses[depth:] if hose.named} for one in (run, other)]
        if beyond[0] & beyond[1] or len(reels) > 1:
            raise SolveError(f"{run.name} and {other.name} would have one hose in two places")


def _goes_on_with(run: RunInput, other: RunInput, depth: int) -> bool:
    if depth >= min(len(run.hoses), len(other.hoses)):
        return False
    ours, theirs = run.hoses[depth], other.hoses[depth]
    return ours.named and theirs.named and ours.name == theirs.name


def _leaf(run: RunInput, depth: int) -> Branch:
    """What of a run lies behind its first `depth` hoses, which others share."""
    hoses, reel = _laid(run, depth, len(run.hoses))
    return Branch(
        name=run.name,
        parts=(*hoses, *_fittings(run, len(run.hoses) - depth), *reel),
        coefficient=tip_coefficient(run),
        tip_height=run.uphill + run.tip_height,
    )


def _shared(runs: Sequence[RunInput], start: int, end: int) -> tuple[Part, ...]:
    """Hoses `start` to `end` of runs that share them. Of their fittings the run's counts that has most there."""
    hoses, reel = _laid(runs[0], start, end)
    fittings = [part for run in runs for part in _fittings(run, end - start)]
    return (*hoses, *sorted(fittings, key=lambda part: part.k / part.bore**4)[-1:], *reel)


def _laid(run: RunInput, start: int, end: int) -> tuple[list[HosePart], list[CoilPart]]:
    """A run's hoses from one place to another, and what of them stays on the reel."""
    pieces, hoses = run.hoses[start:end], coiled(run)[start:end]
    on_drum = tuple(hose for hose in hoses if hose.coiled > 0.0)
    parts = [HosePart(name=piece.name, hose=hose) for piece, hose in zip(pieces, hoses, strict=True)]
    return parts, [CoilPart(name="coil", coils=on_drum)] if on_drum else []


def _fittings(run: RunInput, hoses: int) -> list[MinorPart]:
    """A run's fittings on so many of its hoses, over all of which they are taken to be spread evenly."""
    if not run.fittings or not hoses:
        return []
    bores = [hose.bore for hose in run.hoses]
    narrow = min(bores)
    k = sum(_k(fitting, narrow, bores) for fitting in run.fittings) * hoses / len(bores)
    return [MinorPart(name="fittings", k=k, bore=narrow)]


def coiled(run: RunInput) -> list[Hose]:
    """The run's hoses with what stays on the reel: the first `on_reel` metres from the pump."""
    left = run.on_reel
    hoses = []
    for piece in run.hoses:
        on_drum = min(left, piece.length)
        left -= on_drum
        hoses.append(_hose(piece, on_drum))
    return hoses


def tip_coefficient(run: RunInput) -> float:
    """Flow per root of head of the run's tip [m3/s per m^0.5]."""
    tip = run.tip
    if tip.orifice is not None:
        return tips.bore_coefficient(tip.orifice, tip.discharge_coefficient)
    if tip.size is not None:
        return tips.sized_coefficient(tip.size)
    assert tip.flow is not None
    assert tip.at is not None
    return tips.rated_coefficient(tip.flow, tip.at)


def tip_orifice(run: RunInput) -> float:
    """Diameter [m] of the jet's orifice; of a rated tip, the smooth bore that passes the same."""
    if run.tip.orifice is not None:
        return run.tip.orifice
    return tips.equivalent_orifice(tip_coefficient(run), default("rated_discharge"))


def _hose(piece: HosePiece, on_drum: float = 0.0) -> Hose:
    return Hose(
        bore=piece.bore,
        length=piece.length,
        roughness=piece.roughness,
        coiled=on_drum,
        coil_diameter=piece.coil + piece.bore,
    )


def _k(fitting: Fitting, bore: float, bores: list[float]) -> float:
    if fitting.k is not None:
        return fitting.count * fitting.k
    if fitting.k_times_ft is not None:
        return fitting.count * crane_k(fitting.k_times_ft, bore)
    return fitting.count * reducer_k(max(bores), min(bores))


# ------------------------------------------------------------ curves
# Pump and line as curves of flow against pressure at the pump's outlet, for the worksheet.


_POINTS = 25


def delivery_curve(line: Line, point: Operating) -> tuple[tuple[float, float], ...]:
    """(flow [m3/s], pressure at the pump's outlet [Pa]) that source and pump give, down to no pressure."""
    pump = line.pump
    if isinstance(pump, PistonPump):
        top = max(point.outlet * 1.25, pump.unloader or 0.0)
        return ((pump.flow, 0.0), (pump.flow, top))
    most = pump.last_flow if isinstance(pump, HeadPump) else point.pump_flow * 1.5
    most = max(most, point.pump_flow * 1.2)
    curve = []
    for n in range(_POINTS):
        flow = most * n / (_POINTS - 1)
        pressure = line.source.pressure_at(line.pump_height, flow)
        if isinstance(pump, HeadPump):
            pressure += line.pumped.density * GRAVITY * pump.curve(flow)
        if pressure < 0.0:
            break
        curve.append((flow, pressure))
    return tuple(curve)


def system_curve(line: Line, point: Operating) -> tuple[tuple[float, float], ...]:
    """(flow [m3/s], pressure at the pump's outlet [Pa]) that the line takes, all its runs open."""
    weight = line.sprayed.density * GRAVITY
    lowest = min(run.tip_height for run in line.runs)
    joint = (point.outlet - point.trunk_loss) / weight + line.pump_height
    top = lowest + 1.6 * max(joint - lowest, 1.0)
    curve = []
    for n in range(_POINTS):
        # Even steps of flow want squares of steps in head.
        head = lowest + (top - lowest) * (n / (_POINTS - 1)) ** 2
        flow = sum(taken(line, head)) / (1.0 + line.draw)
        trunk = line.pumped.density * GRAVITY * total_head(line.trunk, flow, line.pumped.kinematic)
        curve.append((flow, weight * (head - line.pump_height) + trunk))
    return tuple(curve)
