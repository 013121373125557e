"""Agents: what makes a pail or tub harmless, once it is thin enough for it."""

from __future__ import annotations

from math import inf

from planner.chemistry.base_heat import alkali_rise, hydrochloric_capacity, neutralising_rise, water_capacity
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS
from planner.plan.procedure.acts import Act
from planner.rehearsal.rig import Rig
from planner.rehearsal.vessels import LEAST, ROUNDING, Vessel


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
            log.add("meet", act.id, f"{vessel.name} holds {log.strength(strength)} of {name}, {most} is the most")
        return
    rise = inf if strength == inf else _rise(name, strength, agent)
    if rise > setting.warm * ROUNDING:
        log.add("meet", act.id, f"{vessel.name} would get {rise:.0f} K warmer, {setting.warm:.0f} K is the most")


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
