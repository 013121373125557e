"""What one change of gear or tap does to a run: a size of hose, more or less of it, a weaker tap, a worn pump."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from planner.inputs.joined import HosePiece, JobInput, RunInput
from planner.physics.lines import SolveError
from planner.physics.liquids import GRAVITY
from planner.plan.line.throw import still_reach
from planner.plan.model import Change, RunPlan, Sensitivity
from planner.plan.wear.altered import solve_altered, with_share

_FEET: Final = 0.3048
_INCH: Final = 0.0254
BORES: Final = tuple(inches * _INCH for inches in (0.5, 0.625, 0.75, 1.0, 1.25))
"""Bores hose is sold in for this work [m] (common practice, no source)."""

_SOLD_AS: Final = 0.07
"""A measured bore this near to one that is sold is that size: 5/8 in hose is often 0.600 in inside."""

_LENGTH: Final = {"us": 50.0 * _FEET, "si": 15.0}
_TAP: Final = {"us": 10.0 * 6894.757293168, "si": 0.7e5}
_WEAR: Final = 0.10
"""Steps of the table: 50 ft or 15 m of hose, 10 psi or 0.7 bar of tap, a tenth of the pump (our choice)."""


def plan_sensitivity(job: JobInput, runs: Sequence[RunPlan], *, whole: bool) -> tuple[Sensitivity, ...]:
    """One table for each run whose jet is asked to reach; not `whole`, only what a pump's plate leaves open."""
    asked = (run for run in runs if run.reach is not None)
    return tuple(Sensitivity(run=run.name, changes=tuple(_changes(job, run, whole))) for run in asked)


def _changes(job: JobInput, run: RunPlan, whole: bool) -> Iterator[Change]:
    pump, units = run.input.pump, job.company.units
    if pump is not None and pump.by_plate:
        band = job.limits["plate_band"]
        yield _change(job, run, "plate", band, with_share(run.input, pump.share * (1.0 - band)))
    if not whole:
        return
    for steps in (1, -1):
        hoses = _other_bore(run.input.hoses, steps)
        if hoses is not None:
            bore = min(hoses, key=lambda hose: hose.bore).bore
            yield _change(job, run, "wider" if steps > 0 else "narrower", bore, replace(run.input, hoses=hoses))
    for length in (_LENGTH[units], -_LENGTH[units]):
        hoses = _other_length(run.input.hoses, length)
        if hoses is not None:
            yield _change(job, run, "longer" if length > 0 else "shorter", abs(length), replace(run.input, hoses=hoses))
    static = job.water.static
    if run.input.feed == "tap" and static is not None:
        less, residual = _TAP[units], job.water.residual
        water = replace(job.water, static=static - less, residual=None if residual is None else residual - less)
        yield _change(replace(job, water=water), run, "tap", less, run.input)
    if pump is not None:
        yield _change(job, run, "wear", _WEAR, with_share(run.input, pump.share * (1.0 - _WEAR)))


def _change(job: JobInput, run: RunPlan, kind: str, step: float, changed: RunInput) -> Change:
    try:
        point = solve_altered(job, run, changed)
    except SolveError:
        return Change(kind=kind, step=step, flow=None, tip_pressure=None, reach=None)
    head = point.tip_heads[0]
    return Change(
        kind=kind,
        step=step,
        flow=point.flows[0],
        tip_pressure=run.liquid.density * GRAVITY * max(head, 0.0),
        reach=still_reach(changed, head),
    )


def _other_bore(hoses: Sequence[HosePiece], steps: int) -> tuple[HosePiece, ...] | None:
    """Every hose a size wider or narrower; one at the end of the list stays. None where all stay."""
    changed = tuple(replace(hose, bore=_next_bore(hose.bore, steps)) for hose in hoses)
    return None if changed == tuple(hoses) else changed


def _next_bore(bore: float, steps: int) -> float:
    nearest = min(range(len(BORES)), key=lambda n: abs(BORES[n] / bore - 1.0))
    if abs(BORES[nearest] / bore - 1.0) <= _SOLD_AS:
        place = nearest + steps
        return BORES[place] if 0 <= place < len(BORES) else bore
    beyond = [other for other in BORES if (other > bore) == (steps > 0)]
    if not beyond:
        return bore
    return min(beyond) if steps > 0 else max(beyond)


def _other_length(hoses: Sequence[HosePiece], change: float) -> tuple[HosePiece, ...] | None:
    """The last hose longer, or so much less from the tip's end back; None where the run has not so much to lose."""
    if change >= 0.0:
        return (*hoses[:-1], replace(hoses[-1], length=hoses[-1].length + change))
    if sum(hose.length for hose in hoses) <= -change * (1.0 + 1e-9):
        return None
    kept, left = list(hoses), -change
    while left >= kept[-1].length * (1.0 - 1e-9):
        left -= kept.pop().length
    kept[-1] = replace(kept[-1], length=kept[-1].length - max(left, 0.0))
    return tuple(kept)
