"""What would do where nothing on the trailer does: the gap in numbers, then hose, tip or pump that would close it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from planner.checks.model import Change, Finding, Remedy, over
from planner.inputs.joined import JobInput, Role, RunInput
from planner.inputs.joining import regear
from planner.inputs.models import Rig, Tip
from planner.inputs.tables.chemicals import BLEACH
from planner.physics import tips
from planner.physics.liquids import GRAVITY
from planner.physics.parts import total_head
from planner.plan.line import apparatus
from planner.plan.mix.dosed import needed_strength
from planner.plan.model import RunPlan, Value
from planner.remedies.least import cures_it, least
from planner.remedies.options import Option, asks_reach, option
from planner.remedies.table import sizes, strongest
from planner.remedies.trial import Trials
from planner.units import System, show

_INCH_32: Final = 0.0254 / 32


def needs_for(trials: Trials, finding: Finding, run: RunInput, budget: int) -> list[Remedy]:
    """What is wanting, and the least thing to get that would cure it, tried like any other change."""
    remedies = [_gap(trials, finding, run)] if finding.code == "reach.short" else []
    wanted, _ = least(trials, finding, run.name, list(_wanted(trials, finding, run)), 1, budget)
    cures = [remedy for remedy in wanted if cures_it(remedy)]
    remedies += cures
    if not cures and finding.code == "reach.short":
        remedies += _pump_for(trials, finding, run)
    if not cures and finding.code == "mix.reach":
        remedies += _stock_for(trials, finding)
    return [remedy for remedy in remedies if remedy is not None]


def _remedy(finding: Finding, *changes: Change) -> Remedy:
    return Remedy(code=finding.code, about=finding.about, changes=changes, after=None, run=None, on_rig=False)


def _role_of(finding: Finding, run: RunInput) -> Role:
    """What the tip is for with which it is so."""
    return run.role_with(finding.tip) if finding.tip else "tip"


def _plan_of(trials: Trials, run: RunInput) -> RunPlan:
    return next(plan for plan in trials.checked.plan.runs if plan.name == run.name)


def _gap(trials: Trials, finding: Finding, run: RunInput) -> Remedy | None:
    """`needs 46 psi at the tip; this pump gives 31 through 200 ft of 5/8 in`."""
    role = _role_of(finding, run)
    planned, run = _plan_of(trials, run).on(role), run.with_role(role)
    needed = trials.heads.needed(run)
    if needed is None:
        return _remedy(finding, Change(kind="gap_no_jet", values={})) if run.tip.pattern == "solid" else None
    weight = planned.liquid.density * GRAVITY
    values: dict[str, Value | str] = {
        "needed": Value(needed * weight, "pressure"),
        "given": Value(planned.tip_pressure, "pressure"),
        "pump": run.pump.name if run.pump is not None else "the tank" if run.falls else "the tap",
        "length": Value(sum(hose.length for hose in run.hoses), "length"),
        "bore": _spelled(trials.job, min(hose.bore for hose in run.hoses)),
    }
    return _remedy(finding, Change(kind="gap", values=values))


def _wanted(trials: Trials, finding: Finding, run: RunInput) -> Iterator[Option]:
    """Things a shop has, the least first."""
    if finding.code in ("reach.short", "supply.pressure"):
        yield from _bores(trials.job, run)
    if finding.code in ("reach.short", "reach.pattern", "line.reaction", "pump.cycling", "pump.suction"):
        yield from _orifices(trials.job, run, _role_of(finding, run))
    if finding.code == "line.rating":
        yield from _rated(trials, run)
    if finding.code == "pump.suction":
        yield from _suctions(trials.job, run)
        yield from _raised(trials.job, run)


def _system_of(rig: Rig) -> System:
    """How the rig's own hoses and tips are sized: in fractions of an inch, or in millimetres."""
    sizes = [hose.bore for hose in rig.hoses] + [tip.orifice for tip in rig.tips if tip.orifice is not None]
    inches = [size for size in sizes if abs(size / _INCH_32 - round(size / _INCH_32)) < 1e-6]
    return "us" if 2 * len(inches) >= len(sizes) else "si"


def _spelled(job: JobInput, bore: float) -> str:
    """A bore or orifice [m] as the rig's own are written: `5/8 in`, `16 mm`."""
    return show(bore, "bore", _system_of(job.rig))


def _bores(job: JobInput, run: RunInput) -> Iterator[Option]:
    narrow = min(hose.bore for hose in run.hoses)
    for bore in sizes("bores", _system_of(job.rig)):
        if bore > narrow * (1 + 1e-6):

            def wider(job: JobInput, run: RunInput, bore: float = bore) -> RunInput | None:
                return regear.with_hoses(run, [replace(hose, bore=max(bore, hose.bore)) for hose in run.hoses])

            yield option("get_hose", "hoses", wider, on_rig=False, bore=_spelled(job, bore))


def _orifices(job: JobInput, run: RunInput, role: Role) -> Iterator[Option]:
    on = run.with_role(role)
    if on.tip.pattern != "solid" and not asks_reach(job, on):
        return
    now = apparatus.tip_orifice(on)
    for orifice in sorted(sizes("orifices", _system_of(job.rig)), key=lambda size: abs(size - now)):
        tip = Tip(name="new tip", pattern="solid", orifice=orifice)

        def fitted(job: JobInput, run: RunInput, tip: Tip = tip) -> RunInput | None:
            return regear.with_tip(run, tip, role)

        yield option("get_tip", role, fitted, on_rig=False, orifice=_spelled(job, orifice))


def _rated(trials: Trials, run: RunInput) -> Iterator[Option]:
    planned = _plan_of(trials, run)
    pressure = max(planned.shut_off_pressure or 0.0, planned.pump_pressure)
    rated = pressure / trials.job.limits["rating_caution"]

    def stronger(job: JobInput, run: RunInput) -> RunInput | None:
        hoses = [replace(hose, rated=max(hose.rated, rated) if hose.rated else None) for hose in run.hoses]
        return regear.with_hoses(run, hoses)

    yield option("get_rated", "hoses", stronger, on_rig=False, rated=Value(rated, "pressure"))


def _suctions(job: JobInput, run: RunInput) -> Iterator[Option]:
    if not run.suction:
        return
    narrow = min(hose.bore for hose in run.suction)
    for bore in sizes("bores", _system_of(job.rig)):
        if bore > narrow * (1 + 1e-6):

            def wider(job: JobInput, run: RunInput, bore: float = bore) -> RunInput | None:
                pieces = tuple(replace(hose, bore=max(hose.bore, bore)) for hose in run.suction)
                fittings = tuple(
                    replace(fitting, bore=max(fitting.bore or 0.0, bore)) for fitting in run.suction_fittings
                )
                return replace(run, suction=pieces, suction_fittings=fittings)

            yield option("get_suction", "suction", wider, on_rig=False, bore=_spelled(job, bore))


def _raised(job: JobInput, run: RunInput) -> Iterator[Option]:
    if run.feed != "tank":
        return
    for rise in sizes("rises", job.company.units):

        def higher(job: JobInput, run: RunInput, rise: float = rise) -> RunInput | None:
            return replace(run, feed_head=run.feed_head + rise)

        yield option("raise_tank", "feed", higher, on_rig=False, rise=Value(rise, "length"))


def _pump_for(trials: Trials, finding: Finding, run: RunInput) -> Iterator[Remedy]:
    """The pressure at the gauge, and the flow, with which this hose and tip would reach."""
    needed = trials.heads.needed(run)
    if needed is None:
        return
    planned = _plan_of(trials, run)
    branch = apparatus.branch_of(run)
    flow = tips.flow(branch.coefficient, needed)
    viscosity = planned.liquid.viscosity / planned.liquid.density
    rise = run.uphill + run.tip_height - planned.pump_z
    head = needed + rise + total_head((*branch.parts, *apparatus.trunk_of(run)), flow, viscosity)
    values = {
        "pressure": Value(head * planned.liquid.density * GRAVITY, "pressure"),
        "flow": Value(flow, "flow"),
    }
    yield _remedy(finding, Change(kind="get_pump", values=values))


def _stock_for(trials: Trials, finding: Finding) -> Iterator[Remedy]:
    """The strength the stock would have to have for this dosing to get the wall its target; none is sold beyond."""
    mix = next((mix for mix in trials.checked.plan.mixes if mix.name == finding.about), None)
    if mix is None or mix.lot is None or not mix.lot.nominal or not mix.highest or mix.target <= 0.0:
        return
    strength = mix.lot.nominal * mix.target / mix.highest
    if mix.reachable:
        # Only its low end falls short: so strong that the low end of a drum known as well as this one gets there.
        strength = (needed_strength(mix) or strength) * mix.lot.nominal / (mix.lot.low or mix.lot.nominal)
    if over(strength, strongest().get(mix.chemical, strength)):
        return
    dimension = "trade" if mix.chemical == BLEACH else "grams"
    yield _remedy(finding, Change(kind="get_stock", values={"strength": Value(strength, dimension)}))
