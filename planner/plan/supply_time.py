"""Will the water last: every tank through the job, what the tap gives it meanwhile, when it would run dry.

The fill is open whenever the tank has room and the tap is free, and shut while a run draws the tap itself, whose
line was solved with the whole tap, or a mix tank is being filled from it.  Beds watered from the tap leave the tank
less, and may ask for more than the tap gives.  The hose is joined first thing in set-up and rolled up last, so the
tank goes on filling until the rig leaves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil
from typing import Final

from planner.inputs.joined import JobInput
from planner.inputs.models import Tank
from planner.physics import filling
from planner.physics.filling import Spell, Stretch
from planner.plan.apparatus import tap_of
from planner.plan.change_model import ChangeFlush
from planner.plan.mix_model import Carried, FlushPlan, MixPlan, SurfaceWork
from planner.plan.model import RunPlan
from planner.plan.phases import job_phases
from planner.plan.supply_model import NOWHERE, TAP, Dry, Phase, SupplyPlan, TankLevel, TapOwed, TapShort
from planner.plan.tap import Filler, filler_of, pour_flow, water_tank
from planner.plan.water_model import BedWater

_STRAIGHT: Final = 1e-9
_NOISE: Final = 1e-9
_AFTER: Final = ("flush", "pack")
"""Steps after the last rinse."""


def plan_supply(
    job: JobInput,
    runs: Sequence[RunPlan],
    mixes: Sequence[MixPlan],
    work: Sequence[SurfaceWork],
    flushes: Sequence[FlushPlan],
    beds: BedWater | None,
    found: Carried,
    changes: Sequence[ChangeFlush] = (),
) -> SupplyPlan | None:
    """Supply over the whole job; None for work in the yard. `found` says what stands in the tanks at arrival.

    A water tank that nothing is said of is full, the fill being left open the night before (common practice).
    """
    if job.kind != "wash":
        return None
    pour = pour_flow(job)
    phases = job_phases(job, mixes, work, flushes, beds, pour, changes)
    wanted = _wanted(phases)
    own = water_tank(job)
    mixed = {run.feed_tank.name for run in job.runs if run.feed_tank is not None and run.premix}
    drawn = [tank for tank in job.rig.tanks if tank.name in wanted and tank.name not in mixed]
    drawn.sort(key=lambda tank: -wanted[tank.name])
    filler = filler_of(job, drawn[0] if drawn else own)
    open_ = _fills(phases, filler)
    levels = []
    for tank in drawn:
        start = min(found.water.get(tank.name, tank.volume), tank.volume)
        spells, numbers = _spells(phases, tank.name, open_)
        level, pieces = _level(tank, start, spells, numbers, phases, filler)
        levels.append(level)
        open_ = _passed_on(phases, spells, numbers, pieces)
    return SupplyPlan(
        begins=float(job.tables["minutes"]["walk"]) - phases[0].start,
        phases=phases,
        tanks=tuple(levels),
        mix_tanks=tuple(_mix_tank(tank, phases, mixes) for tank in job.rig.tanks if tank.name in mixed & set(wanted)),
        pour=pour,
        assumed=filler is not None and filler.assumed and (bool(drawn) or TAP in wanted),
        nowhere=wanted.get(NOWHERE, 0.0),
        tap_short=tuple(_tap_short(job, runs, phases, beds)),
        tap_owed=_tap_owed(phases, filler),
    )


def water_left(found: Carried, supply: SupplyPlan | None) -> Mapping[str, float]:
    """What stands in the water tanks [m3] when the rig drives off; a tank the job leaves alone stays as it was."""
    after = dict(found.water)
    if supply is not None:
        after.update({tank.name: tank.end for tank in supply.tanks})
    return after


def _wanted(phases: Sequence[Phase]) -> dict[str, float]:
    """Water by source over the whole job [m3]."""
    wanted: dict[str, float] = {}
    for phase in phases:
        for source, volume in phase.draws.items():
            wanted[source] = wanted.get(source, 0.0) + volume
    return wanted


Open = list[list[tuple[float, float]]]
"""For each phase, in pieces: seconds, and what could run into a tank meanwhile [m3/s]."""


def _fills(phases: Sequence[Phase], filler: Filler | None) -> Open:
    """What the tap could give a tank through each phase."""
    rates: Open = []
    for phase in phases:
        rate = 0.0
        if filler is not None and not phase.shut:
            rate = filler.flow(phase.draws.get(TAP, 0.0) / phase.seconds)
        rates.append([(phase.seconds, rate)])
    return rates


def _spells(phases: Sequence[Phase], tank: str, open_: Open) -> tuple[list[Spell], list[int]]:
    """The tank's spells, and the phase each lies in."""
    spells: list[Spell] = []
    numbers: list[int] = []
    for number, (phase, pieces) in enumerate(zip(phases, open_, strict=True)):
        draw = phase.draws.get(tank, 0.0) / phase.seconds
        for seconds, rate in pieces:
            spells.append(Spell(seconds=seconds, draw=draw, fill=rate))
            numbers.append(number)
    return spells, numbers


def _passed_on(
    phases: Sequence[Phase], spells: Sequence[Spell], numbers: Sequence[int], pieces: Sequence[Stretch]
) -> Open:
    """What one tank leaves of the tap to the next."""
    left: Open = [[] for _ in phases]
    for piece in pieces:
        rest = max(spells[piece.spell].fill - piece.inflow, 0.0)
        left[numbers[piece.spell]].append((piece.seconds, rest))
    return left


def _level(
    tank: Tank, start: float, spells: Sequence[Spell], numbers: Sequence[int], phases: Sequence[Phase],
    filler: Filler | None,
) -> tuple[TankLevel, tuple[Stretch, ...]]:  # fmt: skip
    begins = phases[0].start
    pieces = filling.stretches(spells, start, tank.volume, tank.dead_volume, begins)
    flow = filler.flow() if filler is not None else None
    dry = None
    at = filling.dry_at(pieces)
    if at is not None:
        short = filling.missing(pieces)
        phase = next(phases[numbers[piece.spell]] for piece in pieces if piece.start >= at and piece.missing > 0.0)
        full = filling.stretches(spells, tank.volume, tank.volume, tank.dead_volume, begins)
        room = tank.volume - start
        dry = Dry(
            at=max(at, 0.0),
            what=phase.what,
            about=phase.about,
            short=short,
            mix_on=_short_with_mix(pieces, numbers, phases),
            wait=short / flow if flow else None,
            full_lasts=room > _NOISE and filling.dry_at(full) is None,
            room=room,
            fills=room / flow if flow else None,
        )
    shut = [replace(spell, fill=0.0) for spell in spells]
    alone = filling.dry_at(filling.stretches(shut, start, tank.volume, tank.dead_volume, begins))
    usable = tank.volume - tank.dead_volume
    lacks = sum(spell.draw * spell.seconds for spell in spells) - max(start - tank.dead_volume, 0.0)
    level = replace(
        _traced(tank, start, spells, pieces, mix=False),
        fill_flow=flow,
        alone=None if alone is None else max(alone, 0.0),
        dry=dry,
        # A tap too weak to lift water over the rim is no help either.
        trips=ceil(lacks / usable - _NOISE) if dry is not None and not flow else None,
    )
    return level, pieces


def _short_with_mix(pieces: Sequence[Stretch], numbers: Sequence[int], phases: Sequence[Phase]) -> bool:
    lacking = sum(piece.missing * piece.seconds for piece in pieces if phases[numbers[piece.spell]].mix_on)
    return lacking > filling.NOISE


def _points(pieces: Sequence[Stretch]) -> tuple[tuple[float, float], ...]:
    """The level from the start of the work on, with no point on a straight line between its neighbours."""
    points: list[tuple[float, float]] = []
    before: float | None = None
    for piece in pieces:
        if piece.start + piece.seconds <= 0.0:
            continue
        rate = piece.inflow - piece.outflow
        if not points:
            points.append((0.0, piece.level + rate * max(-piece.start, 0.0)))
        elif before is not None and abs(rate - before) <= _STRAIGHT * max(abs(rate), abs(before)):
            points.pop()
        points.append((piece.start + piece.seconds, piece.level_after))
        before = rate
    return tuple(points)


def _mix_tank(tank: Tank, phases: Sequence[Phase], mixes: Sequence[MixPlan]) -> TankLevel:
    """A mix tank: what is poured in batch by batch, and sprayed."""
    batches = [batch for mix in mixes for batch in mix.batches if batch.tank == tank.name]
    start = min(batches[0].heel, tank.volume) if batches else 0.0
    spells = [
        Spell(
            seconds=phase.seconds,
            draw=phase.draws.get(tank.name, 0.0) / phase.seconds,
            fill=phase.poured / phase.seconds if phase.into == tank.name else 0.0,
        )
        for phase in phases
    ]
    pieces = filling.stretches(spells, start, tank.volume, 0.0, phases[0].start)
    return _traced(tank, start, spells, pieces, mix=True)


def _traced(tank: Tank, start: float, spells: Sequence[Spell], pieces: Sequence[Stretch], *, mix: bool) -> TankLevel:
    """What any tank's stretches come to; where its water comes from and whether it lasts is said of water tanks."""
    points = _points(pieces)
    lowest_at, lowest = min(points, key=lambda point: point[1])
    return TankLevel(
        name=tank.name,
        mix=mix,
        volume=tank.volume,
        dead_volume=tank.dead_volume,
        start=start,
        end=pieces[-1].level_after,
        points=points,
        lowest=lowest,
        lowest_at=lowest_at,
        wanted=sum(spell.draw * spell.seconds for spell in spells),
        drawn=filling.drawn(pieces),
        supplied=filling.supplied(pieces),
        fills=filling.filling(pieces),
        fill_flow=None,
        alone=None,
        dry=None,
        trips=None,
    )


def _tap_owed(phases: Sequence[Phase], filler: Filler | None) -> TapOwed | None:
    """Where more is drawn of the tap than it gives in the time; None where it gives all, or there is none.

    Step by step while the work goes on. What is drawn in set-up, and between the last rinse and driving off, may be
    drawn at any time in it. What a tank takes is whatever is left, so it is not asked for here.
    """
    most = filler.tap.flow(0.0) if filler is not None else None
    if most is None or most <= 0.0:
        return None
    after = [phase for phase in phases if phase.what in _AFTER]
    spans = [[phase] for phase in phases if phase.what not in _AFTER]
    short = []
    for span in [*spans, after]:
        wanted, gives = sum(phase.draws.get(TAP, 0.0) for phase in span), most * sum(phase.seconds for phase in span)
        if wanted - gives > filling.NOISE:
            short.append((span[0], wanted, gives))
    if not short:
        return None
    first = short[0][0]
    wanted, gives = sum(one[1] for one in short), sum(one[2] for one in short)
    return TapOwed(
        at=first.start,
        what=first.what,
        about=first.about,
        wanted=wanted,
        gives=gives,
        mix_on=any(phase.mix_on for phase, _, _ in short),
        wait=(wanted - gives) / most,
    )


def _tap_short(
    job: JobInput, runs: Sequence[RunPlan], phases: Sequence[Phase], beds: BedWater | None
) -> list[TapShort]:
    """Runs whose line was solved to more than the tap can give, with the first step that draws it.

    While their mix goes on the beds' hose is open too.
    """
    soaked = sum(phase.seconds for phase in phases if phase.what in ("apply", "dwell"))
    watered = beds.during / soaked if beds is not None and soaked > 0.0 else 0.0
    short = []
    for run in runs:
        own = [phase for phase in phases if phase.shut and phase.about in run.input.surfaces]
        beside = watered if any(phase.what == "apply" for phase in own) else 0.0
        tap = tap_of(job.water)
        if run.input.feed != TAP or tap.pressure(run.pump_flow + beside) >= -_NOISE * tap.static:
            continue
        if own:
            first = own[0]
            mix_on = any(phase.mix_on for phase in own)
            short.append(TapShort(run=run.name, at=first.start, what=first.what, about=first.about, mix_on=mix_on))
    return short
