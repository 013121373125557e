"""How it ends: the rig as the procedure says, nothing dangerous left, every printed sum a sum of acts; and the day."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import Final

from planner.chemistry.washout import LEAST_VOLUMES
from planner.inputs.tables.chemicals import SOAP
from planner.plan.procedure.acts import Held, Mark, Neutralise, Procedure, Spray, State, Stir
from planner.rehearsal.breach import Breach, Log
from planner.rehearsal.rig import Rig
from planner.rehearsal.setting import Setting, Stands
from planner.rehearsal.stops import Stops
from planner.rehearsal.vessels import AIR, LEAST, UNKNOWN, active_of, names_in, state_of
from planner.rehearsal.walls import Walls

_SAME: Final = 1e-9
_HEEL: Final = 1e-6


def close(setting: Setting, procedure: Procedure, rig: Rig, stops: Stops, walls: Walls, log: Log) -> None:
    """The rules of the end and of paper, once everything is played."""
    last = procedure.acts[-1].id
    _begins(setting, procedure.begin, log)
    _nothing_left(setting, rig, stops, last, log)
    _state(setting, procedure.end, rig, last, log)
    _heels(setting, procedure.end, last, log)
    _left_over(setting, procedure, rig, last, log)
    _paper(setting, procedure, rig, last, log)
    _agents(setting, procedure, last, log)
    if setting.kind == "wash":
        _beds(setting, rig, walls, last, log)
        _drums(procedure, rig, stops, last, log)


# ------------------------------------------------------------------------------------------- the beginning


def _begins(setting: Setting, begin: State, log: Log) -> None:
    """Whether it begins as the day's page or the job before leaves the rig."""
    for name, held in begin.tanks.items():
        stands = setting.found.get(name)
        if stands is not None:
            _stands(name, held, stands, "", "begins", log)
    for name, left in begin.lots.items():
        lot = setting.lots.get(name)
        if lot is None:
            log.add("end", "", f"it begins with a lot {name} that nobody knows")
        elif lot.on_hand is not None and left > lot.on_hand * (1.0 + _SAME) + LEAST:
            log.add("end", "", f"it begins with more of {name} than there ever was")
    for name in begin.hoses:
        if name not in setting.hoses:
            log.add("end", "", f"it begins with a hose {name} that nobody knows")
        elif name in setting.strange and begin.hoses[name].stock in (AIR, "water"):
            log.add("end", "", f"{name} begins with {begin.hoses[name].stock}, and nobody knows that it does")


def _stands(name: str, held: Held, stands: Stands, act: str, how: str, log: Log) -> None:
    volume = held.volume or 0.0
    if stands.volume is not None and abs(volume - stands.volume) > _HEEL * max(1.0, stands.volume):
        log.add(
            "end", act, f"{name} {how} with {log.volume(volume)}, not the {log.volume(stands.volume)} it is told to"
        )
    if volume <= LEAST or stands.chemical is None:
        return
    if held.stock != stands.chemical:
        log.add("end", act, f"{name} {how} with {held.stock}, not the {stands.chemical} it is told to")
    elif stands.strength is not None and abs(held.strength - stands.strength) > _HEEL * max(1.0, stands.strength):
        told = f"{log.strength(held.strength)}, not the {log.strength(stands.strength)}"
        log.add("end", act, f"{name} {how} with {held.stock} of {told} it is told to")


# ------------------------------------------------------------------------------------------- the end


def _nothing_left(setting: Setting, rig: Rig, stops: Stops, last: str, log: Log) -> None:
    """Power off, no pressure, no mix in a line, pails gone, nothing covered, every joined hose coiled."""
    for name, pump in rig.pumps.items():
        if pump.on:
            log.add("end", last, f"{name} is left on")
    for line in rig.lines.values():
        if line.pressed:
            log.add("end", last, f"the pressure of {line.run.name} was never let out")
        if line.joined:
            log.add("end", last, f"{line.run.name} is left joined")
        if names_in(line.queue.parcels) - {AIR}:
            log.add("end", last, f"there is more than water in the line of {line.run.name}")
    if rig.carried and setting.flushes:
        log.add("end", last, f"{', '.join(sorted(rig.carried))} is never flushed")
    for name, parcels in rig.hoses.items():
        held = names_in(parcels) - {AIR, UNKNOWN}
        if held:
            log.add("end", last, f"{', '.join(sorted(held))} is left in {name}")
    for name, vessel in rig.vessels.items():
        if name not in rig.tanks and (vessel.volume > LEAST or vessel.names()):
            log.add("end", last, f"{name} is left with {log.volume(vessel.volume)} in it")
        if vessel.unstirred:
            log.add("end", last, f"{name} is left unstirred")
    for what in stops.covered:
        log.add("end", last, f"{what} is left so")
    used = {name for run in stops.joined for name in setting.runs[run].hoses} | rig.put_on
    for name in sorted(used - stops.coiled):
        log.add("end", last, f"{name} is left lying")


def _state(setting: Setting, end: State, rig: Rig, last: str, log: Log) -> None:
    """The rig as the procedure says it leaves it."""
    for name in setting.hoses:
        if (name in rig.hoses) != (name in end.hoses):
            log.add("end", last, f"{name} is in one of what it ends with and what is played, not in both")
    for name, held in end.hoses.items():
        if name in rig.hoses:
            stock, strength = state_of(rig.hoses[name])
            if held.stock != stock or abs(held.strength - strength) > _HEEL * max(1.0, strength):
                log.add("end", last, f"{name} is said to hold {held.stock}, and holds {stock}")
    tanks = set(rig.tanks)
    for name in sorted(tanks ^ set(end.tanks)):
        log.add("end", last, f"{name} is in one of what it ends with and what is played, not in both")
    for name in tanks & set(end.tanks):
        _tank(name, end.tanks[name], rig, last, log)
    for name in sorted(set(rig.lots) ^ set(end.lots)):
        log.add("end", last, f"{name} is in one of what it ends with and what is played, not in both")
    for name in set(rig.lots) & set(end.lots):
        if abs(rig.lots[name] - end.lots[name]) > _SAME * max(1.0, rig.lots[name]):
            log.add("end", last, f"{name} has {rig.lots[name]:.6g} left, not {end.lots[name]:.6g}")
    for name, held in end.pails.items():
        if (held.volume or 0.0) > LEAST:
            log.add("end", last, f"{name} is said to be left with {log.volume(held.volume or 0.0)} in it")


def _tank(name: str, held: Held, rig: Rig, last: str, log: Log) -> None:
    vessel = rig.vessels[name]
    said = held.volume or 0.0
    if abs(vessel.volume - said) > _SAME * max(1.0, said):
        log.add("end", last, f"{name} holds {log.volume(vessel.volume)}, not {log.volume(said)}")
    chemical, mass = active_of(vessel.mass)
    stock = UNKNOWN if vessel.unknown() else chemical or "water"
    if vessel.volume <= LEAST and not mass:
        return
    if held.stock != stock:
        log.add("end", last, f"{name} holds {stock}, not {held.stock}")
    elif stock != UNKNOWN and abs(mass - held.strength * said) > _HEEL * max(mass, LEAST) + _SAME and stock != SOAP:
        log.add("end", last, f"{name} holds {log.mass(mass)} of {stock}, not {log.mass(held.strength * said)}")


def _heels(setting: Setting, end: State, last: str, log: Log) -> None:
    """What the plan tells the next job of the tanks."""
    for name, stands in setting.heels_after.items():
        if name in end.tanks:
            _stands(name, end.tanks[name], stands, last, "ends", log)


def _left_over(setting: Setting, procedure: Procedure, rig: Rig, last: str, log: Log) -> None:
    """Whether mix stands above an outlet that nobody was told to leave, or is told to stay and does not stand there."""
    mixed = {act.detail.tank for act in procedure.acts if isinstance(act.detail, Stir)}
    looks = {act.detail.what for act in procedure.acts if isinstance(act.detail, Mark) and act.detail.verb == "look"}
    for name in sorted(rig.tanks):
        tank, vessel, kept = setting.tanks[name], rig.vessels[name], f"kept {name}" in looks
        over = vessel.volume > tank.dead + max(LEAST, _SAME * tank.volume)
        if over and name in mixed and not kept and vessel.names():
            log.add("end", last, f"mix is left in {name} above its outlet: nothing drains it, nobody is to leave it")
        elif kept and not (over and name in mixed):
            log.add("end", last, f"{name} is to keep mix for the next job, and none is left in it")


# ------------------------------------------------------------------------------------------- paper


def _paper(setting: Setting, procedure: Procedure, rig: Rig, last: str, log: Log) -> None:
    """The plan's sums against those of the acts."""
    need = setting.water_need
    if need is not None and abs(rig.water - need) > _SAME * max(1.0, need):
        log.add("paper", last, f"the acts take {log.volume(rig.water)} of water, {log.volume(need)} is printed")
    asked: dict[str, float] = {}
    for mix in setting.mixes:
        # A mix of soap alone has no stock beside it.
        for chemical, taken in ((mix.chemical if mix.chemical != SOAP else "", mix.stock), (SOAP, mix.soap)):
            if chemical and taken is not None:
                asked[chemical] = asked.get(chemical, 0.0) + taken
    for chemical, stock in asked.items():
        lots = [name for name in procedure.begin.lots if name in rig.lots and setting.lots[name].chemical == chemical]
        taken = sum(procedure.begin.lots[name] - rig.lots[name] for name in lots)
        # An agent may be a mix of today as well.
        doses = (act.detail for act in procedure.acts if isinstance(act.detail, Neutralise))
        taken -= sum(one.mass for one in doses if one.lot in lots)
        if abs(taken - stock) > _SAME * max(1.0, stock):
            log.add("paper", last, f"the acts take {taken:.6g} of {chemical}, {stock:.6g} is printed")
    flushed: dict[str, float] = {}
    for act in procedure.acts:
        if isinstance(act.detail, Spray) and act.detail.use == "flush" and act.phase in ("flush", "test"):
            flushed[act.detail.run] = flushed.get(act.detail.run, 0.0) + act.detail.volume
    for run in {*flushed, *setting.flushes}:
        done, printed = flushed.get(run, 0.0), setting.flushes.get(run, 0.0)
        if run in setting.endless:
            least = LEAST_VOLUMES * setting.volume_of(run)
            if done < least * (1.0 - _HEEL):
                log.add("paper", last, f"{run} is flushed with {log.volume(done)}, the minimum is {log.volume(least)}")
        elif abs(done - printed) > _SAME * max(1.0, printed):
            log.add("paper", last, f"{run} is flushed with {log.volume(done)}, {log.volume(printed)} is printed")


def _agents(setting: Setting, procedure: Procedure, last: str, log: Log) -> None:
    """What is printed of each agent against what the acts give."""
    said, given = setting.given, dict[str, float]()
    if said is None:
        return
    for act in procedure.acts:
        if isinstance(act.detail, Neutralise) and act.detail.lot in setting.lots:
            agent = setting.lots[act.detail.lot].chemical
            given[agent] = given.get(agent, 0.0) + act.detail.mass
    for agent in {*given, *said}:
        done, printed = given.get(agent, 0.0), said.get(agent, 0.0)
        if abs(done - printed) > _SAME * max(1.0, printed):
            log.add("paper", last, f"the acts give {log.mass(done)} of {agent}, {log.mass(printed)} is printed")


def _beds(setting: Setting, rig: Rig, walls: Walls, last: str, log: Log) -> None:
    """What the beds get in all, and once the last wall is done."""
    beds = setting.beds
    if beds is None:
        return
    printed = beds.before + beds.during + beds.after
    if abs(rig.beds - printed) > _SAME * max(1.0, printed):
        log.add("paper", last, f"the beds get {log.volume(rig.beds)}, {log.volume(printed)} is printed")
    after = sum(volume for start, _, volume in rig.watered if start >= walls.done_at - 1e-6)
    if walls.done_at > -inf and after < beds.after - LEAST:
        log.add(
            "order",
            last,
            f"the beds get {log.volume(after)} once the walls are done, {log.volume(beds.after)} was asked",
        )


def _drums(procedure: Procedure, rig: Rig, stops: Stops, last: str, log: Log) -> None:
    """What was taken from rides home with its caps on."""
    used = any(abs(left - rig.lots.get(name, left)) > LEAST for name, left in procedure.begin.lots.items())
    if used and "drums" not in stops.done:
        log.add("end", last, "the drums are not strapped, caps on")


# ------------------------------------------------------------------------------------------- the day


def day(procedures: Mapping[str, Procedure]) -> Mapping[str, tuple[Breach, ...]]:
    """One job's end against the next one's beginning, in the order of the day; breaches by the job that begins wrong.

    What a job does not touch stands as the last one left it.
    """
    found: dict[str, tuple[Breach, ...]] = {}
    tanks: dict[str, Held] = {}
    hoses: dict[str, Held] = {}
    lots: dict[str, float] = {}
    for job, procedure in procedures.items():
        begin, end = procedure.begin, procedure.end
        states: list[str] = []
        for name, held in begin.tanks.items():
            if name in tanks and not _same(tanks[name], held):
                states.append(f"{name} begins as it was not left")
        for name, held in begin.hoses.items():
            # A hose begun as unknown claims nothing: a job nobody could read may have come between.
            if name in hoses and held.stock != UNKNOWN and not _same(hoses[name], held):
                states.append(f"{name} begins with {held.stock}, and {hoses[name].stock} was left in it")
        for name, left in begin.lots.items():
            if name in lots and abs(lots[name] - left) > _SAME * max(1.0, left):
                states.append(f"{name} begins with {left:.6g}, and {lots[name]:.6g} was left")
        if begin.pails:
            states.append(f"{', '.join(begin.pails)} begins with something in it")
        found[job] = tuple(Breach(rule="end", act="", state=state) for state in states)
        tanks.update(end.tanks)
        hoses.update(end.hoses)
        lots.update(end.lots)
    return found


def _same(left: Held, begins: Held) -> bool:
    volume, other = left.volume or 0.0, begins.volume or 0.0
    if abs(volume - other) > _SAME * max(1.0, volume):
        return False
    return left.stock == begins.stock and abs(left.strength - begins.strength) <= _HEEL * max(1.0, left.strength)
