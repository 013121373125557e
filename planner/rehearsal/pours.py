"""What goes into tanks, jugs and pails and out of them, and what makes it harmless.

Water first, soap last, stirred before it is drawn. An agent makes a pail or tub harmless once it is thin enough.
"""

from __future__ import annotations

from math import inf
from typing import Final

from planner.chemistry.heat import alkali_rise, hydrochloric_capacity, neutralising_rise, water_capacity
from planner.inputs.tables.chemicals import ACIDS, BLEACH, CHEMICALS, SOAP
from planner.plan.procedure.acts import Act, Drain, Fill, Pour, Soak, Stir
from planner.rehearsal.breach import Log
from planner.rehearsal.crew import AT_ONCE
from planner.rehearsal.rig import AWAY, OPEN, OUTSIDE, Flow, Rig
from planner.rehearsal.setting import Setting
from planner.rehearsal.stops import Stops
from planner.rehearsal.vessels import LEAST, ROUNDING, UNKNOWN, Mixture, Vessel, chemicals

_WITHIN: Final = 0.05


class Pours:
    """What is done with vessels and lots."""

    def __init__(self, setting: Setting, rig: Rig, stops: Stops, log: Log) -> None:
        """Nothing is poured yet."""
        self.setting, self.rig, self.stops, self.log = setting, rig, stops, log
        self.soaked: dict[str, float] = {}
        self.sour: set[str] = set()
        self.rinsed: dict[tuple[str, str], float] = {}

    def close(self, last: str) -> None:
        """Every part that lay in acid lay in it as long as was asked."""
        asked = self.setting.soak
        if asked is None:
            return
        if not self.soaked:
            self.log.add("section", last, "nothing lies in the bath")
        for what in sorted(self.sour):
            rinse = sum(volume for (part, _), volume in self.rinsed.items() if part == what)
            if rinse < self.setting.rinse * (1.0 - 1e-9) or not self.rinsed:
                told = f"{self.log.volume(rinse)}, {self.log.volume(self.setting.rinse)} was asked"
                self.log.add("section", last, f"{what} comes out of the acid and is rinsed in {told}")
        for what, seconds in self.soaked.items():
            if abs(seconds - asked) > _WITHIN * asked:
                told = f"{self.log.time(seconds)}, {self.log.time(asked)} was asked"
                self.log.add("section", last, f"{what} lies in the bath for {told}")

    def knows_lot(self, act: Act, name: str) -> bool:
        """Whether there is such a lot, and somebody said how much is left of it."""
        if name in self.rig.lots:
            return True
        what = "nobody said how much is left of" if name in self.setting.lots else "nobody knows what"
        self.log.add("balance", act.id, f"{what} {name}" + ("" if name in self.setting.lots else " is"))
        return False

    def gives_water(self, act: Act, source: str) -> bool:
        """Whether water comes from there at all."""
        if source in OUTSIDE:
            if source != "pond" and self.setting.tap is None:
                self.log.add("balance", act.id, f"there is no {source} here")
                return False
            return True
        if source in self.setting.lots or source in OPEN or source in AWAY:
            self.log.add("order", act.id, f"no water comes from {source}")
            return False
        return self.rig.vessel(act, source) is not None

    def from_tap(self, source: str, volume: float, seconds: float) -> float:
        """What of the tap's flow it takes [m3/s]."""
        return volume / seconds if source in ("tap", "hydrant") and seconds > 0.0 else 0.0

    # ------------------------------------------------------------------------------------------- water in

    def filling(self, act: Act, fill: Fill, seconds: float) -> Flow | None:
        """Water runs in."""
        rig, log = self.rig, self.log
        vessel = rig.vessel(act, fill.into, new=True)
        if vessel is None or not self.gives_water(act, fill.source):
            return None
        if vessel.unstirred:
            log.add("order", act.id, f"water goes into {fill.into} after its stock")
        if not vessel.volume > LEAST:
            vessel.neat = None  # an injector's jug poured out: its next lot may be thinned
        if rig.neat_jug(fill.into) or vessel.neat is not None:
            log.add("order", act.id, f"water goes into {fill.into}, which takes its lot neat")
        if fill.into in rig.mixed_in or fill.into not in self.setting.tanks:
            # A clean tank's water counts when it is drawn.
            rig.water += fill.volume if fill.source in OUTSIDE or fill.source not in rig.mixed_in else 0.0

        pail = fill.into.startswith("pail ")
        if pail and vessel.room < fill.volume - LEAST and act.hands is not None and act.hands < act.lasts:
            log.add("balance", act.id, f"{fill.into} holds {log.volume(vessel.room)}, and nobody keeps it full")

        def move(volume: float) -> None:
            mixture = rig.out_of(act, fill.source, volume)
            if chemicals(mixture) or mixture.get(UNKNOWN, 0.0) > 0.0:
                log.add("clean", act.id, f"{fill.source} holds {', '.join(mixture)} and fills {fill.into}")
            rig.into(act, fill.into, volume, mixture)

        return Flow(act, fill.volume, seconds, move, self.from_tap(fill.source, fill.volume, seconds), first=True)

    def filled(self, act: Act, fill: Fill) -> None:
        """Water is in: stock may follow."""
        vessel = self.rig.vessels.get(fill.into)
        if vessel is not None:
            vessel.watered, vessel.order = True, max(vessel.order, 1)
            vessel.rinsed = act.phase == "flush_first" and fill.into in self.setting.tanks

    # ------------------------------------------------------------------------------------------- stock in

    def pouring(self, act: Act, pour: Pour) -> None:
        """Before stock goes in: its stop point, water before it, the order of the lots, soap last."""
        rig, log, lot = self.rig, self.log, self.setting.lots.get(pour.lot)
        if lot is None:
            return
        acid = lot.chemical in ACIDS
        guard = "acid" if self.setting.kind == "yard" or (acid and self.stops.holds("acid", None)) else "stock"
        self.stops.guard(act, guard, pour.into[4:] if pour.into.startswith("jug ") else None)
        self.stops.dressed(act, pour.lot, lot.chemical)
        vessel = rig.vessel(act, pour.into, new=True)
        if vessel is None:
            return
        test_bucket = pour.into == "bucket" and "bucket" not in self.setting.tanks
        if test_bucket or pour.into.startswith("pail "):
            log.add("order", act.id, f"{pour.lot} is poured into {pour.into}")
        kept = self.setting.tanks[pour.into].holds if pour.into in self.setting.tanks else None
        if kept is not None and kept not in ("mix", lot.chemical) and lot.chemical != SOAP:
            log.add("meet", act.id, f"{pour.lot} goes into {pour.into}, which is kept for {kept}")
        if rig.neat_jug(pour.into):
            if vessel.volume > LEAST and vessel.neat != pour.lot:
                log.add("order", act.id, f"{pour.into} takes one lot neat, and something is in it already")
            vessel.neat = pour.lot
            return
        neat = pour.into.startswith("jug ") or (pour.order == 1 and pour.into in self.setting.tanks)
        if neat and not vessel.volume > LEAST and not vessel.watered:
            # An injector or a tank that needs its stock as it is has it neat too; too strong a mix is seen on the wall.
            vessel.neat, vessel.watered, vessel.order, vessel.unstirred = pour.lot, True, pour.order, True
            return
        if not vessel.watered and not vessel.volume > LEAST:
            log.add("order", act.id, f"{pour.lot} goes into {pour.into} before any water")
        if pour.order <= vessel.order:
            log.add("order", act.id, f"{pour.lot} is number {pour.order} into {pour.into}, after {vessel.order}")
        if vessel.soaped and lot.chemical != SOAP:
            log.add("order", act.id, f"{pour.lot} goes into {pour.into} after the soap")
        vessel.order, vessel.unstirred, vessel.rinsed = pour.order, True, False
        vessel.soaped = vessel.soaped or lot.chemical == SOAP

    def pours(self, act: Act, pour: Pour, seconds: float) -> Flow | None:
        """Stock runs in."""
        if not self.knows_lot(act, pour.lot):
            return None
        rig, lot = self.rig, self.setting.lots[pour.lot]
        vessel = rig.vessel(act, pour.into, new=True)
        amount = pour.mass if lot.strength is None else pour.volume
        if vessel is None or amount is None or (pour.mass is None) == (pour.volume is None):
            self.log.add("balance", act.id, f"nobody knows how much of {pour.lot} that is")
            return None

        def move(part: float) -> None:
            mixture = rig.out_of_lot(act, pour.lot, part)
            if lot.strength is not None:
                rig.into(act, pour.into, part, mixture)
                return
            if vessel.mass.get(lot.chemical, 0.0) <= LEAST:
                rig.meeting(act, lot.chemical, vessel.names(), pour.into, thin=pour.into == "tub")
            vessel.add(lot.chemical, part)

        return Flow(act, amount, seconds, move)

    def stirred(self, act: Act, stir: Stir, seconds: float) -> None:
        """What a vessel holds is one mix."""
        vessel = self.rig.vessel(act, stir.tank)
        if vessel is None:
            return
        if not (vessel.unstirred or vessel.watered):
            self.log.add("order", act.id, f"{stir.tank} has nothing new to stir")
        if stir.seconds > seconds + AT_ONCE or not stir.seconds > 0.0:
            self.log.add("people", act.id, f"{self.log.time(stir.seconds)} of stirring last {self.log.time(seconds)}")
        vessel.unstirred, vessel.watered, vessel.order, vessel.soaped = False, False, 0, False

    # ------------------------------------------------------------------------------------------- out

    def draining(self, act: Act, drain: Drain, seconds: float) -> Flow | None:
        """Out of a vessel or a hose that is apart."""
        rig, log = self.rig, self.log
        if drain.source in self.setting.hoses:
            if not self._may_go(act, drain, None):
                return None
            if drain.source in self.stops.coiled:
                log.add("order", act.id, f"{drain.source} is drained once it is coiled")

            def move_hose(volume: float) -> None:
                for size, mixture in rig.from_hose(act, drain.source, volume):
                    if chemicals(mixture) and drain.to in OPEN:
                        log.add(
                            "end", act.id, f"{drain.source} holds {', '.join(mixture)} and goes onto the {drain.to}"
                        )
                    rig.into(act, drain.to, size, mixture)

            return Flow(act, drain.volume, seconds, move_hose)
        vessel = None if drain.source in OUTSIDE else rig.vessel(act, drain.source)
        if vessel is None or not self._may_go(act, drain, vessel):
            return None
        if drain.to in self.setting.lots:
            return Flow(act, drain.volume, seconds, lambda volume: self._back(act, drain, vessel, volume))

        def move(volume: float) -> None:
            mixture = rig.out_of(act, drain.source, volume)
            self._harmless(act, drain, mixture)
            rig.into(act, drain.to, volume, mixture)
            if drain.to in rig.vessels:
                rig.vessels[drain.to].traces |= vessel.traces

        return Flow(act, drain.volume, seconds, move)

    def _may_go(self, act: Act, drain: Drain, vessel: Vessel | None) -> bool:
        """Whether anything may be drained to a place."""
        to, log = drain.to, self.log
        if to in self.setting.lots:
            neat = vessel is not None and self.rig.neat_jug(vessel.name) and vessel.neat == to
            if not neat:
                log.add("order", act.id, f"{drain.source} is put back into {to}, and is not what is left of that lot")
            return neat and self.knows_lot(act, to)
        pails = to.startswith("pail ") and to[5:].isdigit()
        if to in OPEN or to in AWAY or to in self.setting.tanks or to in ("tub", "bucket") or pails:
            return True
        log.add("order", act.id, f"nothing is drained to {to}")
        return False

    def _harmless(self, act: Act, drain: Drain, mixture: Mixture) -> None:
        """What is poured away is harmless or thin enough, or is caught; a sewer gets what a tank is rinsed with too."""
        vessel = self.rig.vessels.get(drain.source)
        if drain.to not in OPEN and (drain.to != "sanitary" or (vessel is not None and vessel.rinsed)):
            return
        if mixture.get(UNKNOWN, 0.0) > 0.0:
            self.log.add("end", act.id, f"nobody knows what {drain.source} holds, and it goes onto the {drain.to}")
        harmful = self.setting.too_strong(mixture)
        if harmful:
            strong = ", ".join(f"{self.log.strength(mixture[name])} of {name}" for name in harmful)
            self.log.add("end", act.id, f"{drain.source} holds {strong} and goes onto the {drain.to}")

    def _back(self, act: Act, drain: Drain, vessel: Vessel, volume: float) -> None:
        """What a panel's jug has left, back into its lot."""
        mixture = self.rig.out_of(act, drain.source, volume)
        lot = self.setting.lots[drain.to]
        if volume > LEAST and abs(mixture.get(lot.chemical, 0.0) - (lot.strength or 0.0)) > 1e-6 * (
            lot.strength or 1.0
        ):
            self.log.add("meet", act.id, f"{drain.source} does not hold {drain.to} as it was")
        self.rig.lots[drain.to] += volume

    # ------------------------------------------------------------------------------------------- others

    def soaking(self, act: Act, soak: Soak) -> None:
        """Parts into a bath: the pump opened, the bath mixed."""
        self.stops.know(act, "soak", soak.what)
        self.stops.guard(act, "open", None)
        if not (soak.into == "tub" or soak.into.startswith("pail ")):
            self.log.add("order", act.id, f"parts go into {soak.into}")
            return
        vessel = self.rig.vessel(act, soak.into)
        if vessel is None:
            return
        if vessel.unstirred:
            self.log.add("order", act.id, f"parts go into {soak.into} before it was stirred")
        if not vessel.volume > LEAST:
            self.log.add("order", act.id, f"parts go into {soak.into}, and nothing is in it")
        acid = [name for name in vessel.names() if name in ACIDS]
        if acid:
            self.sour.add(soak.what)
            if "no_aluminium" not in self.stops.done:
                self.log.add("meet", act.id, f"{soak.what} goes into {acid[0]}, and nobody looked for aluminum")
        elif (soak.what, soak.into) not in self.rinsed:
            self.rinsed[soak.what, soak.into] = vessel.volume
        for name in acid:
            self.soaked[soak.what] = self.soaked.get(soak.what, 0.0) + soak.seconds
            for pump in self.rig.pumps.values():
                self.rig.meeting(act, name, pump.seen, f"{soak.what}, which was never flushed")
        if soak.seconds > act.lasts + AT_ONCE or not soak.seconds > 0.0:
            self.log.add("people", act.id, f"{self.log.time(soak.seconds)} of soaking last {self.log.time(act.lasts)}")

    def stands_in(self, act: Act, name: str) -> None:
        """A tank that is to hold the last job's mix."""
        vessel = self.rig.vessels.get(name)
        if vessel is None or not vessel.names():
            self.log.add("order", act.id, f"{name} is to hold the last job's mix, and holds none")

    def looked_into(self, act: Act, name: str) -> None:
        """A tank somebody looked into: what nobody knew of it is nothing that may not be there."""
        self.rig.untold.discard(name)
        vessel = self.rig.vessels.get(name)
        if vessel is None:
            return
        held = vessel.names()
        if held:
            self.log.add("order", act.id, f"{name} is to be empty and holds {', '.join(held)}")
        for name, kg in vessel.rid(UNKNOWN).items():
            self.rig.spent[name] = self.rig.spent.get(name, 0.0) + kg


# ------------------------------------------------------------ agents


def neutralise(rig: Rig, act: Act, place: str, lot: str, mass: float) -> None:
    """An agent into a pail or tub: it may go in, what is there is thin enough, and it is enough."""
    log, chemical = rig.log, rig.setting.lots[lot].chemical
    vessel = rig.vessel(act, place)
    if not (place == "tub" or place.startswith("pail ")):
        log.add("meet", act.id, f"{chemical} goes into {place}: agents go into pails and tubs only")
    if vessel is None:
        return
    rig.out_of_lot(act, lot, mass)
    vessel.add(chemical, mass)
    if vessel.unknown():
        log.add("meet", act.id, f"{chemical} goes into {place}, and nobody knows what is in there")
    for name in vessel.names():
        dose = rig.setting.agents.get(name, {})
        if name == chemical:
            continue
        if chemical not in dose:
            rig.meeting(act, chemical, [name], place, thin=True)
            continue
        if place != "tub":
            _thin(rig, act, vessel, name, chemical)
        there = sum(vessel.mass.get(agent, 0.0) / per for agent, per in dose.items())
        if there >= vessel.mass[name] / ROUNDING:
            spend(rig, vessel, name)
    for name in vessel.traces:
        if chemical in rig.setting.agents.get(name, {}) and name not in vessel.mass:
            spend(rig, vessel, name)


def spend(rig: Rig, vessel: Vessel, name: str) -> None:
    """What is made harmless, and what did it, are no more."""
    for gone, kg in vessel.rid(name, *rig.setting.agents[name]).items():
        rig.spent[gone] = rig.spent.get(gone, 0.0) + kg


def _thin(rig: Rig, act: Act, vessel: Vessel, name: str, agent: str) -> None:
    """Whether what is in a pail is thin enough for its agent."""
    log, setting = rig.log, rig.setting
    strength = vessel.mass[name] / vessel.volume if vessel.volume > LEAST else inf
    if name == BLEACH:
        if strength > setting.thin * ROUNDING:
            most = log.strength(setting.thin)
            log.add("meet", act.id, f"{vessel.name} holds {log.strength(strength)} of {name}, the limit is {most}")
        return
    rise = inf if strength == inf else _rise(name, strength, agent)
    if rise > setting.warm * ROUNDING:
        log.add("meet", act.id, f"{vessel.name} would get {rise:.0f} K warmer, the limit is {setting.warm:.0f} K")


def _rise(name: str, strength: float, agent: str) -> float:
    """How much warmer [K] a chemical gets from its agent; of what nobody knows the heat of, nothing."""
    row, base = CHEMICALS.get(name), CHEMICALS[agent].base if agent in CHEMICALS else None
    if row is None or row.molar is None:
        return 0.0
    if row.base is not None and row.base.with_weak is not None:
        return alkali_rise(strength / row.molar, row.base.with_weak)
    if row.acid is None or base is None or base.in_acid is None:
        return 0.0
    given = base.in_acid + (row.acid.with_lime if base.hydroxide else 0.0)
    capacity = hydrochloric_capacity if row.solution.by == "hydrochloric" else water_capacity
    return neutralising_rise(strength / row.molar * row.acid.protons, given, capacity(strength))
