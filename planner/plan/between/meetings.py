"""Every way two things of a job can meet: in a tank, a line, a pump, on a wall, in the runoff; today and before.

A pure function of the rig as it was found, the runs and their mixes.  Contact on a wall or in a line counts as mixing.
What a planned flush has taken out before the other comes is `cleared`: a hold point, no stop.  Walls, runoff, and a
pump of bleach for acid are never cleared by a flush: the pores and the seals keep it (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations

from planner.inputs.reading.addresses import near_place
from planner.inputs.tables.chemicals import ACIDS, BLEACH, SOAP
from planner.physics.hoses import area
from planner.plan.between.heels import after_mix
from planner.plan.between.matrix import meets
from planner.plan.between.meeting import Cleared, Kind, Meeting
from planner.plan.between.model import ChangeFlush
from planner.plan.between.sites import Around, OnWall, active, porous_of
from planner.plan.mix.model import EMPTY, Carried, FlushPlan, MixPlan, SiteTrace
from planner.plan.water.plain_water import feed_meetings, line_meetings

_NOTHING: frozenset[str] = frozenset()


def meetings(around: Around, cleared: Cleared | None = None) -> tuple[Meeting, ...]:
    """Every meeting of two different things of which something comes, in the order they can happen.

    `cleared` names tanks and parts with the chemicals that planned flushes wash out of them, below their targets,
    before anything else comes.
    """
    washed = cleared or {}
    found = (
        *_heels(around, washed),
        *feed_meetings(around, washed),
        *_earlier(around, washed),
        *line_meetings(around, washed),
        *_in_job(around.mixes, washed),
        *_walls(around),
        *_sites(around),
    )
    return tuple(meeting for meeting in found if meeting.answer.outcome not in ("same", "harmless"))


def flushed_at_end(found: Carried) -> Cleared:
    """What the flush at the end of each job before takes out of the parts of its lines; tanks keep their heels."""
    return {part: frozenset({chemical}) for part, chemical in found.parts.items() if part not in found.unflushed}


def flushed_between(found: Carried, changes: Iterable[ChangeFlush]) -> Cleared:
    """The same with what this job flushes before its own mixes."""
    ends, own = flushed_at_end(found), cleared_by(changes)
    return {part: ends.get(part, _NOTHING) | own.get(part, _NOTHING) for part in {**ends, **own}}


def cleared_by(changes: Iterable[ChangeFlush]) -> Cleared:
    """What flushes between chemistries take out: of each part of a line, and of a tank that gives plain water.

    A mix tank is left out: what its mix finds in it is rinse water already. A part that one flush cannot get clean
    counts as cleared of that chemical by none.
    """
    out: dict[str, set[str]] = {}
    stays: set[tuple[str, str]] = set()
    for change in changes:
        for part in change.parts:
            if part.kind == "tank" and change.comes != "water":
                continue
            out.setdefault(part.part, set()).add(part.leaves)
            if part.volume is None:
                stays.add((part.part, part.leaves))
    return {
        part: frozenset(chemical for chemical in chemicals if (part, chemical) not in stays)
        for part, chemicals in out.items()
    }


def unflushed(
    found: Carried, mixes: Sequence[MixPlan], flushes: Sequence[FlushPlan], changes: Iterable[ChangeFlush] = ()
) -> frozenset[str]:
    """Parts that carried a mix and that no planned flush goes through before the next job, of today's all.

    A panel or injector that holds next to nothing has no flush of its own; its line's is enough, where it has one. Soap
    alone is pushed out by the water after it.
    """
    washed = {flush.part for flush in flushes if flush.volume is not None}
    runs = {flush.run for flush in flushes if flush.volume is not None}
    used: set[str] = set()
    changes = tuple(changes)
    for mix in mixes:
        used -= set(cleared_by([change for change in changes if change.mix == mix.name]))
        used |= set(after_mix(EMPTY, mix).parts) if mix.chemical != SOAP else set()
        device = mix.run.dosing
        if device is not None and device.wetted_volume == 0.0 and mix.run.name in runs:
            washed.add(device.name)
    before = cleared_by(changes)
    clean = {part for part in found.unflushed if found.parts.get(part) in before.get(part, _NOTHING)}
    return ((found.unflushed - clean) | used) - washed


def _heels(around: Around, washed: Cleared) -> Iterator[Meeting]:
    """A batch poured on what its tank still holds."""
    for mix in around.mixes:
        tank = mix.run.feed_tank
        if mix.heel_chemical is None or tank is None or mix.kind != "premix":
            continue
        yield Meeting(
            kind="heel",
            place=tank.name,
            first=mix.heel_chemical,
            second=mix.chemical,
            answer=meets(mix.heel_chemical, mix.chemical),
            first_mass=mix.heel_held * mix.heel_strength,
            second_mass=active(mix),
            mix=mix,
            cleared=mix.heel_chemical in washed.get(tank.name, _NOTHING),
        )


def _earlier(around: Around, washed: Cleared) -> Iterator[Meeting]:
    """Parts that carried something earlier today, and the pump that acid may not follow bleach through."""
    met: set[tuple[str, str]] = set()
    for mix in around.mixes:
        pump = mix.run.pump.name if mix.run.pump is not None and mix.kind != "injector" else None
        held = parts_held(mix)
        for part in after_mix(EMPTY, mix).parts:
            # What bleach has soaked stays a bleach pump, whatever went through it since.
            acid = part == pump and part in around.found.bleach_pumps and mix.chemical in ACIDS
            first = BLEACH if acid else around.found.parts.get(part)
            if first is None or (part, mix.chemical) in met:
                continue
            met.add((part, mix.chemical))
            volume = held.get(part, (0.0, 0.0))[0]
            strongest = around.strongest.get(first)
            yield Meeting(
                kind="pump" if acid else "part",
                place=part,
                first=first,
                second=mix.chemical,
                answer=meets(first, mix.chemical),
                first_mass=None if strongest is None else volume * strongest,
                second_mass=active(mix),
                mix=mix,
                cleared=not acid and first in washed.get(part, _NOTHING),
            )


def _in_job(mixes: Sequence[MixPlan], washed: Cleared) -> Iterator[Meeting]:
    """Two mixes of one job: on one wall, through one line or tank, else in the runoff of the site."""
    for mix, other in combinations(mixes, 2):
        both = meets(mix.chemical, other.chemical)
        walls = tuple(sorted(set(mix.surfaces) & set(other.surfaces)))
        shared = shared_parts(mix, other)
        open_parts = [part for part in shared if mix.chemical not in washed.get(part, _NOTHING)]
        kind: Kind = "wall" if walls else "line" if open_parts else "runoff"
        first, second = active(mix), active(other)
        if kind == "wall":
            first, second = _on(mix, walls), _on(other, walls)
        elif kind == "line":
            held = parts_held(mix)
            first = sum(held[part][0] * held[part][1] for part in open_parts if part in held)
        yield Meeting(
            kind=kind,
            place=walls[0] if walls else open_parts[0] if open_parts else "site",
            first=mix.chemical,
            second=other.chemical,
            answer=both,
            first_mass=first,
            second_mass=second,
            mix=other,
            other=mix,
            surfaces=walls,
        )


def _walls(around: Around) -> Iterator[Meeting]:
    """What was on a wall before, and the mix that now comes on it."""
    for wall in around.walls:
        for mix in around.mixes:
            if wall.surface not in mix.surfaces:
                continue
            yield Meeting(
                kind="wall_before",
                place=wall.surface,
                first=wall.chemical,
                second=mix.chemical,
                answer=meets(wall.chemical, mix.chemical),
                first_mass=wall.mass,
                second_mass=_on(mix, (wall.surface,)),
                mix=mix,
                surfaces=(wall.surface,),
                before=wall,
            )


def _sites(around: Around) -> Iterator[Meeting]:
    """An earlier job at the same address: today its runoff still stands there; before, its pores may hold it.

    A wall of the same name is taken for the same wall; what is written of a wall counts for what came no later. What
    may be the same address, or shares today's gutter with it, is asked about.
    """
    for trace in around.sites:
        same = trace.address == around.address
        neighbors = around.neighbors if trace.today else 0.0
        if not same and not near_place(trace.address, around.address, neighbors):
            continue
        for mix in around.mixes:
            porous = porous_of(mix)
            if not trace.today and not (trace.walls and porous):
                continue
            if not same:
                yield _at_site("site_near", trace, mix, porous)
                continue
            if not trace.today:
                porous = tuple(name for name in porous if not _written(around, name, trace))
            theirs = {_as_named(name) for name in trace.walls}
            for name in () if trace.today else [name for name in porous if _as_named(name) in theirs]:
                yield Meeting(
                    kind="wall_before",
                    place=name,
                    first=trace.chemical,
                    second=mix.chemical,
                    answer=meets(trace.chemical, mix.chemical),
                    first_mass=None,
                    second_mass=_on(mix, (name,)),
                    mix=mix,
                    surfaces=(name,),
                    before=OnWall(surface=name, chemical=trace.chemical, day=trace.date, strip=None, porous=True),
                )
            if not trace.today:
                porous = tuple(name for name in porous if _as_named(name) not in theirs)
                if not porous:
                    continue
            yield _at_site("site_today" if trace.today else "site_before", trace, mix, porous)


def _as_named(wall: str) -> str:
    return " ".join(wall.casefold().split())


def _written(around: Around, wall: str, trace: SiteTrace) -> bool:
    """Whether the job's own file tells what a wall bore, as of the day of an earlier job or since."""
    return any(
        on_wall.surface == wall
        and on_wall.chemical == trace.chemical
        and (on_wall.day is None or trace.date is None or on_wall.day >= trace.date)
        for on_wall in around.walls
    )


def _at_site(kind: Kind, trace: SiteTrace, mix: MixPlan, porous: tuple[str, ...]) -> Meeting:
    return Meeting(
        kind=kind,
        place=trace.job,
        first=trace.chemical,
        second=mix.chemical,
        answer=meets(trace.chemical, mix.chemical),
        first_mass=trace.mass,
        second_mass=active(mix),
        mix=mix,
        surfaces=porous,
        address=trace.address,
    )


def _on(mix: MixPlan, walls: Iterable[str]) -> float | None:
    """The active [kg] that lands on some of its walls, spare included."""
    if not mix.target > 0.0:
        return None
    land = sum(part.mix for part in mix.parts if part.surface.name in set(walls))
    return land * (1.0 + mix.spare) * max(mix.target, mix.wall_high or 0.0)


def parts_held(mix: MixPlan) -> dict[str, tuple[float, float]]:
    """What each part of a mix's line holds: volume [m3] and strength [kg/m3]; a panel or injector the stock itself."""
    strength = max(mix.wall_high or 0.0, mix.target)
    stock = max(strength, mix.strongest_stock or 0.0)
    held: dict[str, tuple[float, float]] = {}
    pump, device, tank = mix.run.pump, mix.run.dosing, mix.run.feed_tank
    if pump is not None and mix.kind != "injector":
        held[pump.name] = (pump.wetted_volume, strength)
    if device is not None:
        held[device.name] = (device.wetted_volume, stock)
    for hose in mix.run.hoses:
        held[hose.name] = (area(hose.bore) * hose.length, strength)
    if mix.kind == "premix" and tank is not None:
        held[tank.name] = (tank.dead_volume, strength)
    return held


def shared_parts(one: MixPlan, other: MixPlan) -> tuple[str, ...]:
    """Tanks, pumps, panels and hoses both mixes go through."""
    others = parts_held(other)
    return tuple(part for part in parts_held(one) if part in others)
