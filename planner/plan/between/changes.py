"""What has to be flushed before a mix is made: every tank, pump, panel and hose that last held another chemistry.

Drain first.  Tanks are rinsed with the least water (chemistry.washout), pump, panel and hose of a line washed by one
stream (chemistry.washout).  Where tank and line held the same, the tank's rinses go out through the line or by its
valve with the line washed apart: both are worked out and the one with less water is taken, at a tie the faster one.
The line was flushed at the end of the job before, if a flush was planned there; then only its tick is asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from planner.chemistry import washout
from planner.chemistry.reactions import answer
from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.models import Tank
from planner.inputs.tables.chemicals import BURNS, SOAP, lawn_of
from planner.inputs.tables.defaults import default
from planner.physics.hoses import area
from planner.plan.between.flushing import (
    flush_flow,
    inlet_of,
    kept_out,
    near_life,
    part_key,
    parts_of,
    residual_of,
    washable,
)
from planner.plan.between.heels import (
    after_mix,
    foreign_feeds,
    foreign_heel,
    left_in,
    ready_for,
    water_of,
    with_clean_feeds,
)
from planner.plan.between.matrix import matrix
from planner.plan.between.model import ChangeFlush, ChangePart, DrainsTo, PartKind
from planner.plan.between.neutralisers import neutralised
from planner.plan.between.sites import around_job
from planner.plan.mix.lots import lot_today
from planner.plan.mix.model import Carried, FlushPlan, MixPlan, Neutraliser, TankHeel
from planner.plan.model import RunPlan
from planner.plan.water.plain_water import line_meetings
from planner.plan.water.tap import pour_flow

SOAP_DENSITY: Final = 1000.0
"""Strength [kg/m3] of soap as sold, the product itself being what its strength counts (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """What a part of a line last held, at a strength [kg/m3]."""

    chemical: str
    strength: float


def plan_changes(
    job: JobInput, runs: Sequence[RunPlan], mixes: Sequence[MixPlan], found: Carried
) -> tuple[ChangeFlush, ...]:
    """Every flush between two chemistries before or within the job, in the order they are come to.

    `found` is the rig as the job finds it; what is flushed is what plan_mixes takes to be flushed.
    """
    by_name = {run.name: run for run in runs}
    pour = 0.0
    changes: list[ChangeFlush] = []
    rig = with_clean_feeds(job, found)
    line: dict[str, _Held] = {
        part: _Held(chemical=found.parts[part], strength=strongest_of(job, found.parts[part]))
        for part in found.unflushed
        if part in found.parts
    }
    for tank, held in foreign_feeds(job, found):
        pour = pour or pour_flow(job)
        run = next(run for run in runs if water_of(job, run.input) == tank)
        changes.append(_change(job, run, None, (tank, held), (), pour))
    for name, parts in _plain_lines(job, found, mixes).items():
        washed = [
            (replace(part, strength=line[part.name].strength), line[part.name].chemical)
            for part in bare_parts(by_name[name])
            if part.name in parts and part.name in line
        ]
        if washed:
            changes.append(_change(job, by_name[name], None, None, washed, pour))
            for part, _ in washed:
                line.pop(part.name)
    for mix in mixes:
        run = by_name[mix.run.name]
        mixed_in = mix.run.feed_tank if mix.kind == "premix" else None
        heel = foreign_heel(job, mixed_in, mix.chemical, rig)
        washed = [
            (replace(part, strength=line[key].strength), line[key].chemical)
            for part in line_parts(run, mix)
            if (key := part_key(run, part.name)) in line and _foreign(line[key].chemical, mix)
        ]
        if heel is not None or washed:
            pour = pour or pour_flow(job)
            of_tank = (mixed_in, heel) if mixed_in is not None and heel is not None else None
            changes.append(_change(job, run, mix, of_tank, washed, pour))
        rig = after_mix(ready_for(job, mixed_in, mix.chemical, rig), mix)
        for part in line_parts(run, mix):
            strength = part.strength if mix.chemical != SOAP else mix.soap_share * SOAP_DENSITY
            key = part_key(run, part.name)
            before = line.get(key)
            if before is not None and not _foreign(before.chemical, mix) and before.chemical == mix.chemical:
                strength = max(strength, before.strength)
            line[key] = _Held(chemical=mix.chemical, strength=strength)
    return tuple(changes)


def _plain_lines(job: JobInput, found: Carried, mixes: Sequence[MixPlan]) -> dict[str, set[str]]:
    """By run, the parts its water goes through that carried what it may not bring to what it comes upon."""
    lines: dict[str, set[str]] = {}
    for meeting in line_meetings(around_job(job, found, mixes, ()), {}):
        if meeting.kind == "rinse" and meeting.answer.outcome not in ("same", "harmless"):
            lines.setdefault(meeting.run, set()).add(meeting.place)
    return lines


def bare_parts(run: RunPlan) -> list[washout.Part]:
    """The parts of a run's line that hold anything, whatever it is."""
    pump, device = run.input.pump, run.input.dosing
    stirred = [(one.name, one.wetted_volume) for one in (pump, device) if one is not None]
    parts = [washout.Part(name=name, volume=volume, strength=0.0, mixing="stirred") for name, volume in stirred]
    for hose in run.input.hoses:
        parts.append(
            washout.Part(name=hose.name, volume=area(hose.bore) * hose.length, strength=0.0, mixing="hose")
        )  # fmt: skip
    return [part for part in parts if part.volume > 0.0]


def line_parts(run: RunPlan, mix: MixPlan) -> list[washout.Part]:
    """The parts of a run's line that hold the mix; a panel or injector holds the stock itself, where it holds any."""
    return [part for part in parts_of(run, mix) if part.volume > 0.0]


def _foreign(before: str, mix: MixPlan) -> bool:
    """Whether what a part last held must not come along into the mix. Soap is no stranger to a mix with soap in it."""
    return before not in (mix.chemical, "water") and not (before == SOAP and mix.soap_share > 0.0)


def pumped(changes: Iterable[ChangeFlush]) -> tuple[FlushPlan, ...]:
    """The part of these flushes for which the run's pump works, as a flush at the job's end has it."""
    return tuple(
        FlushPlan(
            run=change.run,
            leaves=part.leaves,
            part=part.part,
            strength=part.strength,
            target=part.target,
            volume=part.volume,
            seconds=part.seconds,
            residual=part.residual,
        )
        for change in changes
        for part in change.parts
        if part.kind != "tank" or change.together
    )


def strongest_of(job: JobInput, chemical: str) -> float:
    """The strongest a chemical can be on this rig: the strongest lot of it; of soap the soap itself [kg/m3]."""
    if chemical == SOAP:
        return SOAP_DENSITY
    lots = [lot_today(lot, job.date) for lot in job.lots if lot.chemical == chemical]
    return max((lot.high or lot.nominal or 0.0 for lot in lots), default=0.0) or default("unknown_strength")


def _tank_strength(job: JobInput, held: TankHeel) -> float:
    if held.chemical == SOAP:
        return held.soap * SOAP_DENSITY or SOAP_DENSITY
    return held.strength or strongest_of(job, held.chemical)


def _change(
    job: JobInput,
    run: RunPlan,
    mix: MixPlan | None,
    of_tank: tuple[Tank, TankHeel] | None,
    washed: Sequence[tuple[washout.Part, str]],
    pour: float,
) -> ChangeFlush:
    """The flush before one mix, the cheaper way round."""
    flow = flush_flow(run)
    apart = [*([_rinsed(job, *of_tank, pour)] if of_tank is not None else []), *_washed(job, run, washed, flow)]
    together = None
    # No strip tells of soap, so that its last rinse is not known to be clean.
    told = of_tank is not None and of_tank[1].chemical != SOAP
    if of_tank is not None and told and washed and all(chemical == of_tank[1].chemical for _, chemical in washed):
        together = _together(job, run, *of_tank, [part for part, _ in washed], flow, pour)
    parts, other = apart, None
    if together is not None and all(part.volume is not None for part in apart):
        costs = [_cost(way) for way in (apart, together)]
        other = max(costs)[0]
        parts = together if costs[1] < costs[0] else apart
    mean = _mean(parts)
    return ChangeFlush(
        mix=mix.name if mix is not None else "",
        run=run.name,
        comes=mix.chemical if mix is not None else "water",
        parts=tuple(parts),
        drains_to=_drains_to(job, parts, mean, mix.chemical if mix is not None else "water"),
        mean=mean,
        together=parts is together,
        other=other,
    )


def _cost(parts: Sequence[ChangePart]) -> tuple[float, float]:
    """Water [m3], to the drop, then time [s]."""
    return round(sum(part.volume or 0.0 for part in parts), 9), sum(part.seconds or 0.0 for part in parts)


def _tank_part(
    job: JobInput, tank: Tank, held: TankHeel, *, count: int | None, each: float, last: float,
    volume: float | None, seconds: float | None, residual: float | None,
) -> ChangePart:  # fmt: skip
    heel = left_in(tank)
    return ChangePart(
        part=tank.name,
        kind="tank",
        leaves=held.chemical,
        strength=_tank_strength(job, held),
        target=residual_of(job, held.chemical),
        volume=volume,
        seconds=seconds,
        residual=residual,
        holds=heel,
        drained=max(held.volume - heel, 0.0),
        rinses=count,
        each=each,
        last=last,
    )


def _rinsed(job: JobInput, tank: Tank, held: TankHeel, pour: float) -> ChangePart:
    """A tank drained and rinsed by its valve, which lets out as fast as the tap fills (our choice)."""
    heel, target = left_in(tank), residual_of(job, held.chemical)
    rinses = washout.rinsed_with_least(
        heel,
        tank.volume,
        _tank_strength(job, held),
        target,
        inlet_of(job, held.chemical),
        default("rinse_least") * tank.volume,
    )
    seconds = None
    if rinses.volume is not None and rinses.count is not None:
        seconds = (max(held.volume - heel, 0.0) + 2.0 * rinses.volume) / pour + rinses.count * default("swill")
    return _tank_part(
        job, tank, held, count=rinses.count, each=rinses.each, last=rinses.each, volume=rinses.volume,
        seconds=seconds, residual=rinses.residual,
    )  # fmt: skip


def _washed(
    job: JobInput, run: RunPlan, parts: Sequence[tuple[washout.Part, str]], flow: float
) -> list[ChangePart]:  # fmt: skip
    """The parts of a line, each washed down from what it held."""
    washed = []
    for part, chemical in parts:
        target = residual_of(job, chemical)
        volume = seconds = residual = None
        if flow > 0.0 and washable(job, chemical):
            line_flush = washout.flush_line([part], target, flow, inlet_of(job, chemical))
            volume, seconds, residual = line_flush.volume, line_flush.seconds, line_flush.residual
        washed.append(
            ChangePart(
                part=part.name,
                kind=_kind_of(run, part.name),
                leaves=chemical,
                strength=part.strength,
                target=target,
                volume=volume,
                seconds=seconds,
                residual=residual,
                holds=part.volume,
            )
        )
    return washed


def _kind_of(run: RunPlan, part: str) -> PartKind:
    if run.input.pump is not None and run.input.pump.name == part:
        return "pump"
    return "dosing" if run.input.dosing is not None and run.input.dosing.name == part else "hose"


def _together(
    job: JobInput, run: RunPlan, tank: Tank, held: TankHeel, line: Sequence[washout.Part], flow: float, pour: float
) -> list[ChangePart] | None:
    """Tank and line washed by one stream: the tank's rinses pumped out through the line; None where that can't be."""
    target = residual_of(job, held.chemical)
    through = washout.rinsed_through(
        left_in(tank),
        tank.volume,
        _tank_strength(job, held),
        target,
        line,
        flow,
        inlet_of(job, held.chemical),
        default("rinse_least") * tank.volume,
    )
    if through is None:
        return None
    drained = max(held.volume - left_in(tank), 0.0)
    seconds = through.volume / pour + (through.volume + drained) / flow + through.count * default("swill")
    parts = [
        _tank_part(
            job, tank, held, count=through.count, each=through.each, last=through.last, volume=through.volume,
            seconds=seconds, residual=through.residual,
        )
    ]  # fmt: skip
    for part, part_flush in zip(line, through.line.parts, strict=True):
        parts.append(
            ChangePart(
                part=part.name,
                kind=_kind_of(run, part.name),
                leaves=held.chemical,
                strength=part.strength,
                target=target,
                volume=0.0,
                seconds=0.0,
                residual=part_flush.residual,
                holds=part.volume,
                through=tank.name,
            )
        )
    return parts


def _mean(parts: Sequence[ChangePart]) -> float:
    """Strength [kg/m3] of all the flush water together, with all that stood in the drained parts in it."""
    water = sum(part.volume or 0.0 for part in parts)
    if not water > 0.0:
        return 0.0
    return sum(part.strength * part.holds for part in parts) / water


def _drains_to(job: JobInput, parts: Sequence[ChangePart], mean: float, comes: str) -> DrainsTo:
    """Where the flush water goes: by how strong it is, by what lives near, and by what this ground gets later."""
    near = job.job.near
    # Lye never goes to the lawn, however thin: its sodium stays there.
    weak = mean <= job.limits["lawn_strength"] and not any(lawn_of(part.leaves) == "never" for part in parts)
    here = {comes, *(surface.chemical for surface in job.surfaces if surface.chemical is not None)}
    meets = any(answer(part.leaves, other, matrix()).stops for part in parts for other in here)
    if weak and not meets:
        return "lawn"
    if meets or any(part.leaves in BURNS for part in parts) or near_life(job):
        return "caught"
    open_drain = near is not None and near.storm_drain is not None
    return "caught" if open_drain and not kept_out(job, "storm_drain", {part.leaves for part in parts}) else "sanitary"


# ------------------------------------------------------------ change waste
# What makes harmless what a flush between two chemistries drains and catches.


def purpose_of(change: ChangeFlush, leaves: str = "") -> str:
    """What the neutraliser of a flush is for: of what its tank held, or of what else its line did."""
    leaves = leaves or change.leaves[0]
    held = change.tank is not None and change.tank.leaves == leaves
    where = change.tank.part if held and change.tank is not None else f"the line of {change.run}"
    return f"the {leaves.replace('_', ' ')} drained from {where}"


def drained_neutralisers(
    job: JobInput, changes: Iterable[ChangeFlush], taken: Mapping[str, float]
) -> tuple[Neutraliser, ...]:
    """For each flush: what its tank is drained of, with its rinse water where that is caught too.

    A tank and a line that held two things are two pails, never one.
    `taken` [kg]: what the jobs before took of each lot.
    """
    planned = []
    for change in changes:
        tank, caught = change.tank, change.drains_to == "caught"
        for leaves in change.leaves:
            drained = tank.drained if tank is not None and tank.leaves == leaves else 0.0
            mass = drained * tank.strength if tank is not None else 0.0
            parts = [part for part in change.parts if part.leaves == leaves and caught]
            water = sum(part.volume or 0.0 for part in parts)
            volume = drained + water
            # All that its own water brings: with one chemical the mean of the whole flush.
            alone = len(change.leaves) == 1
            mass += change.mean * water if alone else sum(part.strength * part.holds for part in parts)
            strength = mass / volume if volume > 0.0 else 0.0
            leftover = neutralised(job, leaves, purpose_of(change, leaves), volume, strength, taken)
            if leftover is not None:
                planned.append(leftover)
    return tuple(planned)
