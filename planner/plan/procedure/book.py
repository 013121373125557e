"""The crew's clock while the acts are made: who is free when and where, and how each line stands.

The lead's acts leave no gap: waiting is an act.  The second is at the rig and free at every call; what else there is
to do on the grounds is laid into what is left between the calls (grounds.py).  Alone, the lead does it all, one after
another: the gun is shut for every call, and he walks.  A walk comes first in its act; the grounds lie between rig and
wall, and time spent there counts as walked.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import field, replace
from math import inf
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from planner.frozen import dataclass
from planner.inputs.joined import JobInput, Role
from planner.inputs.tables.defaults import default
from planner.physics.hoses import area
from planner.plan.mix.model import Neutraliser
from planner.plan.model import RunPlan
from planner.plan.procedure.acts import (
    Act,
    At,
    Before,
    Detail,
    DrawFrom,
    Expect,
    Fill,
    Mark,
    Phase,
    Power,
    Read,
    Section,
    SetDosing,
    Shut,
    Spray,
    StopPoint,
    Tap,
    Wait,
    Who,
)
from planner.plan.procedure.asked import Asked
from planner.plan.procedure.numbered import numbered
from planner.plan.road.rig_rules import heats_in, shut_borne, shut_most, way_to_switch
from planner.plan.water.tap import (
    by_pail,
    filler_of,
    has_tap,
    open_flow,
    tank_in_reach,
    usual_flow,
    water_tank,
)

if TYPE_CHECKING:
    from planner.plan.procedure.hands.fills import OwnFill


PAIL: Final = 5 * 231 * 0.0254**3
"""What a pail holds [m3]: five gallons."""

_AT_RIG: Final = frozenset({"desk", "rig", "drums", "reel", "bench"})


@dataclass(slots=True, eq=False, kw_only=True)
class Draft:
    """An act that is still being made: its `after` are other drafts, its id comes at the end; `ends`: of what is made
    harmless, what this and those like it after it give."""

    phase: Phase
    who: Who
    at: At
    detail: Detail
    start: float
    lasts: float
    hands: float | None = None
    after: tuple[Draft, ...] = ()
    section: Section | None = None
    expect: Expect | None = None
    stop: int | None = None
    why: str | None = None
    ends: Neutraliser | None = None

    @property
    def end(self) -> float:
        """When it is done [s]."""
        return self.start + self.lasts


@dataclass(slots=True, kw_only=True)
class Person:
    """One of the crew: free at `now`, last at the `place` (rig or wall), on the grounds for `away` s since."""

    name: Who
    now: float
    place: str = "rig"
    at: At = "rig"
    away: float = 0.0


@dataclass(slots=True, kw_only=True)
class Line:
    """One run's line: hoses [m3], what its suction and dosing stand on, whether pump and gun are on.

    `limits` are the job's; `way` [s]: from the gun to its pump's switch and that switched, where nobody is left at the
    rig meanwhile; `running` is the tap that feeds it; `tip` is the one on its gun, by what it is for; `filled` are the
    hoses put on for a tip that have had water.
    """

    plan: RunPlan
    volume: float
    length: float
    limits: Mapping[str, float]
    way: float = 0.0
    joined: bool = False
    primed: bool = False
    on: bool = False
    open: bool = False
    stock: bool = False
    feed: str = ""
    shut_at: float = -inf
    power_stop: int | None = None
    mix_stop: int | None = None
    tested: bool = False
    running: bool = False
    tip: Role = "tip"
    filled: set[str] = field(default_factory=set)

    @property
    def name(self) -> str:
        """The run's name."""
        return self.plan.name

    @property
    def pump(self) -> str | None:
        """Its pump's name."""
        return self.plan.input.pump.name if self.plan.input.pump is not None else None

    @property
    def injector(self) -> bool:
        """Whether its dosing sits behind the pump."""
        device = self.plan.input.dosing
        return device is not None and device.kind == "injector"

    @property
    def flow(self) -> float:
        """What leaves the tip that is on [m3/s]: with its jug shut an injector passes the pump's own."""
        if self.tip != "tip":
            return self.plan.on(self.tip).flow
        return self.plan.pump_flow if self.injector and not self.stock else self.plan.flow

    @property
    def allowed(self) -> float:
        """How long its pump may run with the gun shut [s]: as paper has it, or for the walk to its switch."""
        return max(shut_most(self.limits, self.plan.input.pump, heats_in(self.plan)), min(self.way, self.bears))

    @property
    def bears(self) -> float:
        """How long its pump takes to get hot with the gun shut [s]."""
        return shut_borne(self.limits, self.plan.input.pump, heats_in(self.plan))


@dataclass(slots=True, kw_only=True)
class Book:
    """The acts so far, the people, the lines. `begins` [s]: from local midnight, from arrival where none is known.

    `spare` [s]: by wall, what its sections stand longer than is estimated.
    """

    asked: Asked
    job: JobInput
    lines: dict[str, Line]
    people: int
    begins: float
    minutes: Mapping[str, float]
    lead: Person
    second: Person | None
    tap: float | None
    drafts: list[Draft] = field(default_factory=list)
    phase: Phase = "walk"
    stops: int = 0
    pails: int = 0
    suctions: dict[str, str] = field(default_factory=dict)
    covered: list[str] = field(default_factory=list)
    flushed_by: dict[str, str] = field(default_factory=dict)
    tops: Mapping[int, float] = field(default_factory=dict)
    spare: Mapping[str, float] = field(default_factory=dict)
    sprays: list[Draft] = field(default_factory=list)
    own_fill: OwnFill | None = None
    mains: dict[str, bool] = field(default_factory=dict)

    @classmethod
    def of(
        cls, asked: Asked, begins: float, tops: Mapping[int, float] = MappingProxyType({}),
        spare: Mapping[str, float] = MappingProxyType({}),
    ) -> Book:  # fmt: skip
        """An empty book for a job's crew; without a day it is two."""
        job = asked.job
        crew = job.day.crew if job.day is not None else None
        people = crew.count if crew is not None else 2
        lines = {run.name: line_of(run, job) for run in asked.runs}
        return cls(
            asked=asked,
            job=job,
            lines=lines,
            people=people,
            begins=begins,
            minutes=job.tables["minutes"],
            lead=Person(name="lead", now=begins),
            second=Person(name="second", now=begins) if people > 1 else None,
            tap=(open_flow(job) or usual_flow(job)) if has_tap(job) else None,
            tops=tops,
            spare=spare,
        )

    # ----------------------------------------------------------------------------------------------- what is done

    def do(
        self,
        detail: Detail,
        at: At,
        seconds: float,
        *,
        who: Who = "lead",
        run: str | None = None,
        hands: float | None = None,
        after: Iterable[Draft | None] = (),
        section: Section | None = None,
        expect: Expect | None = None,
        stop: int | None = None,
        why: str | None = None,
        phase: Phase | None = None,
    ) -> Draft:
        """An act by `who`, as soon as they are free; the walk to it comes first and is added to `seconds`.

        `hands` [s]: it holds them no longer than that after the walk. Where the lead has to wait for it to begin, he
        waits as an act. `second` is the lead in a crew of one.
        """
        people = self._people(who)
        start = max(one.now for one in people)
        if self.lead in people:
            self.wait_until(start)
        if self.own_fill is not None:
            self.own_fill.give_way(self, detail, start)
        walk = max(self._walk(one, at, named_run(detail, self.lines)) for one in people)
        draft = Draft(
            phase=phase or self.phase,
            who=people[0].name if len(people) == 1 else "both",
            at=at,
            detail=detail,
            start=start,
            lasts=walk + seconds,
            hands=None if hands is None else walk + hands,
            after=tuple(one for one in after if one is not None),
            section=section,
            expect=expect,
            stop=stop,
            why=why,
        )
        for person in people:
            person.now = start + (draft.lasts if draft.hands is None else draft.hands)
            if at == "grounds":
                person.away += draft.lasts
        self.drafts.append(draft)
        if self.own_fill is not None:
            self.own_fill.goes_on(self, draft, walk)
        return draft

    def mark(self, detail: Mark, at: At, *, key: str = "", who: Who = "lead", run: str | None = None) -> Draft:
        """Something that is done and ticked; `key` is its row in the table of minutes, else its own word."""
        return self.do(detail, at, self.minutes[key or detail.what.split(" ")[0]], who=who, run=run)

    def wait_until(self, moment: float) -> None:
        """The lead waits where he is, as an act."""
        idle = moment - self.lead.now
        if idle > 1e-9:
            self.drafts.append(
                Draft(
                    phase=self.phase, who="lead", at=self.lead.at, detail=Wait(seconds=idle), start=self.lead.now,
                    lasts=idle,
                )
            )  # fmt: skip
            if self.lead.at == "grounds":
                self.lead.away += idle
            self.lead.now = moment

    def call(
        self, detail: Detail, at: At, seconds: float, *, run: str | None = None, expect: Expect | None = None,
        after: Iterable[Draft | None] = (), stop: int | None = None, phase: Phase | None = None,
    ) -> Draft:  # fmt: skip
        """Something at the rig while the gun is shut: the second does it and the lead waits; alone he walks."""
        if self.second is None:
            return self.do(detail, at, seconds, run=run, expect=expect, stop=stop, phase=phase)
        self.second.now = max(self.second.now, self.lead.now)
        self.wait_until(self.second.now)
        done = self.do(detail, at, seconds, who="second", run=run, expect=expect, after=after, stop=stop, phase=phase)
        self.wait_until(done.end)
        return done

    def called(
        self, detail: Detail, seconds: float, ends: float, *, run: str, after: Iterable[Draft | None] = (),
        stop: int | None = None,
    ) -> Draft:  # fmt: skip
        """Something the second does at the rig while the gun is open, done at the moment `ends` [s]."""
        assert self.second is not None
        self.second.now = ends - seconds
        return self.do(detail, "rig", seconds, who="second", run=run, after=after, stop=stop)

    def stop(
        self, before: Before, about: str | None, asks: Iterable[str], at: At, *, who: Who = "lead",
        after: Iterable[Draft | None] = (),
    ) -> int:  # fmt: skip
        """A stop point; its number. What it asks is in order of what was done."""
        self.stops += 1
        point = StopPoint(number=self.stops, before=before, about=about, asks=tuple(dict.fromkeys(asks)))
        self.do(point, at, self.minutes["stop_point"], who=who, run=about, after=after)
        return self.stops

    def pail_of(self, line: Line) -> str:
        """The pail a line's suction has for clean water, the same one all along."""
        if line.name not in self.suctions:
            self.suctions[line.name] = self.pail()
        return self.suctions[line.name]

    def pail(self) -> str:
        """The name of the next pail."""
        self.pails += 1
        return f"pail {self.pails}"

    # ----------------------------------------------------------------------------------------------- lines

    def power(self, line: Line, *, on: bool) -> None:
        """The line's pump switched, where it has one and stands otherwise."""
        if line.pump is None or line.on == on:
            return
        if on and self.second is not None and self.way(self.lead, line.name) + self.minutes["power"] > line.allowed:
            # The pump does not bear the way to the gun.
            self.mark(Mark(verb="look", what=f"gun {line.name}"), "wall", run=line.name)
        last = self.drafts[-1] if self.drafts else None
        self.call(
            Power(pump=line.pump, on=on), "rig", self.minutes["power"], run=line.name, after=(last,),
            stop=line.power_stop if on else None,
        )  # fmt: skip
        line.on = on
        line.shut_at = self.lead.now

    def tap_off(self, line: Line) -> None:
        """The tap that feeds a line shut, so that its pressure can be let out; where it is open."""
        if line.running:
            last = self.drafts[-1] if self.drafts else None
            self.call(Tap(run=line.name, on=False), "rig", self.minutes["tap"], run=line.name, after=(last,))
            line.running = False

    def tip_seconds(self, line: Line, *roles: Role) -> float:
        """How long it takes to put another tip on [s]: a surface cleaner is more than a nozzle, and hoses take more."""
        hoses = self.minutes["hose_changed"] if line.plan.input.role_hoses.keys() & {*roles} else 0.0
        return self.minutes["cleaner_changed" if "cleaner" in roles else "tip_changed"] + hoses

    def off_for(self, line: Line, seconds: float) -> None:
        """The gun shut, and the pump off where it may not stand so for `seconds` [s] more and the way to its switch."""
        self.shut(line)
        stood = self.lead.now - line.shut_at + seconds + self.minutes["power"]
        if line.on and line.allowed < (inf if self.second is None else stood):
            self.power(line, on=False)

    def shut(self, line: Line) -> None:
        """The gun closed, where it is open."""
        if line.open:
            self.do(Shut(run=line.name), "wall", self.minutes["shut"], run=line.name)
            line.open = False
            line.shut_at = self.lead.now

    def spray(
        self, line: Line, volume: float, onto: str, use: str, *, lasts: float | None = None,
        section: Section | None = None, expect: Expect | None = None, stop: int | None = None,
        why: str | None = None,
    ) -> Draft:  # fmt: skip
        """The gun open for `volume` [m3] at the line's flow, over `lasts` [s] elapsed, never less than it takes."""
        self.top_up(line)
        seconds = volume / line.flow
        detail = Spray(run=line.name, seconds=seconds, volume=volume, onto=onto, use=use)  # type: ignore[arg-type]
        done = self.do(
            detail, "wall", max(lasts or 0.0, seconds), run=line.name, section=section, expect=expect, stop=stop,
            why=why,
        )  # fmt: skip
        line.open = True
        self.sprays.append(done)
        return done

    def top_up(self, line: Line, *, guns: int = 1) -> None:
        """The crew waits for the tap where the tank would not last the spray that comes: `tops` [m3] by its number.

        So many `guns` are opened at once.
        """
        volume = max(self.tops.get(len(self.sprays) + gun, 0.0) for gun in range(guns))
        tank = next((tank for tank in self.job.rig.tanks if tank.name == line.feed), None)
        if not volume > 0.0 or tank is None:
            return
        filler = filler_of(self.job, tank)
        rate = (filler.flow() if filler is not None else 0.0) or usual_flow(self.job)
        source = self.job.water.source
        self.shut(line)
        if line.allowed < inf:
            self.power(line, on=False)
        self.call(Fill(into=tank.name, source=source, volume=volume), "rig", volume / rate, phase="grounds")
        self.power(line, on=True)

    def dose(self, line: Line, to: SetDosing, *, ends: float | None = None) -> Draft:
        """The dosing set: while the gun is open by the second, done when `ends` [s], else with the gun shut."""
        stop = line.mix_stop if to.draws else None
        if ends is not None:
            done = self.called(to, self.minutes["set_dosing"], ends, run=line.name, stop=stop)
        else:
            done = self.call(to, "rig", self.minutes["set_dosing"], run=line.name, stop=stop)
        line.stock = bool(to.draws)
        return done

    def draw(self, line: Line, feed: str, *, mix: bool = False, ends: float | None = None) -> Draft:
        """The suction put somewhere; the same two ways."""
        detail = DrawFrom(run=line.name, feed=feed)
        stop = line.mix_stop if mix else None
        if ends is not None:
            done = self.called(detail, self.minutes["draw_from"], ends, run=line.name, stop=stop)
        else:
            done = self.call(detail, "rig", self.minutes["draw_from"], run=line.name, stop=stop)
        line.feed, line.stock = feed, mix
        return done

    def read(self, expect: Expect, at: At, seconds: float, *, run: str | None = None, who: Who = "lead",
             why: str | None = None) -> Draft:  # fmt: skip
        """A reading by itself."""
        return self.do(Read(), at, seconds, who=who, run=run, expect=expect, why=why)

    def mixes(self, line: Line) -> bool:
        """Whether the line ever carries mix."""
        return line.plan.input.premix or line.plan.input.dosing is not None

    def water_feed(self, line: Line) -> str:
        """Where a line's plain water comes from: its own feed; for one that sprays tankfuls the rig's water.

        `pail`: a pail of its own, where its suction stood in acid or gets to no tank of water.
        """
        run = line.plan.input
        if run.feed in ("tap", "pond"):
            return "hydrant" if run.feed == "tap" and self.job.water.source == "hydrant" else run.feed
        if not run.premix and run.feed_tank is not None:
            return run.feed_tank.name
        tank = None if by_pail(self.job, run, self.asked.mixes) else tank_in_reach(self.job, run)
        return tank.name if tank is not None else "pail"

    def source(self) -> str:
        """The rig's own plain water: its tank, else where the job's water comes from."""
        tank = water_tank(self.job)
        return tank.name if tank is not None else self.outside() or "tap"

    def outside(self) -> str | None:
        """The job's own water: tap, hydrant or pond; None: there is only what the rig brings."""
        return self.job.water.source if self.job.water.source in ("tap", "hydrant", "pond") else None

    # ----------------------------------------------------------------------------------------------- people

    def _people(self, who: Who) -> list[Person]:
        if self.second is None or who == "lead":
            return [self.lead]
        return [self.second] if who == "second" else [self.lead, self.second]

    def way(self, person: Person, run: str) -> float:
        """How far somebody is from where a run's gun is opened [s]."""
        return self._walk(replace(person), "wall", run)

    def _walk(self, person: Person, at: At, run: str | None) -> float:
        """The walk to a place [s], and the person there; where an act names no run it is the shortest hose."""
        person.at = at
        if at == "grounds":
            return 0.0
        place = "rig" if at in _AT_RIG else "wall"
        if run is not None:
            far = self.lines[run].length
        else:
            far = min((line.length for line in self.lines.values()), default=0.0)
        walk = 0.0 if place == person.place else max(far / self.minutes["walk_pace"] - person.away, 0.0)
        person.place, person.away = place, 0.0
        return walk

    # ----------------------------------------------------------------------------------------------- the end

    def acts(self) -> tuple[Act, ...]:
        """Every act by its start, with its id."""
        return numbered(self.drafts)


def named_run(detail: Detail, runs: Container[str]) -> str | None:
    """The run an act names."""
    if isinstance(detail, StopPoint):
        return detail.about
    if isinstance(detail, Mark):
        last = detail.what.partition(" ")[2]
        return last if last in runs else None
    return getattr(detail, "run", None)


def line_of(run: RunPlan, job: JobInput) -> Line:
    """A run's line, apart and off."""
    return Line(
        plan=run,
        volume=sum(area(hose.bore) * hose.length for hose in run.input.hoses),
        length=run.input.length,
        limits=job.limits,
        way=way_to_switch(job, run.input),
    )


def about(what: str, unit: str, value: float, band: float | None = None) -> Expect:
    """A reading in order within a `band` [-] of what is expected, a gauge's where none is given."""
    band = default("gauge_in_order") if band is None else band
    return Expect(what=what, unit=unit, value=value, low=value * (1.0 - band), high=value * (1.0 + band))  # type: ignore[arg-type]
