"""Will the water last: every tank through the job as the acts fill it and draw on it, and when it would run dry.

A tank takes in what its fills bring, at most to its brim, and gives what is drawn until its outlet; what its acts
want beyond that is short.  Levels are straight lines between the moments at which anything begins or ends.

Supply over time counts from the end of set-up, when the first water is drawn; `work_begins_s` is how long after arrival
that is, and a level begins there, below 0. A step's draw is its volume over its elapsed time. The tap is held against
beds and work step by step, set-up and what comes after the last rinse each as a whole (`_tap_owed`); what a tank takes
is what is left over.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import accumulate, groupby, pairwise, takewhile
from math import ceil
from operator import attrgetter
from typing import Final

from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.models import Tank
from planner.physics import tanks
from planner.physics.tanks import Spell, Stretch
from planner.plan.line.apparatus import tap_of
from planner.plan.mix.model import Carried
from planner.plan.model import RunPlan
from planner.plan.procedure.acts import DrawFrom, Pour, Procedure, Spray
from planner.plan.procedure.flows import Flow, flows
from planner.plan.procedure.totals import (
    FILL_AND_MIX,
    SET_UP,
    WALK_ROUND,
    Standing,
    Step,
    Watered,
    standings,
    steps,
    watered,
)
from planner.plan.water.model import (
    NOWHERE,
    POND,
    TAP,
    BedWater,
    Dry,
    Phase,
    SupplyPlan,
    TankLevel,
    TapOwed,
    TapShort,
)
from planner.plan.water.tap import Filler, filler_of, has_tap, pour_flow, water_tank
from planner.plan.water.timing import FLUSH_FIRST

_STRAIGHT: Final = 1e-9
_NOISE: Final = 1e-9
_AT_ONCE: Final = 1e-6
_SHOWN: Final[Mapping[str, str]] = {
    "wet": "wet", "mix": "apply", "line": "apply", "test": "apply", "rinse": "rinse", "flush": "rinse",
    "clean": "clean",
}  # fmt: skip
"""What is done to a wall while this leaves the tip."""


def supply(
    job: JobInput,
    procedure: Procedure,
    runs: Sequence[RunPlan],
    beds_asked: BedWater | None,
    walks: Mapping[str, float],
    moved: Sequence[Flow] | None = None,
) -> SupplyPlan | None:
    """Supply over the whole job; None for work in the yard. `walks` [s] by act, `beds_asked` as the plan wants it.

    Times count from the start of the work, the end of the lead's set-up.
    """
    if job.kind != "wash" or not procedure.acts:
        return None
    moved = flows(procedure, walks) if moved is None else moved
    mixed = {run.feed_tank.name for run in job.runs if run.feed_tank is not None and run.premix}
    mixed |= {flow.into for flow in moved if isinstance(flow.act.detail, Pour)}
    # A tank may be called what a test is sprayed into: what is caught there is not the tank's.
    caught = {act.detail.onto for act in procedure.acts if isinstance(act.detail, Spray)}
    moved = tuple(flow for flow in moved if not (flow.drained and flow.source in caught))
    tanks = {tank.name: tank for tank in job.rig.tanks}
    lead = steps(procedure)
    origin = next((step.start for step in lead if step.what not in (WALK_ROUND, SET_UP)), procedure.ends)
    taken = [_Taken.of(flow, origin, tanks, tap=has_tap(job)) for flow in moved]
    walls = standings(procedure, moved)
    runs_of = {run.feed_tank.name: run.name for run in reversed(job.runs) if run.feed_tank is not None and run.premix}
    for act in procedure.acts:
        if isinstance(act.detail, DrawFrom) and act.detail.feed in mixed:
            runs_of.setdefault(act.detail.feed, act.detail.run)
    runs_of |= {run.name: run.name for run in job.runs}
    phases = tuple(_phases(lead, walls, taken, origin, runs_of))
    pumped: dict[str, float] = {}
    for draw in taken:
        if draw.counts and not draw.flow.drained:
            pumped[draw.source] = pumped.get(draw.source, 0.0) + draw.flow.volume
    drawn = sorted(
        (tanks[name] for name in pumped if name in tanks and name not in mixed), key=lambda tank: -pumped[tank.name]
    )
    filler = filler_of(job, drawn[0] if drawn else water_tank(job))
    return SupplyPlan(
        begins=-phases[0].start,
        phases=phases,
        tanks=tuple(_level(tank, _stands(procedure, tank), taken, phases, filler) for tank in drawn),
        mix_tanks=tuple(
            _mix_tank(tank, _stands(procedure, tank), taken, phases)
            for tank in job.rig.tanks
            if tank.name in mixed and any(tank.name in (one.source, one.flow.into) for one in taken)
        ),
        pour=pour_flow(job),
        assumed=filler is not None and filler.assumed and (bool(drawn) or TAP in pumped),
        nowhere=pumped.get(NOWHERE, 0.0),
        tap_short=tuple(_tap_short(job, runs, taken, phases)),
        tap_owed=_tap_owed(watered(procedure, walls), beds_asked, filler, taken, phases, origin),
    )


def water_left(found: Carried, plan: SupplyPlan | None) -> Mapping[str, float]:
    """What stands in the water tanks [m3] when the rig drives off; a tank the job leaves alone stays as it was."""
    after = dict(found.water)
    if plan is not None:
        after.update({tank.name: tank.end for tank in plan.tanks})
    return after


# ---------------------------------------------------------------------------------------------------- what is taken


@dataclass(frozen=True, slots=True, kw_only=True)
class _Taken:
    """A flow on the clock of the work [s], out of a `source`; `counts`: it is among what the job draws of it."""

    flow: Flow
    source: str
    start: float
    end: float
    counts: bool

    @classmethod
    def of(cls, flow: Flow, origin: float, tanks: Mapping[str, Tank], *, tap: bool) -> _Taken:
        """The flow with its source as supply knows it: a hydrant is a tap, and a tap that is not there is nowhere."""
        source = flow.source
        if source not in tanks and source != POND and (flow.use is not None or source in (TAP, "hydrant")):
            source = TAP if tap and source in (TAP, "hydrant") else source if source.startswith("pail ") else NOWHERE
        counts = source in tanks or (source in (TAP, POND, NOWHERE) and flow.use is not None)
        return cls(flow=flow, source=source, start=flow.start - origin, end=flow.end - origin, counts=counts)

    @property
    def rate(self) -> float:
        """How fast it runs [m3/s]."""
        return self.flow.volume / self.flow.seconds

    def within(self, start: float, end: float) -> float:
        """What of it runs between two moments [m3]."""
        shared = min(self.end, end) - max(self.start, start)
        return self.rate * shared if shared > 0.0 else 0.0


def _phases(
    lead: Sequence[Step],
    walls: Sequence[Standing],
    taken: Sequence[_Taken],
    origin: float,
    runs_of: Mapping[str, str],
) -> Iterator[Phase]:
    """The lead's acts one after another, neighbours of one kind as one, with what anybody draws meanwhile."""
    out = _Out(walls)
    by_wall: dict[str, list[Standing]] = {}
    for standing in walls:
        by_wall.setdefault(standing.surface, []).append(standing)
    on = {surface: _Out(stood) for surface, stood in by_wall.items()}
    rows = [(*_named(number, lead, on, runs_of), out.during(step)) for number, step in enumerate(lead)]
    counted = sorted((draw for draw in taken if draw.counts and draw.flow.seconds > 0.0), key=lambda one: one.start)
    running: list[_Taken] = []
    upcoming = 0
    for (what, about, mix_on), of in groupby(zip(rows, lead, strict=True), key=lambda pair: pair[0]):
        steps_of = [step for _, step in of]
        start, end = steps_of[0].start - origin, steps_of[-1].end - origin
        if end <= start:
            continue
        draws: dict[str, float] = {}
        while upcoming < len(counted) and counted[upcoming].start < end:
            running.append(counted[upcoming])
            upcoming += 1
        running = [drawn for drawn in running if drawn.end > start]
        for drawn in running:
            volume = drawn.within(start, end)
            if volume > 0.0:
                draws[drawn.source] = draws.get(drawn.source, 0.0) + volume
        yield Phase(what=what, about=about, start=start, seconds=end - start, draws=draws, mix_on=mix_on)


def _named(number: int, lead: Sequence[Step], on: Mapping[str, _Out], runs_of: Mapping[str, str]) -> tuple[str, str]:
    """What is done in a step, and on which wall or for which run."""
    step = lead[number]
    if not step.wall:
        return step.what, _run_about(number, lead, runs_of) if step.what in (FLUSH_FIRST, FILL_AND_MIX) else ""
    detail = step.act.detail
    if isinstance(detail, Spray):
        return _SHOWN[detail.use], step.what
    stands = step.what in on and on[step.what].during(step)
    return ("dwell" if stands else SET_UP), step.what


def _run_about(number: int, lead: Sequence[Step], runs_of: Mapping[str, str]) -> str:
    """The run a tank is filled or a line flushed for: the first one named in this stretch, itself or by its tank."""
    what, first = lead[number].what, number
    while first > 0 and lead[first - 1].what == what:
        first -= 1
    for step in takewhile(lambda step: step.what == what, lead[first:]):
        for key in ("run", "about", "into", "tank", "source"):
            name = getattr(step.act.detail, key, None)
            if name is not None and name in runs_of:
                return runs_of[name]
    return ""


class _Out:
    """When mix stands on any of some walls, which are in order of its start."""

    def __init__(self, walls: Sequence[Standing]) -> None:
        stood = [standing for standing in walls if standing.off - standing.start > _AT_ONCE]
        self._starts = [standing.start for standing in stood]
        self._latest = list(accumulate((standing.off for standing in stood), max))

    def during(self, step: Step) -> bool:
        """Whether it does in a step."""
        begun = bisect_left(self._starts, step.end - _AT_ONCE)
        return begun > 0 and min(self._latest[begun - 1], step.end) - step.start > _AT_ONCE


# ---------------------------------------------------------------------------------------------------- the tanks


def _stands(procedure: Procedure, tank: Tank) -> float:
    """What stands in a tank at arrival [m3]: one that nothing is said of is full of water, or empty for a mix."""
    held = procedure.begin.tanks.get(tank.name)
    if held is None or held.volume is None:
        return 0.0 if tank.holds not in (None, "water") else tank.volume
    return min(held.volume, tank.volume)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spell:
    """A while in which nothing begins or ends: what is pumped and drained, what the tap and others bring [m3/s].

    `phase` is its number among the job's.
    """

    start: float
    seconds: float
    pumped: float
    drained: float
    tap: float
    other: float
    phase: int


def _spells(tank: str, taken: Sequence[_Taken], phases: Sequence[Phase]) -> list[_Spell]:
    own = [draw for draw in taken if tank in (draw.source, draw.flow.into) and draw.flow.seconds > 0.0]
    own.sort(key=lambda one: one.start)
    last = phases[-1].start + phases[-1].seconds
    cuts = sorted(
        {
            last,
            *(phase.start for phase in phases),
            *(draw.start for draw in own),
            *(min(draw.end, last) for draw in own),
        }
    )
    edges = [cuts[0]]
    for cut in cuts[1:]:
        if cut - edges[-1] > _NOISE:
            edges.append(cut)
    edges[-1] = max(edges[-1], last)
    spells: list[_Spell] = []
    running: list[_Taken] = []
    upcoming, phase = 0, 0
    for start, end in pairwise(edges):
        middle = (start + end) / 2.0
        while upcoming < len(own) and own[upcoming].start <= middle:
            running.append(own[upcoming])
            upcoming += 1
        running = [draw for draw in running if draw.end > middle]
        while phase + 1 < len(phases) and phases[phase + 1].start <= middle:
            phase += 1
        out = [draw for draw in running if draw.source == tank]
        into = [draw for draw in running if draw.flow.into == tank]
        spells.append(
            _Spell(
                start=start,
                seconds=end - start,
                pumped=sum(draw.rate for draw in out if not draw.flow.drained),
                drained=sum(draw.rate for draw in out if draw.flow.drained),
                tap=sum(draw.rate for draw in into if draw.source == TAP),
                other=sum(draw.rate for draw in into if draw.source != TAP),
                phase=phase,
            )
        )
    return spells


def _followed(
    spells: Sequence[_Spell], level: float, tank: Tank, dead_volume: float, *, tap: bool = True
) -> tuple[Stretch, ...]:  # fmt: skip
    """The tank's straight pieces; what a drain finds too little is no lack of water."""
    pieces: list[Stretch] = []
    for number, spell in enumerate(spells):
        whole = Spell(
            seconds=spell.seconds, draw=spell.pumped + spell.drained, fill=spell.other + (spell.tap if tap else 0.0)
        )
        outlet = dead_volume if spell.pumped > 0.0 else 0.0
        for piece in tanks.stretches([whole], level, tank.volume, outlet, spell.start, number):
            lacks = piece.missing == 0.0 or spell.pumped > 0.0
            pieces.append(piece if lacks else replace(piece, missing=0.0))
            level = piece.level_after
    return tuple(pieces)


def _level(
    tank: Tank, start: float, taken: Sequence[_Taken], phases: Sequence[Phase], filler: Filler | None
) -> TankLevel:
    """A water tank, and whether it lasts."""
    spells = _spells(tank.name, taken, phases)
    pieces = _followed(spells, start, tank, tank.dead_volume)
    flow = filler.flow() if filler is not None else None
    dry = None
    at = tanks.dry_at(pieces)
    if at is not None:
        short = tanks.missing(pieces)
        first = next(piece for piece in pieces if piece.start >= at and piece.missing > 0.0)
        phase = phases[spells[first.spell].phase]
        with_mix = sum(piece.missing * piece.seconds for piece in pieces if phases[spells[piece.spell].phase].mix_on)
        room = tank.volume - start
        full = _followed(spells, tank.volume, tank, tank.dead_volume)
        dry = Dry(
            at=max(at, 0.0),
            what=phase.what,
            about=phase.about,
            short=short,
            mix_on=with_mix > tanks.NOISE,
            wait=short / flow if flow else None,
            full_lasts=room > _NOISE and tanks.dry_at(full) is None,
            room=room,
            fills=room / flow if flow else None,
        )
    alone = tanks.dry_at(_followed(spells, start, tank, tank.dead_volume, tap=False))
    usable = tank.volume - tank.dead_volume
    lacks = sum(spell.pumped * spell.seconds for spell in spells) - max(start - tank.dead_volume, 0.0)
    return replace(
        _traced(tank, start, spells, pieces, mix=False),
        fill_flow=flow,
        alone=None if alone is None else max(alone, 0.0),
        dry=dry,
        # A tap too weak to lift water over the rim is no help either.
        trips=ceil(lacks / usable - _NOISE) if dry is not None and not flow else None,
    )


def _mix_tank(tank: Tank, start: float, taken: Sequence[_Taken], phases: Sequence[Phase]) -> TankLevel:
    """A mix tank: what is filled and poured in batch by batch, and sprayed or drained."""
    spells = _spells(tank.name, taken, phases)
    return _traced(tank, start, spells, _followed(spells, start, tank, 0.0), mix=True)


def _traced(tank: Tank, start: float, spells: Sequence[_Spell], pieces: Sequence[Stretch], *, mix: bool) -> TankLevel:
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
        wanted=sum((spell.pumped + spell.drained) * spell.seconds for spell in spells),
        drawn=tanks.drawn(pieces),
        supplied=tanks.supplied(pieces),
        fills=tanks.filling(pieces),
        fill_flow=None,
        alone=None,
        dry=None,
        trips=None,
    )


def _points(pieces: Sequence[Stretch]) -> tuple[tuple[float, float], ...]:
    """The level from arrival on, with no point on a straight line between its neighbours."""
    points = [(pieces[0].start, pieces[0].level)]
    before: float | None = None
    for piece in pieces:
        rate = piece.inflow - piece.outflow
        if before is not None and abs(rate - before) <= _STRAIGHT * max(abs(rate), abs(before)):
            points.pop()
        points.append((piece.start + piece.seconds, piece.level_after))
        before = rate
    return tuple(points)


# ---------------------------------------------------------------------------------------------------- the tap


def _tap_owed(
    given: Watered,
    asked: BedWater | None,
    filler: Filler | None,
    taken: Sequence[_Taken],
    phases: Sequence[Phase],
    origin: float,
) -> TapOwed | None:
    """Where beds and job ask the tap for more than it gives in the time, so that the beds get less; None nowhere.

    Before any mix, while it is out, and after: when in it they are watered is theirs to choose. What a tank takes is
    whatever is left, so it is not asked for here.
    """
    most = filler.tap.flow(0.0) if filler is not None else None
    if asked is None or most is None or most <= 0.0 or given.first is None or given.closes is None:
        return None
    arrives, ends = phases[0].start, phases[-1].start + phases[-1].seconds
    first, closes = given.first - origin, given.closes - origin
    out = sum(end - start for start, end in given.out)
    beside = [
        draw
        for draw in taken
        if draw.source == TAP and draw.counts and draw.flow.seconds > 0.0 and draw.flow.use != "beds"
    ]
    short = []
    for since, until, beds, mix_on in (
        (arrives, first, asked.before, False),
        (first, closes, asked.each * out / asked.every, True),
        (closes, ends, asked.after, False),
    ):
        wanted, gives = beds + sum(draw.within(since, until) for draw in beside), most * (until - since)
        if wanted - gives > tanks.NOISE:
            short.append((since, wanted, gives, mix_on))
    if not short:
        return None
    at = short[0][0]
    phase = _phase_at(phases, at)
    wanted, gives = sum(one[1] for one in short), sum(one[2] for one in short)
    return TapOwed(
        at=at,
        what=phase.what,
        about=phase.about,
        wanted=wanted,
        gives=gives,
        mix_on=any(one[3] for one in short),
        wait=(wanted - gives) / most,
    )


def _phase_at(phases: Sequence[Phase], at: float) -> Phase:
    return next((phase for phase in reversed(phases) if phase.start <= at + _AT_ONCE), phases[0])


def _tap_short(
    job: JobInput, runs: Sequence[RunPlan], taken: Sequence[_Taken], phases: Sequence[Phase]
) -> Iterator[TapShort]:
    """Runs whose line was solved to more than the tap can give beside what else it gives then; the first such step."""
    tap = tap_of(job.water)
    beside = sorted(
        (
            draw
            for draw in taken
            if draw.source == TAP and draw.flow.seconds > 0.0 and not isinstance(draw.flow.act.detail, Spray)
        ),
        key=attrgetter("start"),
    )
    longest = max((draw.end - draw.start for draw in beside), default=0.0)

    def meanwhile(own: _Taken) -> Sequence[_Taken]:
        first = bisect_left(beside, own.start - longest - _AT_ONCE, key=attrgetter("start"))
        return beside[first : bisect_left(beside, own.end, key=attrgetter("start"))]

    for run in runs:
        own = [
            draw
            for draw in taken
            if draw.source == TAP and isinstance(draw.flow.act.detail, Spray) and draw.flow.act.detail.run == run.name
        ]
        if not own:
            continue
        most = max(
            sum(
                other.rate
                for other in meanwhile(draw)
                if min(draw.end, other.end) - max(draw.start, other.start) > _AT_ONCE
            )
            for draw in own
        )
        if tap.pressure(run.pump_flow + most) >= -_NOISE * tap.static:
            continue
        first = _phase_at(phases, own[0].start)
        mix_on = any(_phase_at(phases, draw.start).mix_on for draw in own)
        yield TapShort(run=run.name, at=own[0].start, what=first.what, about=first.about, mix_on=mix_on)
