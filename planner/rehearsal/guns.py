"""Lines, pumps and guns: joined, fed, primed, powered, opened, shut, relieved, parted; what may leave a tip where."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf
from typing import Final

from planner.inputs.tables.chemicals import SOAP
from planner.plan.procedure.acts import Act, DrawFrom, Power, SetDosing, Spray
from planner.rehearsal.breach import Log
from planner.rehearsal.crew import AT_ONCE
from planner.rehearsal.rig import AWAY, OPEN, OUTSIDE, TAPS, Flow, Line, Rig
from planner.rehearsal.setting import Setting
from planner.rehearsal.stops import Stops
from planner.rehearsal.vessels import AIR, LEAST, UNKNOWN, Mixture, chemicals, names_in
from planner.rehearsal.walls import Landed, Walls

_AT_WALL: Final = frozenset({"wet", "mix", "rinse", "clean"})
_USES: Final = _AT_WALL | {"test", "line", "flush"}
_SHARE: Final = 1e-6


class Guns:
    """What is done with lines and guns."""

    def __init__(self, setting: Setting, rig: Rig, stops: Stops, walls: Walls, log: Log) -> None:
        """Nothing is joined yet."""
        self.setting, self.rig, self.stops, self.walls, self.log = setting, rig, stops, walls, log
        self.landed: dict[str, Landed] = {}
        self.sprays: dict[str, tuple[Spray, float, float, float]] = {}
        self.tested: set[str] = set()
        self.jugs: dict[str, float] = {}
        self.drew: dict[str, set[str]] = {}
        self.read: set[str] = set()
        self.stripped = True
        self.strips = 0
        self._seen: dict[str, set[str]] = {}

    def line(self, act: Act, run: str) -> Line | None:
        """A run's line; a breach where there is none."""
        line = self.rig.lines.get(run)
        if line is None:
            self.log.add("order", act.id, f"nobody knows what {run} is")
        return line

    def joined_line(self, act: Act, run: str) -> Line | None:
        """A line that is joined."""
        line = self.line(act, run)
        if line is not None and not line.joined:
            self.log.add("order", act.id, f"{run} is not joined")
            return None
        return line

    def on_pump(self, pump: str) -> list[Line]:
        """The joined lines of a pump."""
        return [line for line in self.rig.lines.values() if line.joined and line.run.pump == pump]

    # ------------------------------------------------------------------------------------------- joining, feeding

    def joining(self, act: Act, run: str) -> None:
        """Before a line is joined its hoses lie where they can be."""
        if self.setting.kind == "wash" and "hoses" not in self.stops.laid_out and run in self.rig.lines:
            self.log.add("order", act.id, "no hose is laid out yet")

    def joined(self, act: Act, run: str) -> None:
        """A line joined."""
        line = self.line(act, run)
        if line is not None:
            line.tip = "tip"
            self.rig.join(act, line)
            self.stops.joined.add(run)
            self.stops.coiled -= set(line.run.hoses)

    def parting(self, act: Act, run: str) -> None:
        """Before a line comes apart: power off, pressure out, gun shut."""
        line = self.line(act, run)
        if line is None:
            return
        pump = line.run.pump
        if pump is not None and self.rig.pumps[pump].on:
            self.log.add("pump", act.id, f"{run} is taken apart with {pump} on")
        if line.pressed:
            self.log.add("pump", act.id, f"{run} is taken apart with pressure in it")
        if line.open:
            self.log.add("pump", act.id, f"{run} is taken apart with its gun open")

    def parted(self, act: Act, run: str) -> None:
        """A line apart."""
        line = self.rig.lines.get(run)
        if line is not None:
            self.rig.part(act, line)

    def drawn(self, act: Act, draw: DrawFrom) -> None:
        """A suction put somewhere: it gets there, and what it stood in may come there."""
        line = self.joined_line(act, draw.run)
        if line is None:
            return
        feed, rig = draw.feed, self.rig
        pail = feed.startswith("pail ")
        if feed in OUTSIDE:
            if feed != "pond" and self.setting.tap is None:
                self.log.add("order", act.id, f"there is no {feed} here")
        elif not (feed in self.setting.tanks or pail):
            self.log.add("order", act.id, f"{draw.run} cannot draw from {feed}")
            return
        vessel = None if feed in OUTSIDE else rig.vessel(act, feed)
        if feed not in OUTSIDE and vessel is None:
            return
        pump = self.setting.pumps.get(line.run.pump or "")
        if pump is not None and pump.draws is not None and feed not in pump.draws:
            self.log.add("pump", act.id, f"the suction of {line.run.pump} does not get to {feed}")
        names = set(vessel.names()) if vessel is not None else set()
        if rig.acid_in(line.suction) and not pail and not rig.acid_in(names):
            self.log.add("meet", act.id, f"the suction of {draw.run} stood in acid and now stands in {feed}")
        for name in line.suction:
            rig.meeting(act, name, names, f"the suction of {draw.run}")
        if vessel is not None and vessel.unknown():
            self.log.add("clean", act.id, f"nobody knows what is in {feed}")
        if names:
            self.stops.guard(act, "mix", draw.run)
        line.suction |= names
        line.feed = feed

    def prime(self, act: Act, run: str) -> None:
        """Pump and suction fill with water."""
        line = self.joined_line(act, run)
        if line is None:
            return
        if line.feed is None:
            self.log.add("pump", act.id, f"the suction of {run} is nowhere")
            return
        vessel = self.rig.vessels.get(line.feed)
        if vessel is not None:
            holds = [*vessel.names(), *(["nobody knows what"] if vessel.unknown() else [])]
            if holds:
                self.log.add("clean", act.id, f"{run} is primed from {line.feed}, which holds {', '.join(holds)}")
            if vessel.volume <= vessel.dead + LEAST:
                left = self.log.volume(vessel.volume)
                self.log.add("pump", act.id, f"{line.feed} holds {left}, nothing above its outlet")
                return
        line.primed = True
        line.turn(on=line.feed in TAPS)

    def dosed(self, act: Act, one: SetDosing) -> None:
        """A panel or injector set."""
        line = self.joined_line(act, one.run)
        if line is None:
            return
        run, log, lots = line.run, self.log, self.setting.lots
        if run.dosing not in ("metered", "injector"):
            log.add("order", act.id, f"{run.name} has nothing to set")
            return
        total = sum(draw.share for draw in one.draws)
        if (one.to == "water") != (not one.draws) or not all(draw.share > 0.0 for draw in one.draws) or total >= 1.0:
            log.add("balance", act.id, f"{run.name} is set to {one.to} and draws {total:.4g} of what leaves it")
            return
        if one.to not in ("water", "mark", "jug"):
            log.add("order", act.id, f"nobody knows what it is to set {run.name} to {one.to}")
        stock = sum(draw.share for draw in one.draws if draw.source not in lots or lots[draw.source].chemical != SOAP)
        wrong = run.misdialled(one.mark, stock)
        if wrong:
            log.add("balance", act.id, f"{run.name} is set to {wrong}, not {stock:.4g}")
        stocked = False
        for draw in one.draws:
            stocked |= self._source(act, line, draw.source)
            if run.dosing == "injector" and run.ratio is not None:
                wanted = 1.0 / (1.0 + run.ratio)
                if abs(draw.share - wanted) > _SHARE * wanted:
                    log.add("balance", act.id, f"{run.name} draws {wanted:.4g} of what leaves it, not {draw.share:.4g}")
        if stocked:
            self.stops.guard(act, "mix", run.name)
        line.draws = one.draws

    def _source(self, act: Act, line: Line, source: str) -> bool:
        """Whether a dosing draws stock from a place; a breach where it may not draw there."""
        run, log = line.run, self.log
        if source in self.rig.lots:
            if run.dosing == "injector":
                log.add("order", act.id, f"{run.name} draws from its jug, not from {source}")
            elif run.name not in self.tested and self.setting.lots[source].chemical != SOAP:
                log.add("order", act.id, f"{run.name} draws from {source} before its jug was read")
            return True
        if source in self._jugs(run.name) or source.startswith("pail "):
            vessel = self.rig.vessel(act, source)
            if vessel is not None and vessel.unstirred:
                log.add("order", act.id, f"{source} is drawn from before it was stirred")
            if vessel is not None and source.startswith("pail ") and vessel.names():
                log.add("clean", act.id, f"{source} is to be clean and holds {', '.join(vessel.names())}")
            return vessel is not None and bool(vessel.names())
        log.add("order", act.id, f"{run.name} cannot draw from {source}")
        return True

    def _jugs(self, run: str) -> set[str]:
        """The jugs a run may draw from: its own, or that of one sprayed at once with it, through the same dosing."""
        return {f"jug {name}" for name in (run, *self.setting.runs[run].same_time)}

    def opened(self) -> None:
        """A pump taken apart: what was primed and looked at of its line counts no more."""
        for line in self.rig.lines.values():
            line.primed = False
        self.stops.forget("power", every=True)
        self.stops.untick("gun ", "breaker ")

    # ------------------------------------------------------------------------------------------- power

    def switching(self, act: Act, power: Power) -> None:
        """What has to be so before a pump gets power."""
        if power.pump not in self.rig.pumps:
            self.log.add("order", act.id, f"nobody knows what {power.pump} is")
            return
        if not power.on:
            return
        lines = self.on_pump(power.pump)
        if not lines:
            self.log.add("pump", act.id, f"{power.pump} gets power, and no line is joined to it")
        for line in lines:
            self.stops.guard(act, "power", line.run.name)
            if not line.primed:
                self.log.add("pump", act.id, f"{power.pump} gets power, and {line.run.name} is not primed")
            if line.open:
                self.log.add("pump", act.id, f"{power.pump} gets power with the gun of {line.run.name} open")

    def switched(self, act: Act, power: Power, now: float) -> None:
        """A pump switched."""
        pump = self.rig.pumps.get(power.pump)
        if pump is None:
            return
        if pump.on == power.on:
            self.log.add("order", act.id, f"{power.pump} is {'on' if pump.on else 'off'} already")
            return
        if power.on:
            pump.on, pump.idle = True, now
            self.stops.forget("coil", every=True)
            self.stops.forget("open", every=True)
            for line in self.on_pump(power.pump):
                line.pressed = True
            return
        self._idle(act, power.pump, now)
        for line in self.on_pump(power.pump):
            if line.open:
                self.log.add("pump", act.id, f"{power.pump} is switched off with the gun of {line.run.name} open")
        pump.on, pump.idle = False, inf

    def _idle(self, act: Act, name: str, now: float) -> None:
        """How long a pump has run against its shut gun."""
        pump, kept = self.rig.pumps[name], self.setting.pumps[name]
        if not pump.on or kept.switched or pump.idle == inf:
            return
        lines, unknown = self.on_pump(name), self.setting.shut_unknown
        borne = [inf if kept.bypass else unknown if one.run.shut_off is None else one.run.shut_off for one in lines]
        most = min([kept.told, *borne])
        guns = max((1 + len(one.run.same_time) for one in lines), default=1)
        if self.setting.kind == "wash" and (self.setting.crew == 1 or guns > 1):
            # Nobody is left at the rig: whoever goes there has the walk, where the pump bears it.
            walk = max((self.setting.length_of(one.run.name) for one in lines), default=0.0) / self.setting.pace
            walk += guns * self.setting.switch
            most = max(most, min([walk, *borne]))
        if now - pump.idle > most + AT_ONCE:
            stood, bears = self.log.time(now - pump.idle), self.log.time(most)
            self.log.add("pump", act.id, f"{name} runs {stood} with its gun shut, it can take {bears}")

    def gauge_closed(self, act: Act) -> None:
        """A closed gauge is read with power on and every gun of that pump shut."""
        on = [name for name, pump in self.rig.pumps.items() if pump.on]
        shut = any(lines and not any(line.open for line in lines) for lines in map(self.on_pump, on))
        if not shut and all(not one.joined or one.run.pump or one.open for one in self.rig.lines.values()):
            self.log.add("order", act.id, "the closed gauge is read, and no pump is on with its gun shut")

    def relieving(self, act: Act, run: str) -> None:
        """Before pressure is let out: gun shut, power off."""
        line = self.joined_line(act, run)
        if line is None:
            return
        pump = line.run.pump
        if pump is not None and self.rig.pumps[pump].on:
            self.log.add("pump", act.id, f"the pressure of {run} is let out with {pump} on")
        if line.running:
            self.log.add("pump", act.id, f"the pressure of {run} is let out with its tap open")
        if line.open:
            self.log.add("pump", act.id, f"the pressure of {run} is let out with its gun open")

    def relieved(self, run: str) -> None:
        """Pressure let out."""
        line = self.rig.lines.get(run)
        if line is not None and not line.running and (line.run.pump is None or not self.rig.pumps[line.run.pump].on):
            line.pressed = False

    # ------------------------------------------------------------------------------------------- the gun

    def opens(self, act: Act, spray: Spray, seconds: float, now: float) -> Flow | None:
        """A gun as it opens: everything that has to be so; then what runs."""
        line = self.joined_line(act, spray.run)
        if line is None:
            return None
        log, run = self.log, line.run
        fine = self._fed(act, line)
        # On a wall a spray may be drawn out; a flush or a test is open for what it sprays.
        short = act.section is None and spray.use in ("flush", "test") and spray.seconds < seconds - AT_ONCE
        if spray.seconds > seconds + AT_ONCE or not spray.seconds > 0.0 or short:
            log.add("balance", act.id, f"the gun is open {log.time(spray.seconds)} of {log.time(seconds)}")
        if spray.use not in _USES:
            log.add("order", act.id, f"nobody knows what {spray.use} is sprayed for")
        if spray.use == "flush" and self.setting.kind == "wash" and act.phase not in ("flush_first", "flush"):
            log.add("order", act.id, f"{run.name} is flushed during the {act.phase}")
        self.rig.right_tip(act, line, spray.use)
        at_wall = spray.onto == "section"
        if at_wall != (spray.use in _AT_WALL):
            log.add("clean", act.id, f"{spray.use} goes onto {spray.onto}")
        if run.pump is not None:
            pump = self.rig.pumps[run.pump]
            if not pump.on:
                log.add("pump", act.id, f"the gun of {run.name} is open and {run.pump} is off")
            self._idle(act, run.pump, now)
            pump.idle = inf
        line.open, line.pressed = True, True
        self.stops.forget("coil", every=True)
        if at_wall:
            self.walls.begins(act, spray, now)
        if spray.use == "mix":
            self.stops.guard(act, "mix", run.name)
            if run.dosing in ("metered", "injector") and run.name not in self.tested:
                log.add("order", act.id, f"{run.name} sprays mix before its jug was read")
        if not fine:
            return None
        landed = self.landed[act.id] = Landed()
        self.sprays[run.name] = (spray, now, act.end, line.flow)

        def move(volume: float) -> None:
            for size, mixture in self.rig.through(act, line, volume, spray.use):
                landed.more(size, mixture)
                if at_wall:
                    self._on_wall(act, size, mixture)
                else:
                    self.rig.into(act, spray.onto, size, mixture)

        tap = spray.volume / seconds if line.feed in TAPS and seconds > 0.0 else 0.0
        return Flow(act, spray.volume, seconds, move, tap)

    def _fed(self, act: Act, line: Line) -> bool:
        """Whether there is something behind a gun."""
        log, name = self.log, line.run.name
        if line.feed is None:
            log.add("pump", act.id, f"the suction of {name} is nowhere")
            return False
        if not line.primed and line.run.pump is not None:
            log.add("pump", act.id, f"{name} is not primed")
        if line.by_tap and not line.running:
            log.add("pump", act.id, f"the gun of {name} is open and its tap is shut")
        if line.run.dosing in ("metered", "injector") and line.draws is None:
            log.add("clean", act.id, f"nobody has set the dosing of {name}, what it gives is unknown")
        return True

    def _on_wall(self, act: Act, size: float, mixture: Mixture) -> None:
        rig, section = self.rig, act.section
        rig.gone += size if AIR not in mixture else 0.0
        for name, strength in mixture.items():
            rig.spent[name] = rig.spent.get(name, 0.0) + size * strength
        for name in chemicals(mixture):
            rig.on_ground(act, name)
            if section is not None:
                there = self.walls.chemicals_on(section.surface) if name not in self._on(section.surface) else set()
                rig.meeting(act, name, there, section.surface)
                self._on(section.surface).add(name)

    def _on(self, surface: str) -> set[str]:
        return self._seen.setdefault(surface, set())

    def sprayed(self, act: Act, spray: Spray, now: float) -> None:
        """A spray that is done: its volume is its time at the line's flow, and what left the tip might."""
        line, landed = self.rig.lines[spray.run], self.landed[act.id]
        flows = {self.sprays[spray.run][3], line.flow}
        low, high = min(flows) * spray.seconds, max(flows) * spray.seconds
        if not low * (1.0 - 1e-9) - 1e-12 <= spray.volume <= high * (1.0 + 1e-9) + 1e-12:
            right, said = self.log.volume(high), self.log.volume(spray.volume)
            self.log.add("balance", act.id, f"{self.log.time(spray.seconds)} of {spray.run} are {right}, not {said}")
        self._clean(act, spray, landed)
        if spray.onto == "section":
            self.walls.ends(act, spray, landed, now)
        if spray.use == "flush":
            # Between two mixes a strip of its own settles it; else the last stop point has to ask.
            self.stops.flushed, self.stops.unread = self.stops.flushed or act.phase == "flush", True
            if spray.onto in self.rig.vessels and spray.run in self.setting.endless:
                self.rig.vessels[spray.onto].traces |= {mix.chemical for mix in self.setting.mixes}
            self._flushed(line)
        for draw in line.draws or ():
            if draw.source.startswith("jug "):
                self.drew.setdefault(draw.source, set()).add(spray.run)
                self.jugs[draw.source] = self.rig.vessels[draw.source].drawn if draw.source in self.rig.vessels else 0.0
        if spray.use in ("mix", "flush"):
            self.stripped = False

    def _flushed(self, line: Line) -> None:
        """A line is clean once water went all the way through it."""
        if not names_in(line.queue.parcels) - {AIR}:
            left = self.rig.unwashed(line)
            self.rig.carried -= line.parts - left
            if left:
                return
            if line.run.pump is not None:
                self.rig.pumps[line.run.pump].seen.clear()

    def _clean(self, act: Act, spray: Spray, landed: Landed) -> None:
        """What may leave a tip there."""
        log, use, run = self.log, spray.use, spray.run
        held = ", ".join(name for name, kg in landed.mass.items() if kg > LEAST)
        if landed.strange > LEAST and use != "flush":
            log.add("clean", act.id, f"nobody knows what the {use} of {run} is: {log.volume(landed.strange)}")
        if use in ("wet", "rinse", "clean", "test") and landed.mixed > LEAST:
            log.add("clean", act.id, f"{log.volume(landed.mixed)} of the {use} hold {held}")
        if use != "line" and use != "flush" and landed.air > LEAST:
            log.add("clean", act.id, f"{log.volume(landed.air)} of the {use} are air")
        if use == "mix" and landed.plain > LEAST:
            log.add("clean", act.id, f"{log.volume(landed.plain)} of the mix are plain water")
        if landed.mixed > LEAST and use in ("line", "flush"):
            first = use == "flush" and act.phase in ("flush_first", "test")
            mean = {name: kg / spray.volume for name, kg in landed.mass.items()}
            if spray.onto in OPEN and (not first or self.setting.too_strong(mean)):
                log.add("clean", act.id, f"{log.volume(landed.mixed)} with {held} go onto the {spray.onto}")
        if not (spray.onto in OPEN or spray.onto in AWAY or spray.onto == "section"):
            vessel = self.rig.vessels.get(spray.onto)
            if spray.onto in self.rig.tanks or (vessel is not None and spray.onto.startswith("jug ")):
                log.add("clean", act.id, f"{run} sprays into {spray.onto}")

    def shut(self, act: Act, run: str, now: float) -> None:
        """A gun shut."""
        line = self.joined_line(act, run)
        if line is None:
            return
        if not line.open:
            self.log.add("order", act.id, f"the gun of {run} is shut already")
        line.open = False
        pump = line.run.pump
        if pump is not None and self.rig.pumps[pump].on and not any(one.open for one in self.on_pump(pump)):
            self.rig.pumps[pump].idle = now

    def together(self, flows: Iterable[Flow]) -> None:
        """Guns of runs sprayed at once are opened at once."""
        open_ = {flow.act.detail.run: flow.act for flow in flows if isinstance(flow.act.detail, Spray)}
        for run, act in open_.items():
            for other in self.setting.runs[run].same_time:
                same = open_.get(other)
                if same is None:
                    self.log.add("people", act.id, f"the gun of {run} is open and that of {other} is not")

    # ------------------------------------------------------------------------------------------- readings

    def jug_read(self, act: Act, value: float) -> None:
        """How far the jug went down in the draw test."""
        drawn = [(source, volume) for source, volume in self.jugs.items() if source not in self.read]
        if not drawn:
            self.log.add("order", act.id, "the jug is read, and nothing was drawn from it")
        for source, volume in drawn:
            self.read.add(source)
            self.tested |= self.drew[source]
            if abs(volume - value) > 1e-6 * max(volume, value) + 1e-12:
                went, said = self.log.volume(volume), self.log.volume(value)
                self.log.add("paper", act.id, f"{source} goes down by {went}, and {said} is to be read")

    def strip_read(self, what: str) -> None:
        """A strip held into the last drops: what nobody knew of the joined lines is known to be clean."""
        self.stripped, self.stops.unread = True, False
        self.strips += 1
        self.rig.strip(chlorine=what == "strip_chlorine")
        for line in self.rig.lines.values():
            if line.joined and not line.open:
                known = line.queue.forget(UNKNOWN)
                self.rig.spent[UNKNOWN] = self.rig.spent.get(UNKNOWN, 0.0) + known

    # ------------------------------------------------------------------------------------------- states

    def _lines(self, about: str | None) -> list[Line]:
        return [line for line in self.rig.lines.values() if line.joined and about in (None, line.run.name)]

    def not_primed(self, about: str | None) -> str | None:
        """Why not every line is primed."""
        lines = self._lines(about)
        found = [line.run.name for line in lines if not line.primed and line.run.pump is not None]
        return f"{', '.join(found) or about or 'no line'} is not primed" if found or not lines else None

    def not_water_only(self, about: str | None) -> str | None:
        """Why there is stock in a line."""
        found = [line.run.name for line in self._lines(about) if names_in(line.queue.parcels) - {AIR}]
        return f"there is more than water in {', '.join(found)}" if found else None

    def not_residual(self, about: str | None) -> str | None:
        """Why no strip says that a line is clean."""
        lines = self.rig.lines
        mine = self.rig.carried & lines[about].parts if about in lines else self.rig.carried
        found = sorted(mine)
        if found:
            return f"{', '.join(found)} is not flushed"
        return None if self.stripped and self.strips else "no strip was read since the last flush"

    def not_power_off(self, about: str | None) -> str | None:
        """Why a pump has power."""
        pump = self.rig.lines[about].run.pump if about in self.rig.lines else None
        found = [name for name, one in self.rig.pumps.items() if one.on and (about is None or name == pump)]
        return f"{', '.join(found)} is on" if found else None

    def not_no_pressure(self, about: str | None) -> str | None:
        """Why there is pressure in a line."""
        found = [line.run.name for line in self._lines(about) if line.pressed]
        return f"there is pressure in {', '.join(found)}" if found else None
