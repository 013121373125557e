"""What the plan says by the order of its acts: the steps of the visit, water by use, beds, how long each pump works.

A bed is watered while the mix is being sprayed and through the longest dwell, not through the hours between, in which
walls are wetted and rinsed; page and totals both go by that.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from math import inf
from typing import Final

from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.plan.model import RunPlan
from planner.plan.procedure.acts import Act, Drain, Fill, Pour, Procedure, SetDosing, Spray, WaterBed
from planner.plan.procedure.flows import Flow, flows, gun_seconds, power_seconds
from planner.plan.road.power import with_beside
from planner.plan.water.model import BedWater, WaterPlan
from planner.plan.water.timing import DRIVE, FLUSH_FIRST, Span, drive_to

WALK_ROUND: Final = "walk-round"
SET_UP: Final = "set up"
FILL_AND_MIX: Final = "fill and mix"
FLUSH: Final = "flush"
PACK: Final = "pack"
"""Steps of a visit; between them stand the names of the surfaces."""

_OF_PHASE: Final[Mapping[str, str]] = {
    "walk": WALK_ROUND, "set_up": SET_UP, "test": SET_UP, "flush_first": FLUSH_FIRST, "flush": FLUSH, "leave": PACK,
}  # fmt: skip
_AT_ONCE: Final = 1e-6
AGAIN: Final = "wall.dries"
"""Why mix is sprayed on what has some already: it is kept wet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One act of the lead, until the next: `what` the step of the visit it belongs to; of a wall, `wall` is true."""

    act: Act
    what: str
    wall: bool
    start: float
    end: float


# ---------------------------------------------------------------------------------------------------- the clock


def spans(job: JobInput, procedure: Procedure, leaves: float | None) -> tuple[Span, ...]:
    """Every step of the visit, one after another, the drive there first; the yard's are yard.yard_time's.

    The rig `leaves` for it [s from midnight]; without that, or the drive, the steps have no start.
    """
    drive = drive_to(job)
    dated = leaves is not None and drive is not None
    found = []
    if drive:
        found.append(Span(what=DRIVE, start=procedure.starts - drive if dated else None, seconds=drive, road=True))
    for (what, _), of in groupby(steps(procedure), key=lambda step: (step.what, step.wall)):
        together = tuple(of)
        start, end = together[0].start, together[-1].end
        if end > start:
            found.append(Span(what=what, start=start if dated else None, seconds=end - start))
    return tuple(found)


def steps(procedure: Procedure) -> tuple[Step, ...]:
    """The lead's acts by their start, each until the next, the last until all is done."""
    acts = [act for act in procedure.acts if act.who != "second"]
    if not acts:
        return ()
    names = _named(acts, procedure.acts)
    starts = [procedure.starts, *(act.start for act in acts[1:]), procedure.ends]
    return tuple(
        Step(act=act, what=what, wall=wall, start=start, end=end)
        for act, (what, wall), (start, end) in zip(acts, names, pairwise(starts), strict=True)
    )


def _named(acts: Sequence[Act], everybodys: Sequence[Act]) -> list[tuple[str, bool]]:
    """Each act's step and whether that is a wall. What has neither wall nor phase of its own goes with the one before.

    The first acts of a stretch of washing name no wall: they are the wall's that comes next. Where no tank is filled
    mixing is a part of set-up.
    """
    # A line that carried water alone is only let down before it is rolled up.
    flushed = any(act.phase == "flush" and isinstance(act.detail, Spray | Fill | Drain) for act in everybodys)
    names: list[tuple[str, bool] | None] = []
    for number, act in enumerate(acts):
        before = names[-1] if names else None
        name: tuple[str, bool] | None
        if act.phase == "wash":
            if act.section is not None:
                name = (act.section.surface, True)
            else:
                name = before if before is not None and before[1] else _next_wall(acts[number:]) or before
        elif act.phase == "mix":
            fills = before == (FILL_AND_MIX, False) or _fills_tank(acts[number:], everybodys)
            name = (FILL_AND_MIX if fills else SET_UP, False)
        elif act.phase == "flush" and not flushed:
            name = (PACK, False)
        elif act.phase in _OF_PHASE:
            name = (_OF_PHASE[act.phase], False)
        else:
            name = before
        names.append(name)
    first = next((name for name in names if name is not None), (SET_UP, False))
    return _undivided(acts, [name or first for name in names])


def _undivided(acts: Sequence[Act], names: list[tuple[str, bool]]) -> list[tuple[str, bool]]:
    """A drum changed, or a line joined that was tried before, is a part of the step it interrupts."""
    at = 0
    for name, of in groupby(list(names)):
        until = at + len(list(of))
        inside = at > 0 and until < len(names) and names[at - 1] == names[until]
        if name == (SET_UP, False) and inside and all(act.phase != "test" for act in acts[at:until]):
            names[at:until] = [names[until]] * (until - at)
        at = until
    return names


def _next_wall(acts: Sequence[Act]) -> tuple[str, bool] | None:
    return next(((act.section.surface, True) for act in acts if act.phase == "wash" and act.section is not None), None)


def _fills_tank(acts: Sequence[Act], everybodys: Sequence[Act]) -> bool:
    """Whether a tank is filled before the lead does anything but mix and what lies on the grounds."""
    until = next((act.start for act in acts if act.phase not in ("mix", "grounds")), inf)
    return any(
        isinstance(act.detail, Fill | Pour) and not act.detail.into.startswith(("jug ", "pail "))
        for act in everybodys
        if act.phase == "mix" and acts[0].start - _AT_ONCE <= act.start < until - _AT_ONCE
    )


# ---------------------------------------------------------------------------------------------------- the walls


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Mix on a section: from `start` it goes on, from `rinsed` it is rinsed, at `off` the rinse is done [s].

    What is not rinsed stands until the lead has done with the wall.
    """

    surface: str
    start: float
    rinsed: float
    off: float


def standings(procedure: Procedure, moved: Sequence[Flow]) -> tuple[Standing, ...]:
    """When mix stands where, by its start; `moved` are the procedure's flows."""
    times: dict[str, tuple[float, float]] = {}
    for flow in moved:
        if flow.act.section is None:
            continue
        since, until = times.get(flow.act.id, (flow.start, flow.end))
        times[flow.act.id] = (min(since, flow.start), max(until, flow.end))
    found: list[Standing] = []
    open_: dict[tuple[str, int], int] = {}
    for act in procedure.acts:
        if act.section is None or not isinstance(act.detail, Spray):
            continue
        key = (act.section.surface, act.section.number)
        start, end = times.get(act.id, (act.start, act.end))
        place = open_.get(key)
        if act.detail.use == "mix":
            if place is not None and found[place].rinsed == inf:
                continue
            open_[key] = len(found)
            found.append(Standing(surface=key[0], start=start, rinsed=inf, off=inf))
        elif act.detail.use == "rinse" and place is not None:
            stands = found[place]
            found[place] = replace(stands, rinsed=min(stands.rinsed, start), off=end)
    if any(standing.rinsed == inf for standing in found):
        walls = steps(procedure)
        found = [_left(standing, walls) if standing.rinsed == inf else standing for standing in found]
    return tuple(sorted(found, key=lambda one: one.start))


def _left(one: Standing, walls: Sequence[Step]) -> Standing:
    """Mix that nobody rinses: until the lead is at something else than its wall."""
    until = one.start
    for step in walls:
        if step.end <= one.start:
            continue
        if not (step.wall and step.what == one.surface) and step.start > one.start:
            break
        until = step.end
    return replace(one, rinsed=until, off=until)


def stood(procedure: Procedure) -> dict[str, float]:
    """How long mix stands on each wall's sections that are rinsed [s], on average: from its last to the first water."""
    landed: dict[tuple[str, int], float] = {}
    found: dict[str, list[float]] = {}
    for act in procedure.acts:
        if act.section is None or not isinstance(act.detail, Spray):
            continue
        key = (act.section.surface, act.section.number)
        if act.detail.use == "mix":
            landed[key] = act.end if act.why != AGAIN else landed.get(key, act.end)
        elif act.detail.use == "rinse" and key in landed:
            found.setdefault(key[0], []).append(act.start - landed.pop(key))
    return {name: sum(times) / len(times) for name, times in found.items()}


def bare(procedure: Procedure, moved: Sequence[Flow]) -> dict[str, float]:
    """The longest that the first strip of a section of each wall that is rinsed waits, once its mix goes on [s]: for
    the rinse, or to be wetted again."""
    starts: dict[str, float] = {}
    for flow in moved:
        starts[flow.act.id] = min(starts.get(flow.act.id, inf), flow.start)
    since: dict[tuple[str, int], float] = {}
    found: dict[str, float] = {}
    for act in procedure.acts:
        if act.section is None or not isinstance(act.detail, Spray) or act.detail.use not in ("mix", "rinse"):
            continue
        key, start = (act.section.surface, act.section.number), starts.get(act.id, act.start)
        if key in since and (act.detail.use == "rinse" or act.why == AGAIN):
            found[key[0]] = max(found.get(key[0], 0.0), start - since.pop(key))
        if act.detail.use == "mix":
            since.setdefault(key, start)
    return found


def longest_stood(procedure: Procedure, moved: Sequence[Flow]) -> dict[str, float]:
    """The longest that mix stands on a section of each wall that is rinsed [s]: from its last to the first water."""
    flowing: dict[str, tuple[float, float]] = {}
    for flow in moved:
        since, until = flowing.get(flow.act.id, (flow.start, flow.end))
        flowing[flow.act.id] = (min(since, flow.start), max(until, flow.end))
    landed: dict[tuple[str, int], float] = {}
    found: dict[str, float] = {}
    for act in procedure.acts:
        if act.section is None or not isinstance(act.detail, Spray):
            continue
        key, (start, end) = (act.section.surface, act.section.number), flowing.get(act.id, (act.start, act.end))
        if act.detail.use == "mix":
            landed[key] = end if act.why != AGAIN else landed.get(key, end)
        elif act.detail.use == "rinse" and key in landed:
            found[key[0]] = max(found.get(key[0], 0.0), start - landed.pop(key))
    return found


def together(pairs: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Times (from, to) [s] by their start, those that touch as one."""
    found: list[tuple[float, float]] = []
    for start, end in sorted(pairs):
        if found and start <= found[-1][1] + _AT_ONCE:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return tuple(found)


# ---------------------------------------------------------------------------------------------------- beds and water


@dataclass(frozen=True, slots=True, kw_only=True)
class Watered:
    """What the beds get [m3] before any mix, while it is out, and after; `out` are the times [s] it stands on a wall.

    `first` is when any goes on, `closes` when the last wall is done; both None without a mix.
    """

    before: float
    during: float
    after: float
    out: tuple[tuple[float, float], ...]
    first: float | None
    closes: float | None


def watered(procedure: Procedure, walls: Sequence[Standing]) -> Watered:
    """The beds' water by when they get it; `walls` as mix stands on them."""
    out = together([(standing.start, standing.rinsed) for standing in walls])
    first = out[0][0] if out else None
    last = max((act.start for act in procedure.acts if act.phase == "wash"), default=procedure.starts)
    closes = min(
        (act.start for act in procedure.acts if act.phase in ("flush", "leave") and act.start >= last - _AT_ONCE),
        default=procedure.ends,
    )
    given = [0.0, 0.0, 0.0]
    waterings = [(act.start, act.detail.volume) for act in procedure.acts if isinstance(act.detail, WaterBed)]
    # What drips is not over with the work: the last watering behind it is the one after.
    ends = max((start for start, _ in waterings if start >= closes - _AT_ONCE), default=closes)
    for start, volume in waterings:
        early = first is None or start < first - _AT_ONCE
        given[0 if early else 1 if start < ends - _AT_ONCE else 2] += volume
    before, during, after = given
    return Watered(
        before=before, during=during, after=after, out=out, first=first, closes=None if first is None else closes
    )


def beds(
    asked: BedWater | None, procedure: Procedure, walks: Mapping[str, float], moved: Sequence[Flow] | None = None
) -> BedWater | None:
    """The beds' water as it was asked for, with what they get while mix is out, and for how long it is."""
    if asked is None:
        return None
    given = watered(procedure, standings(procedure, moved if moved is not None else flows(procedure, walks)))
    return replace(asked, during=given.during, seconds=sum(end - start for start, end in given.out))


def water(procedure: Procedure, moved: Sequence[Flow] | None = None) -> WaterPlan:
    """Water by use. A mix tank, jug or pail counts when it is filled, a clean tank when water is drawn out of it.

    What is sprayed out of a vessel that has counted is of the spray's use, and no longer of the filling's.
    """
    by: dict[str, float] = {}
    piped = 0.0
    for flow in moved if moved is not None else flows(procedure):
        piped += flow.volume if flow.source in ("tap", "hydrant") else 0.0
        if flow.use is not None:
            by[flow.use] = by.get(flow.use, 0.0) + flow.volume
        if flow.instead is not None:
            by[flow.instead] = by.get(flow.instead, 0.0) - flow.volume
    open_ = dict.fromkeys(("wet", "line", "test", "mix", "rinse", "clean", "flush"), 0.0)
    for of_run in gun_seconds(procedure).values():
        for use, seconds in of_run.items():
            open_[use] += seconds
    return WaterPlan(
        pre_wet=by.get("pre_wet", 0.0),
        line=by.get("line", 0.0),
        test=by.get("test", 0.0),
        mix=by.get("mix", 0.0),
        rinse=by.get("rinse", 0.0),
        clean=by.get("clean", 0.0),
        flush=by.get("flush", 0.0),
        beds=by.get("beds", 0.0),
        piped=piped,
        seconds={"pre_wet" if use == "wet" else use: seconds for use, seconds in open_.items()},
    )


# ---------------------------------------------------------------------------------------------------- power


def pump_seconds(job: JobInput, runs: Sequence[RunPlan], procedure: Procedure) -> Mapping[str, float]:
    """How long each pump works [s]: one with a switch stops with the gun, any other runs while it has power.

    Guns open at once from one pump count once, the longest of them; a pump beside others runs as long as they all do.
    """
    switched, guns = power_seconds(procedure), gun_seconds(procedure)
    opened: dict[str, dict[tuple[str, ...], float]] = {}
    stops: set[str] = set()
    for run in runs:
        pump = run.input.pump
        if pump is None:
            continue
        if pump.of_kind.relief == "cut_off":
            stops.add(pump.name)
        group = tuple(sorted({run.name, *run.input.same_time}))
        groups = opened.setdefault(pump.name, {})
        groups[group] = max(groups.get(group, 0.0), sum(guns.get(run.name, {}).values()))
    found = {
        name: sum(groups.values()) if name in stops else switched.get(name, sum(groups.values()))
        for name, groups in opened.items()
    }
    return with_beside(job, found)


def first_mix(procedure: Procedure, surface: str, run: str) -> float | None:
    """When a run first has mix on a surface [s on the acts' clock]; None where it brings none there."""
    return next(
        (
            act.start
            for act in procedure.acts
            if act.section is not None and act.section.surface == surface
            if isinstance(act.detail, Spray) and (act.detail.run, act.detail.use) == (run, "mix")
        ),
        None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class JugTest:
    """A draw test read at a jug: its act's id, what was put in before (`water` or a lot, m3), and how far the jug goes
    down [m3], in order `between` so far."""

    act: str
    filled: tuple[tuple[str, float], ...]
    down: float
    between: tuple[float, float]

    @property
    def left(self) -> float:
        """What stands in the jug once it is read [m3]."""
        return max(sum(part for _, part in self.filled) - self.down, 0.0)


def jug_tests(procedure: Procedure) -> dict[str, list[JugTest]]:
    """Every draw test by its jug, in order."""
    held: dict[str, list[tuple[str, float]]] = {}
    found: dict[str, list[JugTest]] = {}
    jug = ""
    for act in procedure.acts:
        match act.detail:
            case Fill(into=into, volume=volume) if into.startswith("jug "):
                held.setdefault(into, []).append(("water", volume))
            case Pour(into=into, lot=lot, volume=volume) if into.startswith("jug "):
                held.setdefault(into, []).append((lot, volume or 0.0))
            case Drain(source=source):
                held.pop(source, None)
            case SetDosing(draws=draws):
                jug = next((draw.source for draw in draws if draw.source.startswith("jug ")), jug)
        expect = act.expect
        if expect is not None and expect.what == "jug_down":
            test = JugTest(
                act=act.id, filled=tuple(held.get(jug, ())), down=expect.value, between=(expect.low, expect.high)
            )
            found.setdefault(jug, []).append(test)
    return found


def jugs_left(procedure: Procedure, runs: Sequence[str]) -> tuple[JugTest | None, ...]:
    """The draw test of each mix, by the `runs` of mixes in their order; None where there is no telling whose."""
    found, told = jug_tests(procedure), list[JugTest | None]()
    for n, own in enumerate(runs):
        tests, mixes = found.get(f"jug {own}", []), runs.count(own)
        at = runs[:n].count(own) if len(tests) == mixes else 0
        told.append(tests[at] if tests and (mixes == 1 or len(tests) == mixes) else None)
    return tuple(told)
