"""The model of the rig: tanks, lines, pumps and lots, and what moves between them. Nothing is lost and nothing made.

What runs in an act runs evenly from the end of its walk; what comes out of a line is what stood at its tip.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from math import exp, inf

from planner.chemistry.reactions import answer
from planner.frozen import dataclass
from planner.inputs.tables.chemicals import ACIDS, BLEACH, SOAP
from planner.plan.procedure.acts import Act, ChangeTip, Draw, State, Tap
from planner.rehearsal.breach import Log
from planner.rehearsal.setting import PAIL, Run, Setting
from planner.rehearsal.vessels import (
    AIR,
    LEAST,
    OF_AIR,
    ROUNDING,
    UNKNOWN,
    WATER,
    Mixture,
    Parcel,
    Queue,
    Vessel,
    blend,
    chemicals,
    held_of,
    names_in,
)

OUTSIDE = frozenset({"tap", "hydrant", "pond"})
TAPS = frozenset({"tap", "hydrant"})
"""Where water comes from that no vessel holds."""

OPEN = frozenset({"ground", "lawn", "air"})
"""Where it lies open to people, plants and ponds."""

AWAY = frozenset({"sanitary", "carried_home"})

_CARRIED = ("bucket", "tub")
"""Vessels that come along; a tank may be called so too, and is that tank where the beginning names it."""

_ON_MIX = frozenset({"wet", "mix", "line"})
"""Sprays during which stock goes into a line: it is at the tip when the wetting is done, and all of it is used up."""


@dataclass(slots=True)
class Line:
    """One run's line. `draws` None: nobody has set its dosing; `suction` is what its suction stood in.

    `pressed`: pressure stands in it.
    """

    run: Run
    queue: Queue
    joined: bool = False
    primed: bool = False
    feed: str | None = None
    draws: tuple[Draw, ...] | None = None
    open: bool = False
    pressed: bool = False
    running: bool = False
    tip: str = "tip"
    suction: set[str] = field(default_factory=set)

    @property
    def hoses(self) -> tuple[str, ...]:
        """Its hoses with the tip that is on, in order from the pump."""
        return self.run.other_hoses.get(self.tip, self.run.hoses)

    @property
    def parts(self) -> set[str]:
        """What stock goes through: hoses, the dosing, the pump of any but an injector's line."""
        pump = self.run.pump if self.run.dosing != "injector" else None
        return {*self.hoses, *(part for part in (pump, self.run.device) if part is not None)}

    @property
    def by_tap(self) -> bool:
        """Whether a tap or a tank's valve, and no pump, has to be open for it; a pump's tap is both."""
        return self.feed in TAPS or (self.run.pump is None and self.feed is not None)

    def turn(self, *, on: bool) -> None:
        """The tap that feeds it opened or shut; open, there is pressure."""
        self.running = on
        self.pressed = self.pressed or on

    @property
    def flow(self) -> float:
        """What passes the tip that is on as its dosing stands."""
        if self.tip in self.run.other_tips:
            return self.run.other_tips[self.tip]
        return self.run.pump_flow if self.run.dosing == "injector" and not self.draws else self.run.flow


@dataclass(slots=True)
class PumpNow:
    """A pump: `idle` since when it runs against shut guns [s], inf: it does not. `seen`: what is left in it."""

    on: bool = False
    idle: float = inf
    seen: set[str] = field(default_factory=set)


@dataclass(slots=True)
class Flow:
    """What runs: `amount` m3, or kg of what is dry, evenly over `seconds`; `move` takes so much of it.

    `first`: what fills a vessel comes before what draws on it in the same while.
    """

    act: Act
    amount: float
    seconds: float
    move: Callable[[float], None]
    tap: float = 0.0
    first: bool = False
    done: float = 0.0


class Rig:
    """Everything that holds anything."""

    def __init__(self, setting: Setting, begin: State, log: Log) -> None:
        """As a procedure says it begins."""
        self.setting, self.log = setting, log
        self.vessels: dict[str, Vessel] = {}
        self.untold = set[str]()
        for name, held in begin.tanks.items():
            tank = setting.tanks.get(name)
            if tank is None:
                log.add("balance", "", f"it begins with a tank {name} that the rig does not have")
                continue
            vessel = Vessel(name, room=tank.volume, dead=tank.dead)
            if held.volume is None:
                log.add("balance", "", f"nobody knows how much stands in {name}")
            elif held.volume > 0.0 and held.stock != AIR:
                vessel.put(held.volume, held_of(held.stock, held.strength))
            self.vessels[name] = vessel
            if held.stock == "water" and vessel.volume > LEAST and tank.holds != "water" and name not in setting.told:
                self.untold.add(name)
        for name, held in begin.pails.items():
            self.vessels[name] = Vessel(name, room=PAIL)
            self.vessels[name].put(held.volume or 0.0, held_of(held.stock, held.strength))
        self.hoses: dict[str, list[Parcel]] = {
            name: [(hose.volume, held_of(begin.hoses[name].stock, begin.hoses[name].strength))]
            for name, hose in setting.hoses.items()
            if name in begin.hoses
        }
        self.lots: dict[str, float] = {name: left for name, left in begin.lots.items() if name in setting.lots}
        self.lines = {name: Line(run=run, queue=Queue([])) for name, run in setting.runs.items()}
        self.pumps = {name: PumpNow() for name in setting.pumps}
        for name, chemical in setting.parts.items():
            self.pumps.setdefault(name, PumpNow()).seen.add(chemical)
        self.ground: set[str] = set()
        self.came = 0.0
        self.gone = 0.0
        self.spent: dict[str, float] = {}
        self.water = 0.0
        self.beds = 0.0
        self.over: set[str] = set()
        self.carried: set[str] = set()
        self.put_on: set[str] = set()
        self.stirred: dict[str, dict[str, float]] = {}
        self.watered: list[tuple[float, float, float]] = []
        self.tanks = frozenset(name for name in begin.tanks if name in setting.tanks)
        self.mixed_in = set[str]()
        self.watched: dict[str, Act] = {}
        self.sucked: dict[str, Act] = {}
        self._pairs: dict[tuple[str, str], str] = {}
        self._held = self._all()

    # ------------------------------------------------------------------------------------------- meeting

    def meets(self, one: str, other: str) -> str:
        """What comes of two substances: fine, thin (only in a pail or tub), or never."""
        key = (one, other)
        if key not in self._pairs:
            found = answer(one, other, self.setting.matrix)
            self._pairs[key] = "never" if found.stops else "thin" if found.outcome == "thin" else "fine"
        return self._pairs[key]

    def meeting(self, act: Act, comes: str, there: set[str] | list[str], where: str, *, thin: bool = False) -> None:
        """A substance comes where others are; `thin`: agents may be there."""
        for other in there:
            if other == comes or other in (AIR, UNKNOWN):
                continue
            how = self.meets(comes, other)
            if how == "never" or (how == "thin" and not thin):
                self.log.add("meet", act.id, f"{comes} meets {other} in {where}")

    # ------------------------------------------------------------------------------------------- places

    def vessel(self, act: Act, name: str, *, new: bool = False) -> Vessel | None:
        """A vessel by its place's name; `new`: a jug, pail, bucket or tub that nothing was put in so far is one too."""
        found = self.vessels.get(name)
        if found is not None:
            return found
        word, _, number = name.partition(" ")
        pail = word == "pail" and number.isdigit()
        jug = word == "jug" and number in self.setting.runs
        if name in self.setting.tanks and name not in _CARRIED:
            self.log.add("balance", act.id, f"nobody said how {name} stands at the beginning")
            return None
        if not (pail or jug or name in _CARRIED):
            self.log.add("order", act.id, f"nobody knows where {name} is")
            return None
        if not new:
            self.log.add("balance", act.id, f"there is nothing in {name}")
            return None
        self.vessels[name] = Vessel(name, room=PAIL if pail or name == "bucket" else inf)
        return self.vessels[name]

    def neat_jug(self, name: str) -> bool:
        """Whether a vessel is a panel's jug, which takes its lot neat."""
        return name.startswith("jug ") and self.setting.runs[name[4:]].dosing == "metered"

    # ------------------------------------------------------------------------------------------- moving

    def look(self) -> None:
        """How each vessel stands that something went in or out of: what runs at one time counts together."""
        for name, act in self.sucked.items():
            vessel = self.vessels[name]
            if vessel.volume < vessel.dead - LEAST:
                short = self.log.volume(vessel.dead - vessel.volume)
                self.log.add("pump", act.id, f"{name} stands {short} below its outlet")
        for name, act in self.watched.items():
            vessel = self.vessels[name]
            if vessel.volume > vessel.room * ROUNDING + LEAST and name not in self.over:
                self.over.add(name)
                over = self.log.volume(vessel.volume - vessel.room)
                self.log.add("balance", act.id, f"{name} runs over by {over}")
            if vessel.volume < -LEAST:
                self.log.add("balance", act.id, f"{name} lacks {self.log.volume(-vessel.volume)}")
                vessel.empty()
        self.sucked.clear()
        self.watched.clear()

    def out_of(self, act: Act, source: str, volume: float) -> Mixture:
        """So much out of tap, pond, vessel or lot, and what it is."""
        if source in OUTSIDE:
            self.came += volume
            return WATER
        if source in self.lots:
            return self.out_of_lot(act, source, volume)
        vessel = self.vessel(act, source)
        if vessel is None:
            return WATER
        if vessel.unstirred:
            self.log.add("order", act.id, f"{source} is drawn from before it was stirred")
        if source in self.untold:
            self.log.add("clean", act.id, f"nobody says that {source} holds water, and nobody looked")
        vessel.drawn += volume
        mixture = vessel.take(volume)
        self.watched[source] = act
        return mixture

    def out_of_lot(self, act: Act, name: str, amount: float) -> Mixture:
        """So much of a lot: m3, or kg of what is weighed."""
        lot = self.setting.lots[name]
        self.lots[name] -= amount
        if self.lots[name] < -LEAST:
            over = -self.lots[name]
            told = self.log.mass(over) if lot.strength is None else self.log.volume(over)
            self.log.add("balance", act.id, f"{name} lacks {told}")
            self.lots[name] = 0.0
        return WATER if lot.strength is None else {lot.chemical: lot.strength}

    def into(self, act: Act, place: str, volume: float, mixture: Mixture) -> None:
        """So much of a mixture into a place."""
        if place in OPEN or place in AWAY:
            self._away(act, place, volume, mixture)
            return
        vessel = self.vessel(act, place, new=True)
        if vessel is None:
            return
        if AIR in mixture:
            return
        for name in chemicals(mixture):
            if vessel.mass.get(name, 0.0) <= LEAST:
                self.meeting(act, name, vessel.names(), place, thin=place == "tub" or place.startswith("pail "))
                if vessel.unknown():
                    self.log.add("meet", act.id, f"{name} goes into {place}, and nobody knows what is in there")
        vessel.put(volume, mixture)
        self.watched[place] = act

    def _away(self, act: Act, place: str, volume: float, mixture: Mixture) -> None:
        self.gone += volume if AIR not in mixture else 0.0
        for name, strength in mixture.items():
            self.spent[name] = self.spent.get(name, 0.0) + volume * strength
        if place not in AWAY:
            for name in chemicals(mixture):
                if mixture[name] > self.setting.residual.get(name, 0.0) * ROUNDING:
                    self.on_ground(act, name)

    def strip(self, *, chlorine: bool) -> None:
        """A strip read: of what it tells, and a rinsed tank's soap, no more than a flush may leave is none of it."""
        for tank in self.tanks:
            vessel = self.vessels[tank]
            held = vessel.mixture()
            told = [one for one in chemicals(held) if (one == BLEACH) == chlorine or (one == SOAP and vessel.rinsed)]
            clean = [name for name in told if held[name] <= self.setting.residual.get(name, 0.0) * ROUNDING]
            for name, kg in vessel.rid(*clean).items():
                self.spent[name] = self.spent.get(name, 0.0) + kg

    def on_ground(self, act: Act, name: str) -> None:
        """A chemical on the site's ground."""
        if name not in self.ground:
            self.meeting(act, name, self.ground, "the ground of this site")
            self.ground.add(name)

    # ------------------------------------------------------------------------------------------- lines

    def through(self, act: Act, line: Line, volume: float, use: str) -> list[Parcel]:
        """So much in at a line's dosing; what leaves its tip."""
        draws = line.draws or ()
        drawn = sum(draw.share for draw in draws)
        feed = line.feed or ""
        mixture = self.out_of(act, feed, volume * (1.0 - drawn))
        sucked = mixture
        vessel = self.vessels.get(feed)
        clean = vessel is None or feed not in self.mixed_in
        if clean and not feed.startswith("pail "):
            self.water += volume * (1.0 - drawn)
        if vessel is not None:
            self.sucked[feed] = act
        parts = [(1.0 - drawn, mixture)]
        parts += [(draw.share, self.out_of(act, draw.source, volume * draw.share)) for draw in draws]
        if draws:
            mixture = blend(parts)
        self._stir(line, volume, mixture, [one for _, one in parts])
        new = chemicals(mixture)
        if new:
            if use not in _ON_MIX:
                self.log.add("clean", act.id, f"{', '.join(new)} goes into {line.run.name} during its {use}")
            if set(new) - {SOAP}:
                self.carried |= line.parts
            self._sees(act, line, new, chemicals(sucked))
        return line.queue.push(volume, mixture)

    def _stir(self, line: Line, volume: float, mixture: Mixture, drawn: list[Mixture]) -> None:
        """What is in a line's pump and dosing: as strong as the strongest of it, and thinned by the water after it."""
        for part, holds in line.run.stirred.items():
            inside = self.stirred.setdefault(part, {})
            if not chemicals(mixture):
                thinner = exp(-volume / holds) if holds > 0.0 else 0.0
                for name in inside:
                    inside[name] *= thinner
            for one in drawn if part == line.run.device else [mixture]:
                for name in chemicals(one):
                    inside[name] = max(inside.get(name, 0.0), one[name])

    def unwashed(self, line: Line) -> set[str]:
        """Of a line's pump and dosing, those that still hold more than a flush may leave."""
        clean = self.setting.residual if line.run.name not in self.setting.endless else {}
        return {
            part
            for part in line.run.stirred
            if any(left > clean.get(name, inf) * ROUNDING for name, left in self.stirred.get(part, {}).items())
        }

    def _sees(self, act: Act, line: Line, new: list[str], sucked: list[str]) -> None:
        """A line and its pump get chemicals; those of an injector pass the pump by."""
        there = names_in(line.queue.parcels)
        for name in new:
            if name not in there:
                self.meeting(act, name, there, f"the line of {line.run.name}")
        pump = line.run.pump
        if pump is None:
            return
        state, kept = self.pumps[pump], self.setting.pumps[pump].dedicated
        for name in sucked if line.run.dosing == "injector" else new:
            if name not in state.seen:
                self.meeting(act, name, state.seen, pump)
                if kept is not None and kept != name and name != SOAP:
                    self.log.add("meet", act.id, f"{name} goes through {pump}, which is kept for {kept}")
                state.seen.add(name)

    def join(self, act: Act, line: Line) -> None:
        """Hoses, dosing and tip become one line; each hose keeps what it holds."""
        run = line.run
        if line.joined:
            self.log.add("order", act.id, f"{run.name} is joined already")
            return
        for other in self.lines.values():
            if not other.joined:
                continue
            shared = set(run.hoses) & set(other.hoses)
            together = other.run.name in run.same_time
            if run.pump is not None and run.pump == other.run.pump and not together:
                shared.add(run.pump)
            if run.device is not None and run.device == other.run.device and not together:
                shared.add(run.device)
            for name in sorted(shared):
                self.log.add("order", act.id, f"{name} is in the line of {other.run.name}")
        parcels: list[Parcel] = []
        for name in run.hoses:
            if name not in self.hoses:
                self.log.add("balance", act.id, f"nobody said what {name} holds at the beginning")
            for size, mixture in self.hoses.pop(name, [(self.setting.hoses[name].volume, OF_AIR)]):
                for one in chemicals(mixture):
                    self.meeting(act, one, names_in(parcels), f"the line of {run.name}")
                parcels.append((size, mixture))
        line.queue = Queue(parcels)
        line.joined, line.primed, line.feed, line.draws = True, False, None, None
        line.suction = set()
        if names_in(parcels) - {AIR, UNKNOWN, SOAP}:
            self.carried |= line.parts

    def part(self, act: Act, line: Line) -> None:
        """A line apart; each hose keeps what it holds."""
        if not line.joined:
            self.log.add("order", act.id, f"{line.run.name} is not joined")
            return
        self._apart(line, line.hoses)
        line.queue = Queue([])
        line.joined, line.primed, line.feed, line.draws = False, False, None, None
        line.running = False

    def _apart(self, line: Line, off: tuple[str, ...]) -> None:
        """Hoses off the end of a line, each with what it holds; what stays is the line."""
        volumes = [self.setting.hoses[name].volume for name in line.hoses]
        stays: list[Parcel] = []
        for name, own in zip(line.hoses, line.queue.split(volumes), strict=True):
            if name in off:
                self.hoses[name] = own
            else:
                stays += own
        line.queue = Queue(stays)

    def tapped(self, act: Act, tap: Tap) -> None:
        """The tap that feeds a line opened or shut."""
        line = self.lines.get(tap.run)
        if line is None or not line.joined or not line.by_tap:
            self.log.add("order", act.id, f"{tap.run} is fed by no tap")
            return
        if line.running == tap.on:
            self.log.add("order", act.id, f"the tap of {tap.run} is {'open' if tap.on else 'shut'} already")
        if tap.on and line.open:
            self.log.add("pump", act.id, f"the tap of {tap.run} is opened with its gun open")
        line.turn(on=tap.on)

    def changing_tip(self, act: Act, line: Line) -> None:
        """Before a tip comes off: gun shut, power off, no pressure behind it."""
        pump = line.run.pump
        if line.open or line.pressed or (pump is not None and self.pumps[pump].on):
            self.log.add("pump", act.id, f"the tip of {line.run.name} is changed under pressure")

    def changed_tip(self, act: Act, one: ChangeTip) -> None:
        """Another tip on a gun: one that the run has for it."""
        line = self.lines.get(one.run)
        if line is None:
            return
        if line.run.tips.get(one.role) != one.tip:
            self.log.add("order", act.id, f"{one.run} has no {one.tip} as its {one.role}")
        elif one.role == line.tip:
            self.log.add("order", act.id, f"{one.tip} is on the gun of {one.run} already")
        now, then = line.hoses, line.run.other_hoses.get(one.role, line.run.hoses)
        stay = next((n for n, pair in enumerate(zip(now, then, strict=False)) if pair[0] != pair[1]), None)
        stay = min(len(now), len(then)) if stay is None else stay
        if (one.off, one.on) != (now[stay:], then[stay:]):
            self.log.add("order", act.id, f"{one.run} is another line with its {one.role} than what is put on")
        if line.joined:
            self._apart(line, now[stay:])
            parcels = list(line.queue.parcels)
            for name in then[stay:]:
                if name not in self.hoses:
                    self.log.add("order", act.id, f"{name} is in another line")
                for size, mixture in self.hoses.pop(name, []):
                    for other in chemicals(mixture):
                        self.meeting(act, other, names_in(parcels), f"the line of {one.run}")
                    parcels.append((size, mixture))
                self.put_on.add(name)
            line.queue = Queue(parcels)
        line.tip = one.role

    def right_tip(self, act: Act, line: Line, use: str) -> None:
        """Each use has its own tip: the mix's alone has stock drawn behind it, and wets what it then covers."""
        run, vessel = line.run, self.vessels.get(line.feed or "")
        if line.tip != "tip" and (line.draws or (vessel is not None and vessel.names())):
            self.log.add("clean", act.id, f"{run.name} draws stock behind its {line.tip}")
        wets = "rinse_tip" if run.dosing == "water" else "tip"
        wanted = {"clean": "cleaner", "rinse": "rinse_tip", "wet": wets}.get(use, "tip")
        # Hoses of a tip's own get their first water behind it.
        wanted = line.tip if use == "line" and line.tip in run.other_hoses else wanted if wanted in run.tips else "tip"
        if line.tip != wanted:
            self.log.add("section", act.id, f"{run.name} is open for {use} with its {line.tip} on, not its {wanted}")

    def from_hose(self, act: Act, name: str, volume: float) -> list[Parcel]:
        """So much out of a hose that is apart; air comes in behind it."""
        parcels = self.hoses.get(name)
        if parcels is None:
            self.log.add("order", act.id, f"{name} is still in a line")
            return []
        out: list[Parcel] = []
        left, kept = volume, list(parcels)
        for number, (size, mixture) in enumerate(parcels):
            if left <= 0.0 or AIR in mixture:
                continue
            taken = size if size <= left + LEAST else left
            out.append((taken, mixture))
            kept[number] = (size - taken, mixture)
            left -= taken
        if left > LEAST:
            self.log.add(
                "balance", act.id, f"{name} holds {self.log.volume(volume - left)}, not {self.log.volume(volume)}"
            )
        drained = sum(size for size, _ in out)
        self.hoses[name] = [(size, mixture) for size, mixture in kept if size > 0.0] + [(drained, OF_AIR)]
        return out

    # ------------------------------------------------------------------------------------------- the balance

    def _all(self) -> tuple[float, Mapping[str, float]]:
        """All there is: m3 of liquid, kg of each substance."""
        volume, mass = 0.0, dict[str, float]()
        lots = self.setting.lots
        for vessel in self.vessels.values():
            volume += vessel.volume
            for name, kg in vessel.mass.items():
                mass[name] = mass.get(name, 0.0) + kg
        lines = [line.queue.parcels for line in self.lines.values()]
        for parcels in (*self.hoses.values(), *lines):
            for size, mixture in parcels:
                volume += 0.0 if AIR in mixture else size
                for name, strength in mixture.items():
                    mass[name] = mass.get(name, 0.0) + size * strength
        for name, left in self.lots.items():
            lot = lots[name]
            volume += 0.0 if lot.strength is None else left
            mass[lot.chemical] = mass.get(lot.chemical, 0.0) + left * (1.0 if lot.strength is None else lot.strength)
        return volume, mass

    def balance(self, last: str) -> None:
        """What came and what went make up what there is, to the contract's tolerance."""
        volume, mass = self._held
        now, here = self._all()
        if abs(volume + self.came - self.gone - now) > LEAST * max(1.0, volume + self.came):
            self.log.add("balance", last, f"{self.log.volume(volume + self.came - self.gone - now)} are lost")
        for name in {*mass, *here} - {AIR}:
            lost = mass.get(name, 0.0) - self.spent.get(name, 0.0) - here.get(name, 0.0)
            if abs(lost) > LEAST * max(1.0, mass.get(name, 0.0)):
                self.log.add("balance", last, f"{self.log.mass(lost)} of {name} are lost")

    def acid_in(self, names: set[str]) -> bool:
        """Whether there is acid among some substances."""
        return any(name in ACIDS for name in names)
