"""The playing: every act begins, runs and is done in its time, against people, stop points, walls and rig."""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite
from typing import Final

from planner.plan.procedure import acts as of
from planner.plan.procedure.acts import Act, Procedure
from planner.rehearsal.beds import Waterings
from planner.rehearsal.breach import Breach, Log
from planner.rehearsal.crew import AT_ONCE, walks
from planner.rehearsal.ending import close
from planner.rehearsal.guns import Guns
from planner.rehearsal.pours import Pours, neutralise
from planner.rehearsal.rig import Flow, Rig
from planner.rehearsal.setting import Setting
from planner.rehearsal.stops import Stops
from planner.rehearsal.vessels import LEAST
from planner.rehearsal.walls import Walls

_END, _START, _RUN, _END_AT_ONCE = range(4)
_UNITS: Final = {
    "dip": "m", "bucket": "s", "gauge_open": "pa", "gauge_closed": "pa", "wind": "m_per_s", "jug_down": "m3",
    "strip_chlorine": "mg_per_l", "strip_ph": "ph", "throw": "m",
}  # fmt: skip
_ON_A_SPRAY: Final = frozenset({"bucket", "gauge_open"})


def rehearse(setting: Setting, procedure: Procedure) -> tuple[Breach, ...]:
    """Every breach of the nine rules, in the order it is found; none: it may be printed."""
    log = Log(setting.units)
    if not procedure.acts:
        log.add("order", "", "there are no acts")
        return tuple(log.found)
    _Play(setting, procedure, log).through()
    return tuple(log.found)


class _Play:
    """One rehearsal under way."""

    def __init__(self, setting: Setting, procedure: Procedure, log: Log) -> None:
        self.setting, self.procedure, self.log = setting, procedure, log
        self.acts = procedure.acts
        self.walk = walks(setting, self.acts, log)
        self.rig = Rig(setting, procedure.begin, log)
        self.stops = Stops(setting, log)
        self.walls = Walls(setting, self.acts, log, lambda act: self.beds.over(act, self.now, self.walls))
        self.guns = Guns(setting, self.rig, self.stops, self.walls, log)
        self.pours = Pours(setting, self.rig, self.stops, log)
        self.beds = Waterings(setting, self.rig, self.pours, log)
        self.rig.mixed_in = {act.detail.into for act in self.acts if isinstance(act.detail, of.Pour)} | {
            name for name, held in procedure.begin.tanks.items() if held.stock not in ("water", "air")
        }
        self.flows: dict[int, Flow] = {}
        self.now = self.acts[0].start

    # ------------------------------------------------------------------------------------------- time

    def through(self) -> None:
        """Every moment in its order: first what is done, then what begins, then what runs."""
        events: list[tuple[float, int, int]] = []
        for number, act in enumerate(self.acts):
            if not (isfinite(act.start) and isfinite(act.lasts)):
                self.log.add("order", act.id, "nobody knows when it is")
                return
            events.append((act.start, _START, number))
            if isinstance(act.detail, of.Spray | of.Fill | of.Pour | of.Drain | of.WaterBed):
                events.append((act.start + min(self.walk[number], act.lasts), _RUN, number))
            events.append((act.end, _END if act.lasts > 2.0 * AT_ONCE else _END_AT_ONCE, number))
        events.sort()
        place = 0
        while place < len(events):
            moment = events[place][0]
            upto = place
            while upto < len(events) and events[upto][0] <= moment + AT_ONCE:
                upto += 1
            self._run(moment)
            self.rig.look()
            for _, kind, number in sorted(events[place:upto], key=lambda one: one[1:]):
                self._step(kind, number)
            self.rig.look()
            self._together()
            place = upto
        last = self.acts[-1].id
        self.rig.balance(last)
        self.walls.close(last)
        self.pours.close(last)
        close(self.setting, self.procedure, self.rig, self.stops, self.walls, self.log)

    def _run(self, moment: float) -> None:
        """All that runs, up to a moment."""
        passed = moment - self.now
        if passed > 0.0 and self.flows:
            for flow in sorted(self.flows.values(), key=lambda one: not one.first):
                part = min(flow.amount * passed / flow.seconds, flow.amount - flow.done) if flow.seconds > 0.0 else 0.0
                if part > 0.0:
                    flow.move(part)
                    flow.done += part
        self.now = max(self.now, moment)

    def _step(self, kind: int, number: int) -> None:
        act = self.acts[number]
        if kind == _START:
            self._starts(act)
        elif kind == _RUN:
            self._runs(act, number)
        else:
            flow = self.flows.pop(number, None)
            if flow is not None and flow.amount - flow.done > 0.0:
                flow.move(flow.amount - flow.done)
            self._ends(act, flow, number)

    def _together(self) -> None:
        """What is true of several flows at once: the tap gives no more than it does, guns opened at once are."""
        wanted = sum(flow.tap for flow in self.flows.values())
        if self.setting.tap is not None and wanted > self.setting.tap * (1.0 + 1e-9) + 1e-12:
            last = next(reversed(self.flows.values())).act
            gives = self.log.flow(self.setting.tap)
            self.log.add("balance", last.id, f"the tap gives {gives}, and {self.log.flow(wanted)} is taken")
        self.guns.together(self.flows.values())

    # ------------------------------------------------------------------------------------------- an act

    def _starts(self, act: Act) -> None:
        self.stops.waited(act)
        self._expected(act)
        detail = act.detail
        match detail:
            case of.StopPoint():
                self.stops.ask(act, detail, self._state)
            case of.Power():
                self.guns.switching(act, detail)
            case of.Tap(run=name, on=True):
                run = self.setting.runs.get(name)
                if run is not None and run.pump is None:
                    self.stops.guard(act, "power", name)
                for what in ("coil", "open"):
                    self.stops.forget(what, every=True)
            case of.Pour():
                self.pours.pouring(act, detail)
            case of.Mark():
                self._marking(act, detail)
            case of.Soak():
                self.pours.soaking(act, detail)
                self.guns.opened()
            case of.Join():
                self.guns.joining(act, detail.run)
            case of.Relieve():
                self.guns.relieving(act, detail.run)
            case of.Parting():
                self.guns.parting(act, detail.run)
            case of.ChangeTip():
                if (line := self.guns.joined_line(act, detail.run)) is not None:
                    self.rig.changing_tip(act, line)
            case of.Read() if act.expect is None:
                self.log.add("order", act.id, "nobody knows what is read, or what it should be")

    def _marking(self, act: Act, mark: of.Mark) -> None:
        """What has to be so before something is ticked."""
        stops, log, what = self.stops, self.log, mark.what
        if mark.verb == "coil":
            runs = self.setting.runs.values()
            if stops.flushed or self.setting.mixes or any(run.pump is not None for run in runs):
                stops.guard(act, "coil", None)
            if what in self.setting.hoses and what not in self.rig.hoses:
                log.add("order", act.id, f"{what} is still in a line")
        elif mark.verb == "lay_out" and what != "hoses":
            stops.guard(act, "open", None)
        elif mark.verb == "look" and what == "company" and self.setting.crew < 2:
            log.add("order", act.id, "a crew of one is asked for company")

    def _doubted(self, act: Act, spray: of.Spray) -> None:
        """What a pump on the bench may hold is only flushed, by people dressed against it, until a strip is read."""
        run, done = self.setting.runs.get(spray.run), self.stops.done
        if run is None or run.pump not in self.setting.doubted:
            return
        if spray.use != "flush" and "strip_chlorine" not in done:
            self.log.add("clean", act.id, f"nobody knows what {run.pump} holds, and it is sprayed before its flush")
        if not {"gloves_goggles", "acid_gloves"} & done.keys():
            self.log.add("people", act.id, f"nobody is dressed against what {run.pump} may hold")

    def _runs(self, act: Act, number: int) -> None:
        seconds = act.lasts - min(self.walk[number], act.lasts)
        detail = act.detail
        match detail:
            case of.Spray():
                self._doubted(act, detail)
                self.beds.opens(act, detail.run, self.now, self.walls)
                flow = self.guns.opens(act, detail, seconds, self.now)
            case of.Fill():
                flow = self.pours.filling(act, detail, seconds)
            case of.Pour():
                flow = self.pours.pours(act, detail, seconds)
            case of.Drain():
                flow = self.pours.draining(act, detail, seconds)
            case of.WaterBed():
                flow = self.beds.watering(act, detail, seconds, self.now, self.walls)
            case _:
                flow = None
        if flow is None:
            return
        if not (isfinite(flow.amount) and flow.amount >= 0.0):
            self.log.add("balance", act.id, f"it moves {flow.amount}")
        elif flow.seconds <= 0.0 and flow.amount > LEAST:
            self.log.add("balance", act.id, "it leaves no time for what runs in it")
        else:
            self.flows[number] = flow

    def _ends(self, act: Act, flow: Flow | None, number: int) -> None:
        detail = act.detail
        match detail:
            case of.Mark():
                self.stops.mark(act, detail)
                self._marked(act, detail)
            case of.StopPoint():
                self.stops.over(act, detail)
            case of.Join():
                self.stops.forget("power", detail.run)
                self.guns.joined(act, detail.run)
            case of.Parting():
                self.guns.parted(act, detail.run)
            case of.ChangeTip():
                self.rig.changed_tip(act, detail)
                self.stops.coiled -= set(detail.on)
            case of.DrawFrom():
                self.guns.drawn(act, detail)
            case of.Prime():
                self.guns.prime(act, detail.run)
            case of.Tap():
                self.rig.tapped(act, detail)
            case of.SetDosing():
                self.guns.dosed(act, detail)
            case of.Power():
                self.guns.switched(act, detail, self.now)
            case of.Spray():
                if flow is not None:
                    self.guns.sprayed(act, detail, self.now)
            case of.Shut():
                self.guns.shut(act, detail.run, self.now)
                self.beds.shut(self.now, self.walls)
            case of.Relieve():
                self.guns.relieved(detail.run)
            case of.Fill():
                self.pours.filled(act, detail)
            case of.Stir():
                self.pours.stirred(act, detail, act.lasts - self.walk[number])
            case of.Neutralise():
                if self.pours.knows_lot(act, detail.lot):
                    neutralise(self.rig, act, detail.what, detail.lot, detail.mass)
            case of.WaterBed():
                self.beds.watered(self.now)
            case of.Read() | of.Pour() | of.Drain() | of.Wait() | of.Soak():
                pass
            case _:
                self.log.add("order", act.id, "nobody knows what to do there")
        if act.expect is not None:
            self._read(act)

    def _marked(self, act: Act, mark: of.Mark) -> None:
        """What a tick changes in the rig."""
        if mark.verb == "coil":
            self.stops.coiled.add(mark.what)
        elif mark.verb == "lay_out" and mark.what != "hoses":
            self.guns.opened()
        elif mark.what.startswith("dry "):
            self.pours.looked_into(act, mark.what[4:])
        elif mark.what.startswith("heel "):
            self.pours.stands_in(act, mark.what[5:])

    # ------------------------------------------------------------------------------------------- readings

    def _expected(self, act: Act) -> None:
        """Whether what an act expects to read is something that is read there."""
        one = act.expect
        if one is None:
            return
        log, spray = self.log, isinstance(act.detail, of.Spray)
        if one.what not in self.setting.keys.get("read", ()):
            log.add("order", act.id, f"nobody knows what to read for {one.what}")
        elif _UNITS.get(one.what, one.unit) != one.unit:
            log.add("paper", act.id, f"{one.what} is not read in {one.unit}")
        if not isinstance(act.detail, of.Spray | of.Read) or spray != (one.what in _ON_A_SPRAY):
            log.add("order", act.id, f"{one.what} is not read during that")
        if not one.low - 1e-12 <= one.value <= one.high + 1e-12:
            log.add("paper", act.id, f"{one.what} should read {one.value:.4g}, outside {one.low:.4g} to {one.high:.4g}")
        if one.what == "gauge_closed":
            self.guns.gauge_closed(act)

    def _read(self, act: Act) -> None:
        """A reading taken."""
        one = act.expect
        if one is None:
            return
        self.stops.done[one.what] = act.end
        if one.what == "bucket" and isinstance(act.detail, of.Spray):
            if abs(one.value - act.detail.seconds) > 1e-6 * max(one.value, 1.0):
                said, opened = self.log.time(one.value), self.log.time(act.detail.seconds)
                self.log.add("paper", act.id, f"the bucket should take {said}, and the gun is open for {opened}")
        elif one.what == "jug_down":
            self.guns.jug_read(act, one.value)
        elif one.what.startswith("strip_"):
            self.guns.strip_read(one.what)

    # ------------------------------------------------------------------------------------------- states

    def _state(self, key: str, about: str | None) -> str | None:
        """Why a state that a stop point asks is not true; None: it is."""
        if key == "beds_wet":
            wanted = self.setting.beds.before if self.setting.beds is not None else 0.0
            short = wanted - self.rig.beds
            return f"{self.log.volume(short)} are still to go on the beds" if short > LEAST else None
        asked: Callable[[str | None], str | None] = getattr(self.guns, f"not_{key}")
        return asked(about)
